//! What each rig carries, and what lies on the reserve shelves.

use crate::{
    catalogue::Family,
    classes::Class,
    places::{Duty, Rig},
};

/// Role and model of everything that a rig carries.
pub fn kit(rig: &Rig) -> Vec<(&'static str, &'static str)> {
    let [power, cutter, spreader, ram, hose] = match rig.family {
        Family::Bayonet => ["Korvath P2", "Korvath K-55", "Korvath S-40", "Korvath R-90", "Korvath Line 10 m"],
        Family::Twin => ["Marrable 20", "Marrable M-7", "Marrable M-26", "Marrable M-R2", "Marrable twin line 32"],
        Family::Ester => ["Quillane Q5", "Quillane QC", "Quillane QS 28", "Quillane QR", "Quillane ester line 32"],
        _ => ["Ferrowick Duet", "Ferrowick C-62", "Ferrowick S-45", "Ferrowick R-2", "Ferrowick Coax 30"],
    };
    let (chains, support, covers) = ("Hasp & Dray chain set", "Hasp & Dray ram support", "Hasp & Dray sharp-edge covers");
    let [combi, pack, charger] = if rig.family == Family::Pack36 {
        ["Sparrowhale VC-36", "Sparrowhale Pack 36", "Sparrowhale Charger 36"]
    } else {
        ["Sparrowhale VC-54", "Sparrowhale Pack 54", "Sparrowhale Charger 54"]
    };
    match rig.class {
        _ if rig.duty == Duty::StrippedReserve => Vec::new(),
        Class::RescueEngine => {
            let mut kit = vec![
                ("power", power),
                ("cutter", cutter),
                ("spreader", spreader),
                ("ram", ram),
                ("hose 1", hose),
                ("hose 2", hose),
                ("chains", chains),
            ];
            if rig.family == Family::Push {
                kit.push(("support", support));
                if rig.station.is_multiple_of(2) {
                    kit.push(("hose 3", "Ferrowick Coax 50"));
                }
            }
            kit
        }
        Class::Ladder => {
            let mut kit = vec![
                ("combi", combi),
                ("battery 1", pack),
                ("battery 2", pack),
                ("charger", charger),
                ("covers", covers),
            ];
            if rig.family == Family::Pack54 && !rig.station.is_multiple_of(2) {
                kit.push(("battery ram", "Sparrowhale VR-54"));
            }
            kit
        }
        Class::HeavyRescue => vec![
            ("power 1", "Ferrowick Trio"),
            ("power 2", "Ferrowick Duet"),
            ("hose 1", "Ferrowick Coax 30"),
            ("hose 2", "Ferrowick Coax 30"),
            ("hose 3", "Ferrowick Coax 50"),
            ("hose 4", "Ferrowick Coax 50"),
            ("cutter", "Ferrowick C-80"),
            ("spreader", "Ferrowick S-70"),
            ("long ram", "Ferrowick R-3 Long"),
            ("short ram", "Ferrowick R-2"),
            ("combi", combi),
            ("battery 1", pack),
            ("battery 2", pack),
            ("charger", charger),
            ("chains", chains),
            ("support", support),
            ("covers", covers),
        ],
    }
}

/// What lies on reserve shelves: station, role, model.
pub const RESERVES: &[(u8, &str, &str)] = &[
    (1, "power", "Ferrowick Duet"),
    (1, "spreader", "Ferrowick S-45"),
    (1, "hose 1", "Ferrowick Coax 30"),
    (1, "hose 2", "Ferrowick Coax 30"),
    (1, "combi", "Sparrowhale VC-54"),
    (1, "battery 1", "Sparrowhale Pack 54"),
    (1, "battery 2", "Sparrowhale Pack 54"),
    (1, "adapter", "Ferrowick adapter, coax to bayonet"),
    (5, "cutter", "Ferrowick C-62"),
    (5, "ram", "Ferrowick R-2"),
    (5, "hose 1", "Ferrowick Coax 30"),
    (5, "hose 2", "Ferrowick Coax 50"),
    (5, "chains", "Hasp & Dray chain set"),
    (9, "cutter", "Ferrowick C-62"),
    (9, "ram", "Ferrowick R-2"),
    (9, "spreader", "Ferrowick S-45"),
    (9, "hose 1", "Ferrowick Coax 30"),
    (9, "battery 1", "Sparrowhale Pack 54"),
    (9, "battery 2", "Sparrowhale Pack 54"),
    (9, "support", "Hasp & Dray ram support"),
    (12, "cutter", "Korvath K-55"),
    (12, "spreader", "Korvath S-40"),
    (12, "export spreader", "Korvath S-38 export"),
    (12, "ram", "Korvath R-90"),
    (12, "hose 1", "Korvath Line 10 m"),
    (12, "hose 2", "Korvath Line 10 m"),
    (15, "cutter", "Ferrowick C-62"),
    (15, "spreader", "Ferrowick S-45"),
    (15, "hose 1", "Ferrowick Coax 30"),
    (15, "hose 2", "Ferrowick Coax 30"),
    (16, "battery 1", "Sparrowhale Pack 54"),
    (16, "battery 2", "Sparrowhale Pack 54"),
    (16, "charger", "Sparrowhale Charger 54"),
    (19, "cutter", "Marrable M-7"),
    (19, "spreader", "Marrable M-26"),
    (19, "ram", "Marrable M-R2"),
    (21, "ram support", "Hasp & Dray ram support"),
    (21, "hose 1", "Quillane ester line 32"),
    (22, "hand pump", "Korvath hand pump"),
    (23, "battery 1", "Sparrowhale Pack 54"),
    (23, "covers", "Hasp & Dray sharp-edge covers"),
    (24, "battery 1", "Sparrowhale Pack 36"),
    (24, "battery 2", "Sparrowhale Pack 36"),
];

/// The slot that a piece of that role takes on a rig of the class.
pub fn slot_of(class: Class, role: &str) -> Option<&'static str> {
    match (class, role) {
        (Class::HeavyRescue, "power 1") => Some("power-1"),
        (Class::HeavyRescue, "power 2") => Some("power-2"),
        (Class::HeavyRescue, "long ram") => Some("ram-long"),
        (Class::HeavyRescue, "short ram") => Some("ram-short"),
        (Class::HeavyRescue, "hose 3") => Some("hose-3"),
        (Class::HeavyRescue, "battery 1") => Some("battery"),
        (Class::RescueEngine, "power") => Some("power"),
        (Class::RescueEngine, "ram") => Some("ram"),
        (_, "chains") => Some("chains"),
        (_, "support") => Some("ram-support"),
        (_, "covers") => Some("edge-covers"),
        (Class::Ladder, "battery 1") => Some("battery-1"),
        (Class::Ladder, "battery 2") => Some("battery-2"),
        (_, "charger") => Some("charger"),
        (Class::RescueEngine | Class::HeavyRescue, "hose 1") => Some("hose-1"),
        (Class::RescueEngine | Class::HeavyRescue, "hose 2") => Some("hose-2"),
        (Class::RescueEngine | Class::HeavyRescue, "cutter") => Some("cutter"),
        (Class::RescueEngine | Class::HeavyRescue, "spreader") => Some("spreader"),
        (Class::Ladder | Class::HeavyRescue, "combi") => Some("combi"),
        _ => None,
    }
}
