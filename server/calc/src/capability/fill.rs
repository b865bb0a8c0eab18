//! Which piece fills which slot of the class's list.
//!
//! A piece fills a slot when it is usable, of the slot's kinds, rated as asked, and belongs on this rig (`belongs`): whether it runs
//! now is the level's matter. The slots that can be filled together are the independent sets of a transversal matroid, so
//! offering required slots first and augmenting is exact.

use super::board::Board;
use super::suits::{counted, rated_at};
use crate::hookup::{Reach, each_outlet};
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
    /// The best filling with the usable pieces.
    pub(super) fn filled(&self) -> Filled {
        let reach = self.reach();
        let belong = self.belonging(self.suits.iter().fold(0, |all, suits| all | suits), reach);
        let candidates: Vec<Set> = self
            .suits
            .iter()
            .enumerate()
            .map(|(i, suits)| suits & belong | self.runs_low(i, reach))
            .collect();
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

    /// The pieces in `alive` that something aboard makes use of, `reach` being theirs. Tools are so at their rated pressure or on a
    /// battery.
    pub(super) fn of_use(&self, reach: &Reach, alive: Set) -> Set {
        let mut fit = (reach.served() | self.fits_a_battery | self.own_pack) & alive;
        for i in sets::each(alive & !fit) {
            let useful = match self.kinds.get(i) {
                Some(kind) if kind.is_tool() => reach.rated(i) != 0 || self.lines.packs_of(i) & alive != 0,
                Some(Kind::Accessory) => true,
                _ => false,
            };
            if useful {
                fit |= sets::one(i);
            }
        }
        fit
    }

    /// Tools for a slot that run below their rated pressure, with ratings stated for it that meet the slot's minimums.
    fn runs_low(&self, slot: usize, reach: &Reach) -> Set {
        let Some(slot) = self.slots.get(slot) else { return 0 };
        let serves = |i: &usize| {
            let Some(piece) = self.piece(*i).filter(|piece| slot.kinds.contains(&piece.kind)) else {
                return false;
            };
            let outlets = each_outlet(reach.below(*i)).filter_map(|outlet| self.lines.outlets().get(outlet));
            outlets
                .filter_map(|outlet| rated_at(piece, outlet, self.rules))
                .any(|ratings| counted(piece, ratings).meet_all(&slot.minimums))
        };
        let lower = |i: &usize| self.piece(*i).is_some_and(|piece| !piece.rated_at.is_empty());
        sets::each(self.usable & self.lines.tools)
            .filter(lower)
            .filter(serves)
            .fold(0, |set, i| set | sets::one(i))
    }
}
