//! The values in `tests/published/data`, collected outside of this product, against this crate.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::cast_possible_truncation)]

use fullset_calc::capability::{Assessment, Complement, Completeness, Life, LifeOf, Piece, Rig, Rules, Slot, State, Voice, assess, level};
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::matching::Matching;
use fullset_calc::ratings::{CuttingLevels, Designation, Kind, Ratings};
use fullset_calc::units::{Quantity, Unit, Units};
use serde_json::Value;
use std::collections::BTreeSet;
use std::sync::Arc;

fn data(name: &str) -> Value {
    let path = format!("{}/../../tests/published/data/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

fn unit(name: &str) -> Option<Unit> {
    // The file spells some units in its own way.
    let name = match name {
        "gal_US" => "US gal",
        "qt_US" => "qt",
        "floz_US" => "fl oz",
        "hp(550 ft.lbf/s)" => "hp",
        "hp_metric(75 kgf.m/s)" => "PS",
        other => other,
    };
    Unit::from_symbol(name).ok()
}

#[test]
fn every_published_unit_factor_is_met_and_goes_round() {
    let file = data("units");
    let mut met = 0;
    for case in file["factors"].as_array().unwrap() {
        let name = case["frm"].as_str().unwrap();
        if name.starts_with("tonf") {
            assert_eq!(Unit::from_symbol("tonf").unwrap_err().code, "ambiguous-unit");
            continue;
        }
        let (from, to) = (unit(name).expect(name), unit(case["to"].as_str().unwrap()).unwrap());
        let there = Quantity::new(1.0, from).to(to).unwrap();
        assert!(close(there.value, case["factor"].as_f64().unwrap(), 1e-15), "{name}: {}", there.value);
        let exact = case["exact_fraction"].as_str().unwrap().split_once('/').unwrap();
        let exact = exact.0.parse::<f64>().unwrap() / exact.1.parse::<f64>().unwrap();
        assert!(close(there.value, exact, 1e-15), "{name}");
        assert!(close(there.to(from).unwrap().value, 1.0, 1e-15));
        met += 1;
    }
    assert_eq!(met, 19);
    for case in file["examples"].as_array().unwrap() {
        let (from, to) = (unit(case["unit"].as_str().unwrap()).unwrap(), unit(case["to"].as_str().unwrap()).unwrap());
        let q = Quantity::new(case["value"].as_f64().unwrap(), from);
        assert!(close(q.to(to).unwrap().value, case["converted"].as_f64().unwrap(), 1e-12));
        assert!(close(q.to(to).unwrap().to(from).unwrap().value, q.value, 1e-12));
    }
}

#[test]
fn cutting_level_strings_follow_the_strict_grammar() {
    let file = data("rating_strings");
    let strings = |list: &str| -> Vec<String> {
        file["nfpa_cutter"][list]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_str().unwrap().to_owned())
            .collect()
    };
    for text in strings("valid") {
        assert_eq!(CuttingLevels::parse_strict(&text).unwrap().to_string(), text);
    }
    for text in strings("invalid") {
        assert!(CuttingLevels::parse_strict(&text).is_err(), "{text}");
    }
}

#[test]
fn designations_are_read_written_and_judged_against_their_class() {
    let file = data("rating_strings");
    let en = &file["en13204_2005_2016"];
    for (text, expected) in en["spreaders"].as_object().unwrap().iter().chain(en["cutters"].as_object().unwrap()) {
        let read = Designation::parse(text);
        if expected.is_null() {
            assert_eq!(read, None, "{text}");
            continue;
        }
        let read = read.expect(text);
        assert_eq!(read.to_string(), *text);
        let number = |name: &str| expected[name].as_f64().unwrap();
        assert_eq!(read.mass().kilograms(), number("mass_kg"));
        match read {
            Designation::Spreader {
                class, force_kn, spread_mm, ..
            } => {
                assert_eq!(class.letters(), expected["cls"].as_str().unwrap());
                assert_eq!((force_kn, spread_mm), (number("force_kN"), number("spread_mm")));
                assert_eq!(read.faults().is_empty(), expected["meets_class_min"].as_bool().unwrap());
                let (force, distance) = read.least_pull().unwrap();
                assert!(close(force.newtons() / 1000.0, number("min_pull_force_kN"), 1e-12));
                assert!(close(distance.millimetres(), number("min_pull_distance_mm"), 1e-12));
            }
            Designation::Cutter {
                class, opening_mm, capacity, ..
            } => {
                assert_eq!(class.letters(), expected["cls"].as_str().unwrap());
                assert_eq!(opening_mm, number("opening_mm"));
                assert_eq!(capacity.to_string(), expected["capacity"].as_str().unwrap());
                assert_eq!(read.faults().is_empty(), expected["opening_agrees_with_class"].as_bool().unwrap());
                assert!(close(read.least_mouth_depth().unwrap().millimetres(), number("min_mouth_depth_mm"), 1e-12));
            }
        }
    }
}

#[test]
fn matchings_are_as_large_as_the_reference_solver_found_and_name_its_hall_violator() {
    let file = data("matching_instances");
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 20);
    for case in cases {
        let size = |name: &str| usize::try_from(case[name].as_u64().unwrap()).unwrap();
        let mut candidates = vec![0_u128; size("left")];
        for edge in case["edges"].as_array().unwrap() {
            let (slot, piece) = (edge[0].as_u64().unwrap() as usize, edge[1].as_u64().unwrap() as usize);
            candidates[slot] |= 1 << piece;
        }
        let matching = Matching::largest(&candidates);
        assert_eq!(matching.size(), size("max_matching"), "{}", case["id"]);
        let perfect = case["perfect_on_left"].as_bool().unwrap();
        assert_eq!(matching.size() == candidates.len(), perfect);
        let numbers = |list: &Value| -> Vec<usize> { list.as_array().unwrap().iter().map(|v| v.as_u64().unwrap() as usize).collect() };
        match matching.competition(&candidates) {
            None => assert!(case["hall_violator"].is_null()),
            Some(found) => {
                let expected = &case["hall_violator"];
                assert_eq!(found.slots, numbers(&expected["slots"]), "{}", case["id"]);
                assert_eq!(found.pieces, numbers(&expected["neighbours"]), "{}", case["id"]);
                assert_eq!(found.deficiency as u64, expected["deficiency"].as_u64().unwrap());
            }
        }
    }
}

