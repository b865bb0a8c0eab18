//! Which piece fills which slot of the class's list.
//!
//! A piece fills a slot when it is usable, of the slot's kinds, rated as asked, and of use on this rig: a tool is driven by
//! something aboard, a source feeds some hose aboard, a hose or adapter leads from some source aboard, a pack or charger fits
//! some battery tool aboard. The slots that can be filled together are the independent sets of a transversal matroid, so
//! offering required slots first and augmenting is exact.

use super::board::{Board, rated_at};
use crate::matching::Matching;
use crate::ratings::Kind;
use crate::sets::{self, Set};

/// The list's filling.
pub(super) struct Filled {
    pub matching: Matching,
    /// Of each slot: the pieces that could fill it.
    pub candidates: Vec<Set>,
    /// Whether every required slot is filled.
    pub is_complete: bool,
}

impl Board<'_> {
    /// The best filling with the pieces in `alive`.
    pub(super) fn filled(&self, alive: Set) -> Filled {
        let fit = self.of_use(alive);
        let candidates: Vec<Set> = self.slots.iter().zip(&self.suits).enumerate().map(|(i, (_, suits))| suits & fit | self.runs_low(i, alive)).collect();
        let mut matching = Matching::new(self.slots.len());
        for required in [true, false] {
            for (slot, _) in self.slots.iter().enumerate().filter(|(_, slot)| slot.required == required) {
                matching.fill(&candidates, slot);
            }
        }
        let is_complete = self.slots.iter().enumerate().all(|(i, slot)| !slot.required || matching.piece(i).is_some());
        Filled {
            matching,
            candidates,
            is_complete,
        }
    }

    /// The pieces in `alive` that something aboard makes use of. Tools are so at their rated pressure or on a battery.
    pub(super) fn of_use(&self, alive: Set) -> Set {
        let reach = self.lines.reach(alive);
        let mut fit = self.lines.served(alive) & alive;
        for i in sets::each(alive) {
            let bit = sets::one(i);
            let useful = match self.kinds.get(i) {
                Some(kind) if kind.is_tool() => reach.rated(i) != 0 || self.own_pack & bit != 0 || self.lines.packs_of(i) & alive != 0,
                Some(Kind::Battery | Kind::Charger) => self.fits_a_battery(i),
                Some(Kind::Accessory) => true,
                _ => false,
            };
            if useful {
                fit |= bit;
            }
        }
        fit
    }

    /// Tools for a slot that run below their rated pressure, with ratings stated for it that meet the slot's minimums.
    fn runs_low(&self, slot: usize, alive: Set) -> Set {
        let Some(slot) = self.slots.get(slot) else { return 0 };
        if self.pieces.iter().all(|piece| piece.rated_at.is_empty()) {
            return 0;
        }
        let reach = self.lines.reach(alive);
        sets::each(alive & self.lines.tools)
            .filter(|i| {
                self.piece(*i).is_some_and(|piece| {
                    slot.kinds.contains(&piece.kind)
                        && sets::each(Set::from(reach.below(*i)))
                            .filter_map(|outlet| self.lines.outlets().get(outlet))
                            .any(|outlet| rated_at(piece, outlet, self.rules).is_some_and(|ratings| ratings.meet_all(&slot.minimums)))
                })
            })
            .fold(0, |set, i| set | sets::one(i))
    }

    /// Whether a pack or charger is of the family of some battery tool aboard, in whatever state that is.
    pub(super) fn fits_a_battery(&self, i: usize) -> bool {
        let family = |i: usize| {
            let name = self.piece(i).and_then(|piece| piece.hookup.battery.as_deref());
            name.map(crate::hookup::fold).filter(|name| !name.is_empty())
        };
        let own = family(i);
        own.is_some() && sets::each(self.lines.tools).any(|tool| family(tool) == own)
    }
}
