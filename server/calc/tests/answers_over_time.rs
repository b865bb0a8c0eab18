//! Whole answers about hand-made rigs: policy, time, stand-ins, margin and the shape on the wire.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

mod hand;

use chrono::NaiveDate;
use fullset_calc::capability::*;
use fullset_calc::ratings::Kind;
use fullset_calc::units::Units;
use hand::*;

#[test]
fn packs_count_only_when_the_policy_tracks_them() {
    let wanted = Complement {
        simultaneous_min: 2,
        slots: vec![slot("Cutter", &[Kind::Cutter], Need::Core), slot("Spreader", &[Kind::Spreader], Need::Core)],
    };
    let mut pieces = vec![battery_tool("C-1", Kind::Cutter), battery_tool("S-1", Kind::Spreader)];
    assert_eq!(asked(&wanted, &pieces).level, Level::Full);
    let tracked = Policy {
        batteries: Batteries::AsPieces,
        ..Policy::default()
    };
    let ask = |pieces: &[Piece]| {
        assess(
            &Rig {
                out_of_service: None,
                complement: Some(&wanted),
                pieces,
            },
            &tracked,
            now(),
            &Voice::utc(Units::Us),
        )
    };
    let none = ask(&pieces);
    assert_eq!((none.level, codes(&none.gaps[0])), (Level::None, vec![NearCode::NoBattery]));
    pieces.push(battery_tool("B-1", Kind::Battery));
    let one = ask(&pieces);
    assert_eq!((one.level, one.simultaneous), (Level::Limited, 1));
    assert_eq!(one.also, ["1 tool can run at once, 2 needed"]);
    assert_eq!(one.fillings[0].via, Some(Via::Battery { battery: pieces[2].id }));
    assert_eq!(one.restore[0].words, "put aboard a further battery on 28V family");
    pieces.push(battery_tool("B-2", Kind::Battery));
    assert_eq!(ask(&pieces).level, Level::Full);
    assert_eq!(ask(&pieces).margin, Some(0));
}

#[test]
fn an_overdue_check_counts_as_the_policy_says_and_is_always_said() {
    let mut pieces = set("mono", 1);
    pieces[3].checks = vec![
        DueCheck {
            name: "weekly check".into(),
            due: t("11-24T08:00:00"),
        },
        DueCheck {
            name: "annual check".into(),
            due: t("12-20T08:00:00"),
        },
    ];
    let wanted = complement();
    let rig = Rig {
        out_of_service: None,
        complement: Some(&wanted),
        pieces: &pieces,
    };
    let ask = |days| {
        assess(
            &rig,
            &Policy {
                overdue_grace_days: days,
                ..Policy::default()
            },
            now(),
            &Voice::utc(Units::Us),
        )
    };
    let strict = ask(Some(0));
    assert_eq!(strict.level, Level::None);
    assert_eq!(strict.gaps[0].words, ["cutter CU-1: weekly check overdue since 2026-11-24 08:00Z"]);
    assert_eq!(
        (strict.restore.len(), strict.restore[0].act, strict.restore[0].piece),
        (1, ActKind::Check, Some(pieces[3].id))
    );
    assert_eq!(
        strict.restore[0].words,
        "cutter CU-1: do the check (weekly check overdue since 2026-11-24 08:00Z)"
    );
    let lenient = ask(Some(7));
    assert_eq!((lenient.level, lenient.holds_until), (Level::Full, Some(t("12-01T08:00:00"))));
    assert_eq!(
        lenient.remarks,
        ["cutter CU-1: weekly check overdue since 2026-11-24 08:00Z, still counted until 2026-12-01 08:00Z"]
    );
    let shown = ask(None);
    assert_eq!((shown.level, shown.holds_until), (Level::Full, Some(t("12-20T08:00:00"))));
    assert_eq!(
        shown.remarks,
        ["cutter CU-1: weekly check overdue since 2026-11-24 08:00Z, counted all the same by the agency's policy"]
    );
}

#[test]
fn age_and_notices_take_a_piece_out_and_unknown_is_not_young() {
    let mut pieces = set("mono", 1);
    pieces[1].life = Life::Ends(t("11-26T12:00:00"));
    pieces[2].life = Life::Unknown;
    pieces[5].stop_use = Some(Notice {
        since: t("11-20T09:00:00"),
        words: "notice 2026-4".into(),
    });
    let answer = asked(&complement(), &pieces);
    let words: Vec<&str> = answer.gaps.iter().flat_map(|g| g.words.iter().map(String::as_str)).collect();
    assert_eq!(words[..2], ["hose HA-1: service life ended 2026-11-26 12:00Z", "hose HB-1: age unknown"]);
    assert!(words.contains(&"ram RA-1: stop use since 2026-11-20 09:00Z, notice 2026-4"));
    assert!(words.contains(&"cutter CU-1: no usable hose leads from power unit PU-1"));
    let acts: Vec<(ActKind, &str)> = answer.restore.iter().map(|a| (a.act, a.slot.as_deref().unwrap_or_default())).collect();
    assert_eq!(
        acts,
        [(ActKind::PutAboard, "hose 1"), (ActKind::PutAboard, "hose 2"), (ActKind::PutAboard, "ram")]
    );
    let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d);
    assert_eq!(life_ends(day(2016, 11, 26), None, 10, UnknownAge::NotUsable), day(2026, 11, 26));
    assert_eq!(life_ends(None, day(2020, 2, 29), 10, UnknownAge::FromInService), day(2030, 2, 28));
    assert_eq!(life_ends(None, day(2020, 2, 29), 10, UnknownAge::NotUsable), None);
}

