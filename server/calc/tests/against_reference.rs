//! Random small rigs under random grades: what the crate works out, against the reference that tries everything, and the laws
//! that every answer keeps (design 4.2 to 4.3a).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::cast_possible_truncation)]

mod reference;

use fullset_calc::capability::{
    Assessment, Batteries, Completeness, Grades, Level, Piece, Verdict, Voice, assess, level, verdict, verdicts, with_piece, without_piece,
};
use fullset_calc::ratings::Kind;
use fullset_calc::units::Units;
use proptest::prelude::*;
use reference::Judge;
use reference::sound::sound_piece;
use reference::units::{in_unit, ratings_in, rewrite};
use reference::worlds::{Sort, World, now, world};
use std::collections::BTreeMap;
use std::sync::Arc;

fn cases(n: u32) -> ProptestConfig {
    // FULLSET_CASES multiplies the work for a long run.
    let times = std::env::var("FULLSET_CASES").ok().and_then(|t| t.parse::<u32>().ok()).unwrap_or(1);
    ProptestConfig {
        cases: n * times,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn assessed(world: &World) -> Assessment {
    assess(&world.rig(), &world.rules, now(), &Voice::utc(Units::Us))
}

/// The level that the reference gives to these pieces on the rig of that world.
fn tried<'a>(world: &'a World, pieces: impl IntoIterator<Item = &'a Piece>) -> Level {
    reference::level(pieces, &world.rules, world.out.is_some(), now())
}

fn level_with(world: &World, pieces: &[Piece]) -> Level {
    level(&world.with(pieces), &world.rules, now()).level
}

fn without(pieces: &[Piece], lost: &[uuid::Uuid]) -> Vec<Piece> {
    pieces.iter().filter(|piece| !lost.contains(&piece.id)).cloned().collect()
}

proptest! {
    #![proptest_config(cases(4000))]

    #[test]
    fn the_level_of_a_wild_rig_is_that_of_trying_everything(world in world(9, Sort::Wild)) {
        prop_assert_eq!(level(&world.rig(), &world.rules, now()).level, tried(&world, &world.pieces));
    }
}

proptest! {
    #![proptest_config(cases(3000))]

    #[test]
    fn the_level_of_a_steady_rig_is_that_of_trying_everything(world in world(9, Sort::Steady)) {
        prop_assert_eq!(level(&world.rig(), &world.rules, now()).level, tried(&world, &world.pieces));
    }

    #[test]
    fn the_level_of_a_small_rig_is_that_of_trying_everything(world in world(5, Sort::Wild)) {
        prop_assert_eq!(level(&world.rig(), &world.rules, now()).level, tried(&world, &world.pieces));
    }
}

proptest! {
    #![proptest_config(cases(1500))]

    #[test]
    fn the_three_answers_go_together(world in world(8, Sort::Steady)) {
        let answer = assessed(&world);
        let expected = tried(&world, &world.pieces);
        prop_assert_eq!(answer.level, expected);
        prop_assert_eq!(level(&world.rig(), &world.rules, now()).level, answer.level);
        prop_assert_eq!(answer.completeness, Completeness::NoList);
        let by_checked = reference::confirmed_level(&world.pieces, &world.rules, world.out.is_some(), now());
        prop_assert_eq!(answer.confirmed_level, by_checked);
        prop_assert!(answer.confirmed_level <= answer.level);
        prop_assert_eq!(answer.confirmed, answer.level > Level::None && by_checked == expected);
        prop_assert!(answer.level <= Level::None || answer.confirmed || !answer.doubts.is_empty(), "unconfirmed without a word");
        prop_assert!(answer.level > Level::None || answer.margin.is_none());
    }

    #[test]
    fn tools_at_once_are_as_many_as_any_way_of_hooking_up_runs(world in world(9, Sort::Steady)) {
        let answer = assessed(&world);
        let grades = world.rules.grades.as_ref().unwrap();
        if let (Some(grade), None) = (grades.of(answer.target), &world.out) {
            let judge = Judge::new(&world.pieces, &world.rules, now());
            prop_assert!(answer.at_once_exact);
            prop_assert_eq!(answer.at_once, judge.at_once(grade));
            prop_assert_eq!(answer.at_once_needed, grade.tools_at_once);
        }
    }

    #[test]
    fn every_need_that_is_met_names_pieces_that_serve_and_every_other_a_reason(world in world(8, Sort::Steady)) {
        let answer = assessed(&world);
        let grades = world.rules.grades.as_ref().unwrap();
        let Some(grade) = grades.of(answer.target) else { return Ok(()) };
        prop_assert_eq!(answer.needs.iter().map(|n| &n.need).collect::<Vec<_>>(), grade.needs.iter().map(|n| &n.id).collect::<Vec<_>>());
        let mut used = Vec::new();
        for (need, told) in grade.needs.iter().zip(&answer.needs) {
            if told.met {
                let fits = |n: usize| need.alternatives.iter().any(|a| a.parts.len() == n);
                prop_assert!(fits(told.pieces.len()));
                for driven in &told.pieces {
                    let piece = world.pieces.iter().find(|piece| piece.id == driven.piece).unwrap();
                    prop_assert!(reference::usable(piece, &world.rules.policy, now()));
                    prop_assert!(need.alternatives.iter().flat_map(|a| &a.parts).any(|part| part.kinds.contains(&piece.kind)));
                    prop_assert_eq!(driven.via.is_some(), piece.kind.is_tool());
                    prop_assert!(!used.contains(&driven.piece), "no piece is counted twice");
                    used.push(driven.piece);
                }
            } else {
                let gap = answer.gaps.iter().find(|gap| gap.id == told.need);
                prop_assert!(gap.is_some_and(|gap| !gap.near.is_empty() && !gap.words.is_empty()), "need {} is open without a reason", told.need);
            }
        }
    }

    #[test]
    fn a_sound_piece_more_never_lowers(world in world(7, Sort::Steady), extra in sound_piece()) {
        let mut world = world;
        if extra.kind == Kind::Battery && world.rules.policy.batteries == Batteries::WhereOnRecord {
            // A pack that comes aboard is on record, and so are the families of the tools: else it would make them ask for packs.
            let families = world.pieces.iter().chain([&extra]).filter_map(|piece| piece.hookup.battery.clone()).collect();
            world.rules.packs_on_record = Arc::new(families);
        }
        let mut more = world.pieces.clone();
        more.push(extra.clone());
        let (before, after) = (level_with(&world, &world.pieces), level_with(&world, &more));
        prop_assert!(after >= before, "{} {} lowers {before:?} to {after:?}", extra.kind.word(), extra.tag);
        prop_assert_eq!(with_piece(&world.rig(), &extra, &world.rules, now()).level, after);
        prop_assert_eq!(after, tried(&world, &more));
    }

    #[test]
    fn taking_a_piece_out_never_raises(world in world(8, Sort::Steady)) {
        let before = level_with(&world, &world.pieces);
        for piece in &world.pieces {
            let left = without(&world.pieces, &[piece.id]);
            let after = level_with(&world, &left);
            prop_assert!(after <= before, "without {} {before:?} becomes {after:?}", piece.tag);
            prop_assert_eq!(without_piece(&world.rig(), piece.id, &world.rules, now()).level, after);
        }
    }

    #[test]
    fn a_piece_more_of_any_state_is_judged_as_it_would_be_aboard(world in world(7, Sort::Wild), other in world(1, Sort::Wild)) {
        let Some(mut extra) = other.pieces.first().cloned() else { return Ok(()) };
        extra.id = uuid::Uuid::from_u128(77_777);
        let mut more = world.pieces.clone();
        more.push(extra.clone());
        prop_assert_eq!(with_piece(&world.rig(), &extra, &world.rules, now()).level, level_with(&world, &more));
    }

    #[test]
    fn the_order_of_pieces_never_matters(world in world(9, Sort::Wild), turn in 0_usize..9, mirrored: bool) {
        let mut other = world.clone();
        let len = other.pieces.len().max(1);
        other.pieces.rotate_left(turn % len);
        if mirrored { other.pieces.reverse(); }
        prop_assert_eq!(assessed(&world), assessed(&other));
    }

    #[test]
    fn the_order_of_needs_alternatives_and_parts_never_matters(world in world(9, Sort::Wild), turn in 0_usize..4) {
        let Some(grades) = &world.rules.grades else { return Ok(()) };
        let mut grades = Grades::clone(grades);
        for grade in [&mut grades.limited, &mut grades.full].into_iter().chain(grades.heavy.as_mut()) {
            let n = grade.needs.len();
            grade.needs.rotate_left(turn % n);
            for need in &mut grade.needs {
                let n = need.alternatives.len();
                need.alternatives.rotate_left(turn % n);
                need.alternatives.iter_mut().for_each(|alternative| alternative.parts.reverse());
            }
        }
        let mut other = world.clone();
        other.rules.grades = Some(Arc::new(grades));
        prop_assert_eq!(level_with(&world, &world.pieces), level_with(&other, &other.pieces));
    }

    #[test]
    fn the_unit_never_matters(world in world(9, Sort::Wild), us: bool) {
        let mut other = world.clone();
        other.pieces.iter_mut().for_each(|piece| rewrite(piece, us));
        if let Some(grades) = &world.rules.grades {
            let mut grades = Grades::clone(grades);
            for grade in [&mut grades.limited, &mut grades.full].into_iter().chain(grades.heavy.as_mut()) {
                grade.line_length = grade.line_length.map(|length| in_unit(length, us));
                for alternative in grade.needs.iter_mut().flat_map(|need| &mut need.alternatives) {
                    alternative.parts.iter_mut().for_each(|part| part.minimums = ratings_in(&part.minimums, us));
                    if let Some(cover) = &mut alternative.covers {
                        (cover.from, cover.to) = (in_unit(cover.from, us), in_unit(cover.to, us));
                    }
                }
            }
            other.rules.grades = Some(Arc::new(grades));
        }
        prop_assert_eq!(level_with(&world, &world.pieces), level_with(&other, &other.pieces));
    }

    #[test]
    fn a_piece_on_no_rig_is_answered_in_the_order_of_the_design(world in world(6, Sort::Wild)) {
        for piece in &world.pieces {
            let Some((expected, first)) = reference::verdict::verdict(piece, &world.rules, now()) else { continue };
            let answer = verdict(piece, &world.rules, now(), &Voice::utc(Units::Us));
            prop_assert_eq!((answer.verdict, answer.reasons.first().map(|reason| reason.code)), (expected, first), "{}", &piece.tag);
        }
    }

    #[test]
    fn every_piece_aboard_is_answered_and_no_better_than_off_the_rig(world in world(8, Sort::Wild)) {
        let all = verdicts(&world.rig(), &world.rules, now(), &Voice::utc(Units::Us));
        prop_assert_eq!(all.len(), world.pieces.len());
        for piece in &world.pieces {
            let (_, aboard) = all.iter().find(|(id, _)| *id == piece.id).unwrap();
            // A pack aboard makes a tool's pack a matter of record; only that may make the answer on a rig the better one.
            if piece.hookup.battery.is_none() {
                prop_assert!(aboard.verdict <= verdict(piece, &world.rules, now(), &Voice::utc(Units::Us)).verdict, "{}", &piece.tag);
            }
            if !reference::usable(piece, &world.rules.policy, now()) {
                prop_assert!(aboard.verdict < Verdict::YesWithLimit, "{}", &piece.tag);
            }
        }
    }

    #[test]
    fn a_piece_that_can_run_aboard_is_not_refused_for_its_rig_and_one_that_cannot_is(world in world(8, Sort::Steady)) {
        let all = verdicts(&world.rig(), &world.rules, now(), &Voice::utc(Units::Us));
        for (n, piece) in world.pieces.iter().enumerate() {
            let told = all.iter().find(|(id, _)| *id == piece.id).unwrap().1.verdict;
            match reference::verdict::runs_here(&world.pieces, n, &world.rules, now()) {
                Some(true) => prop_assert_ne!(told, Verdict::NotOnThisRig, "{} {}", piece.kind.word(), &piece.tag),
                Some(false) => prop_assert!(told <= Verdict::NotOnThisRig, "{} {} is {told:?}", piece.kind.word(), &piece.tag),
                None => {}
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(800))]

    #[test]
    fn margin_and_critical_pieces_are_what_losing_pieces_shows(world in world(7, Sort::Steady)) {
        let answer = assessed(&world);
        if answer.level <= Level::None {
            prop_assert!(answer.margin.is_none() && answer.critical.is_empty());
            return Ok(());
        }
        let drops = |lost: &[uuid::Uuid]| tried(&world, &without(&world.pieces, lost)) < answer.level;
        let ids: Vec<uuid::Uuid> = world.pieces.iter().map(|piece| piece.id).collect();
        let critical: Vec<uuid::Uuid> = ids.iter().copied().filter(|id| drops(&[*id])).collect();
        let mut told = answer.critical.clone();
        told.sort();
        prop_assert_eq!(told, critical);
        let margin = answer.margin.unwrap() as usize;
        prop_assert!(margin <= ids.len());
        for size in 1..=margin {
            prop_assert!(!reference::acts::subsets(&ids, size).iter().any(|lost| drops(lost)), "losing {size} may drop the level");
        }
        if !answer.margin_at_least && margin < ids.len() {
            prop_assert!(reference::acts::subsets(&ids, margin + 1).iter().any(|lost| drops(lost)), "losing {} never drops it", margin + 1);
        }
    }

    #[test]
    fn the_answer_holds_just_until_it_says(world in world(6, Sort::Steady)) {
        let answer = assessed(&world);
        let essence = |at| {
            let then = assess(&world.rig(), &world.rules, at, &Voice::utc(Units::Us));
            (then.level, then.completeness, then.confirmed, then.confirmed_level)
        };
        let first = essence(now());
        let mut turns = Vec::new();
        for piece in &world.pieces {
            match &piece.life {
                fullset_calc::capability::Life::Ends(end) | fullset_calc::capability::Life::AllowedUntil(end, _) => turns.push(*end),
                _ => {}
            }
            for check in &piece.checks {
                turns.extend(check.due);
                turns.extend(reference::counts_from(check, &world.rules.policy));
            }
            turns.extend(piece.limits.iter().filter_map(|limit| limit.repair_by));
        }
        turns.retain(|turn| *turn > now());
        turns.sort();
        let change = turns.iter().copied().find(|turn| essence(*turn) != first);
        // It may be said to hold for less (another part of the answer changes then), never for longer.
        prop_assert!(answer.holds_until.is_none_or(|until| until > now() && turns.contains(&until)));
        if let Some(change) = change {
            prop_assert!(answer.holds_until.is_some_and(|until| until <= change));
        }
    }
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn the_acts_restore_the_target_and_no_fewer_repairs_do(world in world(6, Sort::Steady)) {
        let answer = assessed(&world);
        if answer.level >= answer.target {
            prop_assert!(answer.restore.is_empty());
            return Ok(());
        }
        if !answer.restore.is_empty() {
            prop_assert_ne!(reference::acts::reach(&world, &answer.restore, answer.target), Some(false), "{:?}", &answer.restore);
        }
        if answer.restore_is_smallest {
            let mends = reference::acts::mends(&world);
            let fewer = if answer.restore.is_empty() { mends.len() + 1 } else { answer.restore.len() - usize::from(world.out.is_some()) };
            for size in 0..fewer {
                for set in reference::acts::subsets(&mends, size) {
                    let back = fullset_calc::capability::Act {
                        act: fullset_calc::capability::ActKind::PutRigBack,
                        piece: None, need: None, kind: None, family: None, words: String::new(),
                    };
                    let all: Vec<_> = set.into_iter().chain(world.out.is_some().then_some(back)).collect();
                    prop_assert_ne!(reference::acts::reach(&world, &all, answer.target), Some(true), "{} acts do: {:?}", all.len(), all);
                }
            }
        }
    }
}

/// The tests above say nothing when all rigs are alike: every level, drive and several counts must come up.
#[test]
fn the_random_rigs_are_of_every_sort() {
    use proptest::strategy::{Strategy, ValueTree};
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut seen = BTreeMap::<String, u32>::new();
    for sort in [Sort::Wild, Sort::Steady] {
        for _ in 0..2000 {
            let world = world(9, sort).new_tree(&mut runner).unwrap().current();
            let mut saw = |what: String| *seen.entry(what).or_default() += 1;
            let reached = tried(&world, &world.pieces);
            saw(format!("{sort:?} {reached:?}"));
            if sort == Sort::Steady && reached > Level::None {
                let by_checked = reference::confirmed_level(&world.pieces, &world.rules, world.out.is_some(), now());
                saw(format!("confirmed {}", by_checked == reached));
            }
            let Some(grades) = &world.rules.grades else { continue };
            let judge = Judge::new(&world.pieces, &world.rules, now());
            saw(format!("at once {}", judge.at_once(&grades.full)));
            for drive in judge.drives(&grades.full) {
                saw(format!("{drive:?}"));
            }
            let longest = judge.lines().iter().map(|line| line.conduits.len()).max().unwrap_or(0);
            saw(format!("lines of {longest}"));
            let full = Grades {
                limited: grades.full.clone(),
                ..Grades::clone(grades)
            };
            if judge.meets(&full.limited) {
                saw(format!("full with {} spares", full.limited.spare_packs));
                let covers = full.limited.needs.iter().flat_map(|need| &need.alternatives).any(|a| a.covers.is_some());
                saw(format!("full with a range {covers}"));
            }
        }
    }
    for sort in [
        "Wild NotJudged",
        "Wild None",
        "Wild Limited",
        "Wild Full",
        "Wild Heavy",
        "Steady None",
        "Steady Limited",
        "Steady Full",
        "Steady Heavy",
        "confirmed true",
        "confirmed false",
        "at once 0",
        "at once 1",
        "at once 2",
        "at once 3",
        "PowerUnit",
        "HandPump",
        "Battery",
        "lines of 1",
        "lines of 2",
        "lines of 3",
        "full with 0 spares",
        "full with 1 spares",
        "full with a range true",
    ] {
        assert!(seen.get(sort).is_some_and(|n| *n >= 20), "{sort} hardly comes up: {seen:?}");
    }
}
