//! Which real pieces, put aboard together, bring a rig to a level: every smallest set of at most [`MOST_PIECES`] of them.
//!
//! Each set is judged whole, as the level itself would judge it: a pump may bring the tools that wait for it, and two pieces that do
//! nothing alone may do together. A set that would join two fluids is none. Pieces that can stand for each other on the rig are one
//! *sort*, so that a county's two hundred pieces are a few dozen things to choose from.
//!
//! Having more pieces never does less, but for one case: where packs count as pieces only once one is aboard, the first pack takes away the
//! packs that battery tools were taken to carry. Sets with and without packs are sought apart then.

use super::board::{Board, are_pieces, carries_packs, own_packs};
use super::input::{Piece, Rig, Rules};
use super::restore::search::{Attempts, Sort};
use super::stand_in::{Wet, would_mix};
use super::suits::counted;
use super::wire::Level;
use crate::hookup::MOST_OUTLET_KINDS;
use crate::ratings::Kind;
use crate::sets::{self, CAPACITY, Set};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use std::sync::Arc;
use uuid::Uuid;

/// The most pieces of one set.
pub const MOST_PIECES: usize = 3;
/// Sets that are asked of the level at most, for one rig.
const TRIES: usize = 6_000;
/// Steps of work that are spent on asking; a usual rig takes some ten thousand.
const WORK: usize = 6_000_000;
/// Sets that are kept for one rig.
const MOST_SETS: usize = 3_000;

/// Pieces that could be put aboard, those that are alike together.
#[derive(Debug)]
pub struct Stock<'p> {
    pieces: Vec<&'p Piece>,
    sorts: Vec<Vec<usize>>,
}

impl<'p> Stock<'p> {
    /// Those of these pieces that may be used at that instant, known by their place in this list.
    #[must_use]
    pub fn new(pieces: Vec<&'p Piece>, rules: &Rules, at: DateTime<Utc>) -> Self {
        let mut sorts: Vec<Vec<usize>> = Vec::new();
        for (i, piece) in pieces.iter().enumerate() {
            if !is_asked(piece.kind, rules) || !piece.is_usable(&rules.policy, at) {
                continue;
            }
            let same = |sort: &&mut Vec<usize>| sort.first().and_then(|first| pieces.get(*first)).is_some_and(|first| alike(first, piece));
            match sorts.iter_mut().find(same) {
                Some(sort) => sort.push(i),
                None => sorts.push(vec![i]),
            }
        }
        Self { pieces, sorts }
    }

    fn piece(&self, i: usize) -> Option<&'p Piece> {
        self.pieces.get(i).copied()
    }
}

/// Whether a piece of that kind can matter to any level.
fn is_asked(kind: Kind, rules: &Rules) -> bool {
    let grades = rules.grades.iter().flat_map(|grades| grades.each());
    let mut parts = grades
        .flat_map(|(_, grade)| &grade.needs)
        .flat_map(|need| &need.alternatives)
        .flat_map(|way| &way.parts);
    kind.is_source() || kind.is_conduit() || kind == Kind::Battery || parts.any(|part| part.kinds.contains(&kind))
}

/// Whether two usable pieces do the same wherever they are, but for what is fixed to them.
fn alike(a: &Piece, b: &Piece) -> bool {
    a.kind == b.kind
        && a.gear == b.gear
        && a.fixed_to == b.fixed_to
        && (Arc::ptr_eq(&a.hookup, &b.hookup) || a.hookup == b.hookup)
        && (Arc::ptr_eq(&a.rated_at, &b.rated_at) || a.rated_at == b.rated_at)
        && counted(a, &a.ratings) == counted(b, &b.ratings)
        && (a.rated_at.is_empty() || a.limits == b.limits)
}

/// Why there may be sets that were not found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Undecided {
    /// There are more sorts of pieces than are looked at together.
    TooManySorts,
    /// The search was stopped at its bound.
    TooMuchWork,
}

impl Undecided {
    /// The same in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::TooManySorts => "there are more sorts of pieces than are looked at together",
            Self::TooMuchWork => "there are more sets of pieces than were tried",
        }
    }
}

