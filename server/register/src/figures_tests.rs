//! Figures that cannot be misread: the number style of a file, what physics forbids, what is said to be unknown, days that
//! have not come. The wrong cases are those that were seen (common practice, no source).

use super::{
    cells::Fault,
    reading::{KnownRegister, Options, Reading},
    reading_tests::{codes, noted, plain, read, today},
};
use fullset_calc::{
    hookup::{CouplingFamily, Couplings, UnderPressure},
    ratings::{Kind, Term},
    units::{NumberStyle, Quantity},
};

const HEAD: &str = "Asset tag;Kind;Model;Assigned to;Station;District;Length;Opening;Force;Pressure;Coupling;Stages\n";

pub(super) fn file(rows: &[&str]) -> Vec<u8> {
    let rows: Vec<String> = rows
        .iter()
        .enumerate()
        .map(|(n, row)| {
            let (kind, cells) = row.split_once('|').unwrap();
            format!("T{n};{kind};M{n};Station 1;1;1;{cells}")
        })
        .collect();
    format!("{HEAD}{}\n", rows.join("\n")).into_bytes()
}

fn styled(rows: &[&str], number_style: Option<NumberStyle>) -> Reading {
    let options = Options {
        number_style,
        ..Options::default()
    };
    read(&file(rows), &options, &KnownRegister::default(), today()).unwrap()
}

pub(super) fn pressure(reading: &Reading, at: usize) -> Option<Quantity> {
    reading.models[at].hookup.pressure
}

pub(super) fn size(reading: &Reading, at: usize, term: Term) -> f64 {
    reading.models[at].ratings.get(term).unwrap().quantity().unwrap().value
}

#[test]
fn one_number_decides_for_the_file() {
    // A German file: 0,205 m and 12,5 m prove the comma, so 10.500 psi is ten thousand five hundred.
    let rows = [
        "hose|12,5 m;;;10.500 psi;;",
        "cutter|;0,205 m;;10.500 psi;;",
        "spreader|;;9.900-14.300 lbf;717 bar;;",
    ];
    let reading = styled(&rows, None);
    assert_eq!(codes(&reading), []);
    assert_eq!((reading.number_style, reading.open_numbers), (Some(NumberStyle::Comma), 0));
    assert_eq!(pressure(&reading, 0).unwrap().value, 10_500.0);
    assert_eq!(size(&reading, 0, Term::HoseLength), 12.5);
    assert_eq!(size(&reading, 1, Term::CutterOpening), 0.205);
    assert_eq!(
        (size(&reading, 2, Term::LowestSpreadingForce), size(&reading, 2, Term::HighestSpreadingForce)),
        (9_900.0, 14_300.0)
    );
    // An American one: 8.1 in proves the point.
    let reading = styled(&["cutter|;8.1 in;;10,500 psi;;", "hose|8.125 m;;;10400 psi;;"], None);
    assert_eq!((codes(&reading), reading.number_style), (vec![], Some(NumberStyle::Point)));
    assert_eq!((pressure(&reading, 0).unwrap().value, size(&reading, 1, Term::HoseLength)), (10_500.0, 8.125));
}

#[test]
fn an_open_number_is_refused_until_somebody_chooses() {
    let rows = ["hose|40 ft;;;10.500 psi;;", "cutter|;8,125 in;;720 bar;;", "ram|;;60 kN;720 bar;;"];
    let reading = styled(&rows, None);
    assert_eq!(codes(&reading), [(2, "ambiguous-number"), (3, "ambiguous-number")]);
    assert_eq!((reading.number_style, reading.open_numbers, reading.rows.len()), (None, 2, 1));
    let first = &reading.refused[0];
    assert_eq!(first.column.as_deref(), Some("Pressure"));
    assert_eq!(first.reason, "\"10.500 psi\" may be 10500 or 10.5: choose the file's number style");
    assert!(noted(&reading, "2 numbers may be meant as in 1,234.5 or as in 1.234,5"), "{:?}", reading.notes);
    // Chosen, it is read so; what cannot be then is refused.
    let comma = styled(&rows, Some(NumberStyle::Comma));
    assert_eq!(
        (codes(&comma), pressure(&comma, 0).unwrap().value, size(&comma, 1, Term::CutterOpening)),
        (vec![], 10_500.0, 8.125)
    );
    let point = styled(&rows, Some(NumberStyle::Point));
    assert_eq!(codes(&point), [(2, "not-possible"), (3, "not-possible")]);
    assert_eq!((point.number_style, point.open_numbers), (Some(NumberStyle::Point), 0));
}

#[test]
fn a_file_that_contradicts_itself_decides_nothing() {
    let rows = ["hose|12,5 m;;;10.500 psi;;", "cutter|;8.1 in;;717 bar;;"];
    let reading = styled(&rows, None);
    assert_eq!((codes(&reading), reading.number_style), (vec![(2, "ambiguous-number")], None));
    assert!(noted(&reading, "contradict each other"), "{:?}", reading.notes);
    // What proves itself stands, whatever is chosen, and is said.
    let comma = styled(&rows, Some(NumberStyle::Comma));
    assert_eq!((codes(&comma), size(&comma, 1, Term::CutterOpening)), (vec![], 8.1));
    assert!(noted(&comma, "1 numbers can only be meant as in 1,234.5"), "{:?}", comma.notes);
}