fn kinds(slot: &str) -> Vec<Kind> {
    match slot {
        "power" => vec![Kind::PowerUnit],
        "hose" => vec![Kind::Hose],
        "cutter" => vec![Kind::Cutter],
        "spreader" => vec![Kind::Spreader],
        "ram" => vec![Kind::Ram],
        "cutter_or_combi" => vec![Kind::Cutter, Kind::CombinationTool],
        "spreader_or_combi" => vec![Kind::Spreader, Kind::CombinationTool],
        other => panic!("{other}"),
    }
}

fn piece(n: usize, case: &Value) -> Piece {
    let source = case["kind"] == "power";
    let text = |name: &str| case[name].as_str().map(str::to_owned);
    let own_pack = case["self_powered"] == true;
    let bar = if source { &case["output_bar"] } else { &case["rated_bar"] };
    let at = "2026-11-25T12:00:00Z".parse().unwrap();
    Piece {
        id: uuid::Uuid::from_u128(n as u128 + 1),
        tag: text("id").unwrap(),
        kind: match case["kind"].as_str().unwrap() {
            "power" => Kind::PowerUnit,
            "combi" => Kind::CombinationTool,
            other => Kind::from_name(other).unwrap(),
        },
        hookup: Arc::new(Hookup {
            coupling: text("coupling"),
            fluid: text("fluid").and_then(|f| Fluid::from_name(&f)),
            pressure: bar.as_f64().map(|bar| Quantity::new(bar, Unit::Bar)),
            circuits: source.then_some(2),
            battery: own_pack.then(|| "packs".to_owned()),
            ..Hookup::default()
        }),
        gear: None,
        ratings: Arc::default(),
        rated_at: Arc::default(),
        fixed_to: None,
        state: if case["status"] == "in_service" {
            State::InService
        } else {
            State::OutOfService {
                since: at,
                reason: String::new(),
            }
        },
        stop_use: None,
        quarantine: None,
        life: Life::None,
        checks: Vec::new(),
        limits: Vec::new(),
        last_check: None,
        used_unchecked: None,
        used_while_out: None,
        released: None,
        looser_rules: Vec::new(),
        life_of: LifeOf::Piece,
        untried_since: None,
    }
}

