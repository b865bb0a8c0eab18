//! Writers of many styles: whatever style a file is written in, no figure and no date is read as another one than its writer meant. It is
//! read right, or it is asked about or refused.

use super::{
    reading::{KnownRegister, Options},
    reading_tests::{read, today},
};
use crate::{DateOrder, Delimiter};
use chrono::{Datelike, NaiveDate};
use fullset_calc::ratings::Term;
use proptest::prelude::*;

/// How one writer groups thousands and parts decimals.
#[derive(Debug, Clone, Copy)]
struct Numbers {
    grouping: &'static str,
    decimal: char,
}

const NUMBERS: &[Numbers] = &[
    Numbers { grouping: "", decimal: '.' },
    Numbers { grouping: "", decimal: ',' },
    Numbers { grouping: ",", decimal: '.' },
    Numbers { grouping: ".", decimal: ',' },
    Numbers { grouping: " ", decimal: '.' },
    Numbers { grouping: " ", decimal: ',' },
    Numbers {
        grouping: "\u{a0}",
        decimal: ',',
    },
    Numbers {
        grouping: "\u{202f}",
        decimal: ',',
    },
    Numbers { grouping: "'", decimal: '.' },
    Numbers {
        grouping: "\u{2019}",
        decimal: '.',
    },
    Numbers {
        grouping: "\u{2019}",
        decimal: ',',
    },
];

impl Numbers {
    /// Thousandths, with so many decimals at least.
    fn write(self, thousandths: u32, least: usize) -> String {
        let (whole, part) = ((thousandths / 1000).to_string(), format!("{:03}", thousandths % 1000));
        let mut grouped = String::new();
        for (at, digit) in whole.chars().enumerate() {
            if at > 0 && (whole.len() - at).is_multiple_of(3) {
                grouped.push_str(self.grouping);
            }
            grouped.push(digit);
        }
        let mut part = part.trim_end_matches('0').to_owned();
        while part.len() < least {
            part.push('0');
        }
        if part.is_empty() {
            grouped
        } else {
            format!("{grouped}{}{part}", self.decimal)
        }
    }
}

/// How one writer writes a day.
#[derive(Debug, Clone, Copy)]
enum Days {
    Iso,
    Slashed(DateOrder),
    Short(DateOrder),
    ShortYearFirst,
    YearFirst,
    Dotted,
    Dashed(DateOrder),
    Named,
    NamedAmerican,
    German,
}

const DAYS: &[Days] = &[
    Days::Iso,
    Days::Slashed(DateOrder::MonthFirst),
    Days::Slashed(DateOrder::DayFirst),
    Days::Short(DateOrder::MonthFirst),
    Days::Short(DateOrder::DayFirst),
    Days::ShortYearFirst,
    Days::YearFirst,
    Days::Dotted,
    Days::Dashed(DateOrder::MonthFirst),
    Days::Dashed(DateOrder::DayFirst),
    Days::Named,
    Days::NamedAmerican,
    Days::German,
];

impl Days {
    fn write(self, day: NaiveDate, zeros: bool) -> String {
        let (y, m, d) = (day.year(), day.month(), day.day());
        let two = |n: u32| if zeros { format!("{n:02}") } else { n.to_string() };
        let ordered = |order, sign: &str| match order {
            DateOrder::MonthFirst => format!("{}{sign}{}", two(m), two(d)),
            DateOrder::DayFirst => format!("{}{sign}{}", two(d), two(m)),
        };
        let english = [
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ];
        let german = [
            "Januar",
            "Februar",
            "M\u{e4}rz",
            "April",
            "Mai",
            "Juni",
            "Juli",
            "August",
            "September",
            "Oktober",
            "November",
            "Dezember",
        ];
        match self {
            Self::Iso => day.to_string(),
            Self::Slashed(order) => format!("{}/{y}", ordered(order, "/")),
            Self::Short(order) => format!("{}/{:02}", ordered(order, "/"), y % 100),
            Self::ShortYearFirst => format!("{:02}/{m:02}/{d:02}", y % 100),
            Self::YearFirst => format!("{y}/{}/{}", two(m), two(d)),
            Self::Dotted => format!("{}.{}.{y}", two(d), two(m)),
            Self::Dashed(order) => format!("{}-{y}", ordered(order, "-")),
            Self::Named => format!("{d}-{}-{y}", &english[m as usize - 1][..3]),
            Self::NamedAmerican => format!("{} {d}, {y}", english[m as usize - 1]),
            Self::German => format!("{d}. {} {y}", german[m as usize - 1]),
        }
    }
}