#[test]
fn what_cannot_be_is_refused_with_its_column_and_what_is_unusual_is_noted() {
    for (row, code, column) in [
        ("hose|40 ft;;;10500 bar;;", "not-possible", "Pressure"),
        ("hose|40 ft;;;105000 psi;;", "not-possible", "Pressure"),
        ("hose|40 ft;;;10.5 psi;;", "not-possible", "Pressure"),
        ("cutter|;8 ft;;717 bar;;", "not-possible", "Opening"),
        ("spreader|;2.1 m;;717 bar;;", "not-possible", "Opening"),
        ("hose|205 m;;;717 bar;;", "not-possible", "Length"),
        ("ram|;;23600 / 47500 lbf;717 bar;;", "stages-out-of-order", "Force"),
        ("ram|;;47500 / 23600 lbf;717 bar;;1", "stages-contradict", "Stages"),
        ("ram|;;47500 lbf;717 bar;;4", "not-possible", "Stages"),
        ("ram|;;5 lbf;717 bar;;", "not-possible", "Force"),
    ] {
        let reading = styled(&[row], None);
        assert_eq!(codes(&reading), [(2, code)], "{row}");
        assert_eq!(
            (reading.refused[0].column.as_deref(), reading.refused[0].hint.is_some()),
            (Some(column), true),
            "{row}"
        );
    }
    let single = styled(&["ram|;;22000 lbf;717 bar;;1", "ram|;;22000 lbf;717 bar;;2 stages"], None);
    assert_eq!(
        (codes(&single), size(&single, 0, Term::RamStages), size(&single, 1, Term::RamStages)),
        (vec![], 1.0, 2.0)
    );
    let odd = styled(&["hose|200 ft;;;1050 psi;;"], None);
    assert_eq!(codes(&odd), []);
    assert!(
        noted(&odd, "hose length 200 ft is unusual for a hose") && noted(&odd, "pressure 1050 psi is unusual"),
        "{:?}",
        odd.notes
    );
}

#[test]
fn unknown_is_kept_as_unknown_and_never_filled_in_from_another_line() {
    for word in ["N/A", "n.a.", "-", "unknown", "?"] {
        let text = format!(
            "Tag,Kind,Model,Assigned to,Station,District,Length,Pressure,Coupling\n\
            A1,hose,H,Station 1,1,1,40 ft,10400 psi,twin\nA2,hose,H,Station 1,1,1,40 ft,{word},twin\nA3,hose,H,Station 1,1,1,40 ft,,twin\n"
        );
        let reading = plain(text.as_bytes());
        assert_eq!(codes(&reading), []);
        let told: Vec<_> = reading.models.iter().map(|m| (m.name.as_str(), m.hookup.pressure.is_some())).collect();
        assert_eq!(told, [("H", true), ("H (pressure unknown)", false)], "{word}");
        assert_eq!(reading.rows[1].model_key, "hose:h (pressure unknown)");
        // What is left out is filled in, and said.
        assert_eq!(reading.rows[2].model_key, "hose:h");
        assert!(noted(&reading, "the pressure is left out on line 4") && noted(&reading, "the pressure is given as unknown on line 3"));
    }
    // Where no line gives it, one model without it; where it does not apply, nothing is said.
    let text = "Tag,Kind,Model,Assigned to,Station,District,Pressure,Battery\nA1,hose,H,Station 1,1,1,?,n/a\nA2,hose,H,Station 1,1,1,,\nA3,cutter,C,Station 1,1,1,n/a,28V\n";
    let reading = plain(text.as_bytes());
    assert_eq!((codes(&reading), reading.models.len()), (vec![], 2));
    assert!(noted(&reading, "H: the pressure is given as unknown on line 2"));
    assert!(
        !noted(&reading, "battery is given as unknown") && !noted(&reading, "C: the pressure"),
        "{:?}",
        reading.notes
    );
    // A model that the agency has does not fill it in either, nor does a standard that another line names.
    let text =
        "Tag,Kind,Model,Assigned to,Station,District,Opening,Standard\nA1,cutter,C,Station 1,1,1,8.1 in,NFPA 1936\nA2,cutter,C,Station 1,1,1,8.1 in,unknown\n";
    let reading = plain(text.as_bytes());
    let by: Vec<_> = reading
        .models
        .iter()
        .map(|m| m.ratings.get(Term::CutterOpening).unwrap().standard.clone())
        .collect();
    assert_eq!(by, [Some("NFPA 1936".to_owned()), None]);
}