/// One smallest set that does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MendSet {
    /// The sort of each of its pieces, ascending.
    pub sorts: Vec<usize>,
    /// Of the groups of pieces aboard that were asked about, those of which none may leave, or the set does no longer.
    pub rests_on: Vec<usize>,
}

/// The sets that bring a rig to a level.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Mends {
    /// Pieces of the stock that can stand for each other on this rig.
    pub sorts: Vec<Vec<usize>>,
    /// The smallest sets.
    pub sets: Vec<MendSet>,
    /// Why these may not be all; `None`: they are.
    pub undecided: Option<Undecided>,
}

/// Every smallest set of pieces of the stock that brings a rig to a level. `may`: which pieces of the stock may come; `groups`: pieces
/// aboard, each group alike, of which is said which sets rest on them.
#[must_use]
pub fn mends(rig: &Rig<'_>, wanted: Level, stock: &Stock<'_>, may: impl Fn(usize) -> bool, groups: &[Vec<Uuid>], rules: &Rules, at: DateTime<Utc>) -> Mends {
    let mut all = Mends::default();
    if rig.out_of_service.is_some() || rules.grades.is_none() {
        return all;
    }
    let aboard: Vec<&Piece> = rig.pieces.iter().collect();
    let sought = Sought {
        rig,
        wanted,
        stock,
        groups,
        rules,
        at,
    };
    let sorts = sought.sorts(&aboard, may);
    let has_pack = carries_packs(&aboard);
    let is_pack = |sort: &[usize]| sort.first().and_then(|i| stock.piece(*i)).is_some_and(|piece| piece.kind == Kind::Battery);
    let changes = !has_pack && sought.first_pack_matters(&aboard, &sorts);
    if !changes {
        sought.seek(sorts, has_pack, &mut all);
        return all;
    }
    let dry: Vec<Vec<usize>> = sorts.iter().filter(|sort| !is_pack(sort)).cloned().collect();
    sought.seek(dry, false, &mut all);
    let mut with = Mends::default();
    sought.seek(sorts, true, &mut with);
    // A set without a pack was found already; one that does without its packs is not smallest.
    let pieces = |set: &MendSet, packs: bool| -> Vec<&Piece> {
        let sorts = set.sorts.iter().filter_map(|sort| with.sorts.get(*sort)).filter(|sort| packs || !is_pack(sort));
        let mut taken: Vec<usize> = Vec::new();
        for sort in sorts {
            taken.extend(sort.iter().find(|i| !taken.contains(i)));
        }
        taken.into_iter().filter_map(|i| stock.piece(i)).collect()
    };
    let (every, at_first) = (with.sets.clone(), all.sorts.len());
    for mut set in every {
        let brings_a_pack = set.sorts.iter().any(|sort| with.sorts.get(*sort).is_some_and(|sort| is_pack(sort)));
        if brings_a_pack && !stands(rig, &[], &pieces(&set, false), wanted, rules, at) {
            set.sorts.iter_mut().for_each(|sort| *sort += at_first);
            all.sets.push(set);
        }
    }
    all.sorts.extend(with.sorts);
    all.undecided = all.undecided.or(with.undecided);
    all
}

/// Whether a rig reaches a level without these pieces of its own and with those put aboard.
#[must_use]
pub fn stands(rig: &Rig<'_>, without: &[Uuid], with: &[&Piece], floor: Level, rules: &Rules, at: DateTime<Utc>) -> bool {
    let own = rig.pieces.iter().filter(|piece| !without.contains(&piece.id));
    let board = Board::of(rig, own.chain(with.iter().copied()), rules, at);
    board.holds(board.usable, floor)
}

/// Pieces aboard that can stand for each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spares {
    /// The pieces.
    pub pieces: Vec<Uuid>,
    /// So many of them, whichever, may go as long as nothing else does: the level stays.
    pub most: usize,
}

