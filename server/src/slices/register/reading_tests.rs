//! The reader against the published register, clean and messy, and against what people do to spreadsheets.

use super::{
    catalogue::{KnownModel, ReadModel},
    cells::{Fault, RowState},
    reading::{Known, Options, Reading, read},
    sheet::{Delimiter, Encoding},
    whereabouts::{CreatePlaces, KnownRig, KnownStation, ReadPlace},
    writing,
};
use chrono::NaiveDate;
use fullset_calc::{
    ratings::{Figure, Kind, Term},
    units::Unit,
};
use proptest::prelude::*;

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

fn file(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/../tests/published/data/register/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn plain(bytes: &[u8]) -> Reading {
    read(bytes, &Options::default(), &Known::default(), today()).unwrap()
}

const HEAD: &str = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status,Length,Force,Pressure,Coupling,Note\n";

/// A file of the usual headings and these lines.
fn lines(rows: &[&str]) -> Vec<u8> {
    format!("{HEAD}{}\n", rows.join("\n")).into_bytes()
}

fn codes(reading: &Reading) -> Vec<(usize, &str)> {
    reading.refused.iter().map(|refusal| (refusal.line, refusal.code)).collect()
}

fn noted(reading: &Reading, words: &str) -> bool {
    reading.notes.iter().any(|note| note.words.contains(words))
}

/// A file in the same spelling, apart from where its rows and models stand.
fn content(reading: &Reading) -> (Vec<super::reading::RegisterRow>, Vec<ReadModel>, super::reading::ReadPlaces) {
    let rows = reading.rows.iter().cloned().map(|row| super::reading::RegisterRow { line: 0, ..row }).collect();
    (rows, reading.models.clone(), reading.places.clone())
}

fn expected() -> serde_json::Value {
    serde_json::from_slice(&file("expected.json")).unwrap()
}

#[test]
fn the_clean_register_is_read_whole() {
    let (reading, want) = (plain(&file("clean.csv")), expected());
    assert_eq!((reading.encoding, reading.delimiter, reading.date_order), (Encoding::Utf8, Delimiter::Comma, None));
    let count = |key: &str| usize::try_from(want[key].as_u64().unwrap()).unwrap();
    assert_eq!(reading.refused, []);
    assert_eq!(reading.rows.len(), count("pieces"));
    assert_eq!(reading.rows.iter().filter(|row| row.state == RowState::OutOfService).count(), count("out_of_service"));
    let places = &reading.places;
    assert_eq!((places.stations.len(), places.districts.len(), places.rigs.len(), places.shops.len()), (count("stations"), count("districts"), count("rigs"), 0));
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
    assert_eq!((reading.encoding, reading.delimiter), (Encoding::Windows1252, Delimiter::Semicolon));
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
    let faults: Vec<_> = faults.iter().map(|f| (usize::try_from(f["line"].as_u64().unwrap()).unwrap(), code(f["fault"].as_str().unwrap()))).collect();
    assert_eq!(codes(&reading), faults);
    assert!(reading.refused.iter().all(|refusal| refusal.hint.is_some() && !refusal.reason.is_empty() && refusal.also.is_empty()));
    assert_eq!(reading.refused[0].reason, "the tag HT-1004 already stands on line 7");
    assert_eq!(reading.refused[1].column.as_deref(), Some("Force"));
    assert_eq!(reading.rows.len(), usize::try_from(want["messy"]["imported"].as_u64().unwrap()).unwrap());
    assert_eq!(reading.passed_over.len(), 10, "{:?}", reading.passed_over);
    assert_eq!(reading.places, clean.places);
    // Each row that stands is the clean one; only units and spellings differ.
    for row in &reading.rows {
        let twin = clean.rows.iter().find(|twin| twin.tag == row.tag).unwrap();
        assert_eq!(super::reading::RegisterRow { line: twin.line, ..row.clone() }, *twin);
    }
    assert_eq!(reading.models.len(), 11);
    for model in &reading.models {
        let twin = clean.models.iter().find(|twin| twin.key == model.key).unwrap();
        assert_eq!((model.kind, &model.name, model.ratings.len()), (twin.kind, &twin.name, twin.ratings.len()));
        assert_eq!((&model.hookup.coupling, model.hookup.fluid, model.hookup.circuits), (&twin.hookup.coupling, twin.hookup.fluid, twin.hookup.circuits));
        for (term, rating) in model.ratings.iter() {
            match (rating.figure, twin.ratings.get(term).unwrap().figure) {
                (Figure::Quantity(a), Figure::Quantity(b)) => assert!((a.si() - b.si()).abs() <= 0.01 * b.si(), "{term:?}"),
                (a, b) => assert_eq!(a, b),
            }
        }
    }
}

#[test]
fn what_is_written_reads_back_without_difference() {
    for name in ["clean.csv", "messy.csv"] {
        let first = plain(&file(name));
        let text = writing::write(&writing::rows_of(&first));
        let again = plain(text.as_bytes());
        assert_eq!(again.encoding, Encoding::Utf8Marked);
        assert_eq!((again.refused.len(), again.passed_over.len()), (0, 0), "{:?}", again.refused);
        assert_eq!(content(&again), content(&first));
        assert_eq!(writing::write(&writing::rows_of(&again)), text);
    }
    let head = |bytes: &[u8]| String::from_utf8_lossy(bytes).trim_start_matches('\u{feff}').lines().next().unwrap().to_owned();
    let clean = file("clean.csv");
    assert_eq!(head(writing::write(&writing::rows_of(&plain(&clean))).as_bytes()), head(&clean));
}

#[test]
fn odd_places_standards_and_formulas_survive_the_round_trip() {
    let text = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status,Opening/spread,Force,Pulling force,Length,Cutting levels,Weight,Tool coupling,Date of make,Note\n\
        =1+1,cutter,@K,-12,Rig: Big Bertha,Downtown,North,ok,8.1 in [NFPA 1936; 2015],,,,A8/B9/C8/D9/E9 [NFPA 1936; 2015],43 lb,,2020-01-31,\"=HYPERLINK(\"\"x\"\")\nsecond; line\"\n\
        A2,spreader,S,,Shelf: Downtown,Downtown,North,ok,28.9 in,9900 lbf-63.6 kN [EN 13204],20-30 kN,,,,,,'quoted\n\
        A3,ram,R,,Shop: Depot 3,,,oos,,47500 lbf / 105 kN,11 kN,,,,,,\n\
        A4,hose,H,,Vendor: Acme; Sons (due 2026-12-01),Downtown,North,oos,,,,30.5 ft,,,twin-line,,\n\
        A5,hose,H,,On loan: Town FD,,,ok,,,,30.5 ft,,,twin-line,,\n\
        A6,hose,H,,In transit to Rig: Big Bertha,Downtown,North,ok,,,,30.5 ft,,,twin-line,,\n\
        A7,hose,H,,,,,retired,,,,30.5 ft,,,twin-line,,\n\
        A8,spreader,T,,Truck 99,Station 4,2,ok,28.9 in,9900 lbf,,,,,,,\n\
        A9,spreader,T,,Truck 99,Station 4,2,ok,28.9 in,9900 lbf,,,,,,,\n";
    let first = plain(text.as_bytes());
    assert_eq!(codes(&first), []);
    let rating = first.models[0].ratings.get(Term::CuttingLevels).unwrap();
    assert_eq!((rating.standard.as_deref(), rating.edition.as_deref()), (Some("NFPA 1936"), Some("2015")));
    assert_eq!((first.rows[0].tag.as_str(), first.rows[0].serial.as_deref()), ("=1+1", Some("-12")));
    assert_eq!(first.rows[0].note.as_deref(), Some("=HYPERLINK(\"x\")\nsecond; line"));
    assert_eq!(first.rows[3].place, ReadPlace::Vendor { name: "Acme; Sons".into(), due_on: NaiveDate::from_ymd_opt(2026, 12, 1) });
    let spreader = first.models.iter().find(|model| model.name == "T").unwrap();
    assert!(spreader.ratings.get(Term::LowestSpreadingForce).is_none() && noted(&first, "read as the highest"));
    let written = writing::write(&writing::rows_of(&first));
    assert!(!written.lines().any(|line| line.split(',').any(|cell| cell.trim_matches('"').starts_with(['=', '@', '+']))), "{written}");
    let again = plain(written.as_bytes());
    assert_eq!(codes(&again), []);
    assert_eq!(content(&again), content(&first));
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
    let all = Options { create_places: CreatePlaces::All, ..Options::default() };
    assert_eq!(codes(&read(&slip, &all, &Known::default(), today()).unwrap()), []);
    let mut known = Known::default();
    known.places.stations.push(KnownStation { name: "Central".into(), number: Some("4".into()), district: "Battalion 1".into() });
    known.places.districts.push("Battalion 1".into());
    known.places.rigs.push(KnownRig { name: "TRUCK 99".into(), station: "central".into() });
    let reading = read(&slip, &Options::default(), &known, today()).unwrap();
    assert_eq!(codes(&reading), []);
    assert_eq!(reading.rows[9].place, ReadPlace::Rig { rig: "TRUCK 99".into() });
    assert_eq!((reading.rows[9].station.as_deref(), reading.rows[9].district.as_deref()), (Some("Central"), Some("Battalion 1")));
    assert_eq!(reading.rows[3].station.as_deref(), Some("Central"));
    assert_eq!(reading.places.districts.iter().map(|d| (d.name.as_str(), d.new)).collect::<Vec<_>>(), [("Battalion 1", false)]);
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
    let rows = ["A1,hose,H,,Engine 12,North,East,ok,40 ft,,,,", "A2,hose,H,,ENGINE-12,North,East,ok,40 ft,,,,", "A3,hose,H,,Engine 7,North,East,ok,40 ft,,,,"];
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
    assert!(noted(&reading, "left out on line 5") && noted(&reading, "could be any of 2 variants"), "{:?}", reading.notes);
    let again = plain(writing::write(&writing::rows_of(&reading)).as_bytes());
    assert_eq!(content(&again), content(&reading));

    let model = |at: usize| KnownModel { name: reading.models[at].name.to_uppercase(), kind: Kind::Hose, hookup: reading.models[at].hookup.clone(), ratings: reading.models[at].ratings.clone() };
    let known = Known { models: vec![model(0), model(1)], ..Known::default() };
    let second = read(&lines(&rows), &Options::default(), &known, today()).unwrap();
    let told: Vec<_> = second.models.iter().map(|model| (model.name.as_str(), model.new)).collect();
    assert_eq!(told, [("TOLLAN H-40", false), ("Tollan H-40 (30 ft)", false), ("Tollan H-40 (30 ft, 5000 psi)", true), ("Tollan H-40", true)]);
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
        assert_eq!((reading.refused[0].column.as_deref(), reading.refused[0].hint.is_some()), (*column, true), "{row}");
    }
    let many = plain(&lines(&["A1,thing,H,,Station 1,1,1,maybe,40 ft,,,,"]));
    assert_eq!((many.refused[0].code, many.refused[0].also.len()), ("unknown-kind", 1));
    let columns = "Tag,Kind,Cut levels,Fluid,Outlets\nA1,cutter,A8 B9 C8 D9,,\nA2,cutter,,water,\nA3,hand pump,,,2\n";
    let codes_of: Vec<_> = plain(columns.as_bytes()).refused.into_iter().map(|refusal| refusal.code).collect();
    assert_eq!(codes_of, ["bad-cutting-levels", "unknown-fluid", "does-not-apply"]);
}

