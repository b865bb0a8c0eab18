//! Whole answers about hand-made rigs: levels, fillings and reasons, in words and as data.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

mod hand;

use chrono::{DateTime, Utc};
use fullset_calc::capability::*;
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{CapacityLetter, CuttingLevels, Figure, Kind, Rating, Term};
use fullset_calc::units::{Quantity, Unit, Units};
use hand::*;

#[test]
fn a_whole_set_is_full_and_every_piece_of_it_is_critical() {
    let pieces = set("mono", 1);
    let answer = asked(&complement(), &pieces);
    assert_eq!((answer.level, answer.simultaneous, answer.simultaneous_min), (Level::Full, 2, 2));
    assert_eq!((answer.margin, answer.critical.len()), (Some(0), 6));
    assert!(answer.gaps.is_empty() && answer.restore.is_empty() && answer.also.is_empty());
    assert_eq!(answer.holds_until, None);
    let (source, hose) = (pieces[0].id, pieces[1].id);
    assert_eq!(answer.fillings[3].via, Some(Via::Hose { source, hose }));
    assert_eq!(answer.fillings[4].via, Some(Via::Hose { source, hose: pieces[2].id }));
}

#[test]
fn a_piece_out_of_service_is_said_as_the_trade_says_it() {
    let mut pieces = set("mono", 1);
    pieces[3] = out(hydraulic("HT-1002", Kind::Cutter, "mono"), "11-25T14:20:00", "leak at handle");
    let answer = asked(&complement(), &pieces);
    assert_eq!((answer.level, answer.margin), (Level::None, None));
    let gap = &answer.gaps[0];
    assert_eq!(gap.words, ["cutter HT-1002: out of service since 2026-11-25 14:20Z, leak at handle"]);
    assert_eq!((gap.slot.as_str(), gap.need, codes(gap)), ("cutter", Need::Core, vec![NearCode::OutOfService]));
    assert_eq!(gap.near[0].since, Some(t("11-25T14:20:00")));
    // Putting another aboard goes before a repair.
    assert_eq!(answer.restore.len(), 1);
    assert_eq!((answer.restore[0].act, answer.restore[0].slot.as_deref()), (ActKind::PutAboard, Some("cutter")));
    assert_eq!(
        answer.restore[0].words,
        "put aboard a cutter for Cutter on mono, mineral oil, rated 10,443 psi or more"
    );
    let local = |at: DateTime<Utc>| format!("<{}>", at.timestamp());
    let rig = Rig {
        out_of_service: None,
        complement: Some(&complement()),
        pieces: &pieces,
    };
    let answer = assess(
        &rig,
        &Policy::default(),
        now(),
        &Voice {
            units: Units::Si,
            time: &local,
        },
    );
    assert_eq!(answer.gaps[0].words, ["cutter HT-1002: out of service since <1795616400>, leak at handle"]);
}

#[test]
fn a_lost_ram_leaves_the_rig_limited() {
    let pieces: Vec<Piece> = set("mono", 1).into_iter().filter(|p| p.kind != Kind::Ram).collect();
    let answer = asked(&complement(), &pieces);
    assert_eq!(answer.level, Level::Limited);
    assert_eq!(answer.gaps[0].words, ["no ram aboard"]);
    assert_eq!((answer.gaps[0].near[0].piece, answer.gaps[0].near[0].code), (None, NearCode::NoneAboard));
    // The second hose is not needed for limited.
    assert_eq!((answer.margin, answer.critical.len()), (Some(0), 3));
}

