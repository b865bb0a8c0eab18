//! An answer holds just until it says: no instant before changes a word of it, and at it something changes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

mod reference;

use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{Assessment, PieceAnswer, Verdict, Voice, assess, assess_with_pieces};
use fullset_calc::units::Units;
use proptest::prelude::*;
use reference::worlds::{Sort, World, now, world};

fn bare(world: &World, at: DateTime<Utc>) -> Assessment {
    Assessment {
        holds_until: None,
        holds_until_why: None,
        ..assess(&world.rig(), &world.rules, at, &Voice::utc(Units::Us))
    }
}

fn pieces(world: &World, at: DateTime<Utc>) -> Vec<PieceAnswer> {
    let (_, pieces) = assess_with_pieces(&world.rig(), &world.rules, at, &Voice::utc(Units::Us));
    pieces.into_iter().map(|(_, answer)| answer).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_whole_answer_holds_just_until_it_says(world in prop_oneof![world(7, Sort::Wild), world(7, Sort::Steady)]) {
        let until = assess(&world.rig(), &world.rules, now(), &Voice::utc(Units::Us)).holds_until;
        let first = bare(&world, now());
        let end = until.unwrap_or(now() + Duration::days(4000));
        for part in [1, 3, 7, 9] {
            prop_assert_eq!(&bare(&world, now() + (end - now()) / 10 * part), &first);
        }
        prop_assert_eq!(&bare(&world, end - Duration::microseconds(1)), &first);
        if until.is_some() {
            prop_assert_ne!(&bare(&world, end), &first);
        }
    }

    #[test]
    fn the_answer_about_a_piece_aboard_holds_at_least_until_it_says(world in prop_oneof![world(7, Sort::Wild), world(7, Sort::Steady)]) {
        for (n, first) in pieces(&world, now()).iter().enumerate() {
            let end = first.holds_until.unwrap_or(now() + Duration::days(4000));
            prop_assert!(end > now());
            for at in [now() + (end - now()) / 2, end - Duration::microseconds(1)] {
                prop_assert_eq!(pieces(&world, at)[n].verdict, first.verdict);
                let leads = |answer: &PieceAnswer| answer.reasons.first().map(|reason| reason.code).filter(|_| answer.verdict > Verdict::No);
                prop_assert_eq!(leads(&pieces(&world, at)[n]), leads(first));
            }
        }
    }
}
