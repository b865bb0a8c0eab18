//! A field trial that is over: three combination tools before two are bought, answered by four members. One is told to stand last, the other
//! two are too close to tell; on the controls an officer saw it otherwise than the rest, and says why.

use crate::{
    Person,
    county::County,
    deeds::Wire,
    dice::Dice,
    people::{COORDINATOR, CREW, OFFICER, SECOND_MECHANIC, SHOP},
    tell::{Teller, wire},
};
use anyhow::{Context as _, Result};
use serde_json::{Value, json};
use uuid::Uuid;

const CANDIDATES: [&str; 3] = ["Thornmere BC 6", "Wendlebury E 40", "Sparrowhale 54 with the long arms"];

/// What is asked, with its weight and what 1 and 5 mean.
const QUESTIONS: [(&str, u8, &str, &str); 5] = [
    ("Carried by one person from the rig to the work", 8, "Needs two", "Carried with one hand"),
    ("Held at shoulder height for a whole cut", 8, "Has to be put down", "Stays where it is held"),
    ("Controls worked with wet gloves, without looking", 10, "Wrong way or no grip", "Right at once"),
    ("Reaches the hinges of the three cars that we opened", 6, "Reaches few", "Reaches all"),
    ("Wiped and stowed after use", 4, "Takes a quarter of an hour", "Done in two minutes"),
];

/// The points to each question, 0 for none, and a word to the third.
type Given = ([u8; 5], &'static str);

/// What each evaluator said of each candidate.
const SHEETS: [(&Person, [Given; 3]); 4] = [
    (
        &CREW,
        [
            ([4, 4, 4, 4, 4], ""),
            ([4, 4, 5, 4, 4], "Found the way at once in the dark"),
            ([2, 2, 3, 4, 3], ""),
        ],
    ),
    (
        &OFFICER,
        [
            ([4, 4, 5, 4, 3], "Grip sits even with the heavy glove"),
            ([4, 3, 2, 4, 4], "Turned it the wrong way twice with the heavy glove"),
            ([2, 2, 3, 3, 3], ""),
        ],
    ),
    (
        &SHOP,
        [([3, 4, 4, 0, 4], ""), ([4, 4, 4, 0, 4], ""), ([2, 1, 3, 0, 3], "Lever is stiff when cold")],
    ),
    (&SECOND_MECHANIC, [([4, 3, 4, 4, 5], ""), ([4, 4, 4, 5, 4], ""), ([2, 2, 2, 4, 2], "")]),
];

/// What the scale showed of each candidate in lb, and the watch in s.
const READ: [([f64; 3], [f64; 3]); 3] = [
    ([43.1, 43.0, 43.1], [5.8, 5.9, 5.8]),
    ([41.4, 41.5, 41.4], [6.6, 6.4, 6.5]),
    ([52.2, 52.4, 52.3], [5.1, 5.2, 5.1]),
];

fn opened(id: Uuid, evaluators: &[Uuid]) -> Value {
    let questions = QUESTIONS.map(|(text, weight, lowest, highest)| json!({ "text": text, "weight": weight, "lowest": lowest, "highest": highest }));
    json!({
        "id": id, "name": "Combination tools for stations 3 and 25", "questions": questions, "evaluators": evaluators,
        "candidates": CANDIDATES.map(|name| json!({ "name": name, "kind": "combination_tool" })),
        "measurements": [
            { "what": "weight", "how": "On the scale of the fleet shop, with the pack in it", "unit": "lb", "better": "lower" },
            { "what": "opening_time", "how": "Closed to fully open, without load, with a full pack", "unit": "s", "better": "lower" },
        ],
    })
}

fn sheet(trial: Uuid, candidate: usize, (points, words): &Given) -> Wire {
    let answers: Vec<Value> = points
        .iter()
        .enumerate()
        .map(|(n, points)| json!({ "points": (*points > 0).then_some(points), "words": (n == 2 && !words.is_empty()).then_some(words) }))
        .collect();
    wire("field_trial.hand_in", json!({ "id": trial, "candidate": candidate + 1, "answers": answers }))
}

impl Teller {
    /// Tells the trial from its opening to its end.
    pub async fn try_candidates(&mut self, county: &County) -> Result<()> {
        // Ids of its own: what comes after stays as it is, whatever is told here.
        let (mut dice, now) = (Dice::new(0x7124), self.now());
        let mut evaluators = Vec::new();
        for (person, _) in &SHEETS {
            let member = county.members.iter().find(|(_, member)| member.person.email == person.email);
            evaluators.push(member.with_context(|| format!("{} is no member", person.name))?.0);
        }
        let trial = dice.id(now);
        let mut send = async |who: &'static Person, wires: Vec<Wire>| {
            let commands = wires.into_iter().map(|wire| (dice.id(now), wire)).collect();
            self.client.send(who, commands).await
        };
        send(&COORDINATOR, vec![wire("field_trial.open", opened(trial, &evaluators))]).await?;
        for (person, sheets) in &SHEETS {
            send(person, sheets.iter().enumerate().map(|(n, given)| sheet(trial, n, given)).collect()).await?;
        }
        let mut ids = Dice::new(0x7125);
        let mut readings = Vec::new();
        for (n, (weights, times)) in READ.iter().enumerate() {
            for (measurement, unit, values) in [(1, "lb", weights), (2, "s", times)] {
                for value in values {
                    let value = json!({ "value": value, "unit": unit });
                    let body = json!({ "id": ids.id(now), "trial": trial, "candidate": n + 1, "measurement": measurement, "value": value });
                    readings.push(wire("trial_reading.add", body));
                }
            }
        }
        send(&SHOP, readings).await?;
        let conclusion = "The third is too heavy for one person at the door. Ask both others for a week on Engine 25, with heavy gloves.";
        let closed = Wire {
            expects: Some(trial),
            ..wire("field_trial.close", json!({ "id": trial, "conclusion": conclusion }))
        };
        send(&COORDINATOR, vec![closed]).await
    }
}