#[test]
fn a_tag_is_used_once_in_the_file_and_in_the_agency() {
    let file = lines(&["A1,hose,H,,Station 1,1,1,ok,40 ft,,,,", "a1,hose,H,,Station 1,1,1,ok,40 ft,,,,", "B1,hose,H,,Station 1,1,1,ok,40 ft,,,,"]);
    let known = Known { tags: vec!["b1".into()], ..Known::default() };
    let reading = read(&file, &Options::default(), &known, today()).unwrap();
    assert_eq!(codes(&reading), [(3, "duplicate-tag"), (4, "duplicate-tag")]);
    assert!(reading.refused[0].reason.contains("line 2") && reading.refused[1].reason.contains("already has"));
}

#[test]
fn what_is_odd_but_possible_is_noted_and_stands() {
    let file = "Tag,Kind,Model,Serial,Location,Station,District,Placed in service,Length (ft)\n\
        A1,hose,H,B0-11,Station 1,1,1,2027-01-01,40\nA2,hose,H,BO-1I,Station 1,1,1,,40\nA3,cutter,C,,Station 1,1,2,,40\nA4,hose,H,b0-11,Sta 1 spare,1,1,,40\n";
    let reading = plain(file.as_bytes());
    assert_eq!(codes(&reading), []);
    let words =
        ["lies in the future", "is easily taken for B0-11", "also stands on line 2", "does not apply", "every piece was read as in service", "the line gives District 2, but Station 1 is in District 1"];
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
        [(1, "stands before the headings"), (2, "stands before the headings"), (3, "blank"), (5, title), (7, "blank, to line 8"), (9, "repeats the headings"), (10, "a subtotal"), (11, title)]
    );
    assert_eq!(codes(&reading), [(12, "unknown-kind")]);
    assert_eq!(reading.rows.len(), 1);
}

