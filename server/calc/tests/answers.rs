//! Whole answers in the words in which a firefighter reads them, and the shape in which they are stored and sent.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

#[allow(dead_code)]
#[path = "practitioner/kit.rs"]
mod kit;

use chrono::Duration;
use fullset_calc::capability::*;
use fullset_calc::hookup::Fluid;
use fullset_calc::ratings::{CuttingLevels, Figure, Gear, Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit, Units};
use kit::*;
use std::sync::Arc;

fn rules() -> Rules {
    let mut rules = Rules {
        grades: Some(Arc::new(Template::En.grades())),
        ..Rules::default()
    };
    rules.policy.batteries = Batteries::AsPieces;
    rules
}

const fn rig(pieces: &[Piece]) -> Rig<'_> {
    Rig {
        out_of_service: None,
        complement: None,
        expects: Some(Level::Full),
        pieces,
    }
}

fn asked(pieces: &[Piece]) -> Assessment {
    assess(&rig(pieces), &rules(), now(), &Voice::utc(Units::Si))
}

fn gap<'a>(answer: &'a Assessment, id: &str) -> &'a Gap {
    answer.gaps.iter().find(|gap| gap.id == id).unwrap()
}

fn acts(answer: &Assessment) -> Vec<&str> {
    answer.restore.iter().map(|act| act.words.as_str()).collect()
}

#[test]
fn a_whole_set_is_full_and_says_how_each_tool_is_driven() {
    let pieces = set();
    let answer = asked(&pieces);
    assert_eq!((answer.level, answer.target, answer.confirmed), (Level::Full, Level::Full, true));
    assert_eq!((answer.at_once, answer.at_once_needed, answer.margin), (2, 1, Some(0)));
    assert!(answer.gaps.is_empty() && answer.restore.is_empty() && answer.restore_is_smallest && answer.also.is_empty());
    // One pump, cutter, spreader and ram; either hose may be lost.
    assert_eq!(answer.critical.len(), 4);
    let via = |need: usize| answer.needs[need].pieces[0].via.clone();
    let line = |hose: &str| {
        Some(Via::Line {
            source: id("PU-1"),
            parts: vec![id(hose)],
        })
    };
    assert_eq!((via(0), via(1)), (line("HO-1"), line("HO-2")));
    assert!(answer.still_runs.is_empty() && answer.remarks.iter().all(|words| words.contains("without pressure only")));
}

#[test]
fn a_piece_out_of_service_is_said_as_the_trade_says_it() {
    let pieces = but(set(), "CU-1", Said::out);
    let answer = asked(&pieces);
    assert_eq!((answer.level, answer.margin), (Level::None, None));
    let cut = gap(&answer, "cut");
    assert_eq!(cut.words, ["cutter CU-1: out of service since 2026-11-25 14:00Z, leak at the handle"]);
    assert_eq!((cut.near[0].code, cut.near[0].piece), (NearCode::OutOfService, Some(id("CU-1"))));
    assert_eq!(answer.still_runs, ["ram RA-1 runs", "spreader SP-1 runs"]);
    // Putting another aboard goes before a repair: a repair takes longest.
    assert_eq!(
        acts(&answer),
        ["needs a cutter on Mono, mineral oil, rated at 720 bar, cutter opening at least 180 mm (EN 13204)"]
    );
    assert!(answer.restore_is_smallest);
    let us = assess(&rig(&pieces), &rules(), now(), &Voice::utc(Units::Us));
    assert_eq!(
        acts(&us),
        ["needs a cutter on Mono, mineral oil, rated at 10,443 psi, cutter opening at least 7.1 in (EN 13204)"]
    );
}

