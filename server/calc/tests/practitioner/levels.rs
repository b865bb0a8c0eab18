//! Which tools make which level, by the published examples of CHECKS A3 and the words of design 4.3.

use super::kit::*;
use super::scene::*;
use chrono::Duration;
use fullset_calc::capability::{Completeness, Level, NearCode, ReasonCode};
use fullset_calc::ratings::{CapacityLetter, CuttingLevels, Figure, Kind, Rating, Term};
use fullset_calc::units::Unit;

const LIMITED: &str = "CHECKS A3, limited: German fire chiefs' recommendation, 3 June 2025";
const FULL: &str = "CHECKS A3, full: German fire chiefs' recommendation, 3 June 2025";
const HEAVY: &str = "CHECKS A3, heavy: German fire chiefs' recommendation, 3 June 2025";
const LEVEL: &str = "design 4.3, level";

fn battery_combi() -> Vec<fullset_calc::capability::Piece> {
    vec![combi("CT-1").on_battery("28V"), pack("BA-1"), pack("BA-2")]
}

/// SP4, CU3, a ram of 540 to 1500 mm that pulls and a small cutter on hoses, a CT3 on battery.
pub fn heavy_set() -> Vec<fullset_calc::capability::Piece> {
    let hoses = (1..=4).map(|n| hose(&format!("HO-{n}"), 10.0));
    and(
        vec![
            pump("PU-1", 4),
            cutter("CU-1").rated(Term::CutterOpening, en(200.0, Unit::Millimetre)),
            cutter("CU-2").rated(Term::CutterOpening, en(60.0, Unit::Millimetre)),
            spreader("SP-1")
                .rated(Term::SpreadingDistance, en(800.0, Unit::Millimetre))
                .rated(Term::RatedSpreadingForce, en(60.0, Unit::Kilonewton)),
            ram("RA-1", 540.0, 1500.0).rated(Term::PullForce, en(30.0, Unit::Kilonewton)),
        ],
        hoses.chain(battery_combi()),
    )
}

fn rams(first: (f64, f64), second: (f64, f64)) -> Vec<fullset_calc::capability::Piece> {
    and(without(set(), "RA-1"), [ram("RA-2", first.0, first.1), ram("RA-3", second.0, second.1)])
}