#[test]
fn a_file_that_cannot_be_read_is_one_clear_fault() {
    let fault = |bytes: &[u8]| -> Fault { read(bytes, &Options::default(), &Known::default(), today()).unwrap_err() };
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
        default_order: super::dates::DateOrder::DayFirst,
        ..Options::default()
    };
    let reading = read(file.as_bytes(), &options, &Known::default(), today()).unwrap();
    assert_eq!(reading.rows[0].in_service_since, NaiveDate::from_ymd_opt(2025, 4, 3));
    assert!(noted(&reading, "were read day first"));
    let wire = serde_json::to_value(&reading).unwrap();
    assert_eq!(wire["columns"][0], serde_json::json!({"column": "Nr", "field": "tag", "how": "chosen"}));
    assert_eq!((wire["encoding"].as_str(), wire["delimiter"].as_str(), wire["date_order"].as_str()), (Some("UTF-8"), Some("semicolon"), Some("day first")));
    assert_eq!(wire["rows"][0]["place"], serde_json::json!({"at": "shelf", "station": "Station 1"}));
}

#[test]
fn a_large_county_is_read_whole() {
    let mut file = String::from(HEAD);
    for n in 0..20_000 {
        file.push_str(&format!("T{n},hose,H-{},S{n},Engine {},{},1,ok,{} ft,,10400 psi,twin-line,\n", n % 50, n % 300 + 1, n % 300 + 1, 30 + n % 50 % 7));
    }
    let reading = plain(file.as_bytes());
    assert_eq!((reading.rows.len(), reading.models.len(), reading.places.rigs.len()), (20_000, 50, 300));
}

