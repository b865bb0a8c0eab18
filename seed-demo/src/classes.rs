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

    /// What its rigs must carry.
    pub fn complement(self) -> Value {
        let (at_once, slots) = match self {
            Self::RescueEngine => (1, rescue_engine()),
            Self::Ladder => (1, ladder()),
            Self::HeavyRescue => (2, heavy_rescue()),
        };
        json!({ "simultaneous_min": at_once, "slots": slots })
    }
}

fn slot(id: &str, name: &str, kind: Kind, need: &str, least: Rated) -> Value {
    json!({ "id": id, "name": name, "kinds": [kind.wire()], "need": need, "minimums": least.all })
}

fn feet(length: f64) -> Rated {
    plain().of("hose_length", length, "ft")
}

fn rescue_engine() -> Vec<Value> {
    vec![
        slot("power", "Power unit", Kind::PowerUnit, "core", plain()),
        slot("hose-1", "Hose 1", Kind::Hose, "core", feet(30.0)),
        slot("cutter", "Cutter", Kind::Cutter, "core", nfpa("2010").levels("A6/B6/C6/D6/E6")),
        slot(
            "spreader",
            "Spreader",
            Kind::Spreader,
            "core",
            nfpa("2010").of("lowest_spreading_force", 6_500.0, "lbf"),
        ),
        slot("hose-2", "Hose 2", Kind::Hose, "required", feet(30.0)),
        slot(
            "ram",
            "Ram",
            Kind::Ram,
            "required",
            nfpa("2010").of("push_force", 24_000.0, "lbf").then_plain().of("extended_length", 36.0, "in"),
        ),
        slot("small-gear", "Chains or ram support", Kind::Accessory, "optional", plain()),
    ]
}

fn ladder() -> Vec<Value> {
    vec![
        slot(
            "combi",
            "Combination tool",
            Kind::Combi,
            "core",
            nfpa("2015").of("lowest_spreading_force", 6_000.0, "lbf").levels("A6/B6/C6/D6/E6"),
        ),
        slot("battery-1", "Battery 1", Kind::Battery, "core", plain()),
        slot("battery-2", "Battery 2", Kind::Battery, "required", plain()),
        slot("charger", "Charger", Kind::Charger, "optional", plain()),
    ]
}

fn heavy_rescue() -> Vec<Value> {
    vec![
        slot("power-1", "Power unit 1", Kind::PowerUnit, "core", plain()),
        slot("power-2", "Power unit 2", Kind::PowerUnit, "required", plain()),
        slot("hose-1", "Hose 1", Kind::Hose, "core", feet(30.0)),
        slot("hose-2", "Hose 2", Kind::Hose, "required", feet(30.0)),
        slot("hose-3", "Hose 3, long", Kind::Hose, "required", feet(50.0)),
        slot("cutter", "Heavy cutter", Kind::Cutter, "core", nfpa("2020").levels("A8/B9/C8/D9/E9")),
        slot(
            "spreader",
            "Heavy spreader",
            Kind::Spreader,
            "core",
            nfpa("2020").of("lowest_spreading_force", 12_000.0, "lbf"),
        ),
        slot(
            "ram-long",
            "Long ram",
            Kind::Ram,
            "required",
            nfpa("2015").of("push_force", 40_000.0, "lbf").then_plain().of("extended_length", 60.0, "in"),
        ),
        slot("ram-short", "Short ram", Kind::Ram, "required", plain().of("retracted_length", 20.0, "in")),
        slot(
            "combi",
            "Battery combination tool",
            Kind::Combi,
            "required",
            nfpa("2015").of("lowest_spreading_force", 7_000.0, "lbf"),
        ),
        slot("battery", "Battery", Kind::Battery, "required", plain()),
        slot("small-gear", "Chains, supports, covers", Kind::Accessory, "optional", plain()),
    ]
}
