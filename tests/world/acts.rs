//! What people do, in the trade's words.

use chrono::{DateTime, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use super::client::{Client, Reply};

/// One rig on the board.
#[derive(Debug, Clone)]
pub struct Line {
    pub level: String,
    pub words: Vec<String>,
    /// What its list lacks.
    pub lacks: Vec<String>,
    pub margin: Option<i64>,
    pub since: String,
    pub holds_until: Option<String>,
}

impl Line {
    /// The rig must be at this level for exactly these reasons.
    #[track_caller]
    pub fn is(&self, level: &str, words: &[&str]) {
        assert_eq!(
            (self.level.as_str(), self.words.iter().map(String::as_str).collect::<Vec<_>>()),
            (level, words.to_vec())
        );
    }
}

/// The id of a record in an answer.
#[track_caller]
pub fn id_of(record: &Value) -> Uuid {
    record["id"]
        .as_str()
        .and_then(|id| id.parse().ok())
        .unwrap_or_else(|| panic!("no id in {record}"))
}

/// The revision of a record in an answer.
#[track_caller]
pub fn rev_of(record: &Value) -> i64 {
    record["rev"].as_i64().unwrap_or_else(|| panic!("no rev in {record}"))
}

/// What a release of something that nobody has named rests on: it was looked over.
pub fn looked_over() -> Value {
    json!({ "readings": looked() })
}

/// The reading of one who looked it over.
pub fn looked() -> Value {
    json!([{ "measure": "sound_to_look", "yes": true }])
}

/// Everything that a return from *other* asks of a piece under pressure at 10,400 psi; who looks something else over gives it in vain.
pub fn tested() -> Value {
    let mut readings = tight(10_400.0);
    let relief = json!({ "measure": "relief_opens_at", "value": { "value": 10400, "unit": "psi" } });
    readings.as_array_mut().unwrap().push(relief);
    json!({ "readings": readings, "manual": "service manual, 7.2" })
}

/// The paper of the maker's service: a day's worth.
pub fn paper(on: &str) -> Value {
    json!({ "by": "Northfield Hydraulics", "reference": "report 118", "on": on })
}

/// What the test of a hose-fed tool shows after a leak was mended: the gauge at this pressure.
pub fn tight(psi: f64) -> Value {
    json!([
        { "measure": "sound_to_look", "yes": true },
        { "measure": "pressure_reached", "value": { "value": psi, "unit": "psi" } },
        { "measure": "hold_seconds", "value": { "value": 12, "unit": "s" } },
        { "measure": "leak_at_end_stop", "yes": false },
        { "measure": "function_full_stroke", "yes": true },
    ])
}

impl Client {
    /// Reports a defect that nobody has named: *other*.
    pub async fn report(&self, piece: Uuid, what: &str, severity: &str) -> Reply {
        self.report_as(piece, what, "other", severity).await
    }

    /// Reports a defect of a class.
    pub async fn report_as(&self, piece: Uuid, what: &str, class: &str, severity: &str) -> Reply {
        self.post(
            "/v1/defects",
            json!({ "id": Uuid::now_v7(), "piece": piece, "what": what, "class": class, "severity": severity }),
        )
        .await
    }

    /// Closes a defect by one who looked the piece over.
    pub async fn close(&self, defect: Uuid, resolution: &str) -> Reply {
        self.close_on(defect, resolution, tested()).await
    }

    /// Closes a defect on this evidence.
    pub async fn close_on(&self, defect: Uuid, resolution: &str, evidence: Value) -> Reply {
        let path = format!("/v1/defects/{defect}");
        let rev = self.rev(&path).await;
        self.post_on(&format!("{path}/close"), rev, json!({ "resolution": resolution, "evidence": evidence }))
            .await
    }

    pub async fn take_out(&self, piece: Uuid, reason: &str) -> Reply {
        self.post(&format!("/v1/pieces/{piece}/take-out"), json!({ "reason": reason })).await
    }

    /// Returns a piece that was seen at a revision, by one who tested it and has the maker's paper of the day on which it went out.
    pub async fn put_back(&self, piece: Uuid, rev: i64, note: &str) -> Reply {
        let since = self.piece(piece).await["state_since"].as_str().and_then(|at| at.parse::<DateTime<Utc>>().ok());
        let day = since
            .unwrap_or_else(|| panic!("no state_since"))
            .with_timezone(&chrono_tz::America::Denver)
            .date_naive();
        let mut evidence = tested();
        evidence["makers_service"] = paper(&day.to_string());
        self.put_back_on(piece, rev, note, evidence).await
    }

    /// Returns a piece on this evidence.
    pub async fn put_back_on(&self, piece: Uuid, rev: i64, note: &str, evidence: Value) -> Reply {
        let body = json!({ "note": note, "evidence": evidence });
        self.post_on(&format!("/v1/pieces/{piece}/return"), rev, body).await
    }

    /// Sends a piece on its way.
    pub async fn move_to(&self, piece: Uuid, to: Value) -> Reply {
        let rev = rev_of(&self.piece(piece).await);
        self.post_on(&format!("/v1/pieces/{piece}/move"), rev, json!({ "to": to })).await
    }

    /// Moves a piece and sees it arrive.
    pub async fn bring(&self, piece: Uuid, to: Value) -> Reply {
        let rev = rev_of(&self.piece(piece).await);
        self.post_on(&format!("/v1/pieces/{piece}/move"), rev, json!({ "to": to, "arrived": true }))
            .await
    }

    pub async fn arrive(&self, piece: Uuid) -> Reply {
        self.post(&format!("/v1/pieces/{piece}/arrive"), json!({})).await
    }

    pub async fn retire(&self, piece: Uuid, reason: &str) -> Reply {
        let rev = rev_of(&self.piece(piece).await);
        self.post_on(&format!("/v1/pieces/{piece}/retire"), rev, json!({ "reason": reason, "disposal": "cut up" }))
            .await
    }

    /// Puts a stand-in on a rig.
    pub async fn swap(&self, rig: Uuid, piece: Uuid, slot: &str) -> Reply {
        let body = json!({ "id": Uuid::now_v7(), "rig": rig, "piece": piece, "slot": slot, "on_the_way": false });
        self.post("/v1/swaps", body).await
    }

    /// Ends a swap, or keeps it: `end` or `keep`.
    pub async fn finish_swap(&self, swap: Uuid, how: &str) -> Reply {
        let path = format!("/v1/swaps/{swap}");
        let rev = self.rev(&path).await;
        self.post_on(&format!("{path}/{how}"), rev, json!({})).await
    }

    pub async fn open_ticket(&self, piece: Uuid, shop: Uuid, what: &str, defects: &[Uuid]) -> Reply {
        self.post(
            "/v1/tickets",
            json!({ "id": Uuid::now_v7(), "piece": piece, "shop": shop, "what": what, "defects": defects }),
        )
        .await
    }

    /// A step of a ticket: `accept`, `work`, `wait`, `line`, `test`, `return`, `drop`.
    pub async fn step(&self, ticket: Uuid, step: &str, body: Value) -> Reply {
        let path = format!("/v1/tickets/{ticket}");
        let rev = self.rev(&path).await;
        self.post_on(&format!("{path}/{step}"), rev, body).await
    }

    pub async fn piece(&self, piece: Uuid) -> Value {
        self.find(&format!("/v1/pieces/{piece}")).await
    }

    pub async fn capability(&self, rig: Uuid) -> Value {
        self.find(&format!("/v1/rig-standings/{rig}")).await
    }

    /// A rig's line on the board.
    pub async fn on_board(&self, rig: Uuid) -> Line {
        let board = self.find("/v1/board").await;
        let rigs = board["districts"]
            .as_array()
            .expect("districts")
            .iter()
            .flat_map(|district| district["rigs"].as_array().expect("rigs"));
        let line = rigs
            .into_iter()
            .find(|line| line["id"] == json!(rig))
            .unwrap_or_else(|| panic!("the rig is not on the board: {board}"));
        Line {
            level: line["level"].as_str().expect("a level").to_owned(),
            words: line["words"]
                .as_array()
                .expect("words")
                .iter()
                .map(|words| words.as_str().expect("words").to_owned())
                .collect(),
            lacks: line["lacks"]
                .as_array()
                .expect("lacks")
                .iter()
                .map(|words| words.as_str().expect("words").to_owned())
                .collect(),
            margin: line["margin"].as_i64(),
            since: line["since"].as_str().expect("a time").to_owned(),
            holds_until: line["holds_until"].as_str().map(str::to_owned),
        }
    }

    /// A district's numbers on the board: full, limited, none, and whether it is short of full rigs.
    pub async fn district_on_board(&self, district: Uuid) -> (i64, i64, i64, bool) {
        let board = self.find("/v1/board").await;
        let line = board["districts"]
            .as_array()
            .expect("districts")
            .iter()
            .find(|line| line["id"] == json!(district));
        let line = line.unwrap_or_else(|| panic!("the district is not on the board: {board}"));
        let count = |word: &str| line["totals"][word].as_i64().expect("a count");
        (count("full"), count("limited"), count("none"), line["short"].as_bool().expect("short or not"))
    }

    /// The tags of the pieces that could go aboard now for a need or slot, in the order offered.
    pub async fn stand_ins(&self, rig: Uuid, gap: &str) -> Vec<String> {
        let found = self.find(&format!("/v1/rigs/{rig}/remedies")).await;
        let gaps = found["items"].as_array().expect("items").iter();
        gaps.filter(|one| one["id"] == gap)
            .flat_map(|one| one["candidates"].as_array().expect("candidates"))
            .filter(|one| one["ready"] == true)
            .map(|one| one["tag"].as_str().expect("a tag").to_owned())
            .collect()
    }
}