#[test]
fn what_a_rating_lacks_is_told_with_the_difference() {
    let levels = |text| Rating::by(Figure::Levels(CuttingLevels::parse(text).unwrap()), "NFPA 1936", "2015");
    let mut grades = Template::Nfpa.grades();
    grades.full.needs[1].alternatives[0].parts[0].minimums = [
        (Term::CutterOpening, nfpa(8.1, Unit::Inch)),
        (Term::CuttingLevels, levels("A8/B9/C8/D9/E9")),
        (Term::Mass, Rating::plain(40.0, Unit::Pound)),
    ]
    .into_iter()
    .collect();
    let ratings: Ratings = [
        (Term::CutterOpening, nfpa(7.1, Unit::Inch)),
        (Term::CuttingLevels, levels("A7/B9/C8/D9/E8")),
        (Term::Mass, Rating::plain(42.5, Unit::Pound)),
    ]
    .into_iter()
    .collect();
    let pieces = and(
        but(set(), "CU-1", |p| p.but(|p| p.ratings = Arc::new(ratings))),
        [cutter("CU-2").unrated(), cutter("CU-3")],
    );
    let rules = Rules {
        grades: Some(Arc::new(grades)),
        ..rules()
    };
    let answer = assess(&rig(&pieces), &rules, now(), &Voice::utc(Units::Us));
    assert_eq!(answer.level, Level::Limited);
    assert_eq!(
        gap(&answer, "cut").words,
        [
            "cutter CU-1: cutter opening 7.1 in, 8.1 in needed (1 in short)",
            "cutter CU-1: cutting levels A7/B9/C8/D9/E8, A8/B9/C8/D9/E9 needed (A 7 of 8, E 8 of 9)",
            "cutter CU-1: mass 42.5 lb, at most 40 lb needed (2.5 lb over)",
            "cutter CU-2: cutter opening unknown, 8.1 in needed",
            "cutter CU-2: cutting levels unknown, A8/B9/C8/D9/E9 needed",
            "cutter CU-2: mass unknown, at most 40 lb needed",
            "cutter CU-3: rated by another standard: cutter opening 7.1 in by EN 13204 does not answer cutter opening 8.1 in",
            "cutter CU-3: cutting levels unknown, A8/B9/C8/D9/E9 needed",
            "cutter CU-3: mass unknown, at most 40 lb needed",
        ]
    );
    assert_eq!(gap(&answer, "cut").near[0].needs, Some(Fact::Quantity(Quantity::new(8.1, Unit::Inch))));
}

#[test]
fn why_a_tool_does_not_run_is_told_to_the_piece_that_is_the_cause() {
    let foreign = but(set(), "SP-1", |p| p.coupled("Twin"));
    let spread = |pieces: &[Piece]| gap(&asked(pieces), "spread").words.clone();
    assert_eq!(spread(&foreign), ["spreader SP-1: coupling Twin does not mate with Mono"]);
    let ester = but(set(), "SP-1", |p| p.filled_with(Some(Fluid::PhosphateEster)));
    assert_eq!(spread(&ester), ["spreader SP-1: made for phosphate ester, never to be mixed with mineral oil"]);
    let weak = but(set(), "PU-1", |p| p.at(bar(345.0)));
    assert_eq!(spread(&weak), ["spreader SP-1: rated at 720 bar, the source gives 345 bar"]);
    let dead = but(set(), "PU-1", Said::out);
    assert_eq!(
        spread(&dead),
        [
            "spreader SP-1: no power source in service to drive it",
            "power unit PU-1: out of service since 2026-11-25 14:00Z, leak at the handle"
        ]
    );
    let old = set_where(|p| if p.kind == Kind::Hose { p.ends(t("2024-05-01T00:00:00")) } else { p });
    assert_eq!(
        spread(&old),
        [
            "spreader SP-1: no hose in service leads to it",
            "hose HO-1: service life ended 2024-05-01 00:00Z",
            "hose HO-2: service life ended 2024-05-01 00:00Z"
        ]
    );
    let short = set_where(|p| {
        if p.kind == Kind::Hose {
            p.rated(Term::HoseLength, Rating::plain(3.0, Unit::Metre))
        } else {
            p
        }
    });
    assert_eq!(spread(&short), ["spreader SP-1: its longest line is 6 m, 10 m needed"]);
    let twin = and(foreign, [pump("PU-9", 1).coupled("Twin").out(), hose("HO-9", 10.0).coupled("Twin")]);
    assert!(spread(&twin).contains(&"power unit PU-9: out of service since 2026-11-25 14:00Z, leak at the handle".to_owned()));
}

#[test]
fn acts_say_what_to_bring_and_never_that_nothing_is_the_least() {
    let answer = asked(&[]);
    assert_eq!((answer.level, answer.restore_is_smallest, answer.restore.len()), (Level::None, true, 5));
    assert!(
        acts(&answer)
            .iter()
            .any(|words| words.starts_with("needs a power unit on one coupling family and fluid"))
    );
    // One adapter is less than three tools.
    let twin = set_where(|p| if p.kind.is_tool() { p.coupled("Twin") } else { p });
    assert_eq!(acts(&asked(&twin)), ["needs an adapter from Mono to Twin, mineral oil, for 720 bar or more"]);
    // A pump of the right pressure is less than three tools for the wrong one.
    let weak = but(set(), "PU-1", |p| p.at(bar(345.0)));
    let weak = weak
        .into_iter()
        .map(|p| if p.kind == Kind::Hose { p.at(bar(720.0)) } else { p })
        .collect::<Vec<_>>();
    assert_eq!(acts(&asked(&weak)), ["needs a power unit on Mono, mineral oil, running at 720 bar"]);
    // A tool that a defect keeps from a rating is put right.
    let chipped = but(set(), "CU-1", |p| p.limited(None, &[Term::CutterOpening]));
    let answer = asked(&chipped);
    assert_eq!((answer.level, answer.restore.len()), (Level::Limited, 1));
    assert_eq!(
        gap(&answer, "cut").words,
        ["cutter CU-1: cutter opening does not count while this stands: blade chipped: sheet metal only"]
    );
    let mut no_aboard = rules();
    no_aboard.grades = None;
    let answer = assess(&rig(&chipped), &no_aboard, now(), &Voice::utc(Units::Si));
    assert_eq!((answer.level, answer.restore.len(), answer.restore_is_smallest), (Level::NotJudged, 0, false));
    assert_eq!(answer.also, ["the agency has not chosen its grades; nothing is judged yet"]);
}

