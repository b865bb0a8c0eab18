use serde::{Deserialize, Serialize};

use super::score::mean;
use crate::{
    amount::count,
    ratings::{Bounds, FORCE, Kind, LOOK_AGAIN, Term},
    release::{Measure, impossible},
    units::{Dimension, Quantity, Unit, UnitFault},
};

/// What of a candidate is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum TrialMeasure {
    /// The mass, on a scale, as it is carried: in kg or lb.
    Weight,
    /// The time from closed to open, without load.
    OpeningTime,
    /// The time from open to closed, without load.
    ClosingTime,
    /// A force at the point that the trial names: in kN, N or lbf.
    Force,
}

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum BetterIs {
    /// Less is better: lighter, faster.
    Lower,
    /// More is better: stronger.
    Higher,
}

impl TrialMeasure {
    /// What it is in a sentence: "opening time".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Weight => "weight",
            Self::OpeningTime => "opening time",
            Self::ClosingTime => "closing time",
            Self::Force => "force",
        }
    }

    /// What is measured.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Weight => Dimension::Mass,
            Self::OpeningTime | Self::ClosingTime => Dimension::Time,
            Self::Force => Dimension::Force,
        }
    }

    /// Holds a unit to what is measured.
    ///
    /// # Errors
    /// Where it measures something else: a torque is no force.
    pub fn fit_unit(self, unit: Unit) -> Result<(), UnitFault> {
        if unit.dimension() == self.dimension() {
            return Ok(());
        }
        Err(UnitFault::wrong_dimension(unit, self.dimension(), None))
    }

    /// Holds a reading to what such gear of a kind can show at all: what a plate and a watch are held to elsewhere.
    ///
    /// # Errors
    /// Where it measures something else, or cannot be: a slip in the unit or in the digits.
    pub fn fit(self, kind: Kind, value: Quantity) -> Result<(), UnitFault> {
        self.fit_unit(value.unit)?;
        let beyond = match self {
            Self::Weight => Bounds::of(Term::Mass, kind).and_then(|bounds| bounds.beyond(value)),
            Self::OpeningTime => impossible(Measure::OpeningTime, value),
            Self::ClosingTime => impossible(Measure::ClosingTime, value),
            Self::Force => FORCE.beyond(value),
        };
        match beyond {
            _ if !value.value.is_finite() => Err(UnitFault::new("not-possible", "it is no number".into(), None)),
            Some(reason) => Err(UnitFault::new("not-possible", reason, Some(LOOK_AGAIN.into()))),
            None => Ok(()),
        }
    }
}

/// What several readings of one thing come to, in the unit of the measurement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Measured {
    /// How many readings count.
    pub count: usize,
    /// Their mean, in the unit of the measurement.
    pub mean: f64,
    /// Their sample standard deviation (divided by n − 1), in the unit of the measurement; null: of one reading there is none.
    pub deviation: Option<f64>,
    /// The lowest reading, in the unit of the measurement.
    pub lowest: f64,
    /// The highest reading, in the unit of the measurement.
    pub highest: f64,
}

/// What some readings come to in a unit; `None` of no readings. Mean and sample standard deviation are those of the NIST/SEMATECH
/// e-Handbook of Statistical Methods, 1.3.5.1 and 1.3.5.6.
///
/// # Errors
/// Where a reading measures something else than the unit does.
pub fn measured(unit: Unit, readings: &[Quantity]) -> Result<Option<Measured>, UnitFault> {
    let values: Result<Vec<f64>, UnitFault> = readings.iter().map(|reading| reading.to(unit).map(|same| same.value)).collect();
    let mut values = values?;
    values.sort_unstable_by(f64::total_cmp);
    let (Some(lowest), Some(highest)) = (values.first().copied(), values.last().copied()) else {
        return Ok(None);
    };
    let mean = mean(&values);
    let deviation = (values.len() > 1).then(|| {
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        (squares / count(values.len() - 1)).sqrt()
    });
    Ok(Some(Measured {
        count: values.len(),
        mean,
        deviation,
        lowest,
        highest,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-12, "{found} for {wanted}");
    }

    /// What Python 3.11.7 says: `statistics.mean` and `statistics.stdev`.
    #[test]
    fn mean_and_deviation_are_those_of_another_program() {
        for (values, mean, deviation) in [
            (vec![19.4, 19.6, 19.5], 19.5, 0.100_000_000_000_001_42),
            (vec![4.1, 4.3, 4.0, 4.6, 4.2], 4.24, 0.230_217_288_664_427_67),
            (vec![62.5, 64.0], 63.25, 1.060_660_171_779_821_2),
        ] {
            let readings: Vec<Quantity> = values.iter().map(|value| Quantity::new(*value, Unit::Second)).collect();
            let found = measured(Unit::Second, &readings).unwrap().unwrap();
            near(found.mean, mean);
            near(found.deviation.unwrap(), deviation);
            assert_eq!(found.count, values.len());
        }
    }

    #[test]
    fn readings_in_another_unit_are_brought_to_that_of_the_measurement() {
        // The same in Python: mean and stdev of [19.3, 42.5 * 0.45359237, 43.0 * 0.45359237].
        let readings = [(19.3, Unit::Kilogram), (42.5, Unit::Pound), (43.0, Unit::Pound)].map(|(value, unit)| Quantity::new(value, unit));
        let found = measured(Unit::Kilogram, &readings).unwrap().unwrap();
        near(found.mean, 19.360_715_878_333_334);
        near(found.deviation.unwrap(), 0.124_995_763_104_112_44);
        near(found.highest, 19.504_471_91);
        assert_eq!(
            measured(Unit::Kilogram, &[Quantity::new(3.0, Unit::Second)]).unwrap_err().code,
            "wrong-dimension"
        );
    }

    #[test]
    fn one_reading_has_no_deviation_and_none_has_nothing() {
        let one = measured(Unit::Kilonewton, &[Quantity::new(62.5, Unit::Kilonewton)]).unwrap().unwrap();
        assert_eq!((one.count, one.mean, one.deviation, one.lowest, one.highest), (1, 62.5, None, 62.5, 62.5));
        assert_eq!(measured(Unit::Kilonewton, &[]).unwrap(), None);
    }

    #[test]
    fn a_reading_that_cannot_be_is_refused() {
        use TrialMeasure::{ClosingTime, Force, OpeningTime, Weight};
        let fit = |measure: TrialMeasure, value, unit| measure.fit(Kind::Cutter, Quantity::new(value, unit)).map_err(|fault| fault.code);
        for (measure, value, unit) in [
            (Weight, 19.4, Unit::Kilogram),
            (Weight, 42.8, Unit::Pound),
            (OpeningTime, 4.1, Unit::Second),
            (Force, 62.5, Unit::Kilonewton),
        ] {
            assert_eq!(fit(measure, value, unit), Ok(()), "{measure:?} {value}");
        }
        // A torque is no force, a mass no time, and digits that slipped.
        assert_eq!(fit(Force, 62.5, Unit::FootPound), Err("torque-unit"));
        assert_eq!(fit(ClosingTime, 4.1, Unit::Kilogram), Err("wrong-dimension"));
        for (measure, value, unit) in [
            (Weight, 194_000.0, Unit::Kilogram),
            (Weight, 0.0, Unit::Kilogram),
            (Weight, -3.0, Unit::Kilogram),
            (OpeningTime, 4.1, Unit::Minute),
            (Force, 62.5, Unit::Newton),
            (Force, f64::NAN, Unit::Newton),
        ] {
            assert_eq!(fit(measure, value, unit), Err("not-possible"), "{measure:?} {value}");
        }
    }
}
