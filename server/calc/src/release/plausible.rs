//! What a gauge or a watch can show at all on such gear. What lies beyond is a slip, in the unit or in the digits, or a piece that no
//! release lets back.

use super::Measure;
use crate::{ratings::Bounds, units::Quantity};

/// The least and the most, in inner units (N, kPa, s); `None` for what has no unit. Pressures and forces are those that a plate can have;
/// the times are common practice, no source: a tool that takes two minutes to open is broken, and nobody holds a pressure for over an hour.
const fn bounds(measure: Measure) -> Option<Bounds> {
    match measure {
        Measure::ReliefOpensAt | Measure::PressureReached => Some(crate::ratings::PRESSURE),
        Measure::SpreadingForce | Measure::PullingForce | Measure::PushForce => Some(crate::ratings::FORCE),
        Measure::HoldSeconds => Some(Bounds::between(0.0, 3_600.0)),
        Measure::OpeningTime | Measure::ClosingTime => Some(Bounds::between(0.5, 120.0)),
        // A hundred thousand hours: eleven years without a stop.
        Measure::HourMeter => Some(Bounds::between(0.0, 3.6e8)),
        _ => None,
    }
}

/// Why the value cannot be, where it cannot: "1 lbf is not possible: it lies between 225 lbf and 562,000 lbf".
pub(crate) fn impossible(measure: Measure, value: Quantity) -> Option<String> {
    let bounds = bounds(measure).filter(|_| Some(value.dimension()) == measure.dimension())?;
    bounds.beyond(value)
}

/// Whether the value is more than can be. Less is what a piece shows that fails its test.
pub(super) fn is_above(measure: Measure, value: Quantity) -> bool {
    bounds(measure).is_some_and(|bounds| bounds.is_below(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Unit;

    #[test]
    fn a_value_at_its_bound_can_be_and_one_beyond_it_cannot() {
        for (measure, unit, least, most) in [
            (Measure::OpeningTime, Unit::Second, 0.5, 120.0),
            (Measure::HoldSeconds, Unit::Minute, 0.0, 60.0),
            (Measure::PressureReached, Unit::Bar, 50.0, 1_500.0),
            (Measure::PushForce, Unit::Kilonewton, 1.0, 2_500.0),
        ] {
            for (value, can_be) in [(least, true), (most, true), (least - 0.01, least == 0.0), (most * 1.001, false)] {
                let value = Quantity::new(f64::max(value, 0.0), unit);
                assert_eq!(impossible(measure, value).is_none(), can_be, "{measure:?} {value:?}");
                assert_eq!(is_above(measure, value), value.value > most, "{measure:?} {value:?}");
            }
        }
        assert!(impossible(Measure::PushForce, Quantity::new(1.0, Unit::PoundForce)).is_some());
        assert!(impossible(Measure::LeakAtEndStop, Quantity::new(1.0, Unit::Second)).is_none());
    }
}