#[test]
fn a_rig_out_of_service_is_put_back_and_no_more() {
    let brakes = notice("brakes");
    let mut with_tool = rules();
    with_tool.policy.batteries = Batteries::WhereOnRecord;
    let pieces = but(set(), "CU-1", |p| p.on_battery("28V"));
    let rig = Rig {
        out_of_service: Some(&brakes),
        ..rig(&pieces)
    };
    let answer = assess(&rig, &with_tool, now(), &Voice::utc(Units::Si));
    assert_eq!((answer.level, answer.margin, answer.also.len()), (Level::None, None, 1));
    assert_eq!(answer.also, ["rig out of service since 2026-11-25 07:00Z, brakes"]);
    assert_eq!(
        acts(&answer),
        ["put the rig back in service (out since 2026-11-25 07:00Z, brakes)"],
        "a tool with its own pack asks for no other"
    );
}

#[test]
fn what_is_overdue_is_said_with_the_rule_that_spares_it() {
    let late = now() - Duration::days(10);
    let pieces = but(set(), "RA-1", |p| p.due(late));
    let answer = asked(&pieces);
    assert_eq!((answer.level, answer.confirmed, answer.confirmed_level), (Level::Full, false, Level::Limited));
    let words = "ram RA-1: annual service overdue since 2026-11-16 07:00Z, inside the agency's grace of 30 days";
    assert_eq!(answer.doubts.iter().map(|d| d.words.as_str()).collect::<Vec<_>>(), [words]);
    assert!(answer.remarks.contains(&words.to_owned()));
    assert_eq!(answer.holds_until, Some(late + Duration::days(30)));
    let beyond = but(set(), "RA-1", |p| p.due(now() - Duration::days(30)));
    let answer = asked(&beyond);
    assert_eq!(
        gap(&answer, "push").words,
        ["ram RA-1: annual service overdue since 2026-10-27 07:00Z, beyond the agency's grace of 30 days"]
    );
    assert_eq!((answer.restore[0].act, answer.restore.len()), (ActKind::Check, 1));
    assert!(answer.restore[0].words.starts_with("ram RA-1: do the check (annual service overdue since"));
}

