//! What one cell of the table holds.

use super::Measure;
use serde::{Deserialize, Serialize};

/// What the person who decides is in the agency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Station crew.
    Crew,
    /// Company officer.
    Officer,
    /// District chief.
    Chief,
    /// Fleet shop: a technician, trained for testing and in practice (DGUV Grundsatz 305-002, section II).
    Shop,
    /// Programme coordinator.
    Coordinator,
    /// Keeps members and settings.
    Admin,
}

impl Role {
    /// Whether an officer's word is this member's to give. A technician's word counts for an officer's, never the other way.
    #[must_use]
    pub const fn is_officer(self) -> bool {
        !matches!(self, Self::Crew)
    }

    /// Whether this member may sign so. The paper of the maker's service is filed by those who deal with it.
    #[must_use]
    pub const fn signs(self, signature: Signature) -> bool {
        match signature {
            Signature::Officer => self.is_officer(),
            Signature::Technician => matches!(self, Self::Shop),
            Signature::MakersService => matches!(self, Self::Shop | Self::Coordinator | Self::Admin),
        }
    }
}

/// Whose word a release takes, in rising order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Signature {
    /// An officer, or anybody above.
    Officer,
    /// A technician: the shop.
    Technician,
    /// The maker's service, by its paper.
    MakersService,
}

impl Signature {
    /// As said to the person who lacks it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Officer => "an officer",
            Self::Technician => "a technician of the shop",
            Self::MakersService => "the maker's service, with its paper",
        }
    }
}

/// Who may say that a piece with such a defect can still be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum SayUsable {
    /// Nobody.
    Nobody,
    /// An officer or a technician.
    Officer,
    /// Any member who may report.
    Crew,
}

/// How long a repair may be put off, fixed beforehand. The three lengths are those of aviation's repair categories B, C and D: a model
/// from another trade (CHECKS A4b), not a rule of this one. The agency may shorten them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum RepairWithin {
    /// Category B: 3 days.
    ThreeDays,
    /// Category C: 10 days.
    TenDays,
    /// Category D: 120 days.
    HundredTwentyDays,
}

impl RepairWithin {
    /// The borrowed default, in calendar days after the day of discovery.
    #[must_use]
    pub const fn days(self) -> u32 {
        match self {
            Self::ThreeDays => 3,
            Self::TenDays => 10,
            Self::HundredTwentyDays => 120,
        }
    }
}

/// How the case of a piece with such a defect ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Ending {
    /// It comes back on its evidence.
    Returns,
    /// It is retired, unless the maker's service returns it.
    RetiresUnlessMaker,
    /// It is retired; nothing returns it.
    Retires,
}

/// One cell that applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Who may say that it can still be used.
    pub usable: SayUsable,
    /// What the crew must not do meanwhile, and what to do instead; `None` where nobody may use it.
    pub limit: Option<&'static str>,
    /// How long the repair may be put off; `None` where nobody may use it.
    pub within: Option<RepairWithin>,
    /// What is measured before it comes back.
    pub readings: &'static [Measure],
    /// Whose word it takes.
    pub signs: Signature,
    /// The same for a tool that runs on a battery, where that differs.
    pub signs_on_battery: Option<Signature>,
    /// Whether the manual's passage must be named, because what to do stands only there.
    pub manual: bool,
    /// How the case ends.
    pub ending: Ending,
    /// Where the cell comes from.
    pub source: &'static str,
}

impl Rule {
    /// Whether the shop must see the piece.
    #[must_use]
    pub const fn shop_must_see(&self) -> bool {
        !matches!(self.signs, Signature::Officer)
    }
}

/// One cell of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ruling {
    /// A piece of this kind cannot have such a defect.
    NotApplicable,
    /// What holds.
    Applies(Rule),
}