#[test]
fn lines_that_disagree_become_models_of_their_own_and_say_so() {
    let text =
        "Tag,Kind,Model,Assigned to,Station,District,Length\nA1,hose,H,Station 1,1,1,40 ft\nA2,hose,H,Station 1,1,1,30 ft\nA3,hose,H,Station 1,1,1,30 ft\n";
    let reading = plain(text.as_bytes());
    assert!(
        noted(&reading, "lines 3 and 4 differ from the other lines of H; read as the model H (30 ft)"),
        "{:?}",
        reading.notes
    );
}

#[test]
fn lines_that_cannot_be_one_model_are_not_put_together() {
    let text = "Tag,Kind,Model,Assigned to,Station,District,Retracted,Extended\nA1,ram,R,Station 1,1,1,,900 mm\nA2,ram,R,Station 1,1,1,950 mm,\n";
    let reading = plain(text.as_bytes());
    assert_eq!((codes(&reading), reading.models.len()), (vec![], 2), "{:?}", reading.models);
}

#[test]
fn a_family_has_one_name_however_it_is_spelled() {
    let rows = [
        "hose|40 ft;;;717 bar;one push coax;",
        "hose|40 ft;;;717 bar;One-Push Coax;",
        "hose|40 ft;;;717 bar;FFS;",
        "hose|40 ft;;;717 bar;ONE-PUSH COAX;",
    ];
    let known = KnownRegister {
        couplings: Couplings::new(vec![CouplingFamily {
            name: "flat-face single".into(),
            spellings: vec!["ffs".into()],
            mates_with: Vec::new(),
            under_pressure: UnderPressure::Unknown,
        }]),
        ..KnownRegister::default()
    };
    let reading = read(&file(&rows), &Options::default(), &known, today()).unwrap();
    assert_eq!(codes(&reading), []);
    let names: Vec<_> = reading.models.iter().map(|m| m.hookup.coupling.clone().unwrap()).collect();
    assert_eq!(names, ["one push coax", "one push coax", "flat-face single", "one push coax"]);
    let new: Vec<_> = reading.couplings.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(new, ["one push coax"]);
    let text = "Tag,Kind,Model,Assigned to,Station,District,Battery\nA1,cutter,C,Station 1,1,1,28V family\nA2,battery,P,Station 1,1,1,28 v Family\n";
    let packs: Vec<_> = plain(text.as_bytes()).models.into_iter().map(|m| m.hookup.battery.unwrap()).collect();
    assert_eq!(packs, ["28V family", "28V family"]);
}

#[test]
fn a_day_that_has_not_come_is_left_out_and_said_and_an_impossible_order_is_refused() {
    let text = "Tag,Kind,Model,Assigned to,Station,District,Date of make,In service since,Last annual service\n\
        A1,hose,H,Station 1,1,1,2020-01-01,2020-02-01,2062-06-01\n\
        A2,hose,H,Station 1,1,1,2026-11-26,,\n\
        A3,hose,H,Station 1,1,1,2020-01-01,2019-12-31,\n\
        A4,hose,H,Station 1,1,1,2026-11-25,2026-11-25,2026-11-25\n";
    let reading = plain(text.as_bytes());
    assert_eq!(codes(&reading), [(4, "dates-out-of-order")]);
    assert_eq!(reading.refused[0].column.as_deref(), Some("In service since"));
    let dates: Vec<_> = reading.rows.iter().map(|row| (row.made_on.is_some(), row.last_service_on.is_some())).collect();
    assert_eq!(dates, [(true, false), (false, false), (true, true)]);
    assert!(noted(
        &reading,
        "the last annual service, 2062-06-01, lies in the future; the date was left out"
    ));
    assert!(noted(&reading, "the date of make, 2026-11-26, lies in the future"));
}

#[test]
fn names_that_are_too_long_are_refused_in_the_file_as_elsewhere() {
    let long = "x".repeat(201);
    let reading = styled(&[&format!("hose|40 ft;;;717 bar;{long};")], None);
    assert_eq!(codes(&reading), [(2, "too-long")]);
    let reading = styled(&[&format!("cutter|;8.1 in [{long}];;717 bar;;")], None);
    assert_eq!(codes(&reading), [(2, "too-long")]);
    // A variant of a long name is named within the limit.
    let name = "n".repeat(200);
    let text = format!("Tag,Kind,Model,Assigned to,Station,District,Length\nA1,hose,{name},Station 1,1,1,40 ft\nA2,hose,{name},Station 1,1,1,30 ft\n");
    let reading = plain(text.as_bytes());
    assert_eq!((codes(&reading), reading.models.len()), (vec![], 2));
    assert!(reading.models.iter().all(|m| m.name.chars().count() <= 200 && m.kind == Kind::Hose));
    assert!(reading.models[1].name.ends_with("(30 ft)"));
    let fault: Fault = fullset_calc::units::Quantity::parse("10,500 psi", fullset_calc::units::Dimension::Pressure)
        .unwrap_err()
        .into();
    assert_eq!(fault.code, "ambiguous-number");
}
