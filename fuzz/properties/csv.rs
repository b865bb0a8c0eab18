//! A register file, as whoever may import sends it.

use chrono::NaiveDate;
use fullset_calc::units::NumberStyle;
use fullset_register::{CreatePlaces, DateOrder, KnownRegister, LookAlikes, Options, ReadModel, ReadPlaces, Reading, RegisterFile, RegisterRow, write};

/// Each line is told of once; and what was read, written and read again is the same, without a refusal.
pub fn hold(bytes: &[u8]) {
    let Some((how, file)) = super::cut(bytes) else { return };
    let options = Options {
        date_order: [None, Some(DateOrder::DayFirst), Some(DateOrder::MonthFirst)][usize::from(how & 3) % 3],
        number_style: [None, Some(NumberStyle::Point), Some(NumberStyle::Comma)][usize::from(how >> 2 & 3) % 3],
        create_places: if how & 16 == 0 { CreatePlaces::ByEvidence } else { CreatePlaces::All },
        default_district: (how & 32 != 0).then(|| "North".to_owned()),
        look_alikes: if how & 64 == 0 { LookAlikes::Ask } else { LookAlikes::Apart },
        ..Options::default()
    };
    // Which places a file may bring in is asked of it each time; how dates and numbers are written is plain in what was written.
    let written_by = Options {
        date_order: None,
        number_style: None,
        ..options.clone()
    };
    let Some(first) = read(file, options) else { return };
    let mut lines: Vec<usize> = first.rows.iter().map(|row| row.line).collect();
    lines.extend(first.refused.iter().map(|refused| refused.line));
    lines.extend(first.passed_over.iter().map(|passed| passed.line));
    lines.sort_unstable();
    assert!(lines.windows(2).all(|pair| pair[0] < pair[1]), "a line was told of twice: {lines:?}");
    assert!(first.refused.iter().all(|refused| !refused.code.is_empty() && !refused.reason.is_empty()));

    let written = write(&first.to_write());
    let again = read(written.as_bytes(), written_by).unwrap_or_else(|| panic!("what was written is no register: {written}"));
    assert!(again.refused.is_empty(), "{:?} of {written}", again.refused);
    assert_eq!(content(&again), content(&first), "{written}");
    assert_eq!(write(&again.to_write()), written);
}

fn read(file: &[u8], options: Options) -> Option<Reading> {
    let today = NaiveDate::from_ymd_opt(2026, 11, 25).expect("a day");
    let parsed = RegisterFile::parse(file, options).ok()?;
    Some(parsed.against(&KnownRegister::default(), today))
}

/// What a file says, apart from where it says it.
fn content(reading: &Reading) -> (Vec<RegisterRow>, Vec<ReadModel>, ReadPlaces) {
    let rows = reading.rows.iter().cloned().map(|row| RegisterRow { line: 0, ..row }).collect();
    (rows, reading.models.clone(), reading.places.clone())
}