#[test]
fn a_rig_out_of_service_has_no_capability_and_one_act_mends_it() {
    let notice = Notice {
        since: t("11-26T06:00:00"),
        words: "brakes".into(),
    };
    let (wanted, pieces) = (complement(), set("mono", 1));
    let rig = Rig {
        out_of_service: Some(&notice),
        complement: Some(&wanted),
        pieces: &pieces,
    };
    let answer = assess(&rig, &Policy::default(), now(), &Voice::utc(Units::Us));
    assert_eq!((answer.level, answer.margin, answer.simultaneous), (Level::None, None, 2));
    assert_eq!(answer.also, ["rig out of service since 2026-11-26 06:00Z, brakes"]);
    assert_eq!(answer.restore.iter().map(|a| a.act).collect::<Vec<_>>(), [ActKind::PutRigBack]);
    let answer = assess(&Rig { complement: None, ..rig }, &Policy::default(), now(), &Voice::utc(Units::Us));
    assert_eq!(
        (answer.level, answer.also[1].as_str()),
        (Level::None, "no complement is set for this rig's class")
    );
    assert!(answer.fillings.is_empty() && answer.restore.is_empty());
}

#[test]
fn a_stand_in_is_judged_by_what_it_does_on_this_very_rig() {
    let mut pieces = set("mono", 1);
    pieces[3] = out(pieces[3].clone(), "11-25T14:20:00", "blade");
    let wanted = complement();
    let rig = Rig {
        out_of_service: None,
        complement: Some(&wanted),
        pieces: &pieces,
    };
    let (policy, voice) = (Policy::default(), Voice::utc(Units::Us));
    let good = hydraulic("CU-7", Kind::Cutter, "mono");
    let with = with_piece(&rig, &good, &policy, now());
    assert_eq!(
        (with.level, with.fills.as_deref(), with.newly_filled.as_slice()),
        (Level::Full, Some("cutter"), &["cutter".to_owned()][..])
    );
    let fit = fits("cutter", &good, &rig, &policy, now(), &voice);
    assert_eq!((fit.fits, fit.level, fit.near.len()), (true, Level::Full, 0));
    let wrong = hydraulic("CU-8", Kind::Cutter, "twin");
    let fit = fits("cutter", &wrong, &rig, &policy, now(), &voice);
    assert_eq!((fit.fits, fit.level, fit.near[0].code), (false, Level::None, NearCode::CouplingDiffers));
    let fit = fits("ram", &good, &rig, &policy, now(), &voice);
    assert_eq!((fit.fits, fit.near[0].words.as_str()), (false, "cutter CU-7: not a ram"));
    assert!(!fits("no such slot", &good, &rig, &policy, now(), &voice).fits);
    assert_eq!(without_piece(&rig, pieces[5].id, &policy, now()).level, Level::None);
}

#[test]
fn spare_pieces_make_margin() {
    let wanted = Complement {
        simultaneous_min: 1,
        slots: vec![slot("Tool", &[Kind::Cutter, Kind::CombinationTool], Need::Core)],
    };
    let pieces: Vec<Piece> = (0..3).map(|n| battery_tool(&format!("K-{n}"), Kind::CombinationTool)).collect();
    let answer = asked(&wanted, &pieces);
    assert_eq!((answer.level, answer.margin, answer.margin_at_least), (Level::Full, Some(2), false));
    assert!(answer.critical.is_empty());
}

#[test]
fn the_answer_has_the_wire_shape() {
    let mut pieces = set("mono", 1);
    pieces[3].checks = vec![DueCheck {
        name: "weekly check".into(),
        due: t("11-30T08:00:00"),
    }];
    pieces[5] = out(pieces[5].clone(), "11-25T14:20:00", "leak");
    let answer = asked(&complement(), &pieces);
    let wire = serde_json::to_value(&answer).unwrap();
    assert_eq!(wire["level"], "limited");
    assert_eq!(wire["holds_until"], "2026-11-30T08:00:00.000000Z");
    assert_eq!(wire["fillings"][3]["via"]["source"], pieces[0].id.to_string());
    assert_eq!(wire["fillings"][5], serde_json::json!({"slot": "ram", "piece": null, "via": null}));
    assert_eq!(wire["gaps"][0]["near"][0]["code"], "out-of-service");
    assert_eq!(wire["gaps"][0]["near"][0]["since"], "2026-11-25T14:20:00.000000Z");
    assert_eq!(wire["restore"][0]["act"], "put_aboard");
    assert_eq!(serde_json::from_value::<Assessment>(wire).unwrap(), answer);
    let slot: Slot = serde_json::from_str(
        r#"{"id":"cutter","name":"Cutter","kinds":["cutter","combination_tool"],"need":"core","minimums":{"cutter_opening":{"value":8.1,"unit":"in"}}}"#,
    )
    .unwrap();
    assert_eq!(slot.minimums.len(), 1);
}
