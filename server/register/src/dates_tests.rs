use super::*;

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn dates(cells: &[&str], default: DateOrder) -> (Dates, Option<DateOrder>, Vec<String>) {
    Dates::find(cells.iter().copied(), default, day(2026, 11, 25))
}

#[test]
fn the_usual_spellings_are_read() {
    let (read, _, _) = dates(&["6/19/2025"], DateOrder::DayFirst);
    for text in [
        "2015-07-14",
        "2015/7/14",
        "20150714",
        "14-Jul-2015",
        "14 July 2015",
        "Jul 14, 2015",
        "July 14th 2015",
        "14.07.2015",
        "7/14/2015",
        "7/14/15",
        "14-jul-15",
        "2015-Jul-14",
        "Tuesday, July 14, 2015",
        "2015-07-14T00:00:00",
        "7/14/2015 0:00",
        "7/14/2015 12:00:00 AM",
        "2015-07-14 10:20:30Z",
    ] {
        assert_eq!(read.read(text), Ok(Some(day(2015, 7, 14))), "{text}");
    }
    for text in ["", "n/a", "unknown", " - "] {
        assert_eq!(read.read(text), Ok(None));
    }
    assert_eq!(read.read("6/19/89"), Ok(Some(day(1989, 6, 19))));
}

#[test]
fn what_is_no_date_is_refused() {
    let (read, _, _) = dates(&["6/19/2025"], DateOrder::MonthFirst);
    let cases = [
        ("31-Feb-2024", "impossible-date"),
        ("2023-02-29", "impossible-date"),
        ("13/13/2020", "impossible-date"),
        ("1/1/0020", "impossible-date"),
        ("41697", "date-serial"),
        ("41697.5", "date-serial"),
        ("Jul 2015", "unreadable-date"),
        ("2015", "unreadable-date"),
        ("last spring", "unreadable-date"),
        ("1/2/3/4", "unreadable-date"),
        ("19/6/2025", "date-order"),
        ("1-Foo-2015", "unreadable-date"),
    ];
    for (text, code) in cases {
        let fault = read.read(text).unwrap_err();
        assert_eq!(fault.code, code, "{text}");
        assert!(fault.hint.is_some());
    }
}

#[test]
fn a_label_may_name_a_month_alone() {
    let (read, _, _) = dates(&["6/19/2025"], DateOrder::MonthFirst);
    for text in ["2015-07", "2015/7", "7/2015", "07.2015", "Jul 2015", "july, 2015", "2015 Jul"] {
        assert_eq!(read.read_make(text), Ok(MadeOn::month(2015, 7)), "{text}");
    }
    assert_eq!(read.read_make("7/14/2015"), Ok(Some(MadeOn::Day(day(2015, 7, 14)))));
    assert_eq!(read.read_make("n/a"), Ok(None));
    for text in ["2015", "13/2015", "Jul 15", "7/1850", "41697.5", "3Q2015"] {
        assert!(read.read_make(text).is_err(), "{text}");
    }
}

#[test]
fn one_date_decides_for_the_file() {
    let (read, order, notes) = dates(&["3/4/2025", "19/6/2025"], DateOrder::MonthFirst);
    assert_eq!(
        (order, notes.len(), read.read("3/4/2025")),
        (Some(DateOrder::DayFirst), 0, Ok(Some(day(2025, 4, 3))))
    );
}

#[test]
fn the_default_decides_what_the_file_leaves_open_and_says_so() {
    let (read, order, notes) = dates(&["3/4/2025", "3.4.2025", "5/5/2025"], DateOrder::MonthFirst);
    assert_eq!(
        (order, read.read("3/4/2025"), read.read("3.4.2025")),
        (Some(DateOrder::MonthFirst), Ok(Some(day(2025, 3, 4))), Ok(Some(day(2025, 4, 3))))
    );
    assert!(notes[0].contains("month first") && notes[1].contains("day first"), "{notes:?}");
    assert_eq!(dates(&["2025-03-04", "", "14 July 2015"], DateOrder::MonthFirst).1, None);
}

#[test]
fn of_a_contradiction_the_odd_ones_are_refused() {
    let (read, _, notes) = dates(&["3/19/2025", "4/20/2025", "19/6/2025", "1/2/2025"], DateOrder::DayFirst);
    assert_eq!(read.read("19/6/2025").unwrap_err().code, "date-order");
    assert_eq!(read.read("1/2/2025"), Ok(Some(day(2025, 1, 2))));
    assert!(notes[0].contains("contradict"));
}
