use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    ratings::Term,
    release::{DefectClass, Evidence, RepairWithin},
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{DefectAct, allows};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{
        photos::PhotoName,
        pieces::{PieceId, Place},
    },
};

crate::id!(
    /// A defect.
    DefectId
);

/// Whether the piece can still be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// It can still be used.
    Usable,
    /// It must not be used.
    OutOfService,
}

/// Whether somebody still has to do something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DefectState {
    /// It is still there.
    Open,
    /// A person has closed it.
    Closed,
}

/// The state as lists are narrowed by it.
pub(super) const fn state_word(state: DefectState) -> &'static str {
    match state {
        DefectState::Open => "open",
        DefectState::Closed => "closed",
    }
}

/// An instant as a label, so that lists are in the order of time.
pub(super) fn label_of(at: DateTime<Utc>) -> String {
    at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()
}

/// One more time that a repair was put off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Extension {
    /// When that was decided.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who put the repair off.
    pub by: Person,
    /// Why the repair could not be done by the day it was due: up to 4,000 characters.
    pub reason: String,
}

/// What a piece may still be used for, and until when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DefectLimit {
    /// What the crew must not do, and what to do instead.
    pub words: String,
    /// Ratings that do not count while the defect is open: they meet nothing that a grade or a list asks for.
    #[serde(default)]
    #[schema(required, max_items = 8)]
    pub without: Vec<Term>,
    /// Why the agency's own rule lets the piece stay in use, where the shipped one would not, or not for so long.
    #[serde(default)]
    #[schema(required)]
    pub own_rule: Option<String>,
    /// How long the repair may be put off.
    pub within: RepairWithin,
    /// The same in days, as the agency has it.
    pub days: u32,
    /// The day at whose start the piece stops being usable. The day of discovery is not counted.
    pub repair_by_day: NaiveDate,
    /// The same as an instant, in the agency's time zone.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub repair_by: DateTime<Utc>,
    /// The one time that it was put off further.
    pub extended: Option<Extension>,
}

/// Something wrong with a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Defect {
    /// The UUID that the defect was reported under; it never changes.
    pub id: DefectId,
    /// The piece that has the defect; it never changes.
    pub piece: PieceId,
    /// What is wrong, in the crew's own words.
    pub what: String,
    /// What kind of thing it is.
    #[serde(default)]
    #[schema(required)]
    pub class: DefectClass,
    /// What it was said to be before: a release answers for these too.
    #[serde(default)]
    #[schema(required)]
    pub classes_before: Vec<DefectClass>,
    /// Whether the piece can still be used.
    pub severity: Severity,
    /// Under which limit, where it can.
    #[serde(default)]
    #[schema(required)]
    pub limit: Option<DefectLimit>,
    /// Whether it is still there.
    pub state: DefectState,
    /// When it was seen, by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub seen_at: DateTime<Utc>,
    /// Who reported it first; those who saw it again stand in the records of kind `defect_note`.
    pub reported_by: Person,
    /// Where the piece was.
    pub place: Place,
    /// The repair ticket that deals with it.
    pub ticket: Option<Uuid>,
    /// Photos of it, by their names; some may still be on their way.
    #[serde(default)]
    #[schema(required)]
    pub photos: Vec<PhotoName>,
    /// How often it was seen again: so many records of kind `defect_note` name it.
    #[schema(maximum = 100)]
    pub seen_again: u32,
    /// When it was last found to be of another class, or put the piece out of service; null: as it was reported.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub worse_at: Option<DateTime<Utc>>,
    /// When it was closed.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// Who closed it, alone, with its ticket or by retiring the piece; null while it is open.
    pub closed_by: Option<Person>,
    /// What was found and done, up to 4,000 characters; null while it is open.
    pub resolution: Option<String>,
    /// What closing it rests on.
    #[serde(default)]
    #[schema(required)]
    pub evidence: Option<Evidence>,
    /// The commands that the defect allows as it is: any other is refused. `defect.extend` also ends with its repair-by day.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<DefectAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Defect {
    /// When it was found, or found to be something else or worse.
    pub fn last_worse(&self) -> DateTime<Utc> {
        self.worse_at.map_or(self.seen_at, |worse| worse.max(self.seen_at))
    }

    /// Everything that its release answers for.
    pub fn classes(&self) -> Vec<DefectClass> {
        let mut all = self.classes_before.clone();
        if !all.contains(&self.class) {
            all.push(self.class);
        }
        all
    }
}

impl Record for Defect {
    const KIND: &'static str = "defect";
    const FOLLOWS_WHILE: Option<&'static str> = Some("open");

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self);
    }

    fn states() -> Vec<&'static str> {
        vec!["open", "closed"]
    }

    fn index(&self) -> Index {
        Index {
            label: label_of(self.seen_at),
            uniq: None,
            mark: None,
            state: state_word(self.state).into(),
            parent: Some(self.piece.0),
        }
    }
}
