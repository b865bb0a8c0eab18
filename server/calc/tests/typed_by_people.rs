//! What people type, and what the trade's traps make of it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{CapacityLetter, CuttingLevels, Designation, Kind, Ratings, Term};
use fullset_calc::units::{Dimension, Force, Length, Mass, Notation, NumberStyle, Pressure, Quantity, Unit, Units};

/// As on a form or in a file whose decimal sign is known to be the point.
const POINT: Notation = Notation::styled(NumberStyle::Point);

fn refused(text: &str, wanted: Dimension) -> (&'static str, Option<String>) {
    let fault = Quantity::parse_as(text, wanted, POINT).expect_err(text);
    (fault.code, fault.hint)
}

#[test]
fn quantities_are_read_as_the_trade_writes_them() {
    for (text, wanted, value, unit) in [
        ("10,400 psi", Dimension::Pressure, 10_400.0, Unit::Psi),
        ("10400psi", Dimension::Pressure, 10_400.0, Unit::Psi),
        ("10 400 psi", Dimension::Pressure, 10_400.0, Unit::Psi),
        ("717 bar", Dimension::Pressure, 717.0, Unit::Bar),
        ("72 MPa", Dimension::Pressure, 72.0, Unit::Megapascal),
        ("28.9\"", Dimension::Length, 28.9, Unit::Inch),
        ("28.9 in.", Dimension::Length, 28.9, Unit::Inch),
        ("31 1/2 in", Dimension::Length, 31.5, Unit::Inch),
        ("1-1/2\"", Dimension::Length, 1.5, Unit::Inch),
        ("3/4 in", Dimension::Length, 0.75, Unit::Inch),
        ("40'", Dimension::Length, 40.0, Unit::Foot),
        ("12.2 m", Dimension::Length, 12.2, Unit::Metre),
        ("63,6 kN", Dimension::Force, 63.6, Unit::Kilonewton),
        (".5 in", Dimension::Length, 0.5, Unit::Inch),
        ("1,234,567 N", Dimension::Force, 1_234_567.0, Unit::Newton),
        ("2,5 US gal", Dimension::Volume, 2.5, Unit::Gallon),
        ("0.9 gpm", Dimension::Flow, 0.9, Unit::GallonPerMinute),
        ("6.5 hp", Dimension::Power, 6.5, Unit::Horsepower),
        ("45 min", Dimension::Time, 45.0, Unit::Minute),
        ("39 lbs", Dimension::Mass, 39.0, Unit::Pound),
        ("250 ft-lb", Dimension::Energy, 250.0, Unit::FootPound),
    ] {
        let q = Quantity::parse_as(text, wanted, POINT).expect(text);
        assert_eq!((q.value, q.unit), (value, unit), "{text}");
    }
}

#[test]
fn thousands_and_decimals_are_told_apart_or_asked_about() {
    let read = |text, wanted, style| Quantity::parse_as(text, wanted, Notation { bare: None, style }).map(|q| q.value);
    let (point, comma) = (Some(NumberStyle::Point), Some(NumberStyle::Comma));
    for (text, wanted, as_point, as_comma) in [
        ("10.500 psi", Dimension::Pressure, 10.5, 10_500.0),
        ("10,500 psi", Dimension::Pressure, 10_500.0, 10.5),
        ("8,125 in", Dimension::Length, 8_125.0, 8.125),
        ("1.250 mm", Dimension::Length, 1.25, 1_250.0),
    ] {
        assert_eq!((read(text, wanted, point), read(text, wanted, comma)), (Ok(as_point), Ok(as_comma)), "{text}");
        let fault = read(text, wanted, None).unwrap_err();
        assert_eq!(fault.code, "ambiguous-number", "{text}");
        assert!(fault.hint.unwrap().contains("decimals"));
    }
    // What proves itself is read so whatever the style.
    for (text, wanted, value) in [
        ("0,205 m", Dimension::Length, 0.205),
        ("0.205 m", Dimension::Length, 0.205),
        ("10.400,5 psi", Dimension::Pressure, 10_400.5),
        ("10,400.5 psi", Dimension::Pressure, 10_400.5),
        ("12,5 in", Dimension::Length, 12.5),
        ("10 400 psi", Dimension::Pressure, 10_400.0),
    ] {
        for style in [point, comma, None] {
            assert_eq!(read(text, wanted, style), Ok(value), "{text}");
        }
    }
    // A wrong unit is told first: choosing a style would not help.
    assert_eq!(read("18,000 ft-lb", Dimension::Force, None).unwrap_err().code, "torque-unit");
    let span = |style| Quantity::parse_span("9.900-14.300 lbf", Dimension::Force, Notation { bare: None, style });
    assert_eq!(span(comma).map(|(a, b)| (a.value, b.value)), Ok((9_900.0, 14_300.0)));
    assert_eq!(span(None).unwrap_err().code, "ambiguous-number");
}

