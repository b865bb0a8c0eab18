//! The round trip: what is written reads back the same; and nothing that stands in a file makes the reader panic.

use crate::{
    catalogue::ReadModel,
    reading::{KnownRegister, Options, ReadLender, ReadPlaces, Reading, RegisterRow},
    reading_tests::{codes, file, noted, plain, read, today},
    sheet::Encoding,
    whereabouts::{CreatePlaces, ReadPlace},
    writing,
};
use chrono::NaiveDate;
use fullset_calc::ratings::Term;
use proptest::prelude::*;

/// A file in the same spelling, apart from where its rows and models stand.
pub(crate) fn content(reading: &Reading) -> (Vec<RegisterRow>, Vec<ReadModel>, ReadPlaces) {
    let rows = reading.rows.iter().cloned().map(|row| RegisterRow { line: 0, ..row }).collect();
    (rows, reading.models.clone(), reading.places.clone())
}

#[test]
fn what_is_written_reads_back_without_difference() {
    for name in ["clean.csv", "messy.csv"] {
        let first = plain(&file(name));
        let text = writing::write(&first.to_write());
        let again = plain(text.as_bytes());
        assert_eq!(again.encoding, Encoding::Utf8Marked);
        assert_eq!((again.refused.len(), again.passed_over.len()), (0, 0), "{:?}", again.refused);
        assert_eq!(content(&again), content(&first));
        assert_eq!(writing::write(&again.to_write()), text);
    }
    let head = |bytes: &[u8]| String::from_utf8_lossy(bytes).trim_start_matches('\u{feff}').lines().next().unwrap().to_owned();
    let clean = file("clean.csv");
    assert_eq!(head(writing::write(&plain(&clean).to_write()).as_bytes()), head(&clean));
}

#[test]
fn odd_places_standards_and_formulas_survive_the_round_trip() {
    let text = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status,Opening/spread,Force,Pulling force,Length,Cutting levels,Weight,Tool coupling,Date of make,Lent to us by,Note\n\
        =1+1,cutter,@K,-12,Rig: Big Bertha,Downtown,North,ok,8.1 in [NFPA 1936; 2015],,,,A8/B9/C8/D9/E9 [NFPA 1936; 2015],43 lb,,2020-01-31,Dorvan dealer (due 2026-12-24),\"=HYPERLINK(\"\"x\"\")\nsecond; line\"\n\
        A2,spreader,S,,Shelf: Downtown,Downtown,North,ok,28.9 in,9900 lbf-63.6 kN [EN 13204],20-30 kN,,,,,May 2019,=Town FD,'quoted\n\
        A3,ram,R,,Shop: Depot 3,,,oos,,47500 lbf / 105 kN,11 kN,,,,,,,\n\
        A4,hose,H,,Vendor: Acme; Sons (due 2026-12-01),Downtown,North,oos,,,,30.5 ft,,,twin-line,,,\n\
        A5,hose,H,,On loan: Town FD,,,ok,,,,30.5 ft,,,twin-line,,,\n\
        A6,hose,H,,In transit to Rig: Big Bertha,Downtown,North,ok,,,,30.5 ft,,,twin-line,,,\n\
        A7,hose,H,,,,,retired,,,,30.5 ft,,,twin-line,,,\n\
        A8,spreader,T,,Truck 99,Station 4,2,ok,28.9 in,9900 lbf,,,,,,,,\n\
        A9,spreader,T,,Truck 99,Station 4,2,ok,28.9 in,9900 lbf,,,,,,,,\n";
    let first = plain(text.as_bytes());
    assert_eq!(codes(&first), []);
    let rating = first.models[0].ratings.get(Term::CuttingLevels).unwrap();
    assert_eq!((rating.standard.as_deref(), rating.edition.as_deref()), (Some("NFPA 1936"), Some("2015")));
    assert_eq!((first.rows[0].tag.as_str(), first.rows[0].serial.as_deref()), ("=1+1", Some("-12")));
    assert_eq!(first.rows[0].note.as_deref(), Some("=HYPERLINK(\"x\")\nsecond; line"));
    assert_eq!(first.rows[1].made_on.map(|made| made.to_string()).as_deref(), Some("2019-05"));
    let lenders: Vec<_> = first.rows.iter().take(3).map(|row| row.lent_by.clone()).collect();
    let lender = |name: &str, due_on| Some(ReadLender { name: name.into(), due_on });
    assert_eq!(
        lenders,
        [lender("Dorvan dealer", NaiveDate::from_ymd_opt(2026, 12, 24)), lender("=Town FD", None), None]
    );
    assert_eq!(
        first.rows[3].place,
        ReadPlace::Vendor {
            name: "Acme; Sons".into(),
            due_on: NaiveDate::from_ymd_opt(2026, 12, 1)
        }
    );
    let spreader = first.models.iter().find(|model| model.name == "T").unwrap();
    assert!(spreader.ratings.get(Term::LowestSpreadingForce).is_none() && noted(&first, "read as the highest"));
    let written = writing::write(&first.to_write());
    assert!(
        !written
            .lines()
            .any(|line| line.split(',').any(|cell| cell.trim_matches('"').starts_with(['=', '@', '+']))),
        "{written}"
    );
    let again = plain(written.as_bytes());
    assert_eq!(codes(&again), []);
    assert_eq!(content(&again), content(&first));
}

