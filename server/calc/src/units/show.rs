//! Quantities as people read them: rounded for the eye. Never compare what this module wrote.

use super::{Dimension, Quantity, Unit};
use serde::{Deserialize, Serialize};

/// The habit of an agency: US customary or SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Units {
    /// psi, lbf, in., ft, lb, gal.
    #[default]
    Us,
    /// bar, kN, mm, m, kg, L.
    Si,
}

impl Quantity {
    /// As said to people of the given habit: in the typed unit where it is theirs, else converted and rounded.
    #[must_use]
    pub fn show(self, units: Units) -> String {
        quantity(self, units)
    }

    /// In the habit of the unit that it was typed in.
    #[must_use]
    pub fn show_as_typed(self) -> String {
        let us = self.dimension() == Dimension::Time || self.unit.is_us();
        quantity(self, if us { Units::Us } else { Units::Si })
    }

    /// Both habits, the reader's own first: `10,500 psi (724 bar)`.
    #[must_use]
    pub fn show_both(self, units: Units) -> String {
        let other = if units == Units::Us { Units::Si } else { Units::Us };
        let (own, its) = (quantity(self, units), quantity(self, other));
        if own == its { own } else { format!("{own} ({its})") }
    }
}

/// The unit to show a size of this dimension in.
fn wanted(q: Quantity, units: Units) -> Unit {
    let si = q.si().abs();
    match (q.dimension(), units) {
        (Dimension::Force, Units::Us) => Unit::PoundForce,
        (Dimension::Force, Units::Si) => Unit::Kilonewton,
        (Dimension::Length, Units::Us) if si >= 1_609_344.0 => Unit::Mile,
        (Dimension::Length, Units::Us) if si >= 3048.0 => Unit::Foot,
        (Dimension::Length, Units::Us) => Unit::Inch,
        (Dimension::Length, Units::Si) if si >= 1_000_000.0 => Unit::Kilometre,
        (Dimension::Length, Units::Si) if si >= 3000.0 => Unit::Metre,
        (Dimension::Length, Units::Si) => Unit::Millimetre,
        (Dimension::Pressure, Units::Us) => Unit::Psi,
        (Dimension::Pressure, Units::Si) => Unit::Bar,
        (Dimension::Mass, Units::Us) => Unit::Pound,
        (Dimension::Mass, Units::Si) => Unit::Kilogram,
        (Dimension::Time, _) if si >= 7200.0 => Unit::Hour,
        (Dimension::Time, _) if si >= 120.0 => Unit::Minute,
        (Dimension::Time, _) => Unit::Second,
        (Dimension::Volume, Units::Us) if si >= 3.0 => Unit::Gallon,
        (Dimension::Volume, Units::Us) if si >= 0.5 => Unit::Quart,
        (Dimension::Volume, Units::Us) => Unit::FluidOunce,
        (Dimension::Volume, Units::Si) if si >= 1.0 => Unit::Litre,
        (Dimension::Volume, Units::Si) => Unit::Millilitre,
        (Dimension::Flow, Units::Us) => Unit::GallonPerMinute,
        (Dimension::Flow, Units::Si) => Unit::LitrePerMinute,
        (Dimension::Power, Units::Us) => Unit::Horsepower,
        (Dimension::Power, Units::Si) => Unit::Kilowatt,
        (Dimension::Energy, Units::Us) => Unit::FootPound,
        (Dimension::Energy, Units::Si) => Unit::Joule,
        (Dimension::Speed, Units::Us) => Unit::MilePerHour,
        (Dimension::Speed, Units::Si) => Unit::KilometrePerHour,
        (Dimension::Count, _) => Unit::Stage,
    }
}

/// Decimals that a reader of this unit expects.
const fn decimals(unit: Unit) -> usize {
    match unit {
        Unit::Inch | Unit::Foot | Unit::Metre | Unit::Mile | Unit::Kilometre | Unit::Kilonewton | Unit::Pound | Unit::Kilogram => 1,
        Unit::Horsepower | Unit::MetricHorsepower | Unit::Kilowatt | Unit::Gallon | Unit::Quart | Unit::Litre | Unit::Hour => 1,
        Unit::GallonPerMinute | Unit::LitrePerMinute | Unit::FluidOunce | Unit::Megapascal | Unit::Centimetre => 1,
        _ => 0,
    }
}

pub(super) fn quantity(q: Quantity, units: Units) -> String {
    if q.unit == Unit::Stage && (q.value - 1.0).abs() < f64::EPSILON {
        return "1 stage".into();
    }
    // What was typed in the reader's own habit is shown as typed; a time or a count has no habit.
    let own = matches!(q.dimension(), Dimension::Time | Dimension::Count) || q.unit.is_us() == (units == Units::Us);
    let inner = matches!(q.unit, Unit::Newton | Unit::Kilopascal);
    let shown = if own && !inner { q } else { q.to(wanted(q, units)).unwrap_or(q) };
    let places = decimals(shown.unit);
    let text = if own && !inner {
        plain(shown.value)
    } else {
        format!("{:.places$}", shown.value)
    };
    format!("{} {}", grouped(trimmed(&text)), shown.unit.symbol())
}

/// A size in inner units, in the unit that a reader of this habit expects for it.
pub(crate) fn size(si: f64, dimension: Dimension, units: Units) -> String {
    let inner = Unit::ALL
        .iter()
        .copied()
        .find(|unit| unit.dimension() == dimension && (unit.factor() - 1.0).abs() < f64::EPSILON);
    let Some(inner) = inner else { return si.to_string() };
    let q = Quantity::new(si, inner);
    let shown = q.to(wanted(q, units)).unwrap_or(q);
    let places = decimals(shown.unit);
    let text = format!("{:.places$}", shown.value);
    format!("{} {}", grouped(trimmed(&text)), shown.unit.symbol())
}

/// A typed number: as many decimals as it has, but no float noise.
fn plain(value: f64) -> String {
    format!("{value:.4}")
}

fn trimmed(text: &str) -> &str {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        text
    }
}

/// Thousands separated by commas.
fn grouped(text: &str) -> String {
    let (sign, rest) = text.strip_prefix('-').map_or(("", text), |r| ("-", r));
    let (whole, part) = rest.split_once('.').map_or((rest, None), |(w, p)| (w, Some(p)));
    let mut out = String::from(sign);
    let len = whole.chars().count();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (len - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if let Some(part) = part {
        out.push('.');
        out.push_str(part);
    }
    out
}
