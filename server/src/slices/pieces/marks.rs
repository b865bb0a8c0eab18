//! What stays on a piece of what was done and said: trials, the acceptance test, releases, passed checks, safety notices.

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    release::{DefectClass, MakersPaper, Measure},
    units::Quantity,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{platform::person::Person, slices::check_plans::CheckPlanId};

/// That a piece was tried on the rig that it is on: hooked up, run, no leak.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Trial {
    /// When it was tried (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who says that it was tried.
    pub by: Person,
    /// What else was seen.
    pub note: Option<String>,
}

/// Who lends a piece to the agency: a dealer, a neighbour. The piece counts as the agency's own until it goes back, and is retired then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Lender {
    /// Who; up to 200 characters.
    pub name: String,
    /// When it is due back with them.
    #[serde(default)]
    pub due_on: Option<NaiveDate>,
}

/// How many charge cycles a battery pack has behind it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CycleCount {
    /// Charge cycles behind the pack when they were read: 0 to 100,000.
    pub count: u32,
    /// When it was read.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who wrote the count down.
    pub by: Person,
}

/// One value of the acceptance test, to compare later ones with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BaselineValue {
    /// What was measured; each measure stands once in the list.
    pub measure: Measure,
    /// The measured number, in the unit in which it was typed.
    pub value: Quantity,
    /// The day of the test, in the agency's time zone.
    pub on: NaiveDate,
    /// Who recorded the test.
    pub by: Person,
    /// Why it replaced an earlier one, where it did.
    #[serde(default)]
    #[schema(required)]
    pub reason: Option<String>,
}

/// What the piece was last returned on, or a defect of it closed on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Released {
    /// When it was released (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who signed the release, and answers for it.
    pub by: Person,
    /// What it answered for.
    pub classes: Vec<DefectClass>,
    /// Readings for which no limit is on record: shown on the piece.
    pub without_limit: Vec<Measure>,
    /// The manual and its passage.
    pub manual: Option<String>,
    /// The paper of the maker's service that it rests on.
    pub makers_service: Option<MakersPaper>,
    /// The same as a screen says it: "returned by the maker's service: ..., paper ... of ...".
    #[serde(default)]
    #[schema(required)]
    pub paper_words: Option<String>,
    /// Why the agency's own rules, looser than the shipped ones, let it back: shown on the piece. Empty where the shipped rules do.
    #[serde(default)]
    #[schema(required, max_items = 12)]
    pub own_rule: Vec<String>,
    /// What was found and done.
    pub note: Option<String>,
}

/// That it passed a check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Pass {
    /// The check plan that it passed; the plan may be withdrawn by now.
    pub plan: CheckPlanId,
    /// When it last passed a check by this plan (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
}

/// What was last said of a piece for a safety notice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum NoticeState {
    /// It was found; what the notice asks is still to be done.
    Found,
    /// It was looked for and not found.
    NotFound,
    /// What the notice asks was done.
    Done,
    /// Its plate shows that it is not affected.
    NotAffected,
}

impl NoticeState {
    /// Whether nothing is to be done any more.
    pub const fn is_done(self) -> bool {
        matches!(self, Self::Done | Self::NotAffected)
    }
}

/// What was last said of a piece for a safety notice, by whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NoticeMark {
    /// The safety notice that this was said for.
    pub notice: Uuid,
    /// Whether it was found, and whether it is done with for this notice.
    pub state: NoticeState,
    /// When this was said (UTC), by the server's reckoning; what was said earlier never replaces it.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who said so; that a piece is done with is always a member's word.
    pub by: Person,
    /// Where it was looked for, what was done or read, in the member's words.
    pub words: Option<String>,
    /// Photos of it, by their names; 8 at most. Some may still be on their way.
    #[serde(default)]
    #[schema(required, max_items = 8)]
    pub photos: Vec<String>,
}
