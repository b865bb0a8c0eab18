//! The best filling: which sources make the system, and which piece goes into which slot.
//!
//! For a given system the slots that can be filled together are the independent sets of a transversal matroid, so
//! offering them by need and augmenting is exact. A larger system never fills less, so only largest sets of sources
//! that fit the power slots together are tried, those of lowest tag first.

use super::board::Board;
use super::input::Need;
use super::wire::Level;
use crate::matching::Matching;
use crate::sets::{self, Set};

/// So many systems are tried at most: twelve sources for four power slots need 495. A register full of nonsense must not
/// hold up the others; what is found until then is a filling that works, only perhaps not the best.
const SYSTEMS: usize = 500;

pub(super) struct Filled {
    pub matching: Matching,
    /// The sources that hoses and tools must hook up to.
    pub system: Set,
    /// Of each slot: the pieces that could fill it in this system.
    pub candidates: Vec<Set>,
    /// Filled slots: core, required, optional.
    pub score: [usize; 3],
}

impl Board<'_> {
    /// The best filling with the pieces in `alive`.
    pub(super) fn best(&self, alive: Set) -> Filled {
        let Some(powering) = self.powering else {
            return self.filled(alive, alive & self.net.sources);
        };
        let sources = powering & alive;
        let mut best = None;
        self.each_system(sources, &mut |system| {
            let filled = self.filled(alive, system);
            let done = filled.score.iter().sum::<usize>() == self.slots.len();
            if best.as_ref().is_none_or(|b: &Filled| filled.score > b.score) {
                best = Some(filled);
            }
            !done
        });
        best.unwrap_or_else(|| self.filled(alive, 0))
    }

    /// Every largest set of these sources that fits the power slots together, lowest first, until `visit` says stop.
    fn each_system(&self, sources: Set, visit: &mut dyn FnMut(Set) -> bool) {
        let ways: Vec<Set> = self.suits.iter().map(|suits| suits & sources).collect();
        let size = Matching::largest(&ways).size();
        if size == sets::count(sources) {
            visit(sources);
            return;
        }
        let mut tried = 0;
        self.extend_system(sources, 0, size, &mut |system| {
            tried += 1;
            let fits = size <= 1 && sets::count(system) == size || {
                let ways: Vec<Set> = ways.iter().map(|way| way & system).collect();
                Matching::largest(&ways).size() == size
            };
            (!fits || visit(system)) && tried < SYSTEMS
        });
    }

    /// Chooses `more` of `rest` beside `chosen`. Of sources that are alike, only the first ones are chosen.
    fn extend_system(&self, rest: Set, chosen: Set, more: usize, visit: &mut dyn FnMut(Set) -> bool) -> bool {
        if more == 0 {
            return visit(chosen);
        }
        let mut rest = rest;
        let mut passed: Set = 0;
        while sets::count(rest) >= more {
            let Some(source) = sets::first(rest) else { return true };
            rest &= !sets::one(source);
            if sets::each(passed).any(|earlier| self.alike(earlier, source)) {
                continue;
            }
            passed |= sets::one(source);
            if !self.extend_system(rest, chosen | sets::one(source), more - 1, visit) {
                return false;
            }
        }
        true
    }

    /// The pieces that are hooked up, or need not be, when `system` drives the rig.
    pub(super) fn hooked_up(&self, alive: Set, system: Set) -> Set {
        let hoses = sets::each(system).fold(0, |set, source| set | sets::pick(&self.net.onward, source)) & self.net.hoses;
        let tools = sets::each(system).fold(self.net.on_battery(alive), |set, source| set | self.net.fed_by(source, alive)) & self.net.tools;
        alive & (self.plain | system | hoses | tools)
    }

    /// The best filling for one system.
    pub(super) fn filled(&self, alive: Set, system: Set) -> Filled {
        self.net.work.set(self.net.work.get() + 1);
        let fit = self.hooked_up(alive, system);
        let candidates: Vec<Set> = self.suits.iter().map(|suits| suits & fit).collect();
        let mut matching = Matching::new(self.slots.len());
        let mut score = [0; 3];
        for slot in self.order.iter().copied() {
            if matching.fill(&candidates, slot) {
                let rank = match self.slot(slot).map(|s| s.need) {
                    Some(Need::Core) => score.get_mut(0),
                    Some(Need::Required) => score.get_mut(1),
                    _ => score.get_mut(2),
                };
                if let Some(n) = rank {
                    *n += 1;
                }
            }
        }
        if self.powering.is_some() {
            // Only where a power slot may also take something else can a source of the system be left over.
            for source in sets::each(system & !matching.used()) {
                matching.bring_in(&candidates, source, system);
            }
        }
        Filled {
            matching,
            system,
            candidates,
            score,
        }
    }

    /// How many slots there are: core, required, optional.
    pub(super) fn wanted(&self) -> [usize; 3] {
        self.slots.iter().fold([0; 3], |[core, required, optional], slot| match slot.need {
            Need::Core => [core + 1, required, optional],
            Need::Required => [core, required + 1, optional],
            Need::Optional => [core, required, optional + 1],
        })
    }

    /// The level that a filling gives with so many tools at once, the rig itself being in service.
    pub(super) fn level(&self, score: [usize; 3], at_once: usize) -> Level {
        let ([core, required, _], [core_wanted, required_wanted, _]) = (score, self.wanted());
        if core < core_wanted {
            Level::None
        } else if required == required_wanted && at_once >= self.simultaneous_min {
            Level::Full
        } else if at_once > 0 {
            Level::Limited
        } else {
            Level::None
        }
    }

    /// Whether the level is at least `floor` with the pieces in `alive`.
    pub(super) fn holds(&self, alive: Set, floor: Level) -> bool {
        let at_once = self.net.at_once(alive);
        let enough = match floor {
            Level::Full => self.simultaneous_min,
            Level::Limited => 1,
            Level::None => return true,
        };
        // Full without any tool at all is only possible where the complement asks for none.
        at_once >= enough.min(self.simultaneous_min.max(1)) && self.level(self.best(alive).score, at_once) >= floor
    }
}
