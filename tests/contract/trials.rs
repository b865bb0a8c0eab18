//! Bodies of field trials and handovers that the stage and the samples send.

use serde_json::{Value, json};
use uuid::Uuid;

/// A trial of two cutters in which some members answer.
pub fn field_trial(id: Uuid, name: &str, evaluators: &[Uuid]) -> Value {
    let question =
        |text: &str, weight: u8| json!({ "text": text, "weight": weight, "lowest": "cannot be done with gloves", "highest": "done without looking" });
    json!({
        "id": id, "name": name, "candidates": [{ "name": "Dorvan C9", "kind": "cutter" }, { "name": "Kestrel 90", "kind": "cutter" }],
        "questions": [question("Grip with wet gloves", 3), question("Turned overhead", 1)],
        "measurements": [{ "what": "weight", "how": "On the platform scale, with its pack", "unit": "kg", "better": "lower" }],
        "evaluators": evaluators,
    })
}

/// What the scale showed of the first candidate.
pub fn trial_reading(id: Uuid, trial: Uuid) -> Value {
    json!({ "id": id, "trial": trial, "candidate": 1, "measurement": 1, "value": { "value": 19.4, "unit": "kg" } })
}