/// One piece as its writer means it: sizes in thousandths of their unit.
#[derive(Debug, Clone)]
struct Meant {
    length: Option<u32>,
    pressure: Option<u32>,
    since: Option<NaiveDate>,
    service: Option<NaiveDate>,
}

/// A writer: the style of numbers, of the days of each column, and where units stand.
#[derive(Debug, Clone)]
struct Writer {
    numbers: Numbers,
    since: Days,
    service: Days,
    unit_in_heading: bool,
    decimals: usize,
    zeros: bool,
    sign: Delimiter,
    metric: bool,
    usual: DateOrder,
}

fn writer() -> impl Strategy<Value = Writer> {
    let pick = prop::sample::select::<Numbers>;
    let days = || prop::sample::select(DAYS);
    let flags = (any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>());
    (pick(NUMBERS), days(), days(), 0_usize..4, prop::sample::select(Delimiter::ALL), flags).prop_map(|(numbers, since, service, decimals, sign, flags)| {
        let (unit_in_heading, zeros, metric, day_first) = flags;
        let usual = if day_first { DateOrder::DayFirst } else { DateOrder::MonthFirst };
        Writer {
            numbers,
            since,
            service,
            unit_in_heading,
            decimals,
            zeros,
            sign,
            metric,
            usual,
        }
    })
}

fn day() -> impl Strategy<Value = NaiveDate> {
    let first = NaiveDate::from_ymd_opt(1995, 1, 1).unwrap();
    // Many fall on first days of months and on days below 13, which prove nothing.
    (0_u16..372 * 31, any::<bool>()).prop_map(move |(n, early)| {
        let (year, month, day) = (1995 + i32::from(n / 372), u32::from(n) / 31 % 12 + 1, u32::from(n) % 31 + 1);
        let day = if early { day % 12 + 1 } else { day };
        NaiveDate::from_ymd_opt(year, month, day).unwrap_or(first)
    })
}

fn pieces() -> impl Strategy<Value = Vec<Meant>> {
    // Whole, tenths, or three decimals; also such as 1.234, which may be thousands.
    let size = |from: u32, to: u32| (from..to, prop::sample::select(vec![1_u32, 10, 100, 1000])).prop_map(|(n, step)| n / step * step);
    let piece = (
        prop::option::of(size(1_000, 60_000)),
        prop::option::of(size(700_000, 1_050_000)),
        prop::option::of(day()),
        prop::option::of(day()),
    );
    prop::collection::vec(
        piece.prop_map(|(length, pressure, since, service)| Meant {
            length,
            pressure,
            since,
            service,
        }),
        1..12,
    )
}

