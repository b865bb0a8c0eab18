//! What each rig class must carry.

use crate::catalogue::{Kind, Rated, nfpa, plain};
use serde_json::{Value, json};

/// Rigs that must carry the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    RescueEngine,
    Ladder,
    HeavyRescue,
}

impl Class {
    pub const ALL: [Self; 3] = [Self::RescueEngine, Self::Ladder, Self::HeavyRescue];

    pub const fn name(self) -> &'static str {
        match self {
            Self::RescueEngine => "Rescue engine",
            Self::Ladder => "Ladder, combination tool only",
            Self::HeavyRescue => "Heavy rescue",
        }
    }

    /// The level that its rigs are expected to reach.
    pub const fn expects(self) -> &'static str {
        match self {
            Self::RescueEngine => "full",
            Self::Ladder => "limited",
            Self::HeavyRescue => "heavy",
        }
    }

    /// What its rigs must carry.
    pub fn complement(self) -> Value {
        let slots = match self {
            Self::RescueEngine => rescue_engine(),
            Self::Ladder => ladder(),
            Self::HeavyRescue => heavy_rescue(),
        };
        json!({ "slots": slots })
    }
}

fn required(id: &str, name: &str, kind: Kind, least: Rated) -> Value {
    json!({ "id": id, "name": name, "kinds": [kind.wire()], "required": true, "minimums": least.all })
}

fn optional(id: &str, name: &str, kind: Kind) -> Value {
    json!({ "id": id, "name": name, "kinds": [kind.wire()], "required": false, "minimums": {} })
}

fn gear(id: &str, name: &str, gear: &str, required: bool) -> Value {
    json!({ "id": id, "name": name, "kinds": [Kind::Accessory.wire()], "gear": gear, "required": required, "minimums": {} })
}

fn feet(length: f64) -> Rated {
    plain().of("hose_length", length, "ft")
}

fn rescue_engine() -> Vec<Value> {
    vec![
        required("power", "Power unit", Kind::PowerUnit, plain()),
        required("hose-1", "Hose 1", Kind::Hose, feet(30.0)),
        required("cutter", "Cutter", Kind::Cutter, nfpa("2010").levels("A6/B6/C6/D6/E6")),
        required(
            "spreader",
            "Spreader",
            Kind::Spreader,
            nfpa("2010").of("lowest_spreading_force", 6_500.0, "lbf"),
        ),
        required("hose-2", "Hose 2", Kind::Hose, feet(30.0)),
        required(
            "ram",
            "Ram",
            Kind::Ram,
            nfpa("2010").of("push_force", 24_000.0, "lbf").then_plain().of("extended_length", 36.0, "in"),
        ),
        gear("chains", "Chain set", "chains", true),
        gear("ram-support", "Ram support", "ram_support", false),
    ]
}

fn ladder() -> Vec<Value> {
    vec![
        required(
            "combi",
            "Combination tool",
            Kind::Combi,
            nfpa("2015").of("lowest_spreading_force", 6_000.0, "lbf").levels("A6/B6/C6/D6/E6"),
        ),
        required("battery-1", "Battery 1", Kind::Battery, plain()),
        required("battery-2", "Battery 2", Kind::Battery, plain()),
        optional("charger", "Charger", Kind::Charger),
        gear("edge-covers", "Sharp-edge covers", "edge_covers", true),
    ]
}

fn heavy_rescue() -> Vec<Value> {
    vec![
        required("power-1", "Power unit 1", Kind::PowerUnit, plain()),
        required("power-2", "Power unit 2", Kind::PowerUnit, plain()),
        required("hose-1", "Hose 1", Kind::Hose, feet(30.0)),
        required("hose-2", "Hose 2", Kind::Hose, feet(30.0)),
        required("hose-3", "Hose 3, long", Kind::Hose, feet(50.0)),
        required("cutter", "Heavy cutter", Kind::Cutter, nfpa("2020").levels("A8/B9/C8/D9/E9")),
        required(
            "spreader",
            "Heavy spreader",
            Kind::Spreader,
            nfpa("2020").of("lowest_spreading_force", 12_000.0, "lbf"),
        ),
        required(
            "ram-long",
            "Long ram",
            Kind::Ram,
            nfpa("2015").of("push_force", 40_000.0, "lbf").then_plain().of("extended_length", 60.0, "in"),
        ),
        required("ram-short", "Short ram", Kind::Ram, plain().of("retracted_length", 20.0, "in")),
        required(
            "combi",
            "Battery combination tool",
            Kind::Combi,
            nfpa("2015").of("lowest_spreading_force", 7_000.0, "lbf"),
        ),
        required("battery", "Battery", Kind::Battery, plain()),
        optional("charger", "Charger", Kind::Charger),
        gear("chains", "Chain set", "chains", true),
        gear("ram-support", "Ram support", "ram_support", true),
        gear("edge-covers", "Sharp-edge covers", "edge_covers", true),
    ]
}
