//! The units that are known, their symbols, what they measure and their exact factors.

use super::UnitFault;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Dimension {
    /// Inner unit N.
    Force,
    /// Inner unit mm.
    Length,
    /// Inner unit kPa.
    Pressure,
    /// Inner unit kg.
    Mass,
    /// Inner unit s.
    Time,
    /// Inner unit L.
    Volume,
    /// Inner unit L/min.
    Flow,
    /// Inner unit kW.
    Power,
    /// Energy or torque, inner unit J. Known so that it can be refused where a force is wanted.
    Energy,
    /// Inner unit km/h.
    Speed,
    /// A whole number of things.
    Count,
}

impl Dimension {
    /// The word for it in a sentence: "a force".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Force => "a force",
            Self::Length => "a length",
            Self::Pressure => "a pressure",
            Self::Mass => "a mass",
            Self::Time => "a time",
            Self::Volume => "a volume",
            Self::Flow => "a flow",
            Self::Power => "a power",
            Self::Energy => "an energy or torque",
            Self::Speed => "a speed",
            Self::Count => "a count",
        }
    }

    /// The units to offer for it, as said in a hint.
    #[must_use]
    pub const fn offer(self) -> &'static str {
        match self {
            Self::Force => "lbf, kN or N",
            Self::Length => "in, ft, mm, cm or m",
            Self::Pressure => "psi, bar, kPa or MPa",
            Self::Mass => "lb or kg",
            Self::Time => "s, min or h",
            Self::Volume => "US gal, qt, fl oz, L or mL",
            Self::Flow => "gal/min or L/min",
            Self::Power => "hp or kW",
            Self::Energy => "ft.lbf or J",
            Self::Speed => "mi/h or km/h",
            Self::Count => "stages",
        }
    }
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident, $symbol:literal, $dim:ident, $factor:expr, [$($alias:literal),*];)*) => {
        /// A unit of measurement; on the wire it is its symbol.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Unit { $($(#[$doc])* $name,)* }

        impl Unit {
            /// Every unit, in a fixed order.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The symbol that is written and shown.
            #[must_use]
            pub const fn symbol(self) -> &'static str {
                match self { $(Self::$name => $symbol,)* }
            }

            /// What it measures.
            #[must_use]
            pub const fn dimension(self) -> Dimension {
                match self { $(Self::$name => Dimension::$dim,)* }
            }

            /// How many inner units one of it is. Exact where the definition is finite, else correctly rounded.
            #[must_use]
            pub const fn factor(self) -> f64 {
                match self { $(Self::$name => $factor,)* }
            }

            fn known(text: &str) -> Option<Self> {
                // Milli and mega differ by case only, so the symbol as written goes first.
                $(if text == $symbol { return Some(Self::$name); })*
                let folded = text.to_lowercase();
                match folded.as_str() {
                    $($($alias)|* => Some(Self::$name),)*
                    _ => None,
                }
            }
        }
    };
}

