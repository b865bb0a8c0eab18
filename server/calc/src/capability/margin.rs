//! How much loss the level stands: the pieces whose loss alone drops it, and how many any pieces may be lost.
//!
//! Losing a piece is the same as losing any other that is alike, so only one of each sort is tried, and sets of them
//! as multisets. The search goes by size and stops at the first set that drops the level.

use super::board::Board;
use super::wire::Level;
use crate::sets::{self, Set};

/// So many sets of lost pieces are tried at most, and so many steps of work are spent; the margin found until then is "at least".
const WORK: usize = 120;
const STEPS: usize = 400_000;

pub(super) struct Loss {
    /// `None` below limited.
    pub margin: Option<usize>,
    /// The margin was not followed further.
    pub at_least: bool,
    /// Pieces whose loss alone drops the level.
    pub critical: Set,
}

/// `aboard` is the number of all pieces on the rig, counted or not.
pub(super) fn of(board: &Board<'_>, level: Level, aboard: usize) -> Loss {
    if level <= Level::None {
        return Loss {
            margin: None,
            at_least: false,
            critical: 0,
        };
    }
    let sorts = sorts(board);
    let mut critical = 0;
    let before = board.work();
    for sort in &sorts {
        if board.work() - before > STEPS {
            return Loss {
                margin: Some(0),
                at_least: true,
                critical,
            };
        }
        if sets::first(*sort).is_some_and(|i| !board.holds(board.usable & !sets::one(i), level)) {
            critical |= sort;
        }
    }
    if critical != 0 {
        return Loss {
            margin: Some(0),
            at_least: false,
            critical,
        };
    }
    let all = sorts.iter().map(|sort| sets::count(*sort)).sum::<usize>();
    let mut search = Search {
        board,
        sorts: &sorts,
        level,
        left: WORK,
        until: before + STEPS,
    };
    for size in 2..=all {
        match search.drops(board.usable, 0, size) {
            Some(true) => {
                return Loss {
                    margin: Some(size - 1),
                    at_least: false,
                    critical,
                };
            }
            Some(false) => {}
            None => {
                return Loss {
                    margin: Some(size - 1),
                    at_least: true,
                    critical,
                };
            }
        }
    }
    Loss {
        margin: Some(aboard),
        at_least: false,
        critical,
    }
}

/// Usable pieces that can matter, those that are alike together.
fn sorts(board: &Board<'_>) -> Vec<Set> {
    let mut sorts: Vec<(usize, Set)> = Vec::new();
    for i in sets::each(board.usable & board.matters()) {
        let of = board.sort_of(i);
        match sorts.iter_mut().find(|(known, _)| *known == of) {
            Some((_, sort)) => *sort |= sets::one(i),
            None => sorts.push((of, sets::one(i))),
        }
    }
    sorts.into_iter().map(|(_, sort)| sort).collect()
}

struct Search<'s, 'a> {
    board: &'s Board<'a>,
    sorts: &'s [Set],
    level: Level,
    /// So many sets are still tried.
    left: usize,
    /// Where the board's count of steps stands when it is time to stop.
    until: usize,
}

impl Search<'_, '_> {
    /// Whether some further `more` pieces of sort `from` or later drop the level; `None` when the work ran out.
    fn drops(&mut self, alive: Set, from: usize, more: usize) -> Option<bool> {
        if more == 0 {
            self.left = self.left.checked_sub(1).filter(|_| self.board.work() < self.until)?;
            return Some(!self.board.holds(alive, self.level));
        }
        for (at, sort) in self.sorts.iter().enumerate().skip(from) {
            if let Some(i) = sets::first(sort & alive)
                && self.drops(alive & !sets::one(i), at, more - 1)?
            {
                return Some(true);
            }
        }
        Some(false)
    }
}