/// A cell as people, spreadsheets and slips make it.
fn cell() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "", "HT-1", "HT-2", "hose", "ram", "cutter", "spreader", "Truck 1", "Station 8 reserve", "Rig: X", "In transit to In transit to retired", "8", "1", "31-Feb-2024", "6/7/2025", "19/6/2025", "ok", "OOS",
        "40 ft", "-40 ft", "1-2-3/4 lbf", "9900-14300 lbf", "1/2", "47500 / 23600 / 12400 lbf", "A8 B9 C8 D9 E9", "18,000 ft-lb", "10k-ish", "\"", "\"\"", "'=1", "[", "]", "[;]", "8 in [", "\u{130}:\u{130}", "Rig:",
        "\u{feff}", "É7é", "12:", "t12:30", ":", "2 m", "Subtotal", "\n", "\r", "\t", "(", "Asset tag", "Kind",
    ]);
    prop_oneof![8 => known.prop_map(str::to_owned), 1 => any::<String>()]
}

/// Mostly what belongs in each column, so that most rows stand.
fn likely() -> impl Strategy<Value = Vec<Vec<String>>> {
    let tags = (0_u32..100_000).prop_map(|n| format!("T{n}"));
    let columns: [&[&str]; 22] = [
        &["hose", "ram", "cutter", "spreader", "combi", "pump", "hand pump", "battery", "chains", "flux"],
        &["H-40", "h-40", "=M", "", "X (30 ft)", "X"],
        &["", "B0-1", "BO-I", "-5", "'s"],
        &["Truck 1", "Engine 2", "truck-1", "Rig: Bertha", "Station 8 reserve", "Reserve", "Shop", "Shop: Bay 2", "Vendor: A (due 2026-01-02)", "On loan: B", "In transit to Truck 1", "Heavy Rescue", "", "Nowhere"],
        &["1", "Station 1", "8", "Downtown", ""],
        &["1", "District 1", "North", "2"],
        &["2014-02-27", "6/19/2025", "14-Jul-2015", ""],
        &["2014-02-27", "6/7/2025", "27.02.2014", ""],
        &["ok", "OOS", "retired"],
        &["40 ft", "12.2 m", "30 ft", "", "1/2 in", "0.1 mm"],
        &["8.1 in", "206 mm", "28.9\"", "", "9 in [EN 13204; 2016]"],
        &["23.6 in", "599 mm", ""],
        &["63 in", "1600 mm", ""],
        &["9900-14300 lbf", "9900 lbf", "44.0-63.6 kN", "47500 / 23600 lbf", "5 kN / 9 lbf", "", "9900 lbf [X]"],
        &["A8 B9 C8 D9 E9", "A5/B6/C6/D6/E6/F1", ""],
        &["10400 psi", "717 bar", "5,000 psi", ""],
        &["mineral oil", "PAO", ""],
        &["flat-face single", "twin-line", "@c", ""],
        &["2", "1", ""],
        &["28V", ""],
        &["20-30 kN", "9 kN", ""],
        &["", "a note", "=2+3", "\"two\nlines, with \"\"quotes\"\"\""],
    ];
    let row = columns.map(|values| prop::sample::select(values.to_vec()).prop_map(str::to_owned));
    let row = (tags, row.to_vec()).prop_map(|(tag, cells)| [vec![tag], cells].concat());
    prop::collection::vec(row, 0..40)
}

