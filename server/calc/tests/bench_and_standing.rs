//! The order of the shop's bench, and shares of time at each level.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::cast_precision_loss)]

mod published_data;

use chrono::{DateTime, Duration, Utc};
use fullset_calc::bench::{Back, Home, Rank, Ticket, order};
use fullset_calc::capability::Level;
use fullset_calc::standing::{Interval, shares};
use published_data::Dice;
use uuid::Uuid;

fn ticket(number: usize, now: Level, then: Level, full: usize, weight: f64, age_days: f64) -> Ticket {
    Ticket {
        id: Uuid::from_u128(number as u128),
        number: format!("T{number:02}"),
        back: Back::Home(Home {
            rig: format!("E{number}"),
            weight,
            now,
            then,
            others_missing: usize::from(now == then),
            district: "Harbor".to_owned(),
            district_full: full,
            district_minimum: 2,
        }),
        age_days,
    }
}

#[test]
fn the_only_full_rig_of_a_district_stands_first_and_says_so() {
    let mut tickets = vec![
        ticket(1, Level::Limited, Level::Full, 5, 100.0, 90.0),
        ticket(2, Level::Limited, Level::Full, 0, 1.0, 1.0),
        ticket(3, Level::None, Level::Full, 1, 3.0, 1.0),
        ticket(4, Level::None, Level::None, 0, 900.0, 400.0),
        ticket(5, Level::None, Level::Limited, 0, 4.0, 2.0),
        ticket(6, Level::None, Level::Limited, 0, 4.0, 9.0),
        Ticket {
            back: Back::Reserve(Vec::new()),
            ..ticket(7, Level::None, Level::Full, 0, 1.0, 999.0)
        },
    ];
    let ranked = order(&tickets).unwrap();
    let numbers: Vec<u128> = ranked.iter().map(|r| r.ticket.as_u128()).collect();
    assert_eq!(numbers, [2, 3, 1, 6, 5, 4, 7]);
    assert_eq!(ranked[0].standing, Rank::OnlyFullRig);
    assert!(ranked[0].words.contains("Gives Harbor its only full rig back: E2"), "{}", ranked[0].words);
    assert_eq!(ranked.iter().map(|r| r.returns).collect::<Vec<_>>(), [0.5, 3.0, 50.0, 2.0, 2.0, 0.0, 0.0]);
    assert!(ranked[1].words.ends_with("Harbor has 1 full rig of at least 2."), "{}", ranked[1].words);
    assert!(ranked[5].words.contains("until one more piece is back"));
    tickets.reverse();
    assert_eq!(order(&tickets).unwrap(), ranked, "the order handed in never matters");
    tickets[0].age_days = f64::NAN;
    assert_eq!(order(&tickets).unwrap_err().code, "amount");
}

#[test]
fn a_reserve_piece_stands_by_the_rig_that_it_lifts_most() {
    let home = |number, now, then, full, weight| match ticket(number, now, then, full, weight, 1.0).back {
        Back::Home(home) => home,
        _ => unreachable!(),
    };
    let reserve = |number, rigs, age_days| Ticket {
        back: Back::Reserve(rigs),
        ..ticket(number, Level::None, Level::None, 0, 1.0, age_days)
    };
    let tickets = [
        ticket(1, Level::Limited, Level::Full, 0, 8.0, 1.0),
        reserve(
            2,
            vec![home(20, Level::None, Level::Limited, 3, 50.0), home(21, Level::Limited, Level::Full, 0, 8.0)],
            90.0,
        ),
        reserve(3, vec![home(22, Level::None, Level::None, 0, 99.0)], 90.0),
        reserve(4, vec![home(23, Level::None, Level::Limited, 0, 2.0)], 1.0),
        Ticket {
            back: Back::NotLookedAt,
            ..ticket(5, Level::None, Level::None, 0, 1.0, 2.0)
        },
    ];
    let ranked = order(&tickets).unwrap();
    let numbers: Vec<u128> = ranked.iter().map(|r| r.ticket.as_u128()).collect();
    assert_eq!(numbers, [1, 2, 4, 3, 5], "as much comes back by 1 and by 2, and 1 takes no swap");
    assert_eq!(
        ranked[1].words,
        "A reserve piece: aboard E21 it would give Harbor its only full rig back, from limited to full."
    );
    assert_eq!((ranked[1].standing, ranked[1].returns), (Rank::OnlyFullRig, 4.0));
    assert_eq!(
        ranked[3].words, "Its piece goes to a shelf: no rig waits for it.",
        "what lifts nothing is none that waits"
    );
    assert!(ranked[4].words.contains("not looked at"), "{}", ranked[4].words);
}

