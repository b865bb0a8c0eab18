use super::*;

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

/// The dates of one column, of an agency with a habit.
struct Column(DatesFound);

impl Column {
    fn read(&self, text: &str) -> Result<Option<NaiveDate>, Fault> {
        self.0.dates.read(Field::InServiceSince, text)
    }

    fn read_make(&self, text: &str) -> Result<Option<MadeOn>, Fault> {
        self.0.dates.read_make(Field::InServiceSince, text)
    }
}

fn found(cells: &[&str], usual: DateOrder, chosen: Option<DateOrder>) -> Column {
    let column = (Field::InServiceSince, "Since", cells.to_vec());
    Column(Dates::find([column].into_iter(), DateHabit { chosen, usual }, day(2026, 11, 25)))
}

fn dates(cells: &[&str], usual: DateOrder) -> (Column, Option<DateOrder>, Vec<String>) {
    let found = found(cells, usual, None);
    let (order, notes) = (found.0.order, found.0.notes.clone());
    (found, order, notes)
}

#[test]
fn the_usual_spellings_are_read() {
    let (read, _, _) = dates(&["6/19/2025", "7/14/15", "6/14/2025", "14.07.2015"], DateOrder::DayFirst);
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
fn a_label_may_name_a_month_or_a_year_alone() {
    let (read, _, _) = dates(&["6/19/2025"], DateOrder::MonthFirst);
    for text in ["2015-07", "2015/7", "7/2015", "07.2015", "Jul 2015", "july, 2015", "2015 Jul"] {
        assert_eq!(read.read_make(text), Ok(MadeOn::month(2015, 7)), "{text}");
    }
    assert_eq!(read.read_make("7/14/2015"), Ok(Some(MadeOn::Day(day(2015, 7, 14)))));
    assert_eq!(read.read_make("n/a"), Ok(None));
    assert_eq!(read.read_make("2015"), Ok(MadeOn::year(2015)));
    for text in ["13/2015", "Jul 15", "7/1850", "41697.5", "3Q2015", "1850", "15", "201"] {
        assert!(read.read_make(text).is_err(), "{text}");
    }
}

#[test]
fn a_column_decides_for_itself_when_enough_of_it_shows() {
    use DateOrder::{DayFirst, MonthFirst};
    for (cells, usual, open) in [
        // What the agency writes is backed by one date in five.
        (&["3/4/2025", "1/2/2025", "2/3/2025", "4/5/2025", "19/6/2025"][..], DayFirst, None),
        (&["3/4/2025", "1/2/2025", "2/3/2025", "4/5/2025", "5/6/2025", "19/6/2025"], DayFirst, Some(5)),
        // What it does not write takes as many, and more than one.
        (&["3/4/2025", "19/6/2025"], MonthFirst, Some(1)),
        (&["3/4/2025", "19/6/2025", "20/6/2025"], MonthFirst, None),
        (&["3/4/2025", "4/5/2025", "5/6/2025", "19/6/2025", "20/6/2025"], MonthFirst, Some(3)),
        (&["3/4/2025"], DayFirst, Some(1)),
        (&["19/6/2025"], MonthFirst, None),
    ] {
        let (read, order, notes) = dates(cells, usual);
        assert_eq!(
            (read.0.open, notes.len()),
            (open.unwrap_or(0), usize::from(open.is_some())),
            "{cells:?} {usual:?}"
        );
        assert_eq!(read.read("19/6/2025"), Ok(Some(day(2025, 6, 19))));
        match open {
            None => assert_eq!((order, read.read("3/4/2025")), (Some(DayFirst), Ok(Some(day(2025, 4, 3))))),
            Some(_) => assert_eq!(read.read("3/4/2025").unwrap_err().code, "ambiguous-date"),
        }
        // 5/5 is the same day in both.
        assert_eq!(read.read("5/5/2025"), Ok(Some(day(2025, 5, 5))));
    }
}

#[test]
fn what_is_chosen_decides_what_the_column_leaves_open_and_is_said() {
    let read = found(&["3/4/2025", "3.4.2025", "5/5/2025"], DateOrder::DayFirst, Some(DateOrder::MonthFirst));
    assert_eq!(
        (read.0.order, read.0.open, read.read("3/4/2025"), read.read("3.4.2025")),
        (Some(DateOrder::MonthFirst), 0, Ok(Some(day(2025, 3, 4))), Ok(Some(day(2025, 4, 3))))
    );
    assert!(read.0.notes[0].contains("month first"), "{:?}", read.0.notes);
    // Where days come first, dots say so by themselves; elsewhere they are asked about.
    let (read, order, _) = dates(&["3.4.2025"], DateOrder::DayFirst);
    assert_eq!((order, read.read("3.4.2025")), (Some(DateOrder::DayFirst), Ok(Some(day(2025, 4, 3)))));
    assert!(dates(&["3.4.2025"], DateOrder::MonthFirst).0.read("3.4.2025").is_err());
    assert_eq!(dates(&["2025-03-04", "", "14 July 2015"], DateOrder::MonthFirst).1, None);
    // A column that shows one order is not turned by a choice.
    let read = found(&["3/19/2025", "4/20/2025", "1/2/2025"], DateOrder::MonthFirst, Some(DateOrder::DayFirst));
    assert_eq!(read.read("1/2/2025"), Ok(Some(day(2025, 1, 2))));
}

#[test]
fn of_a_contradiction_only_what_is_plain_is_read() {
    let cells = ["3/19/2025", "4/20/2025", "19/6/2025", "1/2/2025"];
    let (read, order, notes) = dates(&cells, DateOrder::DayFirst);
    assert_eq!(
        (order, read.read("19/6/2025"), read.read("3/19/2025")),
        (None, Ok(Some(day(2025, 6, 19))), Ok(Some(day(2025, 3, 19))))
    );
    assert_eq!(read.read("1/2/2025").unwrap_err().code, "ambiguous-date");
    assert!(notes[0].contains("2 others can only be month first and 1 only day first"), "{notes:?}");
    let read = found(&cells, DateOrder::DayFirst, Some(DateOrder::MonthFirst));
    assert_eq!(read.read("19/6/2025").unwrap_err().code, "date-order");
    assert_eq!(read.read("1/2/2025"), Ok(Some(day(2025, 1, 2))));
}

#[test]
fn months_are_known_in_the_languages_of_the_headings() {
    let (read, _, _) = dates(&["6/19/2025"], DateOrder::MonthFirst);
    for (text, month) in [
        ("14. März 2015", 3),
        ("14. Mrz 2015", 3),
        ("14. Mai 2015", 5),
        ("14 Juli 2015", 7),
        ("14. Dez. 2015", 12),
        ("14 juil. 2015", 7),
        ("14 juin 2015", 6),
        ("14 août 2015", 8),
        ("14 de julio de 2015", 7),
        ("14 ene 2015", 1),
        ("14 giugno 2015", 6),
        ("14 ott 2015", 10),
        ("14 mei 2015", 5),
        ("14 maart 2015", 3),
    ] {
        assert_eq!(read.read(text), Ok(Some(day(2015, month, 14))), "{text}");
    }
    for text in ["14 lipca 2015", "14 ju 2015", "14 marx 2015", "14 septober 2015"] {
        assert!(read.read(text).is_err(), "{text}");
    }
}
