//! The answer, in the shape in which it is stored and sent.

use super::act::Act;
use super::beside::{Compete, RunsAgain};
use super::reason::Reason;
use crate::ratings::{Figure, Kind};
use crate::units::Quantity;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What a rig could do for a trapped person, on the agency's own grades.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Level {
    /// Nobody has chosen the grades, so nothing is judged. Not the same as none.
    NotJudged,
    /// Below limited.
    None,
    /// Can begin an extrication.
    Limited,
    /// Can do a whole one.
    Full,
    /// Can do more than a whole one; counts wherever full counts.
    Heavy,
}

impl Level {
    /// Every level, the lowest first.
    pub const ALL: &'static [Self] = &[Self::NotJudged, Self::None, Self::Limited, Self::Full, Self::Heavy];

    /// The name on the wire.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::NotJudged => "not_judged",
            Self::None => "none",
            Self::Limited => "limited",
            Self::Full => "full",
            Self::Heavy => "heavy",
        }
    }

    /// The words for people.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotJudged => "not judged yet",
            other => other.name(),
        }
    }

    /// The level of that name on the wire.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|level| level.name() == name)
    }

    /// Full or heavy.
    #[must_use]
    pub const fn is_full(self) -> bool {
        matches!(self, Self::Full | Self::Heavy)
    }
}

/// Whether everything is aboard that the rig's class asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Completeness {
    /// Every required slot is filled.
    Complete,
    /// A required slot is empty.
    Incomplete,
    /// The rig has no class, or its class has no list.
    NoList,
}

/// The three answers about one rig at one instant, which are never mixed: what it could do (`level`), whether its list is
/// whole (`completeness`), and whether checked pieces alone reach that level (`confirmed`).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Assessment {
    /// The highest grade that the rig meets.
    pub level: Level,
    /// The level that its class is expected to reach; null: not set.
    pub expects: Option<Level>,
    /// Whether its list is whole.
    pub completeness: Completeness,
    /// Whether `confirmed_level` is `level`, above none.
    pub confirmed: bool,
    /// The level that confirmed pieces alone reach.
    pub confirmed_level: Level,
    /// Why it is not confirmed: one for each reason of each piece that the level rests on.
    pub doubts: Vec<Reason>,
    /// The first future instant at which an answer changes if nobody does anything; null: it stands.
    #[serde(serialize_with = "crate::instant::option")]
    pub holds_until: Option<DateTime<Utc>>,
    /// What happens then, in words: "annual service of ram RM-7 due".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds_until_why: Option<String>,
    /// The grade that `needs`, `gaps` of needs and `restore` speak of: the expected one, full where none is set; the one
    /// reached where that is higher.
    pub target: Level,
    /// Each need of that grade, with the pieces that meet it.
    pub needs: Vec<NeedAnswer>,
    /// How many tools that serve a need of that grade can run at once.
    pub at_once: u32,
    /// How many tools the target grade wants to run at once, 0 to 12.
    pub at_once_needed: u32,
    /// False when `at_once` was cut off by the bound on work: it may be higher.
    pub at_once_exact: bool,
    /// How many pieces, whichever they are, the rig can lose without dropping a level; null below limited.
    pub margin: Option<u32>,
    /// True when the margin is at least the one stated, but was not followed further.
    #[serde(default)]
    pub margin_at_least: bool,
    /// The single pieces whose loss drops the level.
    pub critical: Vec<Uuid>,
    /// One for each slot of the class's list, in its order.
    pub fillings: Vec<Filling>,
    /// Needs that are not met, then slots that are not filled.
    pub gaps: Vec<Gap>,
    /// The fewest acts that bring the rig to `target`; empty when it is there, or when nothing was found.
    pub restore: Vec<Act>,
    /// Whether it was shown that no smaller set of the acts that are thought of does.
    #[serde(default)]
    pub restore_is_smallest: bool,
    /// What holds the level down beside the needs, in words.
    pub also: Vec<String>,
    /// Below limited: what still runs, in words.
    #[serde(default)]
    pub still_runs: Vec<String>,
    /// What is to be known without holding the level down: a check overdue within the agency's grace, a limit on a piece,
    /// joints that are made without pressure only, and the rule that spared it.
    #[serde(default)]
    pub remarks: Vec<String>,
}

/// How one need of a grade is met.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct NeedAnswer {
    /// The need's id in the agency's grades.
    pub need: String,
    /// What the agency calls the need.
    pub name: String,
    /// Whether it is met together with the others.
    pub met: bool,
    /// The pieces that meet it, each with how it is driven.
    pub pieces: Vec<Driven>,
}

/// A piece with how it is driven.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Driven {
    /// The piece that meets the need.
    pub piece: Uuid,
    /// How it is driven; null for what needs no hook-up.
    pub via: Option<Via>,
}

impl Driven {
    /// Whether the piece is this one, or drives it, or stands in its line.
    #[must_use]
    pub fn rests_on(&self, id: Uuid) -> bool {
        self.piece == id
            || match &self.via {
                Some(Via::Line { source, parts }) => *source == id || parts.contains(&id),
                Some(Via::Pack { pack }) => *pack == id,
                Some(Via::OwnPack) | None => false,
            }
    }
}

