//! What is handed in: the rules of the agency, the list of the rig's class, the pieces with all that decides whether they count.

use super::grade::Grades;
use super::wire::Level;
use crate::hookup::{Hookup, Mates};
use crate::ratings::{Gear, Kind, Ratings, Term};
use crate::release::Measure;
use crate::units::Quantity;
use chrono::{DateTime, Days, Months, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// A place in the complement for one piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Slot {
    /// Short name, unique in the complement.
    #[cfg_attr(feature = "openapi", schema(example = "cutter"))]
    pub id: String,
    /// The name that people read.
    #[cfg_attr(feature = "openapi", schema(example = "Cutter"))]
    pub name: String,
    /// The kinds that may fill it, one at least and each once.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 11))]
    pub kinds: Vec<Kind>,
    /// Whether the list is incomplete without it.
    pub required: bool,
    /// Which accessory, where `kinds` has accessories: another one does not fill it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gear: Option<Gear>,
    /// The ratings a piece must meet; for terms where less is better, the most that is accepted.
    #[serde(default)]
    pub minimums: Ratings,
}

/// What a rig class must carry. What its rigs can do is the grades' matter, not the list's.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Complement {
    /// The slots, 1 to 40, in the order in which people read them.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 40))]
    pub slots: Vec<Slot>,
}

/// How battery tools get their packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Batteries {
    /// Packs are pieces for each battery family that has one on record, and on each rig that carries any pack; else a tool
    /// carries its own, and the rig is not confirmed for that.
    #[default]
    WhereOnRecord,
    /// Packs are pieces, always: a tool works with a usable pack of its family that no other tool counts.
    AsPieces,
    /// A battery tool carries its own pack, which is not tracked.
    WithTool,
}

/// The rules that the agency sets itself.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Policy {
    /// Whole days after its due instant for which an overdue check does not count against a piece;
    /// `None`: an overdue check never does, but is said.
    pub overdue_grace_days: Option<u32>,
    /// The share by which two pressures may differ and count as equal, 0 to 0.02.
    pub pressure_tolerance: f64,
    /// How battery tools get their packs.
    pub batteries: Batteries,
    /// Whether adapters may stand in a line.
    pub adapters: bool,
}

impl Default for Policy {
    fn default() -> Self {
        Self {
            overdue_grace_days: Some(30),
            pressure_tolerance: 0.01,
            batteries: Batteries::default(),
            adapters: true,
        }
    }
}

impl Policy {
    /// When a check that is due at an instant begins to count against the piece; `None`: never.
    #[must_use]
    pub fn counts_from(&self, due: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.overdue_grace_days.and_then(|days| due.checked_add_days(Days::new(u64::from(days))))
    }
}

/// Everything that all rigs of an agency are judged by.
#[derive(Debug, Clone, Default)]
pub struct Rules {
    /// The grades; `None`: not chosen, and nothing is judged.
    pub grades: Option<Arc<Grades>>,
    /// The agency's own decisions.
    pub policy: Policy,
    /// Which coupling families mate beside each with itself.
    pub mates: Arc<Mates>,
    /// Battery families, as written, of which the agency has a pack on record.
    pub packs_on_record: Arc<Vec<String>>,
}

/// Whether a piece may be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    /// May be used.
    InService,
    /// Must not be used.
    OutOfService {
        /// From when on.
        since: DateTime<Utc>,
        /// In the words of the person who took it out.
        reason: String,
    },
    /// Nobody can find it.
    Missing {
        /// From when on.
        since: DateTime<Utc>,
    },
}

/// Something said against a piece or a rig, with the instant it began.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// The UTC instant at which it began.
    pub since: DateTime<Utc>,
    /// What is said against the piece or the rig, for people to read.
    pub words: String,
}

/// How long a piece may be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Life {
    /// May be used before that instant, not from it on.
    Ends(DateTime<Utc>),
    /// Nothing limits it.
    None,
    /// It has one, but nobody knows when it began: not usable.
    Unknown,
    /// Nobody knows when it began, and the coordinator allows it before an instant, with a reason that is shown.
    AllowedUntil(DateTime<Utc>, String),
}