fn rows() -> impl Strategy<Value = Vec<Vec<String>>> {
    prop::collection::vec(prop::collection::vec(cell(), 0..24), 0..24)
}

fn joined(rows: &[Vec<String>], sign: char) -> String {
    let head = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,In service since,Last annual service,Status,Length,Opening/spread,Retracted,Extended,Force,Cutting levels,Pressure,Fluid,Coupling,Circuits,Battery,Pull,Note";
    let mut text = head.replace(',', &sign.to_string()) + "\n";
    for row in rows {
        text.push_str(&row.join(&sign.to_string()));
        text.push('\n');
    }
    text
}

proptest! {
    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let _ = read(&bytes, &Options::default(), &Known::default(), today());
        let mut behind = b"Tag,Kind,Station,District,Length\n".to_vec();
        behind.extend(bytes);
        let _ = read(&behind, &Options::default(), &Known::default(), today());
    }

    #[test]
    fn no_cells_make_it_panic_and_every_line_is_accounted_for(rows in rows(), sign in prop::sample::select(vec![',', ';', '\t', '|']), all in any::<bool>()) {
        let create_places = if all { CreatePlaces::All } else { CreatePlaces::ByEvidence };
        let options = Options { create_places, default_district: all.then(|| "North".to_owned()), ..Options::default() };
        if let Ok(reading) = read(joined(&rows, sign).as_bytes(), &options, &Known::default(), today()) {
            let mut told: Vec<usize> = reading.rows.iter().map(|r| r.line).chain(reading.refused.iter().map(|r| r.line)).chain(reading.passed_over.iter().map(|p| p.line)).collect();
            let many = told.len();
            told.sort_unstable();
            told.dedup();
            prop_assert_eq!(told.len(), many);
            for row in &reading.rows {
                prop_assert!(reading.models.iter().any(|model| model.key == row.model_key));
            }
        }
    }

    #[test]
    fn what_was_read_is_written_and_read_the_same(rows in prop_oneof![4 => likely(), 1 => rows()]) {
        let Ok(first) = read(joined(&rows, ';').as_bytes(), &Options::default(), &Known::default(), today()) else { return Ok(()) };
        let written = writing::write(&writing::rows_of(&first));
        let again = plain(written.as_bytes());
        prop_assert_eq!(&again.refused, &vec![], "{}", written);
        prop_assert_eq!(content(&again), content(&first), "{}", written);
    }
}
