//! Which reason comes first, and pieces with a limit.

use super::kit::*;
use super::row::{Row, aboard, shelf};
use super::scene::PRACTICE;
use chrono::Duration;
use fullset_calc::capability::{Life, ReasonCode, Verdict};
use fullset_calc::ratings::{Kind, Term};

const ORDER: &str = "design 4.3a";

pub fn rows() -> Vec<Row> {
    use ReasonCode::*;
    use Verdict::{CannotBeConfirmed, Yes, YesWithLimit};
    let end = now();
    let life = |life: Life| hose("HO-9", 10.0).but(|p| p.life = life);
    let in_grace = now() - Duration::days(29);
    vec![
        shelf(
            "an unknown age comes before an unknown date",
            ORDER,
            life(Life::Unknown).undated(),
            CannotBeConfirmed,
            AgeUnknown,
        ),
        shelf(
            "an unknown date comes before unknown ratings",
            ORDER,
            cutter("CU-9").unrated().undated(),
            CannotBeConfirmed,
            CheckDateUnknown,
        ),
        shelf(
            "unknown ratings come before a use without a check",
            ORDER,
            cutter("CU-9").unrated().used(),
            CannotBeConfirmed,
            RatingUnknown,
        ),
        shelf(
            "a use without a check comes before a date that is past",
            ORDER,
            cutter("CU-9").used().due(in_grace),
            CannotBeConfirmed,
            UsedUnchecked,
        ),
        shelf(
            "a doubt comes before a limit",
            ORDER,
            cutter("CU-9").used().limited(None, &[]),
            CannotBeConfirmed,
            UsedUnchecked,
        ),
        // Yes, with limit.
        shelf(
            "a cutter with an open defect: yes, with its limit",
            ORDER,
            cutter("CU-9").limited(None, &[Term::CutterOpening]),
            YesWithLimit,
            OpenDefect,
        ),
        shelf(
            "until the date by which it is to be repaired",
            "design 4.3b",
            cutter("CU-9").limited(Some(end + Duration::days(3)), &[]),
            YesWithLimit,
            OpenDefect,
        )
        .until(end + Duration::days(3)),
        aboard(
            "the same aboard",
            ORDER,
            cutter("CU-1").limited(None, &[]),
            without(set(), "CU-1"),
            YesWithLimit,
            OpenDefect,
        ),
        shelf(
            "a charger is judged by its checks alone",
            PRACTICE,
            piece("CH-1", Kind::Charger, Default::default()),
            Yes,
            None,
        ),
    ]
}
