//! What a spreadsheet or a hurried hand does to a register, and what must never be taken for something else. The cases are
//! invented (common practice, no source).

use super::{
    figures_tests::{file, pressure, size},
    reading::{KnownRegister, LookAlikes, Options, Reading},
    reading_tests::{codes, noted, plain, read, today},
    writing,
};
use crate::{DateOrder, RowState};
use fullset_calc::{ratings::Term, units::Unit};

const HEAD: &str = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status";

fn tools(rows: &[&str]) -> Vec<u8> {
    format!("{HEAD}\n{}\n", rows.join("\n")).into_bytes()
}

fn tagged(tags: &[&str]) -> Vec<u8> {
    let row = |tag: &&str| format!("{tag},hose,H-40,,Station 1,1,1,ok");
    tools(&tags.iter().map(row).collect::<Vec<_>>().iter().map(String::as_str).collect::<Vec<_>>())
}

fn dated(columns: &[&str], rows: &[&str]) -> Vec<u8> {
    let line = |(n, row): (usize, &&str)| format!("T{n},hose,Station 1,1,1,{row}\n");
    let rows: String = rows.iter().enumerate().map(line).collect();
    format!("Tag,Kind,Assigned to,Station,District,{}\n{rows}", columns.join(",")).into_bytes()
}

fn in_service(reading: &Reading) -> Vec<String> {
    reading.rows.iter().filter_map(|row| row.in_service_since).map(|day| day.to_string()).collect()
}

#[test]
fn a_number_that_a_spreadsheet_has_shortened_is_asked_for() {
    for eaten in [
        "1.2E+05",
        "1,20E+05",
        "1E+16",
        "120000.0",
        "5-Mar",
        "Mar-05",
        "2005-03-01 00:00:00",
        "12345678901234500000",
        "#REF!",
        "######",
    ] {
        let reading = plain(&tools(&[
            &format!("A1,ram,R,\"{eaten}\",Station 1,1,1,ok"),
            &format!("\"{eaten}\",ram,R,S-1,Station 1,1,1,ok"),
            "A3,ram,R,S-3,Station 1,1,1,ok",
        ]));
        assert_eq!(codes(&reading), [(2, "eaten-by-spreadsheet"), (3, "eaten-by-spreadsheet")], "{eaten}");
        assert_eq!(
            reading.refused.iter().map(|row| row.column.as_deref()).collect::<Vec<_>>(),
            [Some("Serial"), Some("Asset tag")]
        );
    }
    for whole in ["12E5", "120000", "E+05", "86319", "B22-86319", "0012", "Mar-2005", "123456789012345"] {
        let reading = plain(&tools(&[&format!("A1,ram,R,{whole},Station 1,1,1,ok")]));
        assert_eq!((codes(&reading), reading.rows[0].serial.as_deref()), (vec![], Some(whole)));
    }
    // A model's number too.
    let reading = plain(&tools(&["A1,ram,1.9E+02,S,Station 1,1,1,ok"]));
    assert_eq!(codes(&reading), [(2, "eaten-by-spreadsheet")]);
}

#[test]
fn tags_that_look_alike_are_asked_about_until_somebody_says_that_they_are_apart() {
    for (first, second) in [
        ("HT-1001", "HT-1O01"),
        ("HT-1001", "HT\u{2013}1001"),
        ("HT-1001", "HT 1001"),
        ("HT-1001", "HT1001"),
        ("HT-1001", "ht-l00I"),
        ("01003", "1003"),
        ("HT-01", "HT-1"),
        ("A-1", "\u{410}-1"),
        ("HT-1", "HT-\u{ff11}"),
    ] {
        let bytes = tagged(&[first, second]);
        let reading = plain(&bytes);
        assert_eq!(codes(&reading), [(3, "tag-looks-alike")], "{first} {second}");
        assert!(reading.refused[0].reason.contains(first) && reading.refused[0].reason.contains("line 2"));
        let apart = Options {
            look_alikes: LookAlikes::Apart,
            ..Options::default()
        };
        let known = KnownRegister::default();
        assert_eq!(codes(&read(&bytes, &apart, &known, today()).unwrap()), [], "{first} {second}");
    }
    let reading = plain(&tagged(&["HT-1", "HT-2", "HT-11", "HT-1-1", "TH-1", "HT-1A", "HT-21"]));
    assert_eq!(codes(&reading), []);
    // 1003.0 may have been 01003 or 1003.
    assert_eq!(codes(&plain(&tagged(&["01003", "1003.0"]))), [(3, "eaten-by-spreadsheet")]);
}