#[test]
fn two_half_systems_do_not_make_one_set() {
    let mut pieces: Vec<Piece> = set("mono", 1).into_iter().take(4).collect();
    pieces.extend(set("twin", 2).into_iter().skip(4));
    let answer = asked(&complement(), &pieces);
    assert_eq!(answer.level, Level::None);
    let spreader = &answer.gaps[0];
    assert_eq!(codes(spreader), [NearCode::CouplingDiffers]);
    assert_eq!(spreader.words, ["spreader SP-2: coupling twin does not mate with mono"]);
    assert_eq!(
        (spreader.near[0].has.clone(), spreader.near[0].needs.clone()),
        (Some(Fact::Text("twin".into())), Some(Fact::Text("mono".into())))
    );
    assert_eq!(
        answer.restore.iter().map(|a| a.slot.as_deref().unwrap()).collect::<Vec<_>>(),
        ["spreader", "ram"]
    );
    // An adapter aboard makes the paperweights tools again.
    pieces.push(piece(
        "AD-1",
        Kind::Hose,
        Hookup {
            tool_coupling: Some("twin".into()),
            ..on("mono")
        },
    ));
    assert_eq!(asked(&complement(), &pieces).level, Level::Full);
}

#[test]
fn a_heavy_rig_with_two_power_slots_may_carry_two_families() {
    let mut heavy = complement();
    heavy.slots.push(slot("Power 2", &[Kind::PowerUnit, Kind::HandPump], Need::Required));
    let mut pieces: Vec<Piece> = set("mono", 1).into_iter().take(4).collect();
    pieces.extend(
        set("twin", 2)
            .into_iter()
            .filter(|p| matches!(p.kind, Kind::PowerUnit | Kind::Hose | Kind::Spreader | Kind::Ram)),
    );
    let answer = asked(&heavy, &pieces);
    assert_eq!((answer.level, answer.simultaneous), (Level::Full, 3));
    assert_eq!(
        answer.fillings[4].via,
        Some(Via::Hose {
            source: pieces[4].id,
            hose: pieces[5].id
        })
    );
}

#[test]
fn fluids_never_mix_and_pressures_are_compared_with_the_policy_s_tolerance() {
    let mut pieces = set("mono", 1);
    let ester = Hookup {
        fluid: Some(Fluid::PhosphateEster),
        ..on("mono")
    };
    pieces[5] = piece("RA-9", Kind::Ram, ester);
    let answer = asked(&complement(), &pieces);
    assert_eq!(answer.gaps[0].words, ["ram RA-9: made for phosphate ester, never to be mixed with mineral oil"]);
    // A 720 bar hose on a 10,500 psi pump (723.9 bar) is good by the usual tolerance, and is not without one.
    let mut pieces = set("mono", 1);
    pieces[0] = piece(
        "PU-1",
        Kind::PowerUnit,
        Hookup {
            pressure: Some(Quantity::new(10_500.0, Unit::Psi)),
            circuits: Some(2),
            ..on("mono")
        },
    );
    assert_eq!(asked(&complement(), &pieces).level, Level::Full);
    let strict = Policy {
        pressure_tolerance: 0.0,
        ..Policy::default()
    };
    let rig = Rig {
        out_of_service: None,
        complement: Some(&complement()),
        pieces: &pieces,
    };
    let answer = assess(&rig, &strict, now(), &Voice::utc(Units::Si));
    assert_eq!(answer.level, Level::None);
    let hose = answer.gaps.iter().find(|g| g.slot == "hose 1").unwrap();
    assert_eq!(hose.words[0], "hose HA-1: rated 720 bar, the source runs at 724 bar");
    let short = hose.near[0].short_by.unwrap();
    assert!(short.unit == Unit::Psi && (short.value - 57.28).abs() < 0.01);
}

