//! Which hoses and adapters fluid can get into from the outlets of one kind, whatever tool stands at the end.
//!
//! Asked sort by sort (`Sort`). A line start that takes one sort twice can be shortened to one that takes it once, so how many
//! pieces of a sort there are does not matter, with one exception: an adapter, hoses, and an adapter of that sort again. So a start
//! is known well enough by its last sort and by how many hoses and adapters it has, and the work grows with the number of sorts,
//! not with the number of starts.

use super::lines::{Lines, MOST_ADAPTERS, MOST_HOSES};
use crate::sets::{self, Set, pick};

const HOSES: usize = MOST_HOSES as usize;
const ADAPTERS: usize = MOST_ADAPTERS as usize;

/// What one kind of outlet feeds.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fed {
    /// Sorts with which some line ends: there is a hose in it.
    pub ends: Set,
    /// Sorts that have a place in some line, and those that come first in one.
    places: Set,
    firsts: Set,
}

/// The sorts with which starts of so many hoses and adapters end.
type Layers = [[Set; ADAPTERS + 1]; HOSES + 1];

impl Lines {
    /// The sorts that may come first at an outlet kind with the sources that are usable, and those that may come after.
    pub(super) fn openings(&self, outlet: usize, alive: Set) -> (Set, Set) {
        let mask = 1_u32 << outlet;
        let here = self.outlets().get(outlet).map_or(0, |o| o.sources) & alive;
        let (mut first, mut open) = (0, 0);
        for (i, sort) in self.sorts.iter().enumerate() {
            if here == 0 || sort.ok & mask == 0 || sort.members & alive == 0 {
                continue;
            }
            if sort.fixed.is_none() {
                open |= sets::one(i);
            }
            if sort.first & mask != 0 && sort.fixed.is_none_or(|s| here & sets::one(s) != 0) {
                first |= sets::one(i);
            }
        }
        (first, open)
    }

    /// What an outlet kind feeds with the pieces in `alive`; nothing when nothing fits it.
    pub(super) fn fed(&self, outlet: usize, alive: Set) -> Fed {
        let (first, open) = self.openings(outlet, alive);
        if first == 0 {
            return Fed::default();
        }
        let (hoses, adapters) = (self.hose_sorts, !self.hose_sorts);
        let next = |sort: usize| self.sorts.get(sort).map_or(0, |s| s.next) & open;
        let layers = self.layers(first, open);
        let with_hose = layers.iter().skip(1).flatten().fold(0, |all, layer| all | layer);
        // An adapter that comes first and last takes two of its sort, unless some other way leads to it.
        let only_one = |sort: usize| self.sorts.get(sort).is_some_and(|s| sets::count(s.members & alive) == 1);
        let twice = sets::each(with_hose & first & adapters).filter(|sort| only_one(*sort) && !self.comes_back_without(*sort, first, open));
        let ends = twice.fold(with_hose, |ends, sort| ends & !sets::one(sort));
        // Adapters in front of the first hose.
        let leads = |sort: usize, most: usize| {
            let after = next(sort);
            after & hoses != 0 || (most > 1 && sets::each(after & adapters & !sets::one(sort)).any(|further| next(further) & hoses != 0))
        };
        let leading = |set: Set, most: usize| {
            sets::each(set & adapters)
                .filter(|sort| leads(*sort, most))
                .fold(0, |all, sort| all | sets::one(sort))
        };
        let [_, one, two] = pick_layers(&layers, 0);
        let begins = leading(one, ADAPTERS);
        Fed {
            ends,
            places: ends | begins | leading(two, 1),
            firsts: (first & hoses) | begins,
        }
    }

    /// The starts from these sorts on, each shortest one of its kind.
    fn layers(&self, first: Set, open: Set) -> Layers {
        let mut layers: Layers = [[0; ADAPTERS + 1]; HOSES + 1];
        let mut steps = 0;
        let put = |layers: &mut Layers, hoses: usize, adapters: usize, sorts: Set| {
            if let Some(layer) = layers.get_mut(hoses).and_then(|row| row.get_mut(adapters)) {
                *layer |= sorts;
            }
        };
        put(&mut layers, 1, 0, first & self.hose_sorts);
        put(&mut layers, 0, 1, first & !self.hose_sorts);
        for parts in 1..HOSES + ADAPTERS {
            for hoses in 0..=HOSES.min(parts) {
                let adapters = parts - hoses;
                // What a start with fewer parts ends with leads on to no less.
                let known = (usize::from(hoses > 0)..=hoses).flat_map(|h| (0..=adapters).map(move |a| (h, a)));
                let shorter = known.filter(|known| *known != (hoses, adapters));
                let done = shorter.fold(0, |all, (h, a)| all | pick(&pick_layers(&layers, h), a));
                let sorts = pick(&pick_layers(&layers, hoses), adapters) & !done;
                let mut next = 0;
                for sort in sets::each(sorts) {
                    steps += 1;
                    next |= self.sorts.get(sort).map_or(0, |s| s.next) & open;
                }
                put(&mut layers, hoses + 1, adapters, next & self.hose_sorts);
                put(&mut layers, hoses, adapters + 1, next & !self.hose_sorts);
            }
        }
        self.count(steps + 1);
        layers
    }

    /// Whether an adapter's sort ends some start with a hose that does not begin with it.
    fn comes_back_without(&self, sort: usize, first: Set, open: Set) -> bool {
        let bit = sets::one(sort);
        let layers = self.layers(first & !bit, open & !bit);
        let before = layers
            .iter()
            .skip(1)
            .flat_map(|row| row.iter().take(ADAPTERS))
            .fold(0, |all, layer| all | layer);
        sets::each(before).any(|last| self.sorts.get(last).is_some_and(|s| s.next & open & bit != 0))
    }

    /// The pieces in `alive` that have a place in some line from that outlet kind: sources, hoses and adapters.
    pub(super) fn places(&self, outlet: usize, fed: &Fed, alive: Set) -> Set {
        let sources = self.outlets().get(outlet).map_or(0, |o| o.sources) & alive;
        let mut all = 0;
        for sort in sets::each(fed.places).filter_map(|i| self.sorts.get(i)) {
            all |= sort.members & alive;
        }
        for sort in sets::each(fed.firsts).filter_map(|i| self.sorts.get(i)) {
            all |= match sort.fixed {
                Some(s) => sets::one(s),
                None => sources,
            };
        }
        all
    }
}

fn pick_layers(layers: &Layers, hoses: usize) -> [Set; ADAPTERS + 1] {
    pick(layers, hoses)
}