#[test]
fn one_date_turns_no_other_one() {
    // One stray among first days of months; the agency writes month first.
    let strays = ["7/1/2019", "8/1/2019", "9/1/2019", "10/1/2019", "11/1/2019", "25/07/2019"];
    let reading = plain(&dated(&["In service since"], &strays));
    assert_eq!(codes(&reading), (2..7).map(|line| (line, "ambiguous-date")).collect::<Vec<_>>());
    assert_eq!((in_service(&reading), reading.open_dates), (vec!["2019-07-25".to_owned()], 5));
    assert!(noted(&reading, "“In service since”"), "{:?}", reading.notes);
    // What one column proves says nothing of another.
    let rows = ["25/07/2019,3/4/2020", "26/07/2019,5/6/2020", "7/8/2019,"];
    let reading = plain(&dated(&["In service since", "Last annual service"], &rows));
    assert_eq!(codes(&reading), [(2, "ambiguous-date"), (3, "ambiguous-date")]);
    assert_eq!(reading.refused[0].column.as_deref(), Some("Last annual service"));
    assert_eq!(in_service(&reading), ["2019-08-07"]);
    // A mixed column decides nothing; what can only be one day is read as it.
    let mixed = ["25/07/2019", "26/07/2019", "07/28/2019", "3/4/2019"];
    let reading = plain(&dated(&["In service since"], &mixed));
    assert_eq!(codes(&reading), [(5, "ambiguous-date")]);
    assert_eq!(in_service(&reading), ["2019-07-25", "2019-07-26", "2019-07-28"]);
    // Chosen, it is read so.
    let chosen = Options {
        date_order: Some(DateOrder::DayFirst),
        ..Options::default()
    };
    let reading = read(&dated(&["In service since"], &mixed), &chosen, &KnownRegister::default(), today()).unwrap();
    assert_eq!(codes(&reading), [(4, "date-order")]);
    assert_eq!((in_service(&reading).last().map(String::as_str), reading.open_dates), (Some("2019-04-03"), 0));
    // No date shows it: nothing is guessed.
    let reading = plain(&dated(&["In service since"], &["3/4/2019"]));
    assert_eq!((codes(&reading), reading.open_dates), (vec![(2, "ambiguous-date")], 1));
}

#[test]
fn a_year_of_two_digits_may_stand_first() {
    let reading = plain(&dated(&["In service since"], &["19/07/25", "20/03/11", "21/02/12"]));
    assert_eq!(codes(&reading), [(2, "ambiguous-date"), (3, "ambiguous-date"), (4, "ambiguous-date")]);
    let reading = plain(&dated(&["In service since"], &["98/07/25", "12/07/19"]));
    assert_eq!(codes(&reading), [(2, "ambiguous-date"), (3, "ambiguous-date")]);
    let reading = plain(&dated(&["In service since"], &["07/25/19", "12/31/18", "03/04/19"]));
    assert_eq!((codes(&reading), in_service(&reading).last().cloned()), (vec![], Some("2019-03-04".to_owned())));
}

#[test]
fn a_part_of_a_date_is_kept_as_one() {
    let reading = plain(&dated(&["Date of make"], &["3/2012", "2012", "Jul 2015", "2015-07-01", "3/12", "12"]));
    let made: Vec<_> = reading
        .rows
        .iter()
        .map(|row| row.made_on.unwrap())
        .map(|made| (made.to_string(), made.earliest().to_string()))
        .collect();
    let want = [
        ("2012-03", "2012-03-01"),
        ("2012", "2012-01-01"),
        ("2015-07", "2015-07-01"),
        ("2015-07-01", "2015-07-01"),
    ];
    assert_eq!(made, want.map(|(text, first)| (text.to_owned(), first.to_owned())));
    assert_eq!(codes(&reading), [(6, "unreadable-date"), (7, "unreadable-date")]);
}