/// What a rig can spare of each sort without dropping. What goes of several sorts is another question: see [`stands`].
#[must_use]
pub fn spares(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>) -> Vec<Spares> {
    let board = Board::new(rig, rules, at);
    let level = board.level(board.usable);
    let mut sorts: BTreeMap<Option<usize>, Set> = BTreeMap::new();
    let counts = board.usable & board.matters();
    for i in 0..board.pieces.len() {
        let sort = (counts & sets::one(i) != 0).then(|| board.sort_of(i));
        *sorts.entry(sort).or_default() |= sets::one(i);
    }
    let of = |(sort, set): (Option<usize>, Set)| {
        let goes = |n: usize| sets::each(set).take(n).fold(board.usable, |alive, i| alive & !sets::one(i));
        let all = sets::count(set);
        let most = match sort {
            None => all,
            Some(_) => (1..=all).take_while(|n| board.holds(goes(*n), level)).count(),
        };
        Spares {
            pieces: sets::each(set).filter_map(|i| board.id(i)).collect(),
            most,
        }
    };
    let mut all: Vec<Spares> = sorts.into_iter().map(of).collect();
    if !board.left_out.is_empty() {
        let pieces: Vec<Uuid> = board.left_out.iter().map(|piece| piece.id).collect();
        all.push(Spares { most: pieces.len(), pieces });
    }
    all
}

struct Sought<'s, 'r, 'p> {
    rig: &'s Rig<'r>,
    wanted: Level,
    stock: &'s Stock<'p>,
    groups: &'s [Vec<Uuid>],
    rules: &'s Rules,
    at: DateTime<Utc>,
}

