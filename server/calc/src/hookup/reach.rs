//! What can be driven with the pieces that are usable.

use super::lines::Lines;
use crate::sets::{self, Set, pick};
use std::cell::OnceCell;
use std::rc::Rc;

/// So many answers are kept: what sources, hoses and adapters feed does not depend on the tools.
const MOST_KEPT: usize = 160;

/// What the sources, hoses and adapters of a set feed.
#[derive(Debug, Default)]
pub(super) struct Feed {
    /// The set.
    of: Set,
    /// Of each tool, usable or not: outlet kinds from which a line leads to it at its rated pressure, and below.
    driven: Vec<(u32, u32)>,
    /// Sources, hoses and adapters that have a place in some line.
    served: Set,
    /// Of each outlet kind: the sorts with which a line ends.
    ends: Vec<Set>,
    /// Of each outlet kind: the longest line to each tool.
    longest: Vec<OnceCell<Vec<f64>>>,
}

/// Which tools some line leads to.
#[derive(Debug, Clone)]
pub(crate) struct Reach {
    feed: Rc<Feed>,
    alive: Set,
}

impl Reach {
    fn driven(&self, tool: usize) -> (u32, u32) {
        if self.alive & sets::one(tool) == 0 {
            (0, 0)
        } else {
            pick(&self.feed.driven, tool)
        }
    }

    /// Outlet kinds from which some line leads to the tool at its rated pressure.
    pub(crate) fn rated(&self, tool: usize) -> u32 {
        self.driven(tool).0
    }

    /// Outlet kinds from which some line leads to the tool below its rated pressure.
    pub(crate) fn below(&self, tool: usize) -> u32 {
        self.driven(tool).1
    }

    /// Sources, hoses and adapters that have a place in some line: a source with an outlet that a usable hose fits, directly
    /// or behind adapters; a hose or adapter that fluid can get into.
    pub(crate) fn served(&self) -> Set {
        self.feed.served
    }
}

impl Lines {
    /// What can be driven with the pieces in `alive`.
    pub(crate) fn reach(&self, alive: Set) -> Reach {
        Reach {
            feed: self.feed(alive & (self.sources | self.hoses | self.adapters)),
            alive,
        }
    }

    fn feed(&self, of: Set) -> Rc<Feed> {
        let mut kept = self.feeds.borrow_mut();
        if let Some(feed) = kept.iter().find(|feed| feed.of == of) {
            return Rc::clone(feed);
        }
        let feed = Rc::new(self.feed_of(of));
        if kept.len() >= MOST_KEPT {
            kept.clear();
        }
        kept.push(Rc::clone(&feed));
        feed
    }

    fn feed_of(&self, of: Set) -> Feed {
        let outlets = self.outlets().len();
        let mut feed = Feed {
            of,
            driven: vec![(0, 0); self.pieces.len()],
            served: 0,
            ends: vec![0; outlets],
            longest: vec![OnceCell::new(); outlets],
        };
        for (outlet, ends) in feed.ends.iter_mut().enumerate() {
            let fed = self.fed(outlet, of);
            *ends = fed.ends;
            feed.served |= self.places(outlet, &fed, of);
            let mouths = sets::each(fed.ends)
                .filter_map(|sort| self.sorts.get(sort))
                .fold(0, |all, sort| all | sort.mouth);
            let mask = 1_u32 << outlet;
            for tool in sets::each(mouths) {
                let piece = self.piece(tool);
                if piece.stands & mask == 0 {
                    continue;
                }
                if let Some((rated, below)) = feed.driven.get_mut(tool) {
                    *(if piece.rated & mask != 0 { rated } else { below }) |= mask;
                }
            }
        }
        feed
    }

    /// The longest line from that outlet kind to the tool in mm, as far as anybody asks (`asked_mm`); 0 when there is none of
    /// known length.
    pub(crate) fn longest_mm(&self, reach: &Reach, tool: usize, outlet: usize) -> f64 {
        let feed = &reach.feed;
        let (rated, below) = reach.driven(tool);
        if (rated | below) & (1_u32 << (outlet & 31)) == 0 {
            return 0.0;
        }
        let longest = feed
            .longest
            .get(outlet)
            .map(|longest| longest.get_or_init(|| self.longest_to_each(outlet, pick(&feed.ends, outlet), feed.of)));
        longest.map_or(0.0, |longest| pick(longest, tool))
    }

    /// The pieces that have a place in some line from one outlet kind, with the pieces in `alive` alone.
    pub(super) fn served_from(&self, outlet: usize, alive: Set) -> Set {
        let known = |kept: &&(usize, Set, Set)| kept.0 == outlet && kept.1 == alive;
        if let Some((_, _, served)) = self.served_alone.borrow().iter().find(known) {
            return *served;
        }
        let served = self.places(outlet, &self.fed(outlet, alive), alive);
        let mut kept = self.served_alone.borrow_mut();
        if kept.len() >= MOST_KEPT {
            kept.clear();
        }
        kept.push((outlet, alive, served));
        served
    }
}
