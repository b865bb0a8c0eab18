//! Sizes that cannot be swapped: a force is a [`Force`], not a number.

use super::{Dimension, Quantity, Unit, UnitFault, Units, show};

macro_rules! typed {
    ($(#[$doc:meta])* $name:ident, $dim:ident, $inner:ident, $get:ident, $of:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From the inner unit.
            #[must_use]
            pub const fn $of(value: f64) -> Self {
                Self(value)
            }

            /// In the inner unit.
            #[must_use]
            pub const fn $get(self) -> f64 {
                self.0
            }

            /// As said to people of either habit, rounded sensibly.
            #[must_use]
            pub fn show(self, units: Units) -> String {
                show::quantity(Quantity::new(self.0, Unit::$inner), units)
            }

            /// Reads what a person typed, for example `"10,400 psi"` for a pressure.
            ///
            /// # Errors
            /// As [`Quantity::parse`].
            pub fn parse(text: &str) -> Result<Self, UnitFault> {
                Quantity::parse(text, Dimension::$dim).map(|q| Self(q.si()))
            }
        }

        impl TryFrom<Quantity> for $name {
            type Error = UnitFault;

            fn try_from(q: Quantity) -> Result<Self, UnitFault> {
                if q.dimension() == Dimension::$dim {
                    Ok(Self(q.si()))
                } else {
                    Err(UnitFault::wrong_dimension(q.unit, Dimension::$dim, Some(q.value)))
                }
            }
        }
    };
}

typed!(
    /// A force, kept in N. Shown in lbf or kN.
    Force, Force, Newton, newtons, of_newtons
);
typed!(
    /// A length, kept in mm. Shown in in. or ft, mm or m.
    Length, Length, Millimetre, millimetres, of_millimetres
);
typed!(
    /// A pressure, kept in kPa. Shown in psi or bar.
    Pressure, Pressure, Kilopascal, kilopascals, of_kilopascals
);
typed!(
    /// A mass, kept in kg. Shown in lb or kg.
    Mass, Mass, Kilogram, kilograms, of_kilograms
);
