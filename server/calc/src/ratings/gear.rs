//! What an accessory is. A slot names which one it asks for: an edge cover is no strut.

use serde::{Deserialize, Serialize};

/// The small gear of a set, by what it does. Words of the trade (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Gear {
    /// Rated pulling chains with their shackles.
    Chains,
    /// Ram support: holds the foot of a ram.
    RamSupport,
    /// Ram extension pieces; they add nothing to a rating.
    RamExtension,
    /// Spreader tips and cutter tips that are changed.
    Tips,
    /// Cribbing, wedges and step chocks.
    Cribbing,
    /// Stabilising struts.
    Struts,
    /// Lifting bag with its controller.
    LiftingBag,
    /// Covers for sharp edges.
    EdgeCovers,
    /// Glass tools.
    GlassTools,
    /// Airbag restraint for a steering wheel.
    AirbagRestraint,
    /// Straps, slings and shackles.
    Straps,
    /// Mains adapter of a battery tool. It is no pack.
    MainsAdapter,
    /// Something else: fills no slot.
    Other,
}

impl Gear {
    /// Every sort, in a fixed order.
    pub const ALL: &'static [Self] = &[
        Self::Chains,
        Self::RamSupport,
        Self::RamExtension,
        Self::Tips,
        Self::Cribbing,
        Self::Struts,
        Self::LiftingBag,
        Self::EdgeCovers,
        Self::GlassTools,
        Self::AirbagRestraint,
        Self::Straps,
        Self::MainsAdapter,
        Self::Other,
    ];

    /// The trade word: "ram support".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chains => "chains",
            Self::RamSupport => "ram support",
            Self::RamExtension => "ram extension",
            Self::Tips => "tips",
            Self::Cribbing => "cribbing",
            Self::Struts => "struts",
            Self::LiftingBag => "lifting bag",
            Self::EdgeCovers => "edge covers",
            Self::GlassTools => "glass tools",
            Self::AirbagRestraint => "airbag restraint",
            Self::Straps => "straps",
            Self::MainsAdapter => "mains adapter",
            Self::Other => "other gear",
        }
    }
}
