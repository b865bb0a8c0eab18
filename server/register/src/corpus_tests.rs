//! Register files of many lands and habits (`tests/registers`), each with what its writer meant beside it. All are invented. What
//! is read must be what was meant; what may be meant in two ways must be asked about.

use super::{
    reading::{KnownRegister, LookAlikes, Options, Reading, RegisterRow},
    reading_tests::{read, today},
};
use crate::{DateOrder, ReadPlace, RowState};
use fullset_calc::ratings::Figure;
use serde_json::{Value, json};
use std::{collections::BTreeMap, path::PathBuf};

/// Refusals that ask: what stands there may be meant in more than one way, and somebody has to say which.
const ASKS: &[&str] = &[
    "ambiguous-number",
    "ambiguous-date",
    "ambiguous-unit",
    "eaten-by-spreadsheet",
    "tag-looks-alike",
    "unknown-place",
];

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/registers")
}

fn order(words: &Value) -> Option<DateOrder> {
    serde_json::from_value(words.clone()).unwrap()
}

fn meant(file: &Value) -> (Options, KnownRegister) {
    let choices = &file["choices"];
    let options = Options {
        date_order: order(&choices["date_order"]),
        look_alikes: if choices["look_alikes"] == "apart" {
            LookAlikes::Apart
        } else {
            LookAlikes::Ask
        },
        ..Options::default()
    };
    let known = KnownRegister {
        date_order: order(&file["agency_writes"]).unwrap_or_default(),
        ..KnownRegister::default()
    };
    (options, known)
}

fn place(place: &ReadPlace) -> String {
    match place {
        ReadPlace::Rig { rig } => format!("rig {rig}"),
        ReadPlace::Shelf { station } => format!("shelf {station}"),
        ReadPlace::Shop { shop } => format!("shop {shop}"),
        ReadPlace::Vendor { name, .. } => format!("vendor {name}"),
        other => format!("{other:?}"),
    }
}

/// What was read of a row, by the words of the files beside.
fn told(reading: &Reading, row: &RegisterRow) -> BTreeMap<&'static str, Value> {
    let model = reading.models.iter().find(|model| model.key == row.model_key).unwrap();
    let figures: BTreeMap<&str, Value> = model
        .ratings
        .iter()
        .filter_map(|(term, rating)| match rating.figure {
            Figure::Quantity(q) => Some((term.name(), json!([q.value, q.unit.symbol()]))),
            _ => None,
        })
        .collect();
    let state = match row.state {
        RowState::InService => "in service",
        RowState::OutOfService => "out of service",
        RowState::Retired => "retired",
    };
    BTreeMap::from([
        ("line", json!(row.line)),
        ("tag", json!(row.tag)),
        ("kind", json!(row.kind.word())),
        ("model", json!(model.name)),
        ("serial", json!(row.serial)),
        ("place", json!(place(&row.place))),
        ("station", json!(row.station)),
        ("made_on", json!(row.made_on.map(|made| made.to_string()))),
        ("in_service_since", json!(row.in_service_since)),
        ("last_service_on", json!(row.last_service_on)),
        ("state", json!(state)),
        ("note", json!(row.note)),
        ("figures", json!(figures)),
        ("pressure", json!(model.hookup.pressure.map(|q| json!([q.value, q.unit.symbol()])))),
    ])
}

/// Numbers of JSON are the same number whether they are written with a point or not.
fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Number(a), Value::Number(b)) => a.as_f64() == b.as_f64(),
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Object(a), Value::Object(b)) => a.len() == b.len() && a.iter().all(|(key, a)| b.get(key).is_some_and(|b| same(a, b))),
        (a, b) => a == b,
    }
}

/// Everything that a row may say and that its writer left out is not there either.
const SILENT: &[&str] = &["made_on", "in_service_since", "last_service_on", "pressure", "serial"];

fn hold(name: &str, bytes: &[u8], file: &Value) -> usize {
    let (options, known) = meant(file);
    let read = read(bytes, &options, &known, today());
    if let Some(code) = file["whole_file"].as_str() {
        assert_eq!(read.unwrap_err().code, code, "{name}");
        return 1;
    }
    let reading = read.unwrap_or_else(|fault| panic!("{name}: {}", fault.reason));
    let refused: Vec<(usize, &str)> = reading.refused.iter().map(|row| (row.line, row.code)).collect();
    let listed = |what: &str| -> Vec<(usize, String)> { serde_json::from_value(file[what].clone()).unwrap() };
    let (asked, plain) = (listed("asked"), listed("refused"));
    assert!(asked.iter().all(|(_, code)| ASKS.contains(&code.as_str())), "{name}: {asked:?} asks nothing");
    assert!(plain.iter().all(|(_, code)| !ASKS.contains(&code.as_str())), "{name}: {plain:?} asks");
    let mut wanted = [asked, plain].concat();
    wanted.sort_unstable();
    let wanted: Vec<(usize, &str)> = wanted.iter().map(|(line, code)| (*line, code.as_str())).collect();
    assert_eq!(refused, wanted, "{name}: {:?}", reading.refused);
    let meant = file["read"].as_array().unwrap();
    let lines: Vec<Value> = reading.rows.iter().map(|row| json!(row.line)).collect();
    assert_eq!(lines, meant.iter().map(|row| row["line"].clone()).collect::<Vec<_>>(), "{name}");
    for (row, meant) in reading.rows.iter().zip(meant) {
        let told = told(&reading, row);
        for (what, value) in meant.as_object().unwrap() {
            let read = told.get(what.as_str()).unwrap_or_else(|| panic!("{name}: nothing is called {what}"));
            assert!(same(read, value), "{name}, line {}: {what} was read as {read}, meant is {value}", row.line);
        }
        for what in SILENT.iter().filter(|what| meant.get(**what).is_none()) {
            let quiet = told[what].is_null();
            assert!(
                quiet || meant.get("kind").is_none(),
                "{name}, line {}: {what} was read as {}",
                row.line,
                told[what]
            );
        }
    }
    let passed: Vec<u64> = file["passed_over"].as_array().unwrap().iter().filter_map(Value::as_u64).collect();
    for line in &passed {
        assert!(
            reading.passed_over.iter().any(|one| one.line as u64 == *line),
            "{name}: line {line} was not passed over"
        );
    }
    meant.len() + wanted.len() + passed.len()
}

#[test]
fn every_file_is_read_as_its_writer_meant_it_or_asked_about() {
    let mut names: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".csv"))
        .collect();
    names.sort_unstable();
    let rows: usize = names
        .iter()
        .map(|name| {
            let text = std::fs::read_to_string(folder().join(name.replace(".csv", ".json"))).unwrap_or_else(|error| panic!("{name}: {error}"));
            let file: Value = serde_json::from_str(&text).unwrap();
            assert!(file["about"].as_str().is_some_and(|about| !about.is_empty()));
            hold(name, &std::fs::read(folder().join(name)).unwrap(), &file)
        })
        .sum();
    println!("{} files, {rows} rows", names.len());
    assert!(names.len() >= 40 && rows >= 120, "{} files, {rows} rows", names.len());
}