#[test]
fn what_is_not_plainly_one_quantity_is_refused_and_never_guessed() {
    for (text, wanted, code) in [
        ("-40 ft", Dimension::Length, "negative-quantity"),
        ("\u{2212}40 ft", Dimension::Length, "negative-quantity"),
        ("10k-ish", Dimension::Pressure, "unreadable-number"),
        ("10k-ish psi", Dimension::Pressure, "unreadable-number"),
        ("abt 10000 psi", Dimension::Pressure, "unreadable-number"),
        ("~700 bar", Dimension::Pressure, "unreadable-number"),
        ("", Dimension::Pressure, "unreadable-number"),
        ("psi", Dimension::Pressure, "unreadable-number"),
        ("1,23,456 psi", Dimension::Pressure, "unreadable-number"),
        ("1.2.3 bar", Dimension::Pressure, "unreadable-number"),
        ("NaN bar", Dimension::Pressure, "unreadable-number"),
        ("1e4 psi", Dimension::Pressure, "unreadable-number"),
        ("10400", Dimension::Pressure, "missing-unit"),
        ("10400 psj", Dimension::Pressure, "unknown-unit"),
        ("18,000 ft-lb", Dimension::Force, "torque-unit"),
        ("18,000 ft.lbf", Dimension::Force, "torque-unit"),
        ("18,000 foot-pounds", Dimension::Force, "torque-unit"),
        ("25 Nm", Dimension::Force, "torque-unit"),
        ("9 tons", Dimension::Force, "ambiguous-unit"),
        ("9 t", Dimension::Mass, "ambiguous-unit"),
        ("18,000 lb", Dimension::Force, "wrong-dimension"),
        ("50 bar", Dimension::Force, "wrong-dimension"),
        ("9900-14300 lbf", Dimension::Force, "two-values"),
        ("47500 / 23600 lbf", Dimension::Force, "two-values"),
    ] {
        assert_eq!(refused(text, wanted).0, code, "{text}");
    }
    assert!(refused("18,000 ft-lb", Dimension::Force).1.unwrap().contains("lbf"));
    assert!(refused("18,000 lb", Dimension::Force).1.unwrap().contains("18000 lbf"));
    assert!(refused("9 tons", Dimension::Force).1.is_some() && refused("10400", Dimension::Pressure).1.is_some());
}