units! {
    /// 25.4 mm.
    Inch, "in", Length, 25.4, ["in", "in.", "inch", "inches", "\"", "''", "\u{2033}", "\u{201d}"];
    /// 12 in.
    Foot, "ft", Length, 304.8, ["ft", "ft.", "foot", "feet", "'", "\u{2032}", "\u{2019}"];
    /// Millimetre.
    Millimetre, "mm", Length, 1.0, ["mm", "millimetre", "millimeter", "millimetres", "millimeters"];
    /// Centimetre.
    Centimetre, "cm", Length, 10.0, ["cm", "centimetre", "centimeter", "centimetres", "centimeters"];
    /// Metre.
    Metre, "m", Length, 1000.0, ["m", "metre", "meter", "metres", "meters"];
    /// 5,280 ft.
    Mile, "mi", Length, 1_609_344.0, ["mi", "mi.", "mile", "miles"];
    /// Kilometre.
    Kilometre, "km", Length, 1_000_000.0, ["km", "kilometre", "kilometer", "kilometres", "kilometers"];
    /// Pound-force: 0.45359237 kg times 9.80665 m/s2.
    PoundForce, "lbf", Force, 4.448_221_615_260_5, ["lbf", "lb-f", "lb f", "lb.f", "pound-force", "pounds-force", "pounds force", "pound force"];
    /// Newton.
    Newton, "N", Force, 1.0, ["n", "newton", "newtons"];
    /// Kilonewton.
    Kilonewton, "kN", Force, 1000.0, ["kn", "kilonewton", "kilonewtons"];
    /// Kilogram-force.
    KilogramForce, "kgf", Force, 9.806_65, ["kgf", "kp", "kilogram-force"];
    /// Pound-force per square inch.
    Psi, "psi", Pressure, 8_896_443_230_521.0 / 1_290_320_000_000.0, ["psi", "psig", "lb/in2", "lbf/in2", "lb/in\u{b2}", "lbf/in\u{b2}", "p.s.i."];
    /// 100 kPa.
    Bar, "bar", Pressure, 100.0, ["bar", "bars", "barg"];
    /// Kilopascal.
    Kilopascal, "kPa", Pressure, 1.0, ["kpa"];
    /// Megapascal.
    Megapascal, "MPa", Pressure, 1000.0, ["mpa"];
    /// Avoirdupois pound.
    Pound, "lb", Mass, 0.453_592_37, ["lb", "lb.", "lbs", "lbs.", "pound", "pounds", "lbm", "#"];
    /// Kilogram.
    Kilogram, "kg", Mass, 1.0, ["kg", "kgs", "kilogram", "kilograms", "kilo", "kilos"];
    /// Second.
    Second, "s", Time, 1.0, ["s", "s.", "sec", "sec.", "secs", "second", "seconds"];
    /// Minute.
    Minute, "min", Time, 60.0, ["min", "min.", "mins", "minute", "minutes"];
    /// Hour.
    Hour, "h", Time, 3600.0, ["h", "h.", "hr", "hrs", "hour", "hours"];
    /// 231 cubic inches.
    Gallon, "US gal", Volume, 3.785_411_784, ["us gal", "gal", "gal.", "gallon", "gallons", "us gallon", "us gallons"];
    /// A quarter of a US gallon.
    Quart, "qt", Volume, 0.946_352_946, ["qt", "qt.", "qts", "quart", "quarts"];
    /// 1/128 of a US gallon.
    FluidOunce, "fl oz", Volume, 0.029_573_529_562_5, ["fl oz", "fl. oz.", "floz", "fluid ounce", "fluid ounces"];
    /// Litre.
    Litre, "L", Volume, 1.0, ["l", "litre", "liter", "litres", "liters"];
    /// Millilitre.
    Millilitre, "mL", Volume, 0.001, ["ml", "millilitre", "milliliter", "millilitres", "milliliters", "cc"];
    /// US gallon per minute.
    GallonPerMinute, "gal/min", Flow, 3.785_411_784, ["gal/min", "gpm", "us gal/min", "gallons per minute"];
    /// Litre per minute.
    LitrePerMinute, "L/min", Flow, 1.0, ["l/min", "lpm", "litres per minute", "liters per minute"];
    /// 550 ft.lbf/s.
    Horsepower, "hp", Power, 37_284_993_579_113_511.0 / 50_000_000_000_000_000.0, ["hp", "h.p.", "bhp", "horsepower"];
    /// 75 kgf.m/s.
    MetricHorsepower, "PS", Power, 0.735_498_75, ["ps", "metric hp", "hp (metric)"];
    /// Kilowatt.
    Kilowatt, "kW", Power, 1.0, ["kw", "kilowatt", "kilowatts"];
    /// Foot pound-force: an energy or a torque, never a force.
    FootPound, "ft.lbf", Energy, 3_389_544_870_828_501.0 / 2_500_000_000_000_000.0, [
        "ft.lbf", "ft-lbf", "ft lbf", "ft\u{b7}lbf", "ft-lb", "ft-lbs", "ft lb", "ft lbs", "ft.lb", "ft.lbs", "ft\u{b7}lb", "ft\u{b7}lbs",
        "ftlb", "ftlbs", "ftlbf", "ft. lb", "ft. lbs", "ft. lb.", "ft. lbs.", "foot-pound", "foot-pounds", "foot pound", "foot pounds", "lb-ft", "lb ft",
        "lbf-ft", "lbf ft", "lbf.ft", "lb.ft", "lbf\u{b7}ft", "lb\u{b7}ft", "lbs-ft", "pound-feet", "pound feet"];
    /// Joule, also for a newton metre.
    Joule, "J", Energy, 1.0, ["j", "joule", "joules", "nm", "n.m", "n-m", "n m", "n\u{b7}m", "newton metre", "newton metres", "newton meter", "newton meters"];
    /// Mile per hour.
    MilePerHour, "mi/h", Speed, 1.609_344, ["mi/h", "mph"];
    /// Kilometre per hour.
    KilometrePerHour, "km/h", Speed, 1.0, ["km/h", "kmh", "kph"];
    /// Stages of a ram.
    Stage, "stages", Count, 1.0, ["stages", "stage"];
}

/// Words for a ton, of which there are three (8.896, 9.807 and 9.964 kN as forces).
const TONS: &[&str] = &[
    "t",
    "ton",
    "tons",
    "tonne",
    "tonnes",
    "tonf",
    "short ton",
    "short tons",
    "long ton",
    "long tons",
    "metric ton",
    "metric tons",
    "us ton",
    "us tons",
    "tf",
];

impl Unit {
    /// The unit a symbol or usual spelling stands for.
    ///
    /// # Errors
    /// `ambiguous-unit` for any ton, `unknown-unit` for what is not a unit of the trade.
    pub fn from_symbol(text: &str) -> Result<Self, UnitFault> {
        let text = text.trim();
        if let Some(unit) = Self::known(text) {
            return Ok(unit);
        }
        if TONS.contains(&text.to_lowercase().as_str()) {
            return Err(UnitFault::new(
                "ambiguous-unit",
                format!("\"{text}\" is ambiguous: a ton is 8.896, 9.807 or 9.964 kN"),
                Some("write a force in lbf or kN and a mass in lb or kg".into()),
            ));
        }
        Err(UnitFault::new("unknown-unit", format!("\"{text}\" is not a unit that is known here"), None))
    }

    /// Whether the unit is of US customary use.
    #[must_use]
    pub const fn is_us(self) -> bool {
        matches!(
            self,
            Self::Inch
                | Self::Foot
                | Self::Mile
                | Self::PoundForce
                | Self::Psi
                | Self::Pound
                | Self::Gallon
                | Self::Quart
                | Self::FluidOunce
                | Self::GallonPerMinute
                | Self::Horsepower
                | Self::FootPound
                | Self::MilePerHour
        )
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(self.symbol())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        let text = String::deserialize(input)?;
        Self::from_symbol(&text).map_err(|fault| D::Error::custom(fault.reason))
    }
}