#[test]
fn minimums_that_are_not_met_are_told_with_the_difference() {
    let mut wanted = complement();
    let levels = |text| Rating::by(Figure::Levels(CuttingLevels::parse(text).unwrap()), "NFPA 1936", "2015");
    wanted.slots[3].minimums = [
        (Term::CutterOpening, Rating::plain(8.1, Unit::Inch)),
        (Term::CuttingLevels, levels("A8/B9/C8/D9/E9")),
        (Term::Mass, Rating::plain(40.0, Unit::Pound)),
    ]
    .into_iter()
    .collect();
    let mut pieces = set("mono", 1);
    pieces[3] = rated(
        pieces[3].clone(),
        [
            (Term::CutterOpening, Rating::plain(7.1, Unit::Inch)),
            (Term::CuttingLevels, levels("A7/B9/C8/D9/E8")),
            (Term::Mass, Rating::plain(42.5, Unit::Pound)),
        ],
    );
    pieces.push(hydraulic("CU-2", Kind::Cutter, "mono"));
    pieces.push(rated(
        hydraulic("CU-3", Kind::Cutter, "mono"),
        [(
            Term::CuttingCapacity,
            Rating::by(Figure::Letter(CapacityLetter::parse("H").unwrap()), "EN 13204", "2016"),
        )],
    ));
    let answer = asked(&wanted, &pieces);
    let gap = &answer.gaps[0];
    assert_eq!(
        gap.words,
        [
            "cutter CU-1: cutter opening 7.1 in, 8.1 in needed (1 in short)",
            "cutter CU-1: cutting levels A7/B9/C8/D9/E8, A8/B9/C8/D9/E9 needed (A 7 of 8, E 8 of 9)",
            "cutter CU-1: mass 42.5 lb, at most 40 lb needed (2.5 lb over)",
            "cutter CU-2: cutter opening unknown, 8.1 in needed",
            "cutter CU-2: cutting levels unknown, A8/B9/C8/D9/E9 needed",
            "cutter CU-2: mass unknown, at most 40 lb needed",
            "cutter CU-3: cutter opening unknown, 8.1 in needed",
            "cutter CU-3: rated by another standard: cutting capacity H by EN 13204 does not answer cutting levels A8/B9/C8/D9/E9",
            "cutter CU-3: mass unknown, at most 40 lb needed",
        ]
    );
    assert_eq!(gap.near[7].code, NearCode::RatedByAnotherStandard);
    assert_eq!(gap.near[0].needs, Some(Fact::Quantity(Quantity::new(8.1, Unit::Inch))));
}

#[test]
fn slots_that_compete_are_named_with_the_pieces_they_compete_for() {
    let wanted = Complement {
        simultaneous_min: 1,
        slots: vec![
            slot("Cutter", &[Kind::Cutter, Kind::CombinationTool], Need::Core),
            slot("Spreader", &[Kind::Spreader, Kind::CombinationTool], Need::Required),
        ],
    };
    let pieces = [battery_tool("K-1", Kind::CombinationTool)];
    let answer = asked(&wanted, &pieces);
    assert_eq!(
        (answer.level, answer.fillings[0].piece, answer.fillings[0].via),
        (Level::Limited, Some(pieces[0].id), None)
    );
    let gap = &answer.gaps[0];
    assert_eq!(
        gap.compete,
        Some(Compete {
            slots: vec!["cutter".into(), "spreader".into()],
            pieces: vec![pieces[0].id]
        })
    );
    assert_eq!(
        gap.words,
        [
            "combination tool K-1: needed for Cutter",
            "Cutter and Spreader compete for combination tool K-1"
        ]
    );
    assert_eq!(codes(gap), [NearCode::FillsAnotherSlot]);
}

#[test]
fn an_empty_rig_is_told_all_that_it_needs() {
    let answer = asked(&complement(), &[]);
    assert_eq!((answer.level, answer.restore.len(), answer.restore_is_smallest), (Level::None, 6, true));
    assert_eq!(
        answer.restore[0].words,
        "put aboard a power unit for Power on one coupling family and fluid, at least 2 circuits"
    );
    let nothing = Complement {
        simultaneous_min: 0,
        slots: vec![slot("Odd", &[], Need::Core)],
    };
    let answer = asked(&nothing, &[]);
    assert!(answer.restore.is_empty());
    assert_eq!(answer.gaps[0].words, ["the slot names no kind"]);
}

#[test]
fn pieces_beyond_what_is_looked_at_are_left_out_aloud_and_usable_ones_come_first() {
    let mut pieces: Vec<Piece> = (0..150)
        .map(|n| out(hydraulic(&format!("A-{n:03}"), Kind::Cutter, "mono"), "11-25T14:20:00", "old"))
        .collect();
    pieces.extend(set("mono", 1));
    let answer = asked(&complement(), &pieces);
    assert_eq!(answer.level, Level::Full);
    assert_eq!(answer.remarks, ["28 pieces beyond the first 128 are not counted"]);
}
