//! The pieces that may be moved: what is in service on shelves and in shops, and what rigs can spare.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use fullset_calc::{
    capability::{Assessment, assess},
    swaps::{Donor, Group, Home},
};

use super::{rules::Part, view::PlanInput};
use crate::slices::{
    capability::{Aboard, Fleet, FleetPiece},
    pieces::{PieceState, Place},
    rigs::RigId,
};

/// The donors, each with the piece that it is.
pub struct Donors<'f> {
    pub donors: Vec<Donor>,
    pub held: Vec<&'f FleetPiece>,
    pub groups: Vec<Group>,
}

/// Every rig's answer, worked out now.
pub fn answers(fleet: &Fleet, now: DateTime<Utc>) -> HashMap<RigId, Assessment> {
    let rules = fleet.rules();
    let answer = |aboard: &Aboard| fleet.speak(|voice| assess(&aboard.view(), &rules, now, voice));
    fleet.rigs.iter().map(|(id, aboard)| (*id, answer(aboard))).collect()
}

/// Gathers them. `number`: where a rig stands in the day's list.
pub fn donors<'f>(asked: &PlanInput<'f>, answers: &HashMap<RigId, Assessment>, number: &HashMap<RigId, usize>) -> Donors<'f> {
    let PlanInput { fleet, county, now, .. } = *asked;
    let taken = &asked.taken;
    let policy = fleet.rules().policy;
    let mut found = Donors {
        donors: Vec::new(),
        held: Vec::new(),
        groups: Vec::new(),
    };
    let mut group_of: HashMap<RigId, usize> = HashMap::new();
    for held in &fleet.pieces {
        let piece = &held.piece;
        if piece.state != PieceState::InService || taken.contains(&piece.id) || !held.judged.is_usable(&policy, now) {
            continue;
        }
        let name = format!("{} {}", piece.kind.name(), piece.tag);
        let donor = match &piece.place {
            Place::Shelf { station } => {
                let station = county.station(*station).map_or("a station", |station| station.name.as_str());
                loose(held, name, Home::Shelf, format!("the reserve shelf of {station}"))
            }
            Place::Shop { .. } => loose(held, name, Home::Shop, "the shop".to_owned()),
            Place::Rig { rig } => {
                let (Some(aboard), Some(answer)) = (fleet.rigs.get(rig), answers.get(rig)) else {
                    continue;
                };
                let part = asked.part(*rig);
                if part == Part::None || (part == Part::Whole && answer.critical.contains(&piece.id.0)) {
                    continue;
                }
                let group = *group_of.entry(*rig).or_insert_with(|| {
                    // A rig at none has nothing to lose; what it gives up stands in the way of mending it, see `strips`.
                    let most = answer
                        .margin
                        .filter(|_| part == Part::Whole)
                        .map_or(aboard.pieces.len(), |margin| usize::try_from(margin).unwrap_or(usize::MAX).max(1));
                    found.groups.push(Group { most });
                    found.groups.len() - 1
                });
                let (strips, leaves) = match part {
                    Part::Whole => gap_behind(aboard, answer, held),
                    _ => (false, Some(format!("{}, which is not in the front line, goes without it", aboard.rig.name))),
                };
                Donor {
                    id: piece.id.0,
                    name,
                    home: Home::Rig,
                    place: aboard.rig.name.clone(),
                    group: Some(group),
                    strips: strips.then(|| number.get(rig).copied()).flatten(),
                    leaves,
                }
            }
            _ => continue,
        };
        found.donors.push(donor);
        found.held.push(held);
    }
    found
}

fn loose(held: &FleetPiece, name: String, home: Home, place: String) -> Donor {
    Donor {
        id: held.piece.id.0,
        name,
        home,
        place,
        group: None,
        strips: None,
        leaves: None,
    }
}

/// Whether a rig that is not where it should be could no longer be brought there without this piece, and what stays open behind it.
fn gap_behind(aboard: &Aboard, answer: &Assessment, held: &FleetPiece) -> (bool, Option<String>) {
    let id = held.piece.id.0;
    let short = answer.level < answer.target;
    let serves = answer.needs.iter().find(|need| need.pieces.iter().any(|driven| driven.rests_on(id)));
    if let Some(need) = serves.filter(|_| short) {
        return (true, Some(format!("{} on {}", need.name, aboard.rig.name)));
    }
    let slots = aboard.class.iter().flat_map(|class| &class.complement.slots);
    let filled = answer.fillings.iter().find(|filling| filling.piece == Some(id));
    let slot = filled.and_then(|filling| slots.clone().find(|slot| slot.id == filling.slot));
    match slot {
        Some(slot) if slot.required => (false, Some(format!("{} in the list of {}", slot.name, aboard.rig.name))),
        Some(slot) => (false, Some(format!("the optional {} on {}", slot.name, aboard.rig.name))),
        None => (false, Some(format!("one piece less to spare on {}", aboard.rig.name))),
    }
}
