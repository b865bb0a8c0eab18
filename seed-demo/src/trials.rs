//! Good practice: what comes aboard a rig is tried on that rig by its crew before anybody counts on it. A stand-in that went aboard
//! although it does not serve there cannot be.

use crate::{
    catalogue::Kind,
    county::{County, Place},
    deeds::Deed,
    ledger::{Ledger, Seen},
    people::crew_of,
    story::Act,
    when::When,
};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// How many minutes a trial takes.
const TRIAL: i64 = 12;
/// The most pieces of one trial.
const MOST: usize = 24;

/// The acts, in the order of time, with the trials in their places.
pub fn add(county: &County, acts: Vec<Act>) -> Vec<Act> {
    let mut ledger = Ledger::new(county);
    let mut owed: BTreeSet<Uuid> = BTreeSet::new();
    let mut all: Vec<Act> = Vec::with_capacity(acts.len());
    let mut trials: Vec<(usize, Act)> = Vec::new();
    let small: BTreeSet<Uuid> = county
        .pieces
        .iter()
        .filter(|piece| piece.kind == Kind::Accessory)
        .map(|piece| piece.id)
        .collect();
    let mut unfit: BTreeSet<Uuid> = BTreeSet::new();
    for (at, act) in acts.iter().enumerate() {
        let touched: Vec<Uuid> = act.deed.touches().into_iter().filter(|id| ledger.pieces.contains_key(id)).collect();
        let before: Vec<Option<Uuid>> = touched.iter().map(|id| rig_of(&ledger, *id)).collect();
        if ledger.read(act).is_err() {
            continue; // The story's own test says so.
        }
        if let Deed::Start { piece, despite: Some(_), .. } = &act.deed {
            unfit.insert(*piece);
        }
        let mut of_rig: BTreeMap<Uuid, Vec<Uuid>> = BTreeMap::new();
        for (piece, before) in touched.into_iter().zip(before) {
            let now = rig_of(&ledger, piece);
            if now != before {
                owed.remove(&piece);
                if now.is_some() && !small.contains(&piece) && !unfit.contains(&piece) {
                    owed.insert(piece);
                }
            }
            if let Some(rig) = now.filter(|_| owed.contains(&piece) && !ledger.is_out(piece)) {
                owed.remove(&piece);
                of_rig.entry(rig).or_default().push(piece);
            }
        }
        for (rig, pieces) in of_rig {
            let Some((_, place)) = county.rigs.iter().find(|(id, _)| *id == rig) else {
                continue;
            };
            for pieces in pieces.chunks(MOST) {
                trials.push((
                    at,
                    Act {
                        when: moment(act.when, pieces, acts.get(at + 1..).unwrap_or_default()),
                        who: crew_of(place.station),
                        deed: Deed::TryOut { pieces: pieces.to_vec() },
                    },
                ));
            }
        }
    }
    let mut trials = trials.into_iter().peekable();
    for (at, act) in acts.into_iter().enumerate() {
        all.push(act);
        while let Some((_, trial)) = trials.next_if(|(after, _)| *after == at) {
            all.push(trial);
        }
    }
    all.sort_by_key(|act| act.when);
    all
}

fn rig_of(ledger: &Ledger<'_>, piece: Uuid) -> Option<Uuid> {
    match &ledger.pieces.get(&piece)?.seen {
        Seen::At(Place::Rig(rig)) => Some(*rig),
        _ => None,
    }
}

/// When the trial is done: a little later, unless something happens to one of the pieces before.
fn moment(from: When, pieces: &[Uuid], rest: &[Act]) -> When {
    let done = from.plus(TRIAL);
    let soon = rest.iter().take_while(|act| act.when <= done);
    let disturbed = soon.flat_map(|act| act.deed.touches()).any(|id| pieces.contains(&id));
    if disturbed || !done.is_tellable() { from } else { done }
}
