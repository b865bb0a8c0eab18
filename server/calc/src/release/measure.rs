use crate::units::Dimension;
use serde::{Deserialize, Serialize};

/// What is measured, or looked at, before a piece comes back. What has no unit is answered with yes or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Measure {
    /// Looked over as a whole, nothing wrong is found now: yes or no.
    SoundToLook,
    /// The pressure at which the relief valve opens.
    ReliefOpensAt,
    /// The pressure that the gauge showed at the tool's end stop, or in the hose.
    PressureReached,
    /// How long that pressure was held, in time.
    HoldSeconds,
    /// Fluid came out at the end stop: yes or no.
    LeakAtEndStop,
    /// Runs its whole stroke both ways, and stops when the control is let go: yes or no.
    FunctionFullStroke,
    /// The spreading force at the maker's measuring point.
    SpreadingForce,
    /// The pulling force at the maker's measuring point.
    PullingForce,
    /// The pushing force of a ram.
    PushForce,
    /// The time from closed to open, without load.
    OpeningTime,
    /// The time from open to closed, without load.
    ClosingTime,
    /// Cut the maker's test piece: yes or no.
    TestPieceCut,
    /// Stands the maker's insulation test: yes or no.
    Insulation,
    /// Takes a charge and holds it: yes or no.
    Charge,
    /// Drained and flushed as the maker says, filled with its own fluid: yes or no.
    Flushed,
    /// What the hour meter shows. It says how long the piece ran, and nothing of its condition.
    HourMeter,
    /// Anything else, named in `what`; it never stands for another measure.
    Other,
}

impl Measure {
    /// Every measure, in the order of a form.
    pub const ALL: &'static [Self] = &[
        Self::SoundToLook,
        Self::ReliefOpensAt,
        Self::PressureReached,
        Self::HoldSeconds,
        Self::LeakAtEndStop,
        Self::FunctionFullStroke,
        Self::SpreadingForce,
        Self::PullingForce,
        Self::PushForce,
        Self::OpeningTime,
        Self::ClosingTime,
        Self::TestPieceCut,
        Self::Insulation,
        Self::Charge,
        Self::Flushed,
        Self::HourMeter,
        Self::Other,
    ];

    /// What a form asks.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::SoundToLook => "looked over as a whole, nothing wrong found",
            Self::ReliefOpensAt => "relief valve opens at",
            Self::PressureReached => "pressure reached",
            Self::HoldSeconds => "pressure held for",
            Self::LeakAtEndStop => "leak at the end stop",
            Self::FunctionFullStroke => "full stroke both ways, stops when let go",
            Self::SpreadingForce => "spreading force",
            Self::PullingForce => "pulling force",
            Self::PushForce => "pushing force",
            Self::OpeningTime => "opening time",
            Self::ClosingTime => "closing time",
            Self::TestPieceCut => "maker's test piece cut",
            Self::Insulation => "insulation test passed",
            Self::Charge => "takes and holds its charge",
            Self::Flushed => "flushed and refilled as the maker says",
            Self::HourMeter => "hour meter",
            Self::Other => "something else",
        }
    }

    /// What its value measures; `None`: yes or no, or for *other* whatever was measured.
    #[must_use]
    pub const fn dimension(self) -> Option<Dimension> {
        match self {
            Self::ReliefOpensAt | Self::PressureReached => Some(Dimension::Pressure),
            Self::HoldSeconds | Self::OpeningTime | Self::ClosingTime | Self::HourMeter => Some(Dimension::Time),
            Self::SpreadingForce | Self::PullingForce | Self::PushForce => Some(Dimension::Force),
            _ => None,
        }
    }

    /// The answer that a sound piece gives, where the answer is yes or no.
    #[must_use]
    pub const fn sound_answer(self) -> Option<bool> {
        match self {
            Self::LeakAtEndStop => Some(false),
            Self::SoundToLook | Self::FunctionFullStroke | Self::TestPieceCut | Self::Insulation | Self::Charge | Self::Flushed => Some(true),
            _ => None,
        }
    }
}
