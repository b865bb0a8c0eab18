//! What the judge is asked for a swap plan, against trying everything: every set of pieces that mends a rig, and every plan of small fleets. A level is
//! worked out by the reference where sets are tried, by the crate where plans are (`against_reference.rs` holds one against the other).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::cast_precision_loss)]

mod reference;

use fullset_calc::Unwatched;
use fullset_calc::capability::{Level, MendSet, Notice, Piece, Rig, Stock, Wet, level, mends, would_mix};
use fullset_calc::coverage::Zone;
use fullset_calc::swaps::{Fleet, FleetDonor, FleetRig, Gives, Home, fleet_plan};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use reference::worlds::{Sort, World, now, world};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

fn cases(n: u32) -> ProptestConfig {
    // FULLSET_CASES multiplies the work for a long run.
    let times = std::env::var("FULLSET_CASES").ok().and_then(|t| t.parse::<u32>().ok()).unwrap_or(1);
    ProptestConfig {
        cases: n * times,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn wet(piece: &Piece) -> Wet<'_> {
    Wet {
        kind: piece.kind,
        hookup: &piece.hookup,
    }
}

/// Every set of at most three of so many things.
fn sets(n: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = (0..n).map(|a| vec![a]).collect();
    all.extend((0..n).flat_map(|a| (a + 1..n).map(move |b| vec![a, b])));
    all.extend((0..n).flat_map(|a| (a + 1..n).flat_map(move |b| (b + 1..n).map(move |c| vec![a, b, c]))));
    all
}

/// Those that do, of which no smaller one does.
fn smallest(sets: Vec<Vec<usize>>, does: impl Fn(&[usize]) -> bool) -> BTreeSet<Vec<usize>> {
    let mut found: BTreeSet<Vec<usize>> = BTreeSet::new();
    for set in sets {
        if !found.iter().any(|less| less.iter().all(|i| set.contains(i))) && does(&set) {
            found.insert(set);
        }
    }
    found
}

/// Whether pieces that come to a rig would join two fluids.
fn mixed(aboard: &[Piece], comes: &[&Piece], world: &World) -> bool {
    let mix = |a: &Piece, b: &Piece| would_mix(wet(a), wet(b), &world.rules.mates);
    comes
        .iter()
        .any(|one| aboard.iter().any(|other| mix(one, other)) || comes.iter().any(|other| mix(one, other)))
}

/// The same pieces and some of them once more, under other names.
fn doubled(pieces: &[Piece], again: &[bool]) -> Vec<Piece> {
    let mut all = pieces.to_vec();
    for (n, piece) in pieces.iter().enumerate().filter(|(n, _)| again.get(*n) == Some(&true)) {
        all.push(Piece {
            id: Uuid::from_u128(9000 + n as u128),
            tag: format!("U-{n:02}"),
            ..piece.clone()
        });
    }
    all
}

/// The pieces of each set, whichever of a sort are taken.
fn spelled_out(sorts: &[Vec<usize>], found: &[MendSet]) -> BTreeSet<Vec<usize>> {
    fn spell(sorts: &[Vec<usize>], left: &[usize], taken: &[usize], all: &mut BTreeSet<Vec<usize>>) {
        let Some((sort, rest)) = left.split_first() else {
            let mut set = taken.to_vec();
            set.sort_unstable();
            all.insert(set);
            return;
        };
        for piece in sorts[*sort].iter().filter(|piece| !taken.contains(piece)) {
            spell(sorts, rest, &[taken, &[*piece]].concat(), all);
        }
    }
    let mut all = BTreeSet::new();
    found.iter().for_each(|set| spell(sorts, &set.sorts, &[], &mut all));
    all
}

/// What came up, so that a test that tries too little fails.
#[derive(Default)]
struct Seen(RefCell<[usize; 4]>);

impl Seen {
    fn count(&self, what: usize, is_so: bool) {
        self.0.borrow_mut()[what] += usize::from(is_so);
    }

    #[track_caller]
    fn at_least(&self, least: [usize; 4]) {
        let seen = *self.0.borrow();
        assert!(
            seen.iter().zip(least).all(|(seen, least)| *seen >= least),
            "only {seen:?} of {least:?}: the test tries too little"
        );
    }
}

/// Runs a test on worlds that come up by chance.
fn on_each<S: Strategy>(worlds: u32, of: &S, test: impl Fn(S::Value) -> Result<(), TestCaseError>) {
    let mut runner = TestRunner::new(cases(worlds));
    runner.run(of, test).unwrap_or_else(|failed| panic!("{failed}"));
}

fn check_sets(world: &World, aboard: usize, again: &[bool], seen: &Seen) -> Result<(), TestCaseError> {
    let pieces = doubled(&world.pieces, again);
    let (aboard, stock) = pieces.split_at(aboard.min(pieces.len()));
    let rig = world.with(aboard);
    let tried = |set: &[usize]| -> Level {
        let comes = set.iter().map(|i| &stock[*i]);
        reference::level(aboard.iter().chain(comes), &world.rules, world.out.is_some(), now())
    };
    if tried(&[]).is_full() {
        return Ok(());
    }
    let usable = |set: &[usize]| set.iter().all(|i| reference::usable(&stock[*i], &world.rules.policy, now()));
    let expected = smallest(sets(stock.len()), |set| {
        let comes: Vec<&Piece> = set.iter().map(|i| &stock[*i]).collect();
        usable(set) && !mixed(aboard, &comes, world) && tried(set).is_full()
    });
    let groups: Vec<Vec<Uuid>> = aboard.iter().map(|piece| vec![piece.id]).collect();
    let all = Stock::new(stock.iter().collect(), &world.rules, now());
    let found = mends(&rig, Level::Full, &all, |_| true, &groups, &world.rules, now());
    prop_assert_eq!(found.undecided, None);
    prop_assert_eq!(&spelled_out(&found.sorts, &found.sets), &expected);
    for set in &found.sets {
        let comes = spelled_out(&found.sorts, std::slice::from_ref(set)).into_iter().next().unwrap();
        for (n, piece) in aboard
            .iter()
            .enumerate()
            .filter(|(_, piece)| piece.kind != fullset_calc::ratings::Kind::Battery)
        {
            let left = aboard.iter().filter(|other| other.id != piece.id).chain(comes.iter().map(|i| &stock[*i]));
            let does = reference::level(left, &world.rules, false, now()).is_full();
            prop_assert_eq!(set.rests_on.contains(&n), !does, "{} for {:?}", piece.tag, set);
        }
        seen.count(set.sorts.len() - 1, true);
        seen.count(3, !set.rests_on.is_empty());
    }
    Ok(())
}

/// Worlds, how many of their pieces are aboard, and which there are twice.
fn parted(sort: Sort) -> impl Strategy<Value = (World, usize, Vec<bool>)> {
    (world(9, sort), 0..5_usize, prop::collection::vec(prop::bool::weighted(0.2), 9))
}

#[test]
fn every_smallest_set_is_found_among_steady_pieces() {
    let seen = Seen::default();
    on_each(300, &parted(Sort::Steady), |(world, aboard, again)| check_sets(&world, aboard, &again, &seen));
    seen.at_least([5, 5, 3, 5]);
}

#[test]
fn every_smallest_set_is_found_among_wild_pieces() {
    let seen = Seen::default();
    on_each(300, &parted(Sort::Wild), |(world, aboard, again)| check_sets(&world, aboard, &again, &seen));
    seen.at_least([5, 5, 3, 5]);
}

const RIGS: usize = 3;
const ZONES: usize = 4;

/// A small county: where each piece is, what each rig reaches and is.
#[derive(Debug, Clone)]
struct County {
    world: World,
    pieces: Vec<Piece>,
    /// The rig that a piece is on; beyond the last: a shelf.
    home: Vec<usize>,
    reaches: Vec<Vec<usize>>,
    minutes: Vec<u8>,
}

fn county() -> impl Strategy<Value = County> {
    let home = prop::collection::vec(0..RIGS + 2, 26);
    let reaches = prop::collection::vec(prop::collection::btree_set(0..ZONES, 1..3), RIGS);
    let minutes = prop::collection::vec(any::<u8>(), 26 * RIGS);
    let again = prop::collection::vec(prop::bool::weighted(0.5), 13);
    (world(13, Sort::Steady), home, reaches, minutes, again).prop_map(|(world, home, reaches, minutes, again)| County {
        pieces: doubled(&world.pieces, &again),
        world,
        home,
        reaches: reaches.into_iter().map(|zones| zones.into_iter().collect()).collect(),
        minutes,
    })
}

impl County {
    fn aboard(&self, rig: usize) -> Vec<Piece> {
        let own = self.pieces.iter().enumerate().filter(|(n, _)| self.home[*n] == rig);
        own.map(|(_, piece)| piece.clone()).collect()
    }

    fn minutes(&self, donor: usize, rig: usize) -> f64 {
        f64::from(self.minutes[(donor * RIGS + rig) % self.minutes.len()] % 30)
    }
}

/// A zone's weight: any two sums differ.
fn weight(zone: usize) -> f64 {
    [8.0, 5.0, 4.0, 2.0][zone]
}

type Worth = (f64, usize, f64);

fn is_better(one: Worth, other: Worth) -> bool {
    let more = one.0 - other.0;
    more > 1e-7 || more > -1e-7 && (one.1 < other.1 || one.1 == other.1 && one.2 < other.2 - 1e-7)
}

/// The best of all plans, by the rules alone: each rig gets nothing or a smallest set that makes it full as it stands; no rig drops by what it gives;
/// a rig that is made full is so after what it gives.
fn best_of_all(county: &County) -> Worth {
    let rules = &county.world.rules;
    /// By the rig, what went and what came.
    type Known = BTreeMap<(usize, Vec<usize>, Vec<usize>), Level>;
    let known: RefCell<Known> = RefCell::default();
    let stands = |rig: usize, gone: &[usize], comes: &[usize]| -> Level {
        let key = (rig, gone.to_vec(), comes.to_vec());
        if let Some(level) = known.borrow().get(&key) {
            return *level;
        }
        let left = (0..county.pieces.len()).filter(|n| county.home[*n] == rig && !gone.contains(n));
        let pieces: Vec<Piece> = left.chain(comes.iter().copied()).map(|n| county.pieces[n].clone()).collect();
        let found = level(&rig_of(&pieces), rules, now()).level;
        known.borrow_mut().insert(key, found);
        found
    };
    let ways: Vec<Vec<Vec<usize>>> = (0..RIGS)
        .map(|rig| {
            let aboard = county.aboard(rig);
            if stands(rig, &[], &[]).is_full() {
                return vec![vec![]];
            }
            let all = sets(county.pieces.len()).into_iter();
            let others = all.filter(|set| set.iter().all(|n| county.home[*n] != rig && county.pieces[*n].is_usable(&rules.policy, now())));
            let found = smallest(others.collect(), |set| {
                let comes: Vec<&Piece> = set.iter().map(|n| &county.pieces[*n]).collect();
                !mixed(&aboard, &comes, &county.world) && stands(rig, &[], set).is_full()
            });
            found.into_iter().chain([vec![]]).collect()
        })
        .collect();
    let mut best = (0.0, usize::MAX, 0.0);
    let mut plan: Vec<&Vec<usize>> = Vec::new();
    each_plan(&ways, &mut plan, &mut |plan| {
        let all: Vec<usize> = plan.iter().flat_map(|set| set.iter().copied()).collect();
        if all.iter().collect::<BTreeSet<_>>().len() < all.len() {
            return;
        }
        let mut reached: BTreeSet<&usize> = BTreeSet::new();
        let mut minutes = 0.0;
        for (rig, comes) in plan.iter().enumerate() {
            let mut gone: Vec<usize> = all.iter().copied().filter(|n| county.home[*n] == rig).collect();
            gone.sort_unstable();
            let before = stands(rig, &[], &[]);
            if !gone.is_empty() && stands(rig, &gone, &[]) < before || !comes.is_empty() && !stands(rig, &gone, comes).is_full() {
                return;
            }
            if before.is_full() || !comes.is_empty() {
                reached.extend(&county.reaches[rig]);
            }
            minutes += comes.iter().map(|n| county.minutes(*n, rig)).sum::<f64>();
        }
        let worth = (reached.into_iter().map(|zone| weight(*zone)).sum(), all.len(), minutes);
        if is_better(worth, best) {
            best = worth;
        }
    });
    best
}

fn each_plan<'w>(ways: &'w [Vec<Vec<usize>>], plan: &mut Vec<&'w Vec<usize>>, look: &mut impl FnMut(&[&Vec<usize>])) {
    let Some(of_rig) = ways.get(plan.len()) else { return look(plan) };
    for way in of_rig {
        plan.push(way);
        each_plan(ways, plan, look);
        plan.pop();
    }
}

