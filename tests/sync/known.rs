//! The records that phones work with, in the terms of the sequential model.

use std::collections::BTreeSet;

use chrono::{DateTime, Months, NaiveDate, Utc};
use serde_json::Value;
use uuid::Uuid;

/// The kinds of tools.
const TOOLS: [&str; 4] = ["spreader", "cutter", "combination_tool", "ram"];

/// A piece as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    pub rev: i64,
    pub out: bool,
    pub reason: Option<String>,
    pub holds: BTreeSet<Uuid>,
    /// Open defects that leave it usable under a limit.
    pub limits: BTreeSet<Uuid>,
    /// The date of make, of a hose: it is not released past its life.
    pub hose_made_on: Option<NaiveDate>,
    /// Whether it needs something to run on: a stand-in that would not run is refused.
    pub tool: bool,
    pub place: Value,
    pub home: Value,
    /// Whether it went out without a defect: for something that nobody has named.
    pub unnamed: bool,
    /// Whether its return from what nobody has named takes a technician, or the maker's paper.
    pub under_pressure: bool,
}

impl Piece {
    /// Whether it is a hose of ten years or more.
    pub fn is_past_life(&self, at: DateTime<Utc>) -> bool {
        let ends = self.hose_made_on.and_then(|made| made.checked_add_months(Months::new(120)));
        ends.is_some_and(|ends| at.date_naive() >= ends)
    }
}

/// A defect as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Defect {
    pub rev: i64,
    pub piece: Uuid,
    pub open: bool,
    /// How often it was seen again.
    pub notes: u64,
}

/// A note on a defect as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    pub rev: i64,
    pub defect: Uuid,
    pub piece: Uuid,
    pub text: String,
    /// Whether its defect is.
    pub open: bool,
}

/// A swap as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Swap {
    pub rev: i64,
    pub rig: Uuid,
    pub piece: Uuid,
    pub state: String,
    pub from: Value,
}

/// A rig as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    pub rev: i64,
    pub station: Uuid,
    pub out: bool,
}

/// A station as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    pub rev: i64,
    pub district: Uuid,
}

/// A use as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    pub rev: i64,
    pub rig: Uuid,
}

/// An import as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Import {
    pub rev: i64,
    pub undone: bool,
}

/// The id that a field holds.
pub fn id(body: &Value, field: &str) -> Uuid {
    body[field]
        .as_str()
        .and_then(|id| id.parse().ok())
        .unwrap_or_else(|| panic!("no {field} in {body}"))
}

/// The text that a field holds.
pub fn text(body: &Value, field: &str) -> String {
    body[field].as_str().unwrap_or_else(|| panic!("no {field} in {body}")).to_owned()
}

fn rev(record: &Value) -> i64 {
    record["rev"].as_i64().expect("a record has its rev")
}

/// A record of a piece in the model's terms.
pub fn piece(record: &Value) -> Piece {
    Piece {
        rev: rev(record),
        out: record["state"] == "out_of_service",
        reason: record["state_reason"].as_str().map(str::to_owned),
        holds: record["holds"].as_array().expect("holds").iter().map(|hold| id(hold, "id")).collect(),
        limits: record["limits"].as_array().expect("limits").iter().map(|limit| id(limit, "defect")).collect(),
        hose_made_on: record["made_on"].as_str().filter(|_| record["kind"] == "hose").and_then(|day| day.parse().ok()),
        unnamed: record["unanswered"].as_array().expect("unanswered").iter().any(|open| open["defect"].is_null()),
        under_pressure: !["battery", "charger", "accessory"].contains(&record["kind"].as_str().expect("a kind")),
        tool: TOOLS.contains(&record["kind"].as_str().expect("a kind")),
        place: record["place"].clone(),
        home: record["home"].clone(),
    }
}

/// A record of a defect in the model's terms.
pub fn defect(record: &Value) -> Defect {
    Defect {
        rev: rev(record),
        piece: id(record, "piece"),
        open: record["state"] == "open",
        notes: record["seen_again"].as_u64().expect("how often"),
    }
}

/// A record of a note in the model's terms.
pub fn note(record: &Value) -> Note {
    Note {
        rev: rev(record),
        defect: id(record, "defect"),
        piece: id(record, "piece"),
        text: text(record, "text"),
        open: record["state"] == "open",
    }
}

/// A record of a swap in the model's terms.
pub fn swap(record: &Value) -> Swap {
    Swap {
        rev: rev(record),
        rig: id(record, "rig"),
        piece: id(record, "piece"),
        state: text(record, "state"),
        from: record["from"].clone(),
    }
}

/// A record of a rig in the model's terms.
pub fn rig(record: &Value) -> Rig {
    Rig {
        rev: rev(record),
        station: id(record, "station"),
        out: record["in_service"] == false,
    }
}

/// A record of a station in the model's terms.
pub fn station(record: &Value) -> Station {
    Station {
        rev: rev(record),
        district: id(record, "district"),
    }
}

/// A record of a use in the model's terms.
pub fn used(record: &Value) -> Use {
    Use {
        rev: rev(record),
        rig: id(record, "rig"),
    }
}

/// A record of an import in the model's terms.
pub fn import(record: &Value) -> Import {
    Import {
        rev: rev(record),
        undone: record["undone_at"].is_string(),
    }
}
