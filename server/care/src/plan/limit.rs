use fullset_calc::{release::Measure, units::Quantity};
use serde::{Deserialize, Serialize};

/// Which way a bound holds. A value on the bound passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = LimitBound))]
pub enum Bound {
    /// The value is the bound or more.
    AtLeast,
    /// The value is the bound or less.
    AtMost,
}

/// A figure of this piece's own plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum RatedFigure {
    /// The spreading force at the maker's measuring point.
    SpreadingForce,
    /// The pulling force at the maker's measuring point.
    PullingForce,
    /// The pushing force of a ram's first stage.
    PushForce,
    /// The operating pressure of a source, the allowable one of a hose, the rated one of a tool.
    NominalPressure,
}

impl RatedFigure {
    /// The measure of a reading that is compared with it; `None`: any pressure.
    #[must_use]
    pub const fn measure(self) -> Option<Measure> {
        match self {
            Self::SpreadingForce => Some(Measure::SpreadingForce),
            Self::PullingForce => Some(Measure::PullingForce),
            Self::PushForce => Some(Measure::PushForce),
            Self::NominalPressure => None,
        }
    }

    /// Inside a sentence: "rated spreading force".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::SpreadingForce => "rated spreading force",
            Self::PullingForce => "rated pulling force",
            Self::PushForce => "rated pushing force",
            Self::NominalPressure => "nominal pressure",
        }
    }
}

/// Which way a value may not move away from the acceptance test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = LimitDrift))]
pub enum Drift {
    /// Not more than so far above.
    Up,
    /// Not more than so far below.
    Down,
    /// Neither.
    Either,
}

/// What a number must keep to. A limit that cannot be read for a piece leaves the step unknown, never passed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepLimit))]
pub enum Limit {
    /// The same for every piece.
    Fixed {
        /// The least.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        min: Option<Quantity>,
        /// The most.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        max: Option<Quantity>,
    },
    /// A share of what this piece's plate says.
    ShareOfRating {
        /// Whether it is a least or a most.
        bound: Bound,
        /// The share in percent, 1 to 1000.
        #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 1000))]
        percent: u32,
        /// Of which figure.
        of: RatedFigure,
    },
    /// What the maker names for the model; unknown until somebody enters it from the manual.
    MakersBound,
    /// How far it may be from this piece's acceptance test.
    Drift {
        /// The share in percent of the value then, 1 to 1000.
        #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 1000))]
        percent: u32,
        /// Whether it may not rise, or may not fall.
        way: Drift,
    },
}
