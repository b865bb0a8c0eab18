//! Bodies of field trials and handovers that the stage and the samples send.

use serde_json::{Value, json};
use uuid::Uuid;

use super::stage::Stage;

/// A trial of two cutters in which some members answer.
pub fn field_trial(id: Uuid, name: &str, evaluators: &[Uuid]) -> Value {
    let question =
        |text: &str, weight: u8| json!({ "text": text, "weight": weight, "lowest": "cannot be done with gloves", "highest": "done without looking" });
    json!({
        "id": id, "name": name, "candidates": [{ "name": "Dorvan C9", "kind": "cutter", "model": null }, { "name": "Kestrel 90", "kind": "cutter", "model": null }],
        "questions": [question("Grip with wet gloves", 3), question("Turned overhead", 1)],
        "measurements": [{ "what": "weight", "how": "On the platform scale, with its pack", "unit": "kg", "better": "lower" }],
        "evaluators": evaluators,
    })
}

/// What the scale showed of the first candidate.
pub fn trial_reading(id: Uuid, trial: Uuid) -> Value {
    json!({ "id": id, "trial": trial, "candidate": 1, "measurement": 1, "value": { "value": 19.4, "unit": "kg" } })
}

/// A handover of a place as it was read.
pub fn handover(place: Uuid) -> Value {
    let part = |title: &str, lines: &[&str]| json!({ "title": title, "lines": lines, "left_out": 0 });
    json!({
        "id": place, "since": "2026-11-25T07:00:00.000000Z", "note": "The ram is promised for four o'clock.",
        "parts": [part("Rigs out of service (1)", &["Truck 3 since 07:00: at the workshop"]), part("Used", &["No use was written down."])],
    })
}

impl Stage {
    /// Requests about them; each time one makes a record, a new one.
    pub fn of_trials(&self, operation: &str) -> Option<(Option<Uuid>, Value)> {
        Some(match operation {
            "handover_give" => {
                let mut body = handover(self.county.north);
                body.as_object_mut()?.remove("id");
                (Some(self.county.north), body)
            }
            "handover_take" => (Some(self.county.station_2), json!({})),
            "handover_withdraw" => (Some(self.county.station_1), json!({ "reason": "the ram came in meanwhile" })),
            "field_trial_open" => {
                let id = Uuid::now_v7();
                (None, field_trial(id, &format!("Spreaders {id}"), &[self.member]))
            }
            "field_trial_invite" => (Some(self.trials[0]), json!({ "evaluators": [self.member] })),
            "field_trial_hand_in" => (
                Some(self.trials[0]),
                json!({ "candidate": 1, "answers": [{ "points": 4, "words": "sits well in the hand" }, { "points": 2 }] }),
            ),
            "field_trial_close" => (Some(self.trials[1]), json!({ "conclusion": "Both need a longer blade for the new engine." })),
            "field_trial_withdraw" => (Some(self.trials[2]), json!({ "reason": "the dealer took the tools back" })),
            "trial_reading_add" => (None, trial_reading(Uuid::now_v7(), self.trials[0])),
            "trial_reading_strike" => (Some(self.reading), json!({ "reason": "the scale was not level" })),
            _ => return None,
        })
    }
}