/// A slot with the piece in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Filling {
    /// The slot's id in the list of the rig's class.
    pub slot: String,
    /// The piece that fills it; null: empty.
    pub piece: Option<Uuid>,
    /// How a tool in it is driven; null for what needs no hook-up.
    pub via: Option<Via>,
}

/// The hook-up of a tool.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Via {
    /// A line from a source.
    Line {
        /// The power unit or other source of the line.
        source: Uuid,
        /// Hoses and adapters from source to tool, in order.
        parts: Vec<Uuid>,
    },
    /// A battery pack that is a piece.
    Pack {
        /// The battery pack that feeds the tool.
        pack: Uuid,
    },
    /// A battery tool's own pack, which is not on record.
    OwnPack,
}

/// What a gap is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum GapIn {
    /// A need of the target grade.
    Need,
    /// A slot of the class's list.
    Slot,
}

/// A need that is not met or a slot that is empty, and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Gap {
    /// What it is in.
    pub r#in: GapIn,
    /// The need or the slot.
    pub id: String,
    /// The need or slot's name.
    pub name: String,
    /// False for an optional slot.
    pub required: bool,
    /// The kinds that would serve.
    pub kinds: Vec<Kind>,
    /// Why the need is not met or the slot is empty, in words for people.
    pub words: Vec<String>,
    /// Why, as data: every piece aboard that might have served, and what kept it from that.
    pub near: Vec<Near>,
    /// Slots that compete for too few pieces, this one among them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compete: Option<Compete>,
    /// Of a need: what is missing beside it, where sound tools for it are aboard and nothing else keeps them from running.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub runs_again: Option<RunsAgain>,
}

/// What keeps a piece from filling a slot. Codes never change their meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum NearCode {
    /// No piece of a fitting kind is aboard.
    NoneAboard,
    /// The piece is out of service.
    OutOfService,
    /// Nobody can find it.
    Missing,
    /// A stop-use notice hits it.
    StopUse,
    /// It is held apart until the shop clears it.
    Quarantined,
    /// The date by which a defect had to be repaired is past.
    RepairByPast,
    /// A defect's limit takes this rating away.
    Limited,
    /// Its service life has ended.
    LifeEnded,
    /// Nobody knows when its service life ends.
    LifeUnknown,
    /// A check is overdue beyond the grace.
    CheckOverdue,
    /// A rating is below the slot's minimum.
    MinimumNotMet,
    /// It is not rated in that term.
    RatingUnknown,
    /// It is rated by another standard than the minimum's, or by none that is stated.
    RatedByAnotherStandard,
    /// It is rated, but nobody wrote down by which standard, and the minimum names one.
    StandardNotStated,
    /// It is another accessory than the one asked for.
    AnotherAccessory,
    /// No source in service could drive it.
    NoSource,
    /// No line of hoses and adapters in service leads to it.
    NoHose,
    /// No line to it is as long as asked.
    LineTooShort,
    /// No usable battery pack of its family is aboard that no other tool counts.
    NoBattery,
    /// The grade does not count what drives it.
    DriveNotCounted,
    /// The lengths do not cover the range without a gap.
    RangeNotCovered,
    /// How it is driven was not written down.
    HookupUnknown,
    /// A coupling family was not written down.
    CouplingUnknown,
    /// The coupling families do not mate.
    CouplingDiffers,
    /// A fluid was not written down.
    FluidUnknown,
    /// The fluids differ.
    FluidDiffers,
    /// A pressure was not written down.
    PressureUnknown,
    /// Allowable pressure below the source's operating pressure.
    PressureBelow,
    /// The source runs below the pressure that the tool is rated at.
    PressureTooLow,
    /// The hose is fixed to another source.
    FixedElsewhere,
    /// It would serve here, but is needed for another need or slot.
    NeededElsewhere,
    /// More pieces are aboard than are looked at.
    NotCounted,
}

/// One near miss: a piece and one requirement that it fails.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Near {
    /// The piece; `None` when none of a fitting kind is aboard.
    pub piece: Option<Uuid>,
    /// What the piece fails, for programs; `words` tells it to people.
    pub code: NearCode,
    /// In words: "cutter HT-1002: out of service since ..., leak at handle".
    pub words: String,
    /// Since when, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::instant::option")]
    pub since: Option<DateTime<Utc>>,
    /// What the piece has; null where nobody knows, or where nothing is compared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub has: Option<Fact>,
    /// What it would need; null where nothing is compared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub needs: Option<Fact>,
    /// By how much it falls short, in the unit of what is needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_by: Option<Quantity>,
}

/// What a piece has, or what is needed: a size, or words such as a coupling family or cutting levels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Fact {
    /// A number with a unit.
    Quantity(Quantity),
    /// Anything else, as words.
    Text(String),
}

impl From<Figure> for Fact {
    fn from(figure: Figure) -> Self {
        match figure {
            Figure::Quantity(q) => Self::Quantity(q),
            Figure::Levels(levels) => Self::Text(levels.to_string()),
            Figure::Letter(letter) => Self::Text(letter.to_string()),
        }
    }
}