#[test]
fn lowest_to_highest_and_ram_stages_are_read_together() {
    let span = |text| Quantity::parse_span(text, Dimension::Force, POINT).map(|(a, b)| (a.value, b.value, b.unit));
    assert_eq!(span("9900-14300 lbf").unwrap(), (9900.0, 14_300.0, Unit::PoundForce));
    assert_eq!(span("9,900 lbf \u{2013} 14,300 lbf").unwrap(), (9900.0, 14_300.0, Unit::PoundForce));
    assert_eq!(span("44.0-63.6 kN").unwrap(), (44.0, 63.6, Unit::Kilonewton));
    assert_eq!(span("44 to 63.6 kN").unwrap(), (44.0, 63.6, Unit::Kilonewton));
    assert_eq!(span("44 kN").unwrap(), (44.0, 44.0, Unit::Kilonewton));
    assert_eq!(span("63.6-44.0 kN").unwrap_err().code, "span-out-of-order");
    assert_eq!(span("9900-14300 ft-lb").unwrap_err().code, "torque-unit");
    assert_eq!(span("9900-14300").unwrap_err().code, "missing-unit");
    assert_eq!(span("-5 kN").unwrap_err().code, "negative-quantity");
    let inches = Quantity::parse_span("20-1/2 - 31 1/4 in", Dimension::Length, Notation::default()).unwrap();
    assert_eq!((inches.0.value, inches.1.value), (20.5, 31.25));
    let bare = Quantity::parse_span("9900-14300", Dimension::Force, Notation::bare(Some(Unit::PoundForce))).unwrap();
    assert_eq!(bare.1.unit, Unit::PoundForce);
    let stages = Quantity::parse_stages("47500 / 23600 / 12400 lbf", Dimension::Force, Notation::default()).unwrap();
    assert_eq!(stages.iter().map(|q| q.value).collect::<Vec<_>>(), [47_500.0, 23_600.0, 12_400.0]);
    assert!(stages.iter().all(|q| q.unit == Unit::PoundForce));
    assert_eq!(
        Quantity::parse_stages("47500 // lbf", Dimension::Force, Notation::default()).unwrap_err().code,
        "unreadable-number"
    );
    assert_eq!(
        Quantity::parse_stages("", Dimension::Force, Notation::default()).unwrap_err().code,
        "unreadable-number"
    );
}

#[test]
fn sizes_are_shown_rounded_but_kept_exact() {
    let psi = Quantity::parse("10500 psi", Dimension::Pressure).unwrap();
    assert_eq!(psi.show(Units::Us), "10,500 psi");
    assert_eq!(psi.show(Units::Si), "724 bar");
    assert_eq!(psi.show_both(Units::Us), "10,500 psi (724 bar)");
    assert_eq!(Pressure::parse("720 bar").unwrap().show(Units::Us), "10,443 psi");
    assert_eq!(Force::parse("20000 lbf").unwrap().show(Units::Si), "89 kN");
    assert_eq!(Length::of_millimetres(205.0).show(Units::Us), "8.1 in");
    assert_eq!(Length::of_millimetres(12_192.0).show(Units::Us), "40 ft");
    assert_eq!(Mass::of_kilograms(17.0).show(Units::Us), "37.5 lb");
    assert_eq!(Quantity::new(8.1, Unit::Inch).show(Units::Us), "8.1 in");
    assert_eq!(Quantity::new(45.0, Unit::Minute).show(Units::Si), "45 min");
    assert!(Force::try_from(psi).is_err());
}

