//! Random small rigs: what the crate works out, against trying every possibility.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::cast_possible_truncation)]

mod brute;

use brute::rigs::{World, driving, now, world};
use chrono::{DateTime, Utc};
use fullset_calc::capability::{ActKind, Assessment, Level, Voice, assess, level, with_piece, without_piece};
use fullset_calc::hookup::{Hookup, misfits, simultaneous_tools};
use fullset_calc::matching::Matching;
use fullset_calc::ratings::Kind;
use fullset_calc::units::Units;
use proptest::prelude::*;

fn cases(n: u32) -> ProptestConfig {
    // FULLSET_CASES multiplies the work for a long run.
    let times = std::env::var("FULLSET_CASES").ok().and_then(|t| t.parse::<u32>().ok()).unwrap_or(1);
    ProptestConfig {
        cases: n * times,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn answered(world: &World, at: DateTime<Utc>) -> Assessment {
    assess(&world.rig(), &world.policy, at, &Voice::utc(Units::Us))
}

/// The level that the pieces alone would give.
fn brute_level(world: &World, at: DateTime<Utc>) -> Level {
    brute::level(&brute::things(&world.rig(), &world.policy, at), &world.complement, &world.policy)
}

fn largest_by_trial(candidates: &[u128], taken: u128) -> usize {
    let Some((first, rest)) = candidates.split_first() else { return 0 };
    let with = (0..8)
        .filter(|p| first & !taken & (1 << p) != 0)
        .map(|p| 1 + largest_by_trial(rest, taken | (1 << p)))
        .max();
    with.unwrap_or(0).max(largest_by_trial(rest, taken))
}

proptest! {
    #![proptest_config(cases(3000))]

    #[test]
    fn a_matching_is_as_large_as_any_and_first_slots_come_first(candidates in prop::collection::vec(0_u128..256, 0..6)) {
        let matching = Matching::largest(&candidates);
        prop_assert_eq!(matching.size(), largest_by_trial(&candidates, 0));
        for slot in 0..candidates.len() {
            if let Some(piece) = matching.piece(slot) {
                prop_assert!(candidates[slot] & (1 << piece) != 0);
                prop_assert_eq!(matching.slot(piece), Some(slot));
            } else {
                // Whatever is before an empty slot cannot be filled together with it.
                let before: Vec<u128> = (0..=slot).filter(|s| *s == slot || matching.piece(*s).is_some()).map(|s| candidates[s]).collect();
                prop_assert!(largest_by_trial(&before, 0) < before.len());
                let compete = matching.competition_of(&candidates, slot).unwrap();
                let all = compete.slots.iter().fold(0, |set, s| set | candidates[*s]);
                prop_assert_eq!(all.count_ones() as usize, compete.pieces.len());
                prop_assert_eq!(compete.slots.len(), compete.pieces.len() + 1);
            }
        }
    }

    #[test]
    fn tools_at_once_are_as_many_as_any_way_of_hooking_up_runs(world in prop_oneof![world(9, 0), driving(11)]) {
        let all = brute::things(&world.rig(), &world.policy, now());
        let answer = level(&world.rig(), &world.policy, now());
        prop_assert_eq!(answer.simultaneous, brute::at_once(&all, &world.policy));
        let parts: Vec<(Kind, &Hookup)> = world.pieces.iter().zip(&all).filter(|(_, t)| t.usable).map(|(p, _)| (p.kind, &*p.hookup)).collect();
        let own_pack = world.policy.batteries == fullset_calc::capability::Batteries::WithTool;
        prop_assert_eq!(simultaneous_tools(&parts, world.policy.pressure_tolerance, own_pack) as u32, answer.simultaneous);
    }

    #[test]
    fn reasons_against_a_hook_up_are_there_exactly_when_it_does_not_work(world in world(8, 0)) {
        let all = brute::things(&world.rig(), &world.policy, now());
        for (s, source) in world.pieces.iter().enumerate().filter(|(_, p)| p.kind.is_source()) {
            for (h, hose) in world.pieces.iter().enumerate().filter(|(_, p)| p.kind == Kind::Hose) {
                for (t, tool) in world.pieces.iter().enumerate().filter(|(_, p)| p.kind.is_tool()) {
                    let told = misfits(&source.hookup, &hose.hookup, &tool.hookup, world.policy.pressure_tolerance);
                    prop_assert_eq!(told.is_empty(), brute::works(&all[s], &all[h], &all[t], &world.policy));
                }
            }
        }
    }

    #[test]
    fn level_and_fillings_are_the_best_of_all_ways_to_fill_the_slots(world in world(7, 5)) {
        let all = brute::things(&world.rig(), &world.policy, now());
        let answer = level(&world.rig(), &world.policy, now());
        let expected = if world.out.is_some() { Level::None } else { brute_level(&world, now()) };
        prop_assert_eq!(answer.level, expected);
        let into: Vec<Option<usize>> = answer.filled.iter().map(|id| id.map(|id| world.pieces.iter().position(|p| p.id == id).unwrap())).collect();
        prop_assert_eq!(brute::score(&world.complement, &into), brute::best_score(&all, &world.complement, &world.policy));
        prop_assert!(brute::is_valid(&all, &world.complement, &world.policy, &into));
        for (slot, piece) in into.iter().enumerate() {
            if let Some(piece) = piece {
                prop_assert!(all[*piece].usable && all[*piece].suits[slot]);
                prop_assert_eq!(into.iter().filter(|p| **p == Some(*piece)).count(), 1);
            }
        }
        let whole = answered(&world, now());
        prop_assert_eq!(whole.level, answer.level);
        prop_assert_eq!(whole.fillings.iter().map(|f| f.piece).collect::<Vec<_>>(), answer.filled);
        let empty: Vec<&str> = whole.fillings.iter().filter(|f| f.piece.is_none()).map(|f| f.slot.as_str()).collect();
        prop_assert_eq!(whole.gaps.iter().map(|g| g.slot.as_str()).collect::<Vec<_>>(), empty);
        prop_assert!(whole.gaps.iter().all(|g| !g.near.is_empty() && !g.words.is_empty()));
    }

    #[test]
    fn the_order_in_which_pieces_are_handed_in_never_matters(world in world(8, 5), turn in 0_usize..8) {
        let mut other = world.clone();
        let len = other.pieces.len().max(1);
        other.pieces.rotate_left(turn % len);
        if turn % 2 == 0 { other.pieces.reverse(); }
        prop_assert_eq!(answered(&world, now()), answered(&other, now()));
    }
}

proptest! {
    #![proptest_config(cases(1000))]

    #[test]
    fn margin_and_critical_pieces_are_what_losing_pieces_shows(world in world(7, 4)) {
        let answer = answered(&world, now());
        let all = brute::things(&world.rig(), &world.policy, now());
        if answer.level == Level::None {
            prop_assert!(answer.margin.is_none() && answer.critical.is_empty());
            return Ok(());
        }
        let expected = brute::fewest_to_drop(&all, &world.complement, &world.policy).map_or(all.len(), |n| n - 1);
        prop_assert!(!answer.margin_at_least);
        prop_assert_eq!(answer.margin, Some(expected as u32));
        for (i, piece) in world.pieces.iter().enumerate() {
            let left: Vec<_> = all.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, t)| t.clone()).collect();
            let drops = brute::level(&left, &world.complement, &world.policy) < answer.level;
            prop_assert_eq!(answer.critical.contains(&piece.id), drops);
            prop_assert_eq!(without_piece(&world.rig(), piece.id, &world.policy, now()).level < answer.level, drops);
        }
    }

    #[test]
    fn a_further_piece_does_what_it_would_do_aboard(world in world(6, 4), more in world(1, 0)) {
        let Some(extra) = more.pieces.first() else { return Ok(()) };
        let mut then = world.clone();
        then.pieces.push(extra.clone());
        let with = with_piece(&world.rig(), extra, &world.policy, now());
        let expected = level(&then.rig(), &then.policy, now());
        prop_assert_eq!((with.level, with.simultaneous, with.filled), (expected.level, expected.simultaneous, expected.filled));
    }

    #[test]
    fn the_answer_holds_just_until_it_says(world in world(5, 4)) {
        let answer = answered(&world, now());
        let bare = |at| Assessment { holds_until: None, ..answered(&world, at) };
        let first = bare(now());
        let mut turns: Vec<DateTime<Utc>> = Vec::new();
        for piece in &world.pieces {
            if let fullset_calc::capability::Life::Ends(end) = piece.life { turns.push(end); }
            for check in &piece.checks {
                turns.push(check.due);
                turns.extend(world.policy.overdue_grace_days.map(|d| check.due + chrono::Duration::days(i64::from(d))));
            }
        }
        turns.retain(|t| *t > now());
        turns.sort();
        prop_assert_eq!(answer.holds_until, turns.iter().copied().find(|t| bare(*t) != first));
        let until = answer.holds_until.unwrap_or(now() + chrono::Duration::days(400));
        let span = until - now();
        for part in [1, 3, 7, 9] {
            prop_assert_eq!(&bare(now() + span / 10 * part), &first);
        }
        prop_assert_eq!(&bare(until - chrono::Duration::microseconds(1)), &first);
    }
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn no_smaller_set_of_acts_restores_full(world in world(5, 3)) {
        let answer = answered(&world, now());
        let inside = brute_level(&world, now());
        let (rig_acts, acts): (Vec<_>, Vec<_>) = answer.restore.iter().partition(|a| a.act == ActKind::PutRigBack);
        prop_assert_eq!(rig_acts.len(), usize::from(world.out.is_some()));
        // The bound on the work may only bite where many acts are needed for many tools at once.
        prop_assert!(answer.restore_is_smallest || acts.len() >= 4);
        if inside == Level::Full {
            prop_assert!(acts.is_empty());
            return Ok(());
        }
        let all = brute::things(&world.rig(), &world.policy, now());
        let rank = |a: &ActKind| match a { ActKind::Check => 0, ActKind::PutAboard => 1, _ => 2 };
        let found = (acts.len(), acts.iter().map(|a| rank(&a.act)).sum::<usize>());
        const MOST: usize = 3;
        match brute::acts::smallest(&world.rig(), &all, &world.complement, &world.policy, now(), MOST) {
            Some(expected) => prop_assert_eq!(found, expected),
            None => prop_assert!(found.0 > MOST, "{} acts found, none of {} tried does", found.0, MOST),
        }
    }
}

/// The tests above say nothing when all rigs are alike: every level and several margins must come up.
#[test]
fn the_random_rigs_are_of_every_sort() {
    use proptest::strategy::{Strategy, ValueTree};
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut seen = std::collections::BTreeMap::<String, u32>::new();
    for _ in 0..2000 {
        let world = world(7, 4).new_tree(&mut runner).unwrap().current();
        let answer = answered(&world, now());
        *seen.entry(format!("{:?}", answer.level)).or_default() += 1;
        *seen.entry(format!("margin {:?}", answer.margin)).or_default() += 1;
        *seen.entry(format!("acts {}", answer.restore.len())).or_default() += 1;
        let driven = driving(11).new_tree(&mut runner).unwrap().current();
        *seen.entry(format!("tools {}", answered(&driven, now()).simultaneous)).or_default() += 1;
    }
    for sort in [
        "Full",
        "Limited",
        "None",
        "margin Some(0)",
        "margin Some(1)",
        "margin Some(2)",
        "acts 1",
        "acts 2",
        "acts 3",
        "tools 2",
        "tools 3",
    ] {
        assert!(seen.get(sort).is_some_and(|n| *n >= 20), "{sort} hardly comes up: {seen:?}");
    }
}