/// What the life of a piece is of, for the words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LifeOf {
    /// The piece as a whole, by age.
    #[default]
    Piece,
    /// A part of it, by age: "whip hose".
    Part(&'static str),
    /// Its charge cycles.
    Cycles,
}

impl LifeOf {
    /// What is said where nobody knows: "age of its whip hose unknown".
    pub(super) fn unknown(self) -> String {
        match self {
            Self::Piece => "age unknown".into(),
            Self::Part(part) => format!("age of its {part} unknown"),
            Self::Cycles => "charge cycles unknown".into(),
        }
    }

    /// What is said of its end, before the instant: "service life of its whip hose ended".
    pub(super) fn ended(self) -> String {
        match self {
            Self::Piece => "service life ended".into(),
            Self::Part(part) => format!("service life of its {part} ended"),
            Self::Cycles => "charge cycles of its service life reached".into(),
        }
    }
}

/// The last day's end of a life counted in years: the date from which on the piece may not be used. A life that began on 29
/// February ends on 28 February.
#[must_use]
pub fn life_ends(made_on: NaiveDate, years: u32) -> Option<NaiveDate> {
    made_on.checked_add_months(Months::new(years.checked_mul(12)?))
}

/// What comes of a check that is overdue. Until it counts against the piece it takes its confirmation away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Overdue {
    /// It counts against the piece when the agency's grace has passed.
    #[default]
    AgencyGrace,
    /// It counts against the piece when so many whole days have passed.
    Grace(u32),
    /// It never counts against the piece.
    SaidOnly,
}

/// A check that a piece must have, with the instant from which on it is overdue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueCheck {
    /// As said in words: "weekly check".
    pub name: String,
    /// Overdue from this instant on; `None`: it must have one, and nobody knows when the last one was.
    pub due: Option<DateTime<Utc>>,
    /// What comes of it when it is overdue.
    pub overdue: Overdue,
}

impl DueCheck {
    /// The instant from which on it counts against the piece; `None`: never, or nobody knows when it is due.
    #[must_use]
    pub fn counts_from(&self, policy: &Policy) -> Option<DateTime<Utc>> {
        let due = self.due?;
        match self.overdue {
            Overdue::AgencyGrace => policy.counts_from(due),
            Overdue::Grace(days) => due.checked_add_days(Days::new(u64::from(days))),
            Overdue::SaidOnly => None,
        }
    }
}

/// An open defect that a person judged usable, with what the crew must not do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limit {
    /// Since when the defect is known.
    pub since: DateTime<Utc>,
    /// What is wrong, in the crew's own words; empty where nobody said.
    pub what: String,
    /// What the crew must not do, and what to do instead.
    pub words: String,
    /// From this instant on the piece may not be used.
    pub repair_by: Option<DateTime<Utc>>,
    /// Ratings that the limit takes away: they meet nothing while it stands.
    pub without: Vec<Term>,
    /// Why the agency's own rule lets it stay in use, where the shipped one would not.
    pub own_rule: Option<String>,
}

impl Limit {
    /// What was found first, then the condition of its use: "weeps at the gland; usable only if: Only a film that a card picks up".
    #[must_use]
    pub fn said(&self) -> String {
        let words = self.words.trim_end_matches('.');
        match self.what.trim().trim_end_matches('.') {
            "" => words.to_owned(),
            what => format!("{what}; usable only if: {words}"),
        }
    }

    /// What was found: the crew's own words where there are some.
    #[must_use]
    pub fn found(&self) -> &str {
        if self.what.trim().is_empty() { &self.words } else { &self.what }
    }
}

/// What the last release of a piece rests on, as far as it is less than the rule asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastRelease {
    /// When it was released.
    pub at: DateTime<Utc>,
    /// Readings for which no limit is on record: they were judged by the manual alone.
    pub without_limit: Vec<Measure>,
    /// The manual and its passage.
    pub manual: Option<String>,
    /// Why the agency's own rules, looser than the shipped ones, let it back.
    pub own_rule: Vec<String>,
}