fn file(writer: &Writer, pieces: &[Meant]) -> String {
    let sign = char::from(writer.sign.sign());
    let (length, pressure) = if writer.metric { ("m", "bar") } else { ("ft", "psi") };
    // A pressure in psi has five digits: 10,400; in bar up to four: 1,050.
    let scale = if writer.metric { 1 } else { 14 };
    let quoted = |text: String| if text.contains(sign) { format!("\"{text}\"") } else { text };
    let size = |thousandths: Option<u32>, unit: &str| {
        let Some(thousandths) = thousandths else { return String::new() };
        let number = writer.numbers.write(thousandths, writer.decimals);
        if writer.unit_in_heading { number } else { format!("{number} {unit}") }
    };
    let heads = if writer.unit_in_heading {
        [format!("Length ({length})"), format!("Pressure ({pressure})")]
    } else {
        ["Length".to_owned(), "Pressure".to_owned()]
    };
    let head = [
        "Tag",
        "Kind",
        "Model",
        "Station",
        "District",
        "In service since",
        "Last service",
        &heads[0],
        &heads[1],
    ]
    .join(&sign.to_string());
    let rows = pieces.iter().enumerate().map(|(n, piece)| {
        let date = |day: Option<NaiveDate>, days: Days| day.map(|day| days.write(day, writer.zeros)).unwrap_or_default();
        let cells = [
            format!("T{n}"),
            "hose".to_owned(),
            format!("M{n}"),
            "1".to_owned(),
            "1".to_owned(),
            date(piece.since, writer.since),
            date(piece.service, writer.service),
            size(piece.length, length),
            size(piece.pressure.map(|pressure| pressure * scale), pressure),
        ];
        cells.map(quoted).join(&sign.to_string())
    });
    format!("{head}\n{}\n", rows.collect::<Vec<_>>().join("\n"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1024, ..ProptestConfig::default() })]

    #[test]
    fn no_figure_and_no_date_is_read_as_another_one(writer in writer(), pieces in pieces()) {
        let text = file(&writer, &pieces);
        let known = KnownRegister { date_order: writer.usual, ..KnownRegister::default() };
        let Ok(reading) = read(text.as_bytes(), &Options::default(), &known, today()) else { return Ok(()) };
        let scale = if writer.metric { 1.0 } else { 14.0 };
        prop_assert_eq!(reading.rows.len() + reading.refused.len(), pieces.len(), "{}", text);
        for row in &reading.rows {
            let piece = &pieces[row.tag[1..].parse::<usize>().unwrap()];
            let model = reading.models.iter().find(|model| model.key == row.model_key).unwrap();
            let length = model.ratings.get(Term::HoseLength).and_then(|rating| rating.quantity()).map(|q| q.value);
            let near = |read: Option<f64>, meant: Option<f64>| match (read, meant) {
                (Some(read), Some(meant)) => (read - meant).abs() < 1e-9 * meant,
                (read, meant) => read == meant,
            };
            let meant = piece.length.map(|length| f64::from(length) / 1000.0);
            prop_assert!(near(length, meant), "{:?} read, {:?} meant: {}", length, meant, text);
            let pressure = model.hookup.pressure.map(|q| q.value);
            let meant = piece.pressure.map(|pressure| f64::from(pressure) * scale / 1000.0);
            prop_assert!(near(pressure, meant), "{:?} read, {:?} meant: {}", pressure, meant, text);
            prop_assert_eq!(row.in_service_since, piece.since, "{}", text);
            prop_assert_eq!(row.last_service_on, piece.service, "{}", text);
        }
    }
}

/// The property above holds of a reader that refuses everything; this one does not.
#[test]
fn what_shows_itself_is_read() {
    let day = |n: u32| NaiveDate::from_ymd_opt(2015, n % 12 + 1, 12 + n);
    let pieces: Vec<Meant> = (1..12)
        .map(|n| Meant {
            length: Some(12_000 + n * 100),
            pressure: Some(700_000 + n * 10_500),
            since: day(n),
            service: day(n + 3),
        })
        .collect();
    for (numbers, days) in NUMBERS.iter().flat_map(|numbers| DAYS.iter().map(move |days| (*numbers, *days))) {
        let writer = Writer {
            numbers,
            since: days,
            service: Days::Iso,
            unit_in_heading: false,
            decimals: 1,
            zeros: true,
            sign: Delimiter::Tab,
            metric: true,
            usual: DateOrder::MonthFirst,
        };
        let text = file(&writer, &pieces);
        let reading = read(text.as_bytes(), &Options::default(), &KnownRegister::default(), today()).unwrap();
        let asked = matches!(days, Days::Short(DateOrder::DayFirst) | Days::ShortYearFirst);
        let read = if asked { 0 } else { pieces.len() };
        assert_eq!(reading.rows.len(), read, "{numbers:?} {days:?}: {:?}", reading.refused.first());
    }
}
