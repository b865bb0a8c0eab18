//! A family is pieces that can take each other's slots: one kind, and one coupling and fluid or one battery.

use fullset_calc::{hookup::Hookup, ratings::Kind};

use crate::slices::{
    pieces::{PieceState, Place},
    reliability::PieceNow,
};

/// The families that differ in writing alone are one.
fn folded(name: &str) -> String {
    name.trim().to_ascii_lowercase()
}

/// The key of the family that a model is of; the same for all models of it.
pub fn key(kind: Kind, hookup: &Hookup) -> String {
    let mut parts = vec![kind.word().to_owned()];
    match &hookup.battery {
        Some(battery) => parts.push(folded(battery)),
        None if kind == Kind::Accessory => {}
        None => {
            if let Some(coupling) = &hookup.coupling {
                let other = hookup.tool_coupling.as_deref().filter(|_| hookup.joins_two_families());
                parts.push(other.map_or_else(|| folded(coupling), |other| format!("{} to {}", folded(coupling), folded(other))));
            }
            parts.extend(hookup.fluid.map(|fluid| fluid.name().to_owned()));
        }
    }
    parts.join(", ")
}

/// What a piece is to its family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Its home is on a rig.
    Fleet,
    /// It may stand in for one of the fleet.
    Spare,
    /// Neither: it is out of service, away, kept for a rig's changeover, or nobody knows where it belongs.
    Neither,
}

/// What a piece is to its family now.
pub fn part(piece: &PieceNow) -> Part {
    let stock = |place: &Place| matches!(place, Place::Shelf { .. } | Place::Shop { .. });
    match &piece.home {
        _ if piece.state == PieceState::Retired => Part::Neither,
        Some(Place::Rig { .. }) => Part::Fleet,
        _ if piece.kept_for.is_some() => Part::Neither,
        home if piece.state == PieceState::InService && stock(home.as_ref().unwrap_or(&piece.place)) => Part::Spare,
        _ => Part::Neither,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hookup(json: serde_json::Value) -> Hookup {
        serde_json::from_value(json).unwrap()
    }

    #[test]
    fn pieces_of_another_coupling_fluid_or_battery_are_another_family() {
        let flat = hookup(serde_json::json!({ "coupling": "Flat-face single ", "fluid": "mineral oil" }));
        let same = hookup(serde_json::json!({ "coupling": "flat-face single", "fluid": "mineral oil", "circuits": 2 }));
        assert_eq!(key(Kind::Cutter, &flat), "cutter, flat-face single, mineral oil");
        assert_eq!(key(Kind::Cutter, &flat), key(Kind::Cutter, &same));
        let ester = hookup(serde_json::json!({ "coupling": "flat-face single", "fluid": "phosphate ester" }));
        let twin = hookup(serde_json::json!({ "coupling": "twin-line", "fluid": "mineral oil" }));
        let adapter = hookup(serde_json::json!({ "coupling": "flat-face single", "tool_coupling": "twin-line", "fluid": "mineral oil" }));
        let pack = hookup(serde_json::json!({ "battery": "28V family" }));
        let keys = [&flat, &ester, &twin, &adapter, &pack].map(|hookup| key(Kind::Hose, hookup));
        assert_eq!(keys[3], "hose, flat-face single to twin-line, mineral oil");
        assert_eq!(keys[4], "hose, 28v family");
        assert_eq!(keys.iter().collect::<std::collections::BTreeSet<_>>().len(), 5);
        assert_ne!(key(Kind::Spreader, &flat), key(Kind::Cutter, &flat));
        assert_eq!(key(Kind::Accessory, &hookup(serde_json::json!({}))), "accessory");
    }
}