/// A cell as people, spreadsheets and slips make it.
fn cell() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "",
        "HT-1",
        "HT-2",
        "hose",
        "ram",
        "cutter",
        "spreader",
        "Truck 1",
        "Station 8 reserve",
        "Rig: X",
        "In transit to In transit to retired",
        "8",
        "1",
        "31-Feb-2024",
        "6/7/2025",
        "19/6/2025",
        "ok",
        "OOS",
        "40 ft",
        "-40 ft",
        "1-2-3/4 lbf",
        "9900-14300 lbf",
        "1/2",
        "47500 / 23600 / 12400 lbf",
        "A8 B9 C8 D9 E9",
        "18,000 ft-lb",
        "10k-ish",
        "\"",
        "\"\"",
        "'=1",
        "[",
        "]",
        "[;]",
        "8 in [",
        "\u{130}:\u{130}",
        "Rig:",
        "\u{feff}",
        "É7é",
        "12:",
        "t12:30",
        ":",
        "2 m",
        "Subtotal",
        "\n",
        "\r",
        "\t",
        "(",
        "Asset tag",
        "Kind",
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
        &[
            "Truck 1",
            "Engine 2",
            "truck-1",
            "Rig: Bertha",
            "Station 8 reserve",
            "Reserve",
            "Shop",
            "Shop: Bay 2",
            "Vendor: A (due 2026-01-02)",
            "On loan: B",
            "In transit to Truck 1",
            "Heavy Rescue",
            "",
            "Nowhere",
        ],
        &["1", "Station 1", "8", "Downtown", ""],
        &["1", "District 1", "North", "2"],
        &["2014-02-27", "6/19/2025", "14-Jul-2015", ""],
        &["2014-02-27", "6/7/2025", "27.02.2014", ""],
        &["ok", "OOS", "retired"],
        &["40 ft", "12.2 m", "30 ft", "", "1/2 in", "0.1 mm"],
        &["8.1 in", "206 mm", "28.9\"", "", "9 in [EN 13204; 2016]"],
        &["23.6 in", "599 mm", ""],
        &["63 in", "1600 mm", ""],
        &[
            "9900-14300 lbf",
            "9900 lbf",
            "44.0-63.6 kN",
            "47500 / 23600 lbf",
            "5 kN / 9 lbf",
            "",
            "9900 lbf [X]",
        ],
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
        let _ = read(&bytes, &Options::default(), &KnownRegister::default(), today());
        let mut behind = b"Tag,Kind,Station,District,Length\n".to_vec();
        behind.extend(bytes);
        let _ = read(&behind, &Options::default(), &KnownRegister::default(), today());
    }

    #[test]
    fn no_cells_make_it_panic_and_every_line_is_accounted_for(rows in rows(), sign in prop::sample::select(vec![',', ';', '\t', '|']), all in any::<bool>()) {
        let create_places = if all { CreatePlaces::All } else { CreatePlaces::ByEvidence };
        let options = Options { create_places, default_district: all.then(|| "North".to_owned()), ..Options::default() };
        if let Ok(reading) = read(joined(&rows, sign).as_bytes(), &options, &KnownRegister::default(), today()) {
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
        let Ok(first) = read(joined(&rows, ';').as_bytes(), &Options::default(), &KnownRegister::default(), today()) else { return Ok(()) };
        let written = writing::write(&first.to_write());
        let again = plain(written.as_bytes());
        prop_assert_eq!(&again.refused, &vec![], "{}", written);
        prop_assert_eq!(content(&again), content(&first), "{}", written);
    }
}
