//! The pieces that may be moved: what is in service on shelves and in shops, and what rigs can spare.

use std::collections::HashMap;

use fullset_calc::{
    capability::{Assessment, assess},
    swaps::{FleetDonor, Home},
};

use super::{day::Answers, rules::Part, view::PlanInput};
use crate::slices::{
    capability::{Aboard, FleetPiece},
    districts::DistrictId,
    pieces::{PieceState, Place},
    rigs::RigId,
};

/// Works out every rig's answer.
pub fn answers(asked: &PlanInput<'_>) -> Answers {
    let (fleet, now) = (asked.fleet, asked.now);
    let rules = fleet.rules();
    let answer = |aboard: &Aboard| fleet.speak(|voice| assess(&aboard.view(), &rules, now, voice));
    fleet.rigs.iter().map(|(id, aboard)| (*id, answer(aboard))).collect()
}

/// Gathers them, each with the piece that it is. `number` and `place`: where a rig and a district stand in their lists. What a rig can spare is
/// the judge's matter.
pub fn donors<'f>(
    asked: &PlanInput<'f>,
    answers: &Answers,
    number: &HashMap<RigId, usize>,
    place: &HashMap<DistrictId, usize>,
) -> (Vec<FleetDonor<'f>>, Vec<&'f FleetPiece>) {
    let PlanInput { fleet, county, now, .. } = *asked;
    let policy = fleet.rules().policy;
    let (mut donors, mut all) = (Vec::new(), Vec::new());
    for held in &fleet.pieces {
        let piece = &held.piece;
        let is_free = piece.state == PieceState::InService && piece.kept_for.is_none() && !asked.taken.contains(&piece.id);
        if !is_free || !held.judged.is_usable(&policy, now) {
            continue;
        }
        let (rig, home, at, leaves) = match &piece.place {
            Place::Shelf { station } => {
                let station = county.station(*station).map_or("a station", |station| station.name.as_str());
                (None, Home::Shelf, format!("the reserve shelf of {station}"), None)
            }
            Place::Shop { .. } => (None, Home::Shop, "the shop".to_owned(), None),
            Place::Rig { rig } => {
                let (Some(number), Some(aboard), Some(answer)) = (number.get(rig), fleet.rigs.get(rig), answers.get(rig)) else {
                    continue;
                };
                let leaves = match asked.part(*rig) {
                    Part::Whole => what_stays_open(aboard, answer, held),
                    _ => format!("{}, which is not in the front line, goes without it", aboard.rig.name),
                };
                (Some(*number), Home::Rig, aboard.rig.name.clone(), Some(leaves))
            }
            _ => continue,
        };
        donors.push(FleetDonor {
            piece: &held.judged,
            rig,
            name: format!("{} {}", piece.kind.name(), piece.tag),
            home,
            place: at,
            district: held.scope.district.and_then(|district| place.get(&DistrictId(district)).copied()),
            leaves,
        });
        all.push(held);
    }
    (donors, all)
}

/// What stays open behind a piece that leaves its rig.
fn what_stays_open(aboard: &Aboard, answer: &Assessment, held: &FleetPiece) -> String {
    let id = held.piece.id.0;
    let short = answer.level < answer.target;
    let serves = answer.needs.iter().find(|need| need.pieces.iter().any(|driven| driven.rests_on(id)));
    if let Some(need) = serves.filter(|_| short) {
        return format!("{} on {}", need.name, aboard.rig.name);
    }
    let slots = aboard.class.iter().flat_map(|class| &class.complement.slots);
    let filled = answer.fillings.iter().find(|filling| filling.piece == Some(id));
    let slot = filled.and_then(|filling| slots.clone().find(|slot| slot.id == filling.slot));
    match slot {
        Some(slot) if slot.required => format!("{} in the list of {}", slot.name, aboard.rig.name),
        Some(slot) => format!("the optional {} on {}", slot.name, aboard.rig.name),
        None => format!("one piece less to spare on {}", aboard.rig.name),
    }
}