impl Sought<'_, '_, '_> {
    /// The sorts of the stock for this rig: nothing that would mix with what is aboard; what a hose aboard is fixed to stands alone.
    fn sorts(&self, aboard: &[&Piece], may: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
        let fixed: Vec<Uuid> = aboard
            .iter()
            .copied()
            .chain(self.stock.pieces.iter().copied())
            .filter_map(|piece| piece.fixed_to)
            .collect();
        let mut all = Vec::new();
        for sort in &self.stock.sorts {
            let Some(first) = sort.first().and_then(|i| self.stock.piece(*i)) else {
                continue;
            };
            if aboard.iter().any(|other| self.would_mix(first, other)) {
                continue;
            }
            let (alone, together): (Vec<usize>, Vec<usize>) = sort
                .iter()
                .copied()
                .filter(|i| may(*i))
                .partition(|i| self.stock.piece(*i).is_some_and(|piece| fixed.contains(&piece.id)));
            all.extend(alone.into_iter().map(|i| vec![i]));
            all.extend((!together.is_empty()).then_some(together));
        }
        all
    }

    fn would_mix(&self, one: &Piece, other: &Piece) -> bool {
        fn wet(piece: &Piece) -> Wet<'_> {
            Wet {
                kind: piece.kind,
                hookup: &piece.hookup,
            }
        }
        would_mix(wet(one), wet(other), &self.rules.mates)
    }

    fn mix(&self, one: &[usize], other: &[usize]) -> bool {
        let first = |sort: &[usize]| sort.first().and_then(|i| self.stock.piece(*i));
        first(one).zip(first(other)).is_some_and(|(one, other)| self.would_mix(one, other))
    }

    /// Whether some battery tool, aboard or to come, is taken to carry its own pack only as long as no pack is aboard.
    fn first_pack_matters(&self, aboard: &[&Piece], sorts: &[Vec<usize>]) -> bool {
        let firsts = || sorts.iter().filter_map(|sort| sort.first()).filter_map(|i| self.stock.piece(*i));
        let mut tools = aboard.iter().copied().chain(firsts()).filter(|piece| piece.kind.is_tool());
        firsts().any(|piece| piece.kind == Kind::Battery)
            && tools.any(|tool| {
                let family = tool.hookup.battery.as_deref();
                family.is_some_and(|family| are_pieces(self.rules, family, false) != are_pieces(self.rules, family, true))
            })
    }

    /// A board with what is usable aboard and so many of each sort; the places of those of each sort on it.
    fn board(&self, sorts: &[Vec<usize>], copies: usize, has_pack: bool) -> Option<(Board<'_>, Vec<Vec<usize>>)> {
        let own = self
            .rig
            .pieces
            .iter()
            .filter(|piece| is_asked(piece.kind, self.rules) && piece.is_usable(&self.rules.policy, self.at));
        let more = || sorts.iter().flat_map(|sort| sort.iter().take(copies)).filter_map(|i| self.stock.piece(*i));
        let pieces: Vec<&Piece> = own.chain(more()).collect();
        if pieces.len() > CAPACITY {
            return None;
        }
        let mut board = Board::of(self.rig, pieces.into_iter(), self.rules, self.at);
        board.own_pack = own_packs(self.rules, &board.pieces, has_pack);
        if board.lines.outlets().len() >= MOST_OUTLET_KINDS {
            return None;
        }
        let places: BTreeMap<Uuid, usize> = board.pieces.iter().enumerate().map(|(i, piece)| (piece.id, i)).collect();
        let place = |i: &usize| self.stock.piece(*i).and_then(|piece| places.get(&piece.id).copied());
        let members = sorts.iter().map(|sort| sort.iter().take(copies).filter_map(place).collect()).collect();
        Some((board, members))
    }

    /// Sorts that do the same on this rig put together; those that nothing asks for left out.
    fn merged(&self, sorts: Vec<Vec<usize>>, has_pack: bool) -> Option<Vec<Vec<usize>>> {
        let (board, members) = self.board(&sorts, 1, has_pack)?;
        let matters = board.matters();
        let mut by: BTreeMap<(usize, Vec<bool>), Vec<usize>> = BTreeMap::new();
        for (sort, places) in sorts.iter().zip(&members) {
            let Some(place) = places.first().filter(|i| matters & sets::one(**i) != 0) else {
                continue;
            };
            let mixes = sorts.iter().map(|other| self.mix(sort, other)).collect();
            by.entry((board.sort_of(*place), mixes)).or_default().extend(sort);
        }
        Some(by.into_values().collect())
    }

    fn seek(&self, sorts: Vec<Vec<usize>>, has_pack: bool, all: &mut Mends) {
        let Some(sorts) = self.merged(sorts, has_pack) else {
            all.undecided = Some(Undecided::TooManySorts);
            return;
        };
        let mut copies = (1..=MOST_PIECES)
            .rev()
            .filter_map(|copies| Some((self.board(&sorts, copies, has_pack)?, copies)));
        let Some(((board, members), copies)) = copies.next() else {
            all.undecided = Some(Undecided::TooManySorts);
            return;
        };
        if copies < MOST_PIECES && sorts.iter().any(|sort| sort.len() > copies) {
            all.undecided = Some(Undecided::TooManySorts);
        }
        let come: Set = members.iter().flatten().fold(0, |set, i| set | sets::one(*i));
        let own = board.usable & !come;
        let before = board.work();
        let tried: Vec<Sort> = members
            .iter()
            .map(|members| Sort {
                members: members.clone(),
                weight: 1,
            })
            .collect();
        let asked = |pieces: Set| (board.work() - before < WORK).then(|| board.holds(own | pieces, self.wanted));
        let found = Attempts::new(TRIES, &tried, asked).every_smallest(MOST_PIECES);
        if !found.is_whole || board.is_cut() || found.sets.len() > MOST_SETS {
            all.undecided = Some(Undecided::TooMuchWork);
        }
        let groups: Vec<Option<Set>> = self
            .groups
            .iter()
            .map(|group| group.first().and_then(|id| board.position(*id)).map(sets::one))
            .collect();
        for counts in found.sets.iter().take(MOST_SETS) {
            let of: Vec<usize> = counts.iter().enumerate().flat_map(|(sort, n)| std::iter::repeat_n(sort, *n)).collect();
            let mixed = |a: &usize| of.iter().any(|b| sorts.get(*a).zip(sorts.get(*b)).is_some_and(|(a, b)| self.mix(a, b)));
            if of.iter().any(mixed) {
                continue;
            }
            let set = members
                .iter()
                .zip(counts)
                .flat_map(|(members, n)| members.iter().take(*n))
                .fold(own, |set, i| set | sets::one(*i));
            let rests = |group: &Option<Set>| group.is_some_and(|one| !board.holds(set & !one, self.wanted));
            let rests_on = groups.iter().enumerate().filter(|(_, group)| rests(group)).map(|(n, _)| n).collect();
            all.sets.push(MendSet { sorts: of, rests_on });
        }
        all.sorts = sorts;
    }
}