#[test]
fn lengths_are_read_as_people_write_them() {
    for (cell, value, unit) in [
        ("4' 3\"", 51.0, Unit::Inch),
        ("4'3\"", 51.0, Unit::Inch),
        ("4'-3 1/2\"", 51.5, Unit::Inch),
        ("4 ft 3 in", 51.0, Unit::Inch),
        ("4 ft. 3 in.", 51.0, Unit::Inch),
        ("4\u{2032} 3\u{2033}", 51.0, Unit::Inch),
        ("8\u{bd} in", 8.5, Unit::Inch),
        ("10\u{bc} in", 10.25, Unit::Inch),
        ("10 1/2 in", 10.5, Unit::Inch),
        ("10 \u{bd}\"", 10.5, Unit::Inch),
        ("10 1\u{2044}2 in", 10.5, Unit::Inch),
        ("8 in (203 mm)", 8.0, Unit::Inch),
        ("203 mm (8\")", 203.0, Unit::Millimetre),
        ("1,016 mm (40 in)", 1016.0, Unit::Millimetre),
        ("1.016 mm (40 in)", 1016.0, Unit::Millimetre),
        ("1'016 mm", 1016.0, Unit::Millimetre),
        ("1\u{2019}016,5 mm", 1016.5, Unit::Millimetre),
    ] {
        let quoted = cell.replace('"', "\"\"");
        let reading = plain(&file(&[&format!("spreader|;\"{quoted}\";;;;")]));
        assert_eq!(codes(&reading), [], "{cell} {:?}", reading.refused);
        let read = reading.models[0].ratings.get(Term::SpreadingDistance).unwrap().quantity().unwrap();
        assert_eq!((read.value, read.unit), (value, unit), "{cell}");
    }
    for (cell, code) in [
        ("5' 13\"", "two-values"),
        ("5' 3", "missing-unit"),
        ("8 in (230 mm)", "two-values"),
        ("8 in (new)", "unknown-unit"),
        ("8\u{2153} in", "unreadable-number"),
        ("5.5' 3\"", "unreadable-number"),
        ("5'300\"", "unreadable-number"),
        ("1.25E+02 in", "unreadable-number"),
    ] {
        let quoted = cell.replace('"', "\"\"");
        let reading = plain(&file(&[&format!("spreader|;\"{quoted}\";;;;")]));
        assert_eq!(codes(&reading), [(2, code)], "{cell}");
    }
    let both = plain(&file(&[
        "spreader|;;9900-14300 lbf (44.0-63.6 kN);10.500 psi (724 bar);;",
        "ram|;;47500 / 23600 lbf (211 / 105 kN);;;",
    ]));
    assert_eq!((codes(&both), pressure(&both, 0).unwrap().value), (vec![], 10_500.0));
    assert_eq!(
        (size(&both, 0, Term::LowestSpreadingForce), size(&both, 1, Term::PushForce2)),
        (9_900.0, 23_600.0)
    );
}

#[test]
fn pounds_are_no_force() {
    let reading = plain(&file(&["spreader|;;9900-14300 lbs;;;", "ram|;;47500 lb;;;"]));
    assert_eq!(codes(&reading), [(2, "wrong-dimension"), (3, "wrong-dimension")]);
    assert!(reading.refused.iter().all(|row| row.hint.as_ref().unwrap().contains("lbf")));
    let text = "Tag,Kind,Station,District,Force (lbs),Weight (lbs)\nA,ram,1,1,47500,\nB,ram,1,1,,41\n";
    let reading = plain(text.as_bytes());
    assert_eq!(codes(&reading), [(2, "wrong-dimension")]);
    assert_eq!(size(&reading, 0, Term::Mass), 41.0);
}