#[test]
fn quantities_go_over_the_wire_as_typed() {
    let q: Quantity = serde_json::from_str(r#"{"value": 10400, "unit": "psi"}"#).unwrap();
    assert_eq!(serde_json::to_string(&q).unwrap(), r#"{"value":10400,"unit":"psi"}"#);
    let q: Quantity = serde_json::from_str(r#"{"value": 8.1, "unit": "in"}"#).unwrap();
    assert_eq!(serde_json::to_string(&q).unwrap(), r#"{"value":8.1,"unit":"in"}"#);
    assert!(
        serde_json::from_str::<Quantity>(r#"{"value": 9, "unit": "tons"}"#)
            .unwrap_err()
            .to_string()
            .contains("ambiguous")
    );
    for unit in Unit::ALL {
        assert_eq!(Unit::from_symbol(unit.symbol()).unwrap(), *unit);
        let q = Quantity::new(12.34, *unit);
        assert_eq!(serde_json::from_str::<Quantity>(&serde_json::to_string(&q).unwrap()).unwrap(), q);
    }
}

#[test]
fn ratings_go_over_the_wire_with_standard_and_edition() {
    let text = r#"{"cutter_opening":{"value":8.1,"unit":"in","standard":"NFPA 1936","edition":"2015"},"cutting_levels":{"levels":"A8/B9/C8/D9/E9","standard":"NFPA 1936","edition":"2015"},"cutting_capacity":{"letter":"H","standard":"EN 13204","edition":"2016"},"push_force":{"value":47500,"unit":"lbf"}}"#;
    let ratings: Ratings = serde_json::from_str(text).unwrap();
    assert_eq!(serde_json::to_string(&ratings).unwrap(), text);
    assert!(ratings.faults(Kind::Cutter).is_empty());
    for bad in [
        r#"{"cutter_opening":{"value":8.1}}"#,
        r#"{"cutter_opening":{"standard":"NFPA 1936"}}"#,
        r#"{"cutting_levels":{"levels":"A8/B9"}}"#,
        r#"{"cutting_capacity":{"letter":"L"}}"#,
        r#"{"sharpness":{"value":1,"unit":"in"}}"#,
        r#"{"push_force":{"value":1,"unit":"N","levels":"A8/B9/C8/D9/E9"}}"#,
    ] {
        assert!(serde_json::from_str::<Ratings>(bad).is_err(), "{bad}");
    }
}

#[test]
fn ratings_that_cannot_be_are_told_with_code_and_hint() {
    let faults = |text: &str| -> Vec<(Term, &'static str)> {
        serde_json::from_str::<Ratings>(text)
            .unwrap()
            .faults(Kind::Spreader)
            .iter()
            .map(|f| (f.term, f.code))
            .collect()
    };
    assert_eq!(faults(r#"{"push_force":{"value":18000,"unit":"ft.lbf"}}"#), [(Term::PushForce, "torque-unit")]);
    assert_eq!(faults(r#"{"push_force":{"value":0,"unit":"lbf"}}"#), [(Term::PushForce, "not-positive")]);
    assert_eq!(faults(r#"{"mass":{"value":5,"unit":"in"}}"#), [(Term::Mass, "wrong-dimension")]);
    assert_eq!(faults(r#"{"mass":{"letter":"H"}}"#), [(Term::Mass, "wrong-figure")]);
    let swapped = r#"{"lowest_spreading_force":{"value":63.6,"unit":"kN"},"highest_spreading_force":{"value":9900,"unit":"lbf"}}"#;
    assert_eq!(faults(swapped), [(Term::LowestSpreadingForce, "lowest-above-highest")]);
    let equal = r#"{"lowest_pulling_force":{"value":10,"unit":"kN"},"highest_pulling_force":{"value":10,"unit":"kN"}}"#;
    assert!(faults(equal).is_empty());
}

#[test]
fn cutting_levels_are_a_partial_order() {
    let read = |text| CuttingLevels::parse(text).unwrap();
    assert_eq!(read("A7 B8 C7 D8 E9").to_string(), "A7/B8/C7/D8/E9");
    assert_eq!(read("a7, b8, c7, d8, e9"), read("A7/B8/C7/D8/E9"));
    assert!(read("A7/B8/C7/D8/E9") > read("A7/B8/C7/D8/E8"));
    assert_eq!(read("A9/B1/C7/D8/E9").partial_cmp(&read("A1/B9/C7/D8/E9")), None);
    assert_eq!(read("A7/B8/C7/D8/E9").serves(&read("A7/B8/C7/D8/E9/F1")), None);
    assert_eq!(read("A7/B8/C7/D8/E9/F3").serves(&read("A7/B8/C7/D8/E9")), Some(true));
    let short: Vec<_> = read("A7/B8/C7/D8/E9").short_of(&read("A8/B8/C9/D8/E9/F2")).collect();
    assert_eq!(short, [('A', Some(7), 8), ('C', Some(7), 9), ('F', None, 2)]);
    for bad in [
        "A7/B8/C7/D8",
        "A7/B8/C7/D8/E9/F3/G1",
        "A7/B8/C7/D8/E10",
        "A7/B8/C7/E9/D8",
        "A7B8C7D8E9",
        "A7/B8/C7/D8/E0",
    ] {
        assert!(CuttingLevels::parse(bad).is_err(), "{bad}");
    }
    let worst = ["H", "F", "H"].map(|l| CapacityLetter::parse(l).unwrap());
    assert_eq!(CapacityLetter::worst(worst).unwrap().letter(), 'F');
}

#[test]
fn designations_turn_into_ratings_of_their_own_standard() {
    let spreader = Designation::parse("BS62/800-25").unwrap();
    let ratings = spreader.ratings("2016");
    assert!(ratings.get(Term::LowestSpreadingForce).is_none());
    assert_eq!(
        ratings.get(Term::RatedSpreadingForce).unwrap().quantity().unwrap(),
        Quantity::new(62.0, Unit::Kilonewton)
    );
    assert_eq!(ratings.get(Term::Mass).unwrap().standard.as_deref(), Some("EN 13204"));
    let cutter = Designation::parse("BC160H-17").unwrap();
    assert_eq!(cutter.ratings("2012").len(), 3);
    for bad in [
        "",
        "BS",
        "BS62-800/25",
        "bs62/800-25",
        "BC160-17",
        "BC160Hh-17",
        "BC160H17",
        "BS-62/800-25",
        "BS1e3/800-25",
        "\u{e4}\u{f6}62/800-25",
    ] {
        assert_eq!(Designation::parse(bad), None, "{bad}");
    }
}

#[test]
fn hookups_keep_the_wire_shape_and_tell_what_cannot_be() {
    let text = r#"{"coupling":"flat-face single","fluid":"mineral oil","pressure":{"value":10500,"unit":"psi"},"circuits":2}"#;
    let hookup: Hookup = serde_json::from_str(text).unwrap();
    assert_eq!(serde_json::to_string(&hookup).unwrap(), text);
    assert!(hookup.faults(Kind::PowerUnit).is_empty());
    assert_eq!(hookup.faults(Kind::Cutter)[0].field, "circuits");
    let codes = |text: &str, kind| {
        serde_json::from_str::<Hookup>(text)
            .unwrap()
            .faults(kind)
            .iter()
            .map(|f| f.code)
            .collect::<Vec<_>>()
    };
    assert_eq!(codes(r#"{"pressure":{"value":9,"unit":"lbf"}}"#, Kind::Hose), ["wrong-dimension"]);
    assert_eq!(codes(r#"{"circuits":0}"#, Kind::PowerUnit), ["not-positive"]);
    assert_eq!(codes(r#"{"circuits":2}"#, Kind::HandPump), ["does-not-apply"]);
    assert_eq!(codes(r#"{"coupling":" "}"#, Kind::Hose), ["blank"]);
    let adapter = Hookup {
        coupling: Some("twin".into()),
        tool_coupling: Some("mono".into()),
        ..Hookup::default()
    };
    assert!(adapter.joins_two_families() && adapter.faults(Kind::Adapter).is_empty() && !adapter.faults(Kind::Ram).is_empty());
    assert_eq!(Fluid::from_name("Phosphate_Ester"), Some(Fluid::PhosphateEster));
    for kind in Kind::ALL {
        assert_eq!(Kind::from_name(kind.name()), Some(*kind));
        assert_eq!(serde_json::to_string(kind).unwrap(), format!("\"{}\"", kind.name()));
    }
    for term in Term::ALL {
        assert_eq!(Term::from_name(term.name()), Some(*term));
        assert_eq!(serde_json::to_string(term).unwrap(), format!("\"{}\"", term.name()));
    }
}