fn day(n: i64) -> DateTime<Utc> {
    "2026-01-01T07:00:00Z".parse::<DateTime<Utc>>().unwrap() + Duration::days(n)
}

#[test]
fn months_are_shared_out_by_their_edges() {
    let rig = vec![
        Interval {
            from: day(-10),
            until: Some(day(10)),
            level: Level::Full,
            planned: false,
        },
        Interval {
            from: day(10),
            until: Some(day(15)),
            level: Level::None,
            planned: false,
        },
        Interval {
            from: day(15),
            until: Some(day(20)),
            level: Level::None,
            planned: true,
        },
        Interval {
            from: day(20),
            until: None,
            level: Level::Limited,
            planned: false,
        },
    ];
    let found = shares(std::slice::from_ref(&rig), &[day(0), day(31), day(59), day(90)], day(45)).unwrap();
    assert_eq!(found.len(), 3);
    let near = |a: Option<f64>, b: f64| assert!((a.unwrap() - b).abs() < 1e-12, "{a:?}");
    near(found[0].full, 10.0 / 31.0);
    near(found[0].none, 5.0 / 31.0);
    near(found[0].planned, 5.0 / 31.0);
    near(found[0].limited, 11.0 / 31.0);
    near(found[1].limited, 1.0);
    assert_eq!((found[1].seconds, found[1].known_seconds), (14 * 86_400, 14 * 86_400));
    assert_eq!((found[2].seconds, found[2].full), (0, None));
    let late = vec![Interval {
        from: day(30),
        until: None,
        level: Level::Full,
        planned: false,
    }];
    let two = shares(&[rig.clone(), late], &[day(0), day(31)], day(45)).unwrap();
    assert_eq!((two[0].seconds, two[0].known_seconds), (62 * 86_400, 32 * 86_400));
    near(two[0].full, 11.0 / 32.0);
    assert_eq!(shares(&[], &[day(1), day(1)], day(2)).unwrap_err().code, "edges");
    let twice = vec![rig[0], rig[0]];
    assert_eq!(shares(&[twice], &[day(0), day(1)], day(2)).unwrap_err().code, "intervals");
}

#[test]
fn shares_add_up_and_cutting_a_period_in_two_changes_nothing() {
    let mut dice = Dice(83);
    for _ in 0..100 {
        let mut at = 0;
        let mut rig = Vec::new();
        for _ in 0..dice.below(9) {
            let from = at + i64::try_from(dice.below(3)).unwrap();
            at = from + 1 + i64::try_from(dice.below(9)).unwrap();
            let level = [Level::None, Level::Limited, Level::Full][dice.below(3)];
            rig.push(Interval {
                from: day(from),
                until: Some(day(at)),
                level,
                planned: dice.below(4) == 0,
            });
        }
        let cut = i64::try_from(1 + dice.below(59)).unwrap();
        let whole = shares(std::slice::from_ref(&rig), &[day(0), day(60)], day(1000)).unwrap()[0];
        let parts = shares(&[rig], &[day(0), day(cut), day(60)], day(1000)).unwrap();
        assert_eq!(whole.known_seconds, parts.iter().map(|p| p.known_seconds).sum::<i64>());
        if let (Some(full), Some(limited), Some(none), Some(planned)) = (whole.full, whole.limited, whole.none, whole.planned) {
            assert!((full + limited + none + planned - 1.0).abs() < 1e-12);
            let added: f64 = parts.iter().map(|p| p.full.unwrap_or_default() * p.known_seconds as f64).sum();
            assert!((added - full * whole.known_seconds as f64).abs() < 1e-3);
        }
    }
}
