//! The kinds of pieces.

use super::Term;
use serde::{Deserialize, Serialize};

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Kind {
    /// Engine or electric pump with a tank and one or more circuits.
    PowerUnit,
    /// Hand pump: a source with one circuit.
    HandPump,
    /// Cuts.
    Cutter,
    /// Spreads and pulls.
    Spreader,
    /// Spreads and cuts at least (NFPA 1936, 3.4.2).
    CombinationTool,
    /// Pushes, some pull.
    Ram,
    /// Hose assembly: twin line or coaxial, one piece.
    Hose,
    /// Joins two coupling families. It has no length and is no hose.
    Adapter,
    /// Battery pack.
    Battery,
    /// Battery charger.
    Charger,
    /// Small gear: chains, ram supports, cribbing, covers.
    Accessory,
}

impl Kind {
    /// Every kind, in a fixed order.
    pub const ALL: &'static [Self] = &[
        Self::PowerUnit,
        Self::HandPump,
        Self::Cutter,
        Self::Spreader,
        Self::CombinationTool,
        Self::Ram,
        Self::Hose,
        Self::Adapter,
        Self::Battery,
        Self::Charger,
        Self::Accessory,
    ];

    /// The name on the wire: `power_unit`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::PowerUnit => "power_unit",
            Self::HandPump => "hand_pump",
            Self::Cutter => "cutter",
            Self::Spreader => "spreader",
            Self::CombinationTool => "combination_tool",
            Self::Ram => "ram",
            Self::Hose => "hose",
            Self::Adapter => "adapter",
            Self::Battery => "battery",
            Self::Charger => "charger",
            Self::Accessory => "accessory",
        }
    }

    /// The kind of that name on the wire.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.name() == name)
    }

    /// The trade word: "power unit".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::PowerUnit => "power unit",
            Self::HandPump => "hand pump",
            Self::CombinationTool => "combination tool",
            other => other.name(),
        }
    }

    /// The trade word for several: "power units".
    #[must_use]
    pub const fn plural(self) -> &'static str {
        match self {
            Self::PowerUnit => "power units",
            Self::HandPump => "hand pumps",
            Self::Cutter => "cutters",
            Self::Spreader => "spreaders",
            Self::CombinationTool => "combination tools",
            Self::Ram => "rams",
            Self::Hose => "hoses",
            Self::Adapter => "adapters",
            Self::Battery => "battery packs",
            Self::Charger => "chargers",
            Self::Accessory => "accessories",
        }
    }

    /// Whether it drives hose-fed tools.
    #[must_use]
    pub const fn is_source(self) -> bool {
        matches!(self, Self::PowerUnit | Self::HandPump)
    }

    /// Whether it needs a hook-up to work: a hose from a source, or a battery.
    #[must_use]
    pub const fn is_tool(self) -> bool {
        matches!(self, Self::Cutter | Self::Spreader | Self::CombinationTool | Self::Ram)
    }

    /// Whether it carries fluid from a source to a tool.
    #[must_use]
    pub const fn is_conduit(self) -> bool {
        matches!(self, Self::Hose | Self::Adapter)
    }

    /// The terms that such a piece is usually rated in, for forms and imports.
    #[must_use]
    pub const fn terms(self) -> &'static [Term] {
        match self {
            Self::PowerUnit | Self::HandPump => &[Term::RunTime, Term::Mass],
            Self::Cutter => &[Term::CutterOpening, Term::CuttingLevels, Term::CuttingCapacity, Term::Mass],
            Self::Spreader => SPREADER,
            Self::CombinationTool => COMBINATION,
            Self::Ram => RAM,
            Self::Hose => &[Term::HoseLength, Term::Mass],
            Self::Battery => &[Term::RunTime, Term::Mass],
            Self::Adapter | Self::Charger | Self::Accessory => &[Term::Mass],
        }
    }
}

const SPREADER: &[Term] = &[
    Term::LowestSpreadingForce,
    Term::HighestSpreadingForce,
    Term::LowestPullingForce,
    Term::HighestPullingForce,
    Term::RatedSpreadingForce,
    Term::SpreadingDistance,
    Term::PullingDistance,
    Term::Mass,
];

const COMBINATION: &[Term] = &[
    Term::LowestSpreadingForce,
    Term::HighestSpreadingForce,
    Term::LowestPullingForce,
    Term::HighestPullingForce,
    Term::RatedSpreadingForce,
    Term::SpreadingDistance,
    Term::PullingDistance,
    Term::CutterOpening,
    Term::CuttingLevels,
    Term::CuttingCapacity,
    Term::Mass,
];

const RAM: &[Term] = &[
    Term::PushForce,
    Term::PushForce2,
    Term::PushForce3,
    Term::RamStages,
    Term::PullForce,
    Term::RetractedLength,
    Term::ExtendedLength,
    Term::Stroke,
    Term::Mass,
];