pub fn scenes() -> Vec<Scene> {
    use Level::{Full, Heavy, Limited, None, NotJudged};
    use NearCode::{MinimumNotMet, NoSource, NoneAboard, RangeNotCovered, RatedByAnotherStandard, RatingUnknown, StandardNotStated};
    let levels = |text: &str| Rating::by(Figure::Levels(CuttingLevels::parse(text).unwrap()), "NFPA 1936", "2015");
    let by_levels = |text: &str| {
        let mut cut = part(&[Kind::Cutter]);
        cut.minimums.set(Term::CuttingLevels, levels(text));
        own(grade(vec![need("cut", vec![vec![cut]])]))
    };
    let one_of_each = || {
        own(grade(vec![
            need("spread", vec![vec![part(&[Kind::Spreader, Kind::CombinationTool])]]),
            need("cut", vec![vec![part(&[Kind::Cutter, Kind::CombinationTool])]]),
        ]))
    };
    vec![
        scene(
            "a ladder with one battery combination tool and a spare pack is limited",
            LIMITED,
            battery_combi(),
            Limited,
        )
        .near("spread", NoneAboard),
        scene(
            "the same ladder is limited as its class asks, and complete",
            "design 4.3, level",
            battery_combi(),
            Limited,
        )
        .expects(Limited)
        .list(vec![slot("combi", Kind::CombinationTool)], Completeness::Complete),
        scene(
            "an engine with a dead pump and a working battery combination tool is limited",
            "design 4.3, level",
            and(but(set(), "PU-1", Said::out), battery_combi()),
            Limited,
        )
        .near("cut", NoSource)
        .near("spread", NoSource)
        .near("push", NoSource),
        scene(
            "a first-line rescue pumper with SP3, CU2 and one ram of 650 to 1500 mm is full",
            FULL,
            set(),
            Full,
        ),
        scene(
            "two rams that meet end to end at 900 mm make it full",
            FULL,
            rams((540.0, 900.0), (900.0, 1500.0)),
            Full,
        ),
        scene("two rams that overlap make it full", FULL, rams((540.0, 950.0), (860.0, 1500.0)), Full),
        scene(
            "two rams with a millimetre between them leave it limited",
            FULL,
            rams((540.0, 899.0), (900.0, 1500.0)),
            Limited,
        )
        .near("push", RangeNotCovered),
        scene(
            "two rams that begin at 650 mm do not cover 540 to 1500 mm",
            FULL,
            rams((650.0, 1000.0), (1000.0, 1500.0)),
            Limited,
        )
        .near("push", RangeNotCovered),
        scene(
            "two rams that end at 1499 mm do not cover 540 to 1500 mm",
            FULL,
            rams((540.0, 900.0), (900.0, 1499.0)),
            Limited,
        )
        .near("push", RangeNotCovered),
        scene(
            "one ram that is closed at 651 mm leaves it limited",
            FULL,
            but(set(), "RA-1", |_| ram("RA-1", 651.0, 1500.0)),
            Limited,
        )
        .near("push", RangeNotCovered),
        scene(
            "a ram of which nobody knows the closed length covers nothing",
            "design 4.3: unknown rating meets nothing",
            but(set(), "RA-1", |_| {
                ram("RA-1", 1.0, 2.0)
                    .unrated()
                    .rated(Term::PushForce, en(60.0, Unit::Kilonewton))
                    .rated(Term::ExtendedLength, Rating::plain(1500.0, Unit::Millimetre))
            }),
            Limited,
        ),
        scene(
            "a ram of 59.9 kN leaves it limited",
            FULL,
            but(set(), "RA-1", |p| p.rated(Term::PushForce, en(59.9, Unit::Kilonewton))),
            Limited,
        )
        .near("push", MinimumNotMet),
        scene(
            "a ram of 13,489 lbf is one of 60 kN",
            "CHECKS B, exact unit factors",
            but(set(), "RA-1", |p| p.rated(Term::PushForce, en(13_489.0, Unit::PoundForce))),
            Full,
        ),
        scene(
            "a ram of 13,488 lbf falls just short of 60 kN",
            "CHECKS B, exact unit factors",
            but(set(), "RA-1", |p| p.rated(Term::PushForce, en(13_488.0, Unit::PoundForce))),
            Limited,
        )
        .near("push", MinimumNotMet),
        scene(
            "a spreader that opens 719 mm leaves it limited",
            FULL,
            but(set(), "SP-1", |p| p.rated(Term::SpreadingDistance, en(719.0, Unit::Millimetre))),
            Limited,
        )
        .near("spread", MinimumNotMet),
        scene(
            "a cutter that opens 179 mm leaves it limited",
            FULL,
            but(set(), "CU-1", |p| p.rated(Term::CutterOpening, en(179.0, Unit::Millimetre))),
            Limited,
        )
        .near("cut", MinimumNotMet),
        scene("cutter and spreader without a ram are limited", PRACTICE, without(set(), "RA-1"), Limited).near("push", NoneAboard),
        scene(
            "a cutter alone is below limited, and is said to run",
            "design 4.3, level",
            without(without(set(), "SP-1"), "RA-1"),
            None,
        )
        .near("spread", NoneAboard)
        .still_runs("CU-1"),
        scene(
            "a combination tool that spreads 349 mm is below limited",
            LIMITED,
            but(battery_combi(), "CT-1", |p| p.rated(Term::SpreadingDistance, en(349.0, Unit::Millimetre))),
            None,
        )
        .expects(Limited)
        .near("open", MinimumNotMet)
        .still_runs("CT-1"),
        scene(
            "the same tool is limited where the agency asks for the kind alone",
            "NFPA template: shape by common practice",
            but(battery_combi(), "CT-1", |p| p.rated(Term::SpreadingDistance, en(349.0, Unit::Millimetre))),
            Limited,
        )
        .nfpa(),
        scene(
            "a spreader rated by NFPA never meets an EN minimum",
            "design 4.3: a rating of another standard never meets a minimum",
            but(set(), "SP-1", |p| {
                p.rated(Term::SpreadingDistance, nfpa(800.0, Unit::Millimetre))
                    .rated(Term::RatedSpreadingForce, nfpa(60.0, Unit::Kilonewton))
            }),
            Limited,
        )
        .near("spread", RatedByAnotherStandard),
        scene(
            "a lowest spreading force does not answer for a rated spreading force",
            "CHECKS trap 3 and A1, A2: neither converts to the other",
            but(set(), "SP-1", |p| {
                p.unrated()
                    .rated(Term::SpreadingDistance, en(800.0, Unit::Millimetre))
                    .rated(Term::LowestSpreadingForce, nfpa(60.0, Unit::Kilonewton))
            }),
            Limited,
        )
        .near("spread", RatedByAnotherStandard),
        scene(
            "a cutter whose plate names no standard does not meet an EN minimum",
            "CHECKS trap 1: never a bare number",
            but(set(), "CU-1", |p| p.rated(Term::CutterOpening, Rating::plain(200.0, Unit::Millimetre))),
            Limited,
        )
        .near("cut", StandardNotStated),
        scene(
            "a cutter without ratings is a cutter for limited, and no more",
            "design 4.3: unknown rating meets nothing",
            but(set(), "CU-1", Said::unrated),
            Limited,
        )
        .near("cut", RatingUnknown),
        scene(
            "a set without any figure is full where the agency asks for kinds alone",
            "NFPA template: shape by common practice",
            set_where(Said::unrated),
            Full,
        )
        .nfpa(),
        scene(
            "an opening in inches is the same opening",
            "CHECKS B, exact unit factors",
            but(set(), "CU-1", |p| p.rated(Term::CutterOpening, en(7.09, Unit::Inch))),
            Full,
        ),
        scene(
            "one combination tool is not counted as spreader and as cutter",
            "design 4.3: no piece counted twice",
            vec![pump("PU-1", 2), hose("HO-1", 10.0), combi("CT-1")],
            Limited,
        )
        .by(one_of_each()),
        scene(
            "two combination tools are",
            "design 4.3: needs met together",
            vec![pump("PU-1", 2), hose("HO-1", 10.0), combi("CT-1"), combi("CT-2")],
            Full,
        )
        .by(one_of_each()),
        scene(
            "every letter of the cutting level must be met",
            "CHECKS A1, comparison rule",
            but(set(), "CU-1", |p| p.rated(Term::CuttingLevels, levels("A9/B9/C8/D9/E8"))),
            Limited,
        )
        .by(by_levels("A7 B8 C7 D8 E9"))
        .near("cut", MinimumNotMet),
        scene(
            "a cutter of the asked levels serves",
            "CHECKS A1, comparison rule",
            but(set(), "CU-1", |p| p.rated(Term::CuttingLevels, levels("A7/B8/C7/D8/E9"))),
            Full,
        )
        .by(by_levels("A7 B8 C7 D8 E9")),
        scene(
            "an EN capacity letter does not answer for NFPA cutting levels",
            "CHECKS trap 3",
            but(set(), "CU-1", |p| {
                p.rated(
                    Term::CuttingCapacity,
                    Rating::by(Figure::Letter(CapacityLetter::parse("K").unwrap()), "EN 13204", "2016"),
                )
            }),
            Limited,
        )
        .by(by_levels("A1 B1 C1 D1 E1"))
        .near("cut", RatedByAnotherStandard),
        scene(
            "a heavy rescue with everything at once on two kinds of drive is heavy",
            HEAVY,
            heavy_set(),
            Heavy,
        ),
        scene(
            "without the battery tool it is full: one drive, four tools",
            HEAVY,
            without(heavy_set(), "CT-1"),
            Full,
        )
        .expects(Heavy)
        .near("combi", NoneAboard)
        .held_down(),
        scene(
            "with the combination tool on a fifth hose it has one kind of drive and is full",
            HEAVY,
            and(
                but(without(heavy_set(), "CT-1"), "PU-1", |_| pump("PU-1", 5)),
                [combi("CT-2"), hose("HO-5", 10.0)],
            ),
            Full,
        )
        .expects(Heavy)
        .held_down(),
        scene(
            "with three hoses four of the five tools run at once, and it is full",
            HEAVY,
            without(heavy_set(), "HO-4"),
            Full,
        )
        .expects(Heavy)
        .held_down(),
        scene(
            "with rams that do not pull it is full",
            HEAVY,
            but(heavy_set(), "RA-1", |_| ram("RA-1", 540.0, 1500.0)),
            Full,
        )
        .expects(Heavy)
        .near("push", RatingUnknown),
        scene("a rig in an agency without grades is not judged, never none", LEVEL, set(), NotJudged).rules(|r| r.grades = Option::None),
        scene("an empty rig is none", LEVEL, Vec::new(), None)
            .near("spread", NoneAboard)
            .near("cut", NoneAboard)
            .near("push", NoneAboard),
        scene("a full set on a rig that is out of service does nothing", "2-trade.md 5.2", set(), None).rig_out(),
        scene(
            "one cutter serves limited and full alike: each grade is judged on its own",
            LEVEL,
            vec![pump("PU-1", 1), hose("HO-1", 10.0), cutter("CU-1")],
            Full,
        )
        .by(own(grade(vec![need("cut", vec![vec![part(&[Kind::Cutter])]])]))),
        scene(
            "a piece that the level does not rest on takes nothing away",
            LEVEL,
            and(set(), [combi("CT-1").out(), hose("HO-9", 10.0).ends(now() - Duration::days(900))]),
            Full,
        ),
        scene(
            "an unchecked spare cutter leaves the rig confirmed by the other one",
            "design 4.3, confirmed",
            and(set(), [cutter("CU-2").unplanned()]),
            Full,
        ),
        scene(
            "an unchecked ram leaves limited confirmed",
            "design 4.3, confirmed",
            but(set(), "RA-1", Said::unplanned),
            Full,
        )
        .confirmed_only(Limited, &[ReasonCode::NoPlan]),
    ]
}
