//! The reader against the published register, clean and messy, and against what people do to spreadsheets.

use super::{
    catalogue::KnownModel,
    cells::{Fault, RowState},
    file::{MOST_PIECES, RegisterFile},
    known_tests::held,
    reading::{KnownRegister, Options, Reading},
    sheet::{Delimiter, Encoding},
    whereabouts::{CreatePlaces, KnownRig, KnownStation, ReadPlace},
    writing::{self, tests::content},
};
use chrono::NaiveDate;
use fullset_calc::{
    ratings::{Figure, Kind, Term},
    units::Unit,
};

pub(super) fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

pub(super) fn file(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/../../tests/published/data/register/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// Reads a file in both steps.
pub(super) fn read(bytes: &[u8], options: &Options, known: &KnownRegister, today: NaiveDate) -> Result<Reading, Fault> {
    Ok(RegisterFile::parse(bytes, options.clone())?.against(known, today))
}

pub(super) fn plain(bytes: &[u8]) -> Reading {
    read(bytes, &Options::default(), &KnownRegister::default(), today()).unwrap()
}

const HEAD: &str = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status,Length,Force,Pressure,Coupling,Note\n";

/// A file of the usual headings and these lines.
pub(super) fn lines(rows: &[&str]) -> Vec<u8> {
    format!("{HEAD}{}\n", rows.join("\n")).into_bytes()
}

pub(super) fn codes(reading: &Reading) -> Vec<(usize, &str)> {
    reading.refused.iter().map(|refusal| (refusal.line, refusal.code)).collect()
}

pub(super) fn noted(reading: &Reading, words: &str) -> bool {
    reading.notes.iter().any(|note| note.words.contains(words))
}

fn expected() -> serde_json::Value {
    serde_json::from_slice(&file("expected.json")).unwrap()
}

#[test]
fn the_clean_register_is_read_whole() {
    let (reading, want) = (plain(&file("clean.csv")), expected());
    assert_eq!(
        (reading.encoding, reading.delimiter, reading.date_order),
        (Encoding::Utf8, Some(Delimiter::Comma), None)
    );
    let count = |key: &str| usize::try_from(want[key].as_u64().unwrap()).unwrap();
    assert_eq!(reading.refused, []);
    assert_eq!(reading.rows.len(), count("pieces"));
    assert_eq!(
        reading.rows.iter().filter(|row| row.state == RowState::OutOfService).count(),
        count("out_of_service")
    );
    let places = &reading.places;
    assert_eq!(
        (places.stations.len(), places.districts.len(), places.rigs.len(), places.shops.len()),
        (count("stations"), count("districts"), count("rigs"), 0)
    );
    assert!(places.stations.iter().all(|station| station.new && station.number.is_some()));
    assert_eq!(reading.models.len(), 11);
    let ram = reading.models.iter().find(|model| model.name == "Tollan R-3L").unwrap();
    let size = |term| ram.ratings.get(term).unwrap().quantity().unwrap();
    assert_eq!((size(Term::PushForce3).value, size(Term::PushForce3).unit), (12400.0, Unit::PoundForce));
    assert_eq!(size(Term::RetractedLength).unit, Unit::Inch);
    assert_eq!(ram.hookup.coupling.as_deref(), Some("flat-face single"));
    assert_eq!(reading.passed_over, []);
}

#[test]
fn the_messy_register_gives_the_same_and_refuses_exactly_the_faulty_lines() {
    let (reading, clean, want) = (plain(&file("messy.csv")), plain(&file("clean.csv")), expected());
    assert_eq!((reading.encoding, reading.delimiter), (Encoding::Windows1252, Some(Delimiter::Semicolon)));
    assert_eq!(reading.date_order, Some(super::dates::DateOrder::MonthFirst));
    let code = |fault: &str| match fault {
        "duplicate tag" => "duplicate-tag",
        "torque unit" => "torque-unit",
        "impossible date" => "impossible-date",
        "unknown kind" => "unknown-kind",
        "no tag" => "no-tag",
        "negative length" => "negative-quantity",
        "unknown place" => "unknown-place",
        "extra column" => "extra-column",
        "unreadable number" => "unreadable-number",
        other => panic!("{other}"),
    };
    let faults = want["messy"]["refused"].as_array().unwrap();
    let faults: Vec<_> = faults
        .iter()
        .map(|f| (usize::try_from(f["line"].as_u64().unwrap()).unwrap(), code(f["fault"].as_str().unwrap())))
        .collect();
    assert_eq!(codes(&reading), faults);
    assert!(
        reading
            .refused
            .iter()
            .all(|refusal| refusal.hint.is_some() && !refusal.reason.is_empty() && refusal.also.is_empty())
    );
    assert_eq!(reading.refused[0].reason, "the tag HT-1004 already stands on line 7");
    assert_eq!(reading.refused[1].column.as_deref(), Some("Force"));
    assert_eq!(reading.rows.len(), usize::try_from(want["messy"]["imported"].as_u64().unwrap()).unwrap());
    assert_eq!(reading.passed_over.len(), 10, "{:?}", reading.passed_over);
    assert_eq!(reading.places, clean.places);
    // Each row that stands is the clean one; only units and spellings differ.
    for row in &reading.rows {
        let twin = clean.rows.iter().find(|twin| twin.tag == row.tag).unwrap();
        assert_eq!(
            super::reading::RegisterRow {
                line: twin.line,
                ..row.clone()
            },
            *twin
        );
    }
    assert_eq!(reading.models.len(), 11);
    for model in &reading.models {
        let twin = clean.models.iter().find(|twin| twin.key == model.key).unwrap();
        assert_eq!((model.kind, &model.name, model.ratings.len()), (twin.kind, &twin.name, twin.ratings.len()));
        assert_eq!(
            (&model.hookup.coupling, model.hookup.fluid, model.hookup.circuits),
            (&twin.hookup.coupling, twin.hookup.fluid, twin.hookup.circuits)
        );
        for (term, rating) in model.ratings.iter() {
            match (rating.figure, twin.ratings.get(term).unwrap().figure) {
                (Figure::Quantity(a), Figure::Quantity(b)) => assert!((a.si() - b.si()).abs() <= 0.01 * b.si(), "{term:?}"),
                (a, b) => assert_eq!(a, b),
            }
        }
    }
}

#[test]
fn a_rig_that_breaks_the_files_habit_needs_to_be_meant() {
    let rows = |last: &str| {
        let mut rows: Vec<String> = (1..=9).map(|n| format!("A{n},hose,H,,Engine {n},{n},1,ok,40 ft,,,,")).collect();
        rows.push(last.to_owned());
        lines(&rows.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let slip = rows("B1,hose,H,,Truck 99,4,1,ok,40 ft,,,,");
    assert_eq!(codes(&plain(&slip)), [(11, "unknown-place")]);
    let all = Options {
        create_places: CreatePlaces::All,
        ..Options::default()
    };
    assert_eq!(codes(&read(&slip, &all, &KnownRegister::default(), today()).unwrap()), []);
    let mut known = KnownRegister::default();
    known.places.stations.push(KnownStation {
        name: "Central".into(),
        number: Some("4".into()),
        district: "Battalion 1".into(),
    });
    known.places.districts.push("Battalion 1".into());
    known.places.rigs.push(KnownRig {
        name: "TRUCK 99".into(),
        station: "central".into(),
    });
    let reading = read(&slip, &Options::default(), &known, today()).unwrap();
    assert_eq!(codes(&reading), []);
    assert_eq!(reading.rows[9].place, ReadPlace::Rig { rig: "TRUCK 99".into() });
    assert_eq!(
        (reading.rows[9].station.as_deref(), reading.rows[9].district.as_deref()),
        (Some("Central"), Some("Battalion 1"))
    );
    assert_eq!(reading.rows[3].station.as_deref(), Some("Central"));
    assert_eq!(
        reading.places.districts.iter().map(|d| (d.name.as_str(), d.new)).collect::<Vec<_>>(),
        [("Battalion 1", false)]
    );
    assert_eq!(codes(&plain(&rows("B1,hose,H,,Rig: Truck 99,4,1,ok,40 ft,,,,"))), []);
    assert_eq!(codes(&plain(&rows("B1,hose,H,,Engine 3,4,1,ok,40 ft,,,,"))), [(11, "station-differs")]);
    assert_eq!(codes(&plain(&rows("B1,hose,H,,Station 3 reserve,4,1,ok,40 ft,,,,"))), [(11, "station-differs")]);
    assert_eq!(codes(&plain(&rows("B1,hose,H,,Kitchen,4,1,ok,40 ft,,,,"))), [(11, "unknown-place")]);
    assert_eq!(codes(&plain(&rows("B1,hose,H,,,,,ok,40 ft,,,,"))), [(11, "no-place")]);
    assert_eq!(codes(&plain(&rows("B1,hose,H,,Reserve,44,,ok,40 ft,,,,"))), [(11, "unknown-place")]);
    assert!(noted(&plain(&rows("B1,hose,H,,,4,1,ok,40 ft,,,,")), "shelf of Station 4"));
}

#[test]
fn without_a_habit_a_new_rig_needs_two_rows() {
    let rows = [
        "A1,hose,H,,Engine 12,North,East,ok,40 ft,,,,",
        "A2,hose,H,,ENGINE-12,North,East,ok,40 ft,,,,",
        "A3,hose,H,,Engine 7,North,East,ok,40 ft,,,,",
    ];
    let reading = plain(&lines(&rows));
    assert_eq!(codes(&reading), [(4, "unknown-place")]);
    assert_eq!(reading.places.rigs.len(), 1);
    assert_eq!(reading.rows[1].place, ReadPlace::Rig { rig: "Engine 12".into() });
}

#[test]
fn models_join_across_units_and_part_where_they_differ() {
    let rows = [
        "A1,hose,Tollan H-40,,Station 1,1,1,ok,40 ft,,10400 psi,flat-face single,",
        "A2,hose,TOLLAN h-40,,Station 1,1,1,ok,12.2 m,,717 bar,Flat-Face Single,",
        "A3,hose,Tollan H-40,,Station 1,1,1,ok,30 ft,,10400 psi,flat-face single,",
        "A4,hose,Tollan H-40,,Station 1,1,1,ok,,,10400 psi,,",
        "A5,hose,Tollan H-40,,Station 1,1,1,ok,30 ft,,5000 psi,flat-face single,",
        "A6,ram,Tollan H-40,,Station 1,1,1,ok,,20 kN,,,",
    ];
    let reading = plain(&lines(&rows));
    let names: Vec<_> = reading.models.iter().map(|model| model.name.as_str()).collect();
    assert_eq!(names, ["Tollan H-40", "Tollan H-40 (30 ft)", "Tollan H-40 (30 ft, 5000 psi)", "Tollan H-40"]);
    let keys: Vec<_> = reading.rows.iter().map(|row| row.model_key.as_str()).collect();
    assert_eq!(keys[..2], ["hose:tollan h-40"; 2]);
    assert_eq!(keys[3], "hose:tollan h-40");
    assert!(
        noted(&reading, "left out on line 5") && noted(&reading, "could be any of 2 variants"),
        "{:?}",
        reading.notes
    );
    let again = plain(writing::write(&reading.to_write()).as_bytes());
    assert_eq!(content(&again), content(&reading));

    let model = |at: usize| KnownModel {
        name: reading.models[at].name.to_uppercase(),
        kind: Kind::Hose,
        hookup: reading.models[at].hookup.clone(),
        ratings: reading.models[at].ratings.clone(),
    };
    let known = KnownRegister {
        models: vec![model(0), model(1)],
        ..KnownRegister::default()
    };
    let second = read(&lines(&rows), &Options::default(), &known, today()).unwrap();
    let told: Vec<_> = second.models.iter().map(|model| (model.name.as_str(), model.new)).collect();
    assert_eq!(
        told,
        [
            ("TOLLAN H-40", false),
            ("Tollan H-40 (30 ft)", false),
            ("Tollan H-40 (30 ft, 5000 psi)", true),
            ("Tollan H-40", true)
        ]
    );
}

#[test]
fn every_fault_is_told_with_its_line_its_column_and_a_hint() {
    let cases: &[(&str, &str, Option<&str>)] = &[
        ("A1,hose,H,,Station 1,1,1,ok,40,,,,", "missing-unit", Some("Length")),
        ("A1,hose,H,,Station 1,1,1,ok,40 furlongs,,,,", "unknown-unit", Some("Length")),
        ("A1,hose,H,,Station 1,1,1,ok,40 psi,,,,", "wrong-dimension", Some("Length")),
        ("A1,hose,H,,Station 1,1,1,ok,0 ft,,,,", "not-positive", Some("Length")),
        ("A1,ram,H,,Station 1,1,1,ok,,9 tons,,,", "ambiguous-unit", Some("Force")),
        ("A1,spreader,H,,Station 1,1,1,ok,,14300-9900 lbf,,,", "span-out-of-order", Some("Force")),
        ("A1,ram,H,,Station 1,1,1,ok,,9/8/7/6 kN,,,", "two-values", Some("Force")),
        ("A1,hose,H,,Station 1,1,1,maybe,40 ft,,,,", "unknown-state", Some("Status")),
        ("A1,hose,H,,Station 1,1,1,,40 ft,,,,", "unknown-state", Some("Status")),
        ("A1,hose,H,,retired,1,1,ok,40 ft,,,,", "state-differs", Some("Assigned to")),
        ("?,hose,H,,Station 1,1,1,ok,40 ft,,,,", "no-tag", Some("Asset tag")),
        ("A1,hose,H,,Station 1,1,1,ok,40 ft,,,,,x", "extra-column", None),
    ];
    for (row, code, column) in cases {
        let reading = plain(&lines(&[row]));
        assert_eq!(codes(&reading), [(2, *code)], "{row}");
        assert_eq!(
            (reading.refused[0].column.as_deref(), reading.refused[0].hint.is_some()),
            (*column, true),
            "{row}"
        );
    }
    let many = plain(&lines(&["A1,thing,H,,Station 1,1,1,maybe,40 ft,,,,"]));
    assert_eq!((many.refused[0].code, many.refused[0].also.len()), ("unknown-kind", 1));
    let columns = "Tag,Kind,Cut levels,Fluid,Outlets\nA1,cutter,A8 B9 C8 D9,,\nA2,cutter,,water,\nA3,hand pump,,,2\n";
    let codes_of: Vec<_> = plain(columns.as_bytes()).refused.into_iter().map(|refusal| refusal.code).collect();
    assert_eq!(codes_of, ["bad-cutting-levels", "unknown-fluid", "does-not-apply"]);
}

#[test]
fn a_tag_is_used_once_in_the_file_and_in_the_agency() {
    let file = lines(&[
        "A1,hose,H,,Station 1,1,1,ok,40 ft,,,,",
        "a1,hose,H,,Station 1,1,1,ok,40 ft,,,,",
        "B1,hose,H,,Station 1,1,1,ok,40 ft,,,,",
    ]);
    let known = held(&plain(&lines(&["b1,hose,H,,Station 1,1,1,ok,30 ft,,,,"])));
    let reading = read(&file, &Options::default(), &known, today()).unwrap();
    assert_eq!(codes(&reading), [(3, "duplicate-tag"), (4, "duplicate-tag")]);
    assert!(reading.refused[0].reason.contains("line 2") && reading.refused[1].reason.contains("already has a piece with the tag B1, with another model"));
    // A piece of the agency looks like another one too.
    let alike = read(&lines(&["BI,hose,H,,Station 1,1,1,ok,30 ft,,,,"]), &Options::default(), &known, today()).unwrap();
    assert_eq!(codes(&alike), [(2, "tag-looks-alike")]);
}

#[test]
fn what_is_odd_but_possible_is_noted_and_stands() {
    let file = "Tag,Kind,Model,Serial,Location,Station,District,Placed in service,Length (ft)\n\
        A1,hose,H,B0-11,Station 1,1,1,,40\nA2,hose,H,BO-1I,Station 1,1,1,,40\nA3,cutter,C,,Station 1,1,2,,40\nA4,hose,H,b0-11,Sta 1 spare,1,1,,40\n";
    let reading = plain(file.as_bytes());
    // Two of one number are one piece written twice; which of them is right the plate says.
    assert_eq!(codes(&reading), [(5, "duplicate-serial")]);
    let words = [
        "is easily taken for B0-11",
        "does not apply",
        "every piece was read as in service",
        "the line gives District 2, but Station 1 is in District 1",
    ];
    for words in words {
        assert!(noted(&reading, words), "{words}: {:?}", reading.notes);
    }
    let length = reading.models[0].ratings.get(Term::HoseLength).unwrap().quantity().unwrap();
    assert_eq!((length.value, length.unit), (40.0, Unit::Foot));
}

#[test]
fn what_is_no_row_is_passed_over_with_a_reason() {
    let file = "Register of hoses\n,,\n\nTag;Kind;Location;Station;District\nDistrict 1;;;;\nA1;hose;;1;1\n;;;;\n;;;;\ntag;KIND;location;station;district\nTotal;;1 piece;;\n;;;;checked by hand\nA2;;;;\n";
    let reading = plain(file.as_bytes());
    let why: Vec<_> = reading.passed_over.iter().map(|passed| (passed.line, passed.why.as_str())).collect();
    let title = "a title or remark, not a piece";
    assert_eq!(
        why,
        [
            (1, "stands before the headings"),
            (2, "stands before the headings"),
            (3, "blank"),
            (5, title),
            (7, "blank, to line 8"),
            (9, "repeats the headings"),
            (10, "a subtotal"),
            (11, title)
        ]
    );
    assert_eq!(codes(&reading), [(12, "unknown-kind")]);
    assert_eq!(reading.rows.len(), 1);
}

#[test]
fn a_file_that_cannot_be_read_is_one_clear_fault() {
    let fault = |bytes: &[u8]| -> Fault { read(bytes, &Options::default(), &KnownRegister::default(), today()).unwrap_err() };
    assert_eq!(fault(b"").code, "empty-file");
    assert_eq!(fault(b"\xEF\xBB\xBF\r\n \r\n").code, "empty-file");
    assert_eq!(fault(b"a,b\n1,2\n").code, "no-heading");
    let missing = fault(b"Kind,Serial,Station\nhose,1,2\n");
    assert_eq!(missing.code, "missing-column");
    assert!(missing.reason.contains("\"Kind\", \"Serial\", \"Station\""));
}

#[test]
fn the_caller_chooses_columns_and_the_order_of_dates() {
    let file = "Nr;Art;Ort;Station;District;Seit\n7;hose;;1;1;3/4/2025\n";
    let choose = |pairs: &[(&str, &str)]| pairs.iter().map(|(column, field)| ((*column).to_owned(), Some((*field).to_owned()))).collect();
    let options = Options {
        columns: choose(&[("Nr", "tag"), ("Art", "kind"), ("Ort", "place"), ("Seit", "in_service_since")]),
        date_order: Some(super::dates::DateOrder::DayFirst),
        ..Options::default()
    };
    let reading = read(file.as_bytes(), &options, &KnownRegister::default(), today()).unwrap();
    assert_eq!(reading.rows[0].in_service_since, NaiveDate::from_ymd_opt(2025, 4, 3));
    assert!(noted(&reading, "were read day first"));
    let wire = serde_json::json!([reading.columns[0], reading.encoding, reading.delimiter, reading.date_order]);
    let column = serde_json::json!({"column": "Nr", "field": "tag", "how": "chosen"});
    assert_eq!(wire, serde_json::json!([column, "UTF-8", "semicolon", "day first"]));
    let station = "Station 1".to_owned();
    assert_eq!(reading.rows[0].place, ReadPlace::Shelf { station });
}

#[test]
fn a_large_county_is_read_whole() {
    let mut file = String::from(HEAD);
    for n in 0..MOST_PIECES {
        file.push_str(&format!(
            "T{n},hose,H-{},S{n},Engine {},{},1,ok,{} ft,,10400 psi,twin-line,\n",
            n % 50,
            n % 300 + 1,
            n % 300 + 1,
            30 + n % 50 % 7
        ));
    }
    let reading = plain(file.as_bytes());
    assert_eq!((reading.rows.len(), reading.models.len(), reading.places.rigs.len()), (MOST_PIECES, 50, 300));
    file.push_str("one,hose,H-0,more,Engine 1,1,1,ok,30 ft,,10400 psi,twin-line,\n");
    let refused = RegisterFile::parse(file.as_bytes(), Options::default()).unwrap_err();
    assert_eq!((refused.code, refused.reason.contains("5001 pieces; 5000")), ("too-many-pieces", true));
}