#[test]
fn slots_that_compete_are_named_with_the_pieces_they_compete_for() {
    let slot = |id: &str, kinds: &[Kind]| Slot {
        id: id.to_lowercase(),
        name: id.into(),
        kinds: kinds.to_vec(),
        required: true,
        gear: None,
        minimums: Ratings::new(),
    };
    let list = Complement {
        slots: vec![
            slot("Cutter", &[Kind::Cutter, Kind::CombinationTool]),
            slot("Spreader", &[Kind::Spreader, Kind::CombinationTool]),
            Slot {
                gear: Some(Gear::Struts),
                ..slot("Struts", &[Kind::Accessory])
            },
        ],
    };
    let pieces = [combi("KT-1"), pump("PU-1", 1), hose("HO-1", 10.0), gear("AC-1", Some(Gear::EdgeCovers))];
    let rig = Rig {
        complement: Some(&list),
        ..rig(&pieces)
    };
    let answer = assess(&rig, &rules(), now(), &Voice::utc(Units::Si));
    assert_eq!((answer.level, answer.completeness), (Level::Limited, Completeness::Incomplete));
    let open: Vec<(&str, &[String])> = answer
        .gaps
        .iter()
        .filter(|gap| gap.r#in == GapIn::Slot)
        .map(|gap| (gap.id.as_str(), gap.words.as_slice()))
        .collect();
    assert_eq!(
        open[0],
        (
            "spreader",
            &["combination tool KT-1 can fill only one of these: Cutter, Spreader".to_owned()][..]
        )
    );
    assert_eq!(open[1], ("struts", &["accessory AC-1: it is edge covers, struts asked for".to_owned()][..]));
    assert_eq!(
        gap(&answer, "spreader").compete,
        Some(Compete {
            slots: vec!["cutter".into(), "spreader".into()],
            pieces: vec![id("KT-1")]
        })
    );
}

#[test]
fn a_stand_in_is_judged_by_what_it_does_on_this_very_rig() {
    let pieces = but(set(), "CU-1", Said::out);
    let (rules, voice) = (rules(), Voice::utc(Units::Si));
    let rig = rig(&pieces);
    let fit = |piece: &Piece, need: &str| fits((GapIn::Need, need), Level::Full, piece, &rig, &rules, now(), &voice);
    let good = fit(&cutter("CU-7"), "cut");
    assert_eq!(
        (good.serves, good.with.level, good.near.len(), good.mixes_fluids),
        (true, Level::Full, 0, false)
    );
    let other = fit(&cutter("CU-8").coupled("Twin"), "cut");
    assert_eq!(
        (other.serves, other.with.level, other.near[0].code),
        (false, Level::None, NearCode::CouplingDiffers)
    );
    let ester = fit(&cutter("CU-9").filled_with(Some(Fluid::PhosphateEster)), "cut");
    assert_eq!((ester.serves, ester.mixes_fluids), (false, true));
    assert!(!fit(&cutter("CU-7"), "push").serves);
    assert!(!fit(&cutter("CU-7"), "no such need").serves);
    assert_eq!(with_piece(&rig, &cutter("CU-7"), &rules, now()).level, Level::Full);
    assert_eq!(without_piece(&rig, id("SP-1"), &rules, now()).level, Level::None);
}

#[test]
fn pieces_beyond_what_is_looked_at_are_left_out_aloud_and_usable_ones_come_first() {
    let old = (0..150).map(|n| cutter(&format!("A-{n:03}")).out());
    let pieces: Vec<Piece> = old.chain(set()).collect();
    let answer = asked(&pieces);
    assert_eq!(answer.level, Level::Full);
    assert!(answer.remarks.contains(&"28 pieces beyond the first 128 are not counted".to_owned()));
}

#[test]
fn an_answer_about_a_piece_aboard_ends_when_what_drives_it_lapses() {
    let pieces = but(set(), "PU-1", |p| p.due(now() - Duration::days(20)));
    let all = verdicts(&rig(&pieces), &rules(), now(), &Voice::utc(Units::Si));
    let of = |tag: &str| &all.iter().find(|(piece, _)| *piece == id(tag)).unwrap().1;
    let lapse = now() + Duration::days(10);
    assert_eq!((of("CU-1").verdict, of("CU-1").holds_until), (Verdict::Yes, Some(lapse)));
    assert_eq!((of("PU-1").verdict, of("PU-1").holds_until), (Verdict::CannotBeConfirmed, Some(lapse)));
    let then = verdicts(&rig(&pieces), &rules(), lapse, &Voice::utc(Units::Si));
    let of = |tag: &str| &then.iter().find(|(piece, _)| *piece == id(tag)).unwrap().1;
    assert_eq!((of("CU-1").verdict, of("PU-1").verdict), (Verdict::NotOnThisRig, Verdict::No));
    // What lapses beside it and does not drive it ends nothing.
    let pieces = but(set(), "CU-1", |p| p.due(now() - Duration::days(20)));
    let all = verdicts(&rig(&pieces), &rules(), now(), &Voice::utc(Units::Si));
    let of = |tag: &str| all.iter().find(|(piece, _)| *piece == id(tag)).unwrap().1.clone();
    assert_eq!(of("CU-1").holds_until, Some(lapse));
    assert!(of("PU-1").holds_until.is_none_or(|until| until > lapse), "{:?}", of("PU-1"));
}

#[test]
fn the_answer_has_the_wire_shape() {
    let pieces = but(but(set(), "RA-1", Said::out), "CU-1", |p| p.due(t("2026-11-30T08:00:00")));
    let answer = asked(&pieces);
    let wire = serde_json::to_value(&answer).unwrap();
    assert_eq!(
        (&wire["level"], &wire["target"], &wire["completeness"]),
        (&"limited".into(), &"full".into(), &"no_list".into())
    );
    assert_eq!(wire["holds_until"], "2026-11-30T08:00:00.000000Z");
    assert_eq!(wire["needs"][0]["pieces"][0]["via"]["by"], "line");
    assert_eq!(wire["needs"][0]["pieces"][0]["via"]["source"], id("PU-1").to_string());
    assert_eq!((&wire["gaps"][0]["in"], &wire["gaps"][0]["id"]), (&"need".into(), &"push".into()));
    assert_eq!(wire["gaps"][0]["near"][0]["code"], "out-of-service");
    assert_eq!(wire["gaps"][0]["near"][0]["since"], "2026-11-25T14:00:00.000000Z");
    assert_eq!(
        (&wire["restore"][0]["act"], &wire["restore"][0]["need"]),
        (&"put_aboard".into(), &"push".into())
    );
    assert_eq!(serde_json::from_value::<Assessment>(wire).unwrap(), answer);
}