const NOT_OUT: Option<&Notice> = None;

fn rig_of(pieces: &[Piece]) -> Rig<'_> {
    Rig {
        out_of_service: NOT_OUT,
        complement: None,
        expects: Some(Level::Full),
        pieces,
    }
}

fn planned(county: &County) -> (Worth, bool, usize) {
    let aboard: Vec<Vec<Piece>> = (0..RIGS).map(|rig| county.aboard(rig)).collect();
    let rigs = aboard.iter().enumerate().map(|(n, pieces)| FleetRig {
        id: Uuid::from_u128(n as u128),
        name: format!("R{n}"),
        district: None,
        reaches: county.reaches[n].clone(),
        view: rig_of(pieces),
        counts: true,
        is_sought: true,
        gives: Gives::Spare,
    });
    let donors = county.pieces.iter().enumerate().map(|(n, piece)| FleetDonor {
        piece,
        rig: (county.home[n] < RIGS).then_some(county.home[n]),
        name: piece.tag.clone(),
        home: Home::Shelf,
        place: "there".into(),
        district: None,
        leaves: None,
    });
    let zone = |n: usize| Zone {
        id: Uuid::from_u128(n as u128),
        weight: weight(n),
    };
    let fleet = Fleet {
        zones: (0..ZONES).map(zone).collect(),
        districts: vec![],
        rigs: rigs.collect(),
        donors: donors.collect(),
        rules: &county.world.rules,
        at: now(),
    };
    let plan = fleet_plan(&fleet, |donor, rig| county.minutes(donor, rig), 20_000_000_000, &mut Unwatched).unwrap();
    let on_rigs = plan.moves.iter().filter(|planned| {
        let n = county.pieces.iter().position(|piece| piece.id == planned.piece).unwrap();
        county.home[n] < RIGS
    });
    ((plan.after, plan.moves.len(), plan.minutes), plan.proved, on_rigs.count())
}

#[test]
fn no_plan_of_a_small_fleet_is_better_than_the_one_found() {
    let seen = Seen::default();
    on_each(500, &county(), |county| {
        let best = best_of_all(&county);
        let (found, proved, on_rigs) = planned(&county);
        prop_assert!(proved);
        prop_assert!(!is_better(best, found) && !is_better(found, best), "{:?} for {:?}", found, best);
        seen.count(0, found.1 > 0);
        seen.count(1, found.1 > 1);
        seen.count(2, on_rigs > 0);
        seen.count(3, on_rigs > 1);
        Ok(())
    });
    seen.at_least([20, 10, 10, 3]);
}
