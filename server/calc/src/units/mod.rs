//! Quantities as people type them, and what they are in SI.
//!
//! A [`Quantity`] keeps the unit that was typed; comparing and adding happens in the inner units
//! (N, mm, kPa, kg, s, L, L/min, kW, J, km/h, a count). Factors are the exact ones of NIST SP 811, appendix B.
//!
//! This module refuses to guess: a torque is never read as a force, a "ton" is never read at all, and a
//! number with something unreadable behind it is not shortened to the part that could be read. A number that may mean
//! thousands or decimals is read by a style that was given, or not at all.

mod forms;
mod notation;
mod number;
pub(crate) use number::write as write_number;
mod parse;
mod show;
pub(crate) use show::size as show_size;
mod typed;
mod unit;

pub use notation::{EXACT, Notation, NumberStyle, StyleVotes};
pub use parse::UnitFault;
pub use show::Units;
pub use typed::{Force, Length, Mass, Pressure};
pub use unit::{Dimension, Unit};

use serde::{Deserialize, Serialize};

/// A number with the unit it was typed in, for example `{"value": 10400, "unit": "psi"}`.
///
/// Two quantities are `==` only when number and unit are the same; compare [`Quantity::si`] to compare sizes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Quantity {
    /// The number as typed; finite.
    #[serde(serialize_with = "number::write", deserialize_with = "number::read")]
    pub value: f64,
    /// The unit as typed, as its symbol.
    pub unit: Unit,
}

impl Quantity {
    /// A quantity from its parts.
    #[must_use]
    pub const fn new(value: f64, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// The number in the inner unit of its dimension (N, mm, kPa, kg, s, L, L/min, kW, J, km/h).
    #[must_use]
    pub fn si(self) -> f64 {
        self.value * self.unit.factor()
    }

    /// What is measured.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        self.unit.dimension()
    }

    /// The same size in another unit of the same dimension.
    ///
    /// # Errors
    /// `wrong-dimension` (or `torque-unit`) when the units do not measure the same thing.
    pub fn to(self, unit: Unit) -> Result<Self, UnitFault> {
        if unit == self.unit {
            return Ok(self);
        }
        if unit.dimension() != self.unit.dimension() {
            return Err(UnitFault::wrong_dimension(self.unit, unit.dimension(), None));
        }
        Ok(Self {
            value: self.value * self.unit.factor() / unit.factor(),
            unit,
        })
    }
}