#[test]
fn headings_kinds_and_states_are_known_in_german() {
    let text = "Inventarnummer;Geräteart;Hersteller;Typ;Seriennummer;Standort;Wache;Bezirk;Baujahr;In Dienst seit;Letzte Prüfung;Zustand;Öffnungsweite;Kraft;Betriebsdruck;Bemerkung\n\
        R-1;Spreizer;Dorvan;SP 60;S1;HLF 1;Wache 1;Nord;2015;01.03.2016;14. März 2024;einsatzbereit;720 mm;44-63,6 kN;700 bar;\n\
        R-2;Schneidgerät;Dorvan;S 50;S2;HLF 1;Wache 1;Nord;2015;17.03.2016;14.03.2024;außer Dienst;0,205 m;;700 bar;Klinge\n\
        R-3;Rettungszylinder;Dorvan;Z 3;S3;HLF 1;Wache 1;Nord;03/2015;17.03.2016;25.03.2024;ok;;105 kN;700 bar;\n";
    let reading = plain(text.as_bytes());
    assert_eq!(codes(&reading), []);
    assert_eq!(reading.rows[1].state, RowState::OutOfService);
    assert_eq!(
        (size(&reading, 1, Term::CutterOpening), size(&reading, 0, Term::HighestSpreadingForce)),
        (0.205, 63.6)
    );
    assert_eq!(reading.rows[0].made_on.unwrap().to_string(), "2015");
    assert_eq!(reading.rows[0].last_service_on.unwrap().to_string(), "2024-03-14");
    assert_eq!(reading.rows[0].in_service_since.unwrap().to_string(), "2016-03-01");
}

#[test]
fn a_column_that_is_not_used_is_said_to_hold_the_same_only_where_it_does() {
    let text = "Tag,ID,Kind,Station,District\nA,A,hose,1,1\nB,B,hose,1,1\n";
    assert!(noted(&plain(text.as_bytes()), "the column \"ID\" was not used, because \"Tag\" holds the same"));
    let text = "Tag,ID,Kind,Station,District\nA,A,hose,1,1\nB,7,hose,1,1\nC,8,hose,1,1\n";
    let reading = plain(text.as_bytes());
    assert!(!noted(&reading, "holds the same"));
    assert!(
        noted(&reading, "the column \"ID\" was not used: \"Tag\" was read, and they differ on lines 3 and 4"),
        "{:?}",
        reading.notes
    );
}

#[test]
fn a_rig_that_one_line_names_is_asked_about_or_said() {
    let text = "Tag,Kind,Assigned to,Station,District\nA,hose,Engine 1,1,1\nB,hose,Engine 1,1,1\nC,hose,Rescue 7,1,1\n";
    let reading = plain(text.as_bytes());
    assert_eq!(codes(&reading), [(4, "unknown-place")]);
    let hint = reading.refused[0].hint.clone().unwrap();
    assert!(hint.contains("Rig: Rescue 7") && hint.contains("every rig that the file names"), "{hint}");
    let many: String = (1..=6).map(|n| format!("A{n},hose,Engine {n},{n},1\nB{n},hose,Engine {n},{n},1\n")).collect();
    let text = format!("Tag,Kind,Assigned to,Station,District\n{many}C,hose,Truck 6,6,1\n");
    let reading = plain(text.as_bytes());
    assert_eq!(codes(&reading), []);
    assert!(noted(&reading, "Truck 6 is named on this line only"), "{:?}", reading.notes);
}

#[test]
fn the_export_keeps_reasons_dashes_and_semicolons() {
    let text = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status,Out of service because,Opening/spread,Coupling\n\
        A1,cutter,C,'-,Station 1,1,1,OOS,\"blade chipped; guard loose\",8.1 in [EN 13204\\; A1; 2016],\n\
        A2,cutter,'N/A,'1.2E+05,Station 1,1,1,ok,,,\"flat; face\"\n\
        A3,cutter,C;D,''-,Vendor: Acme; Sons,1,1,OOS,,,\n";
    let first = plain(text.as_bytes());
    assert_eq!(codes(&first), []);
    let serials: Vec<_> = first.rows.iter().map(|row| row.serial.as_deref()).collect();
    assert_eq!(serials, [Some("-"), Some("1.2E+05"), Some("'-")]);
    assert_eq!(first.rows[0].state_reason.as_deref(), Some("blade chipped; guard loose"));
    let standard = &first.models[0].ratings.get(Term::CutterOpening).unwrap().standard;
    assert_eq!(standard.as_deref(), Some("EN 13204; A1"));
    let again = plain(writing::write(&first.to_write()).as_bytes());
    assert_eq!(codes(&again), []);
    assert_eq!(writing::tests::content(&again), writing::tests::content(&first));
}