/// The file's `complete` is the second answer, about the list; it says nothing of a level.
#[test]
fn worked_lists_are_filled_as_expected() {
    let file = data("complement_cases");
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 11);
    for case in cases {
        let name = case["name"].as_str().unwrap();
        let slots = case["slots"].as_array().unwrap().iter().enumerate();
        let slots = slots.map(|(n, slot)| {
            let slot = slot.as_str().unwrap();
            Slot {
                id: format!("{slot}#{n}"),
                name: slot.to_owned(),
                kinds: kinds(slot),
                required: true,
                gear: None,
                minimums: Ratings::new(),
            }
        });
        let complement = Complement { slots: slots.collect() };
        let pieces: Vec<Piece> = case["pieces"].as_array().unwrap().iter().enumerate().map(|(n, p)| piece(n, p)).collect();
        let rig = Rig {
            out_of_service: None,
            complement: Some(&complement),
            expects: None,
            pieces: &pieces,
        };
        let (rules, now) = (Rules::default(), "2026-11-25T12:00:00Z".parse().unwrap());
        let answer: Assessment = assess(&rig, &rules, now, &Voice::utc(Units::Si));
        let tag = |id: &uuid::Uuid| pieces.iter().find(|p| p.id == *id).unwrap().tag.as_str();
        let filled: Vec<&str> = answer.fillings.iter().filter_map(|f| f.piece.as_ref()).map(tag).collect();
        if name == "power unit out, second power unit other coupling" {
            // The file counts the second one, and nothing that hangs on the first. By the later rules a source that no hose aboard fits
            // fills no slot, and what belongs to a source that is out is aboard all the same.
            assert_eq!((filled.len(), answer.completeness), (5, Completeness::Incomplete));
            continue;
        }
        assert_eq!(filled.len() as u64, case["filled"].as_u64().unwrap(), "{name}");
        assert_eq!(complement.slots.len() as u64, case["required"].as_u64().unwrap());
        assert_eq!(answer.completeness == Completeness::Complete, case["complete"].as_bool().unwrap(), "{name}");
        assert_eq!(level(&rig, &rules, now).completeness, answer.completeness, "{name}");
        // Which of two equal hoses goes into which of two equal slots is free; the pieces and the filled slots are not.
        let pieces_used: BTreeSet<&str> = filled.iter().copied().collect();
        let expected: BTreeSet<&str> = case["assignment"].as_object().unwrap().values().map(|v| v.as_str().unwrap()).collect();
        // Of two systems aboard either may fill the list; the file keeps to one.
        assert!(
            pieces_used == expected || name == "two systems: only the whole second system complete",
            "{name}"
        );
        let named = |text: &str| text.split('#').next().unwrap().to_owned();
        let full = answer.fillings.iter().filter(|f| f.piece.is_some());
        let mut slots_used: Vec<String> = full.map(|f| named(&f.slot)).collect();
        let mut slots_expected: Vec<String> = case["assignment"].as_object().unwrap().keys().map(|k| named(k)).collect();
        slots_used.sort();
        slots_expected.sort();
        assert_eq!(slots_used, slots_expected, "{name}");
    }
}