/// What the agency's own rule lets count although the rule that the product ships with would not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LooserRule {
    /// From this instant on the shipped rule would hold it against the piece.
    pub from: DateTime<Utc>,
    /// From this instant on the agency's own rule does too; `None`: it never does.
    pub until: Option<DateTime<Utc>>,
    /// The rule and why it was chosen: "annual check every 3650 days: few calls".
    pub words: String,
}

/// Ratings that a tool has at a pressure below its rated one, as its maker states them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct RatedAt {
    /// A pressure above zero and below the one that the tool is rated at.
    pub pressure: Quantity,
    /// What it is rated for at it.
    pub ratings: Ratings,
}

/// One piece, with everything that decides whether it counts.
#[derive(Debug, Clone)]
pub struct Piece {
    /// UUID that the piece was made with; it never changes.
    pub id: Uuid,
    /// Its asset tag; decides among equals.
    pub tag: String,
    /// The kind that its model is of.
    pub kind: Kind,
    /// Which accessory it is, for one.
    pub gear: Option<Gear>,
    /// How its model is hooked up.
    pub hookup: Arc<Hookup>,
    /// What its model is rated for, at its rated pressure.
    pub ratings: Arc<Ratings>,
    /// What it is rated for at other pressures.
    pub rated_at: Arc<Vec<RatedAt>>,
    /// Of a hose: the source that it is fixed to. It serves that one only.
    pub fixed_to: Option<Uuid>,
    /// In or out of service.
    pub state: State,
    /// A stop-use notice that hits it.
    pub stop_use: Option<Notice>,
    /// Held apart until the shop clears it, after fluids were mixed for example.
    pub quarantine: Option<Notice>,
    /// Its life: of the whole and of its parts the one that ends first.
    pub life: Life,
    /// What that life is of.
    pub life_of: LifeOf,
    /// The checks it must have, each with its next due instant. None at all: nobody has planned how it is kept.
    pub checks: Vec<DueCheck>,
    /// Open defects that leave it usable.
    pub limits: Vec<Limit>,
    /// Its last check or service on record.
    pub last_check: Option<DateTime<Utc>>,
    /// Its last use, where one is recorded that no check followed.
    pub used_unchecked: Option<DateTime<Utc>>,
    /// When it was used although it was out of service, since nobody has returned it.
    pub used_while_out: Option<DateTime<Utc>>,
    /// Its last release, where that rests on less than a limit on record.
    pub released: Option<LastRelease>,
    /// What only the agency's own rules let count.
    pub looser_rules: Vec<LooserRule>,
    /// When it came aboard its rig, where nobody has tried it there since. `None`: tried, or it was never moved.
    pub untried_since: Option<DateTime<Utc>>,
}

impl Piece {
    /// Whether it may be used at that instant under that policy.
    #[must_use]
    pub fn is_usable(&self, policy: &Policy, at: DateTime<Utc>) -> bool {
        let alive = match &self.life {
            Life::None => true,
            Life::Ends(end) | Life::AllowedUntil(end, _) => at < *end,
            Life::Unknown => false,
        };
        alive
            && self.state == State::InService
            && self.stop_use.is_none()
            && self.quarantine.is_none()
            && !self
                .checks
                .iter()
                // What is not due yet does not count; so much need not be worked out for most checks.
                .filter(|check| check.due.is_some_and(|due| at >= due))
                .any(|check| check.counts_from(policy).is_some_and(|t| at >= t))
            && !self.limits.iter().filter_map(|limit| limit.repair_by).any(|by| at >= by)
    }
}

/// One rig at one instant.
#[derive(Debug, Clone, Copy)]
pub struct Rig<'a> {
    /// Since when and why the rig itself must not be used; `None`: it may.
    pub out_of_service: Option<&'a Notice>,
    /// What it must carry; `None`: nobody set it.
    pub complement: Option<&'a Complement>,
    /// The level that its class is expected to reach; `None`: nobody set it.
    pub expects: Option<Level>,
    /// What is aboard, in any order. Pieces on their way to or from the rig are not aboard.
    pub pieces: &'a [Piece],
}
