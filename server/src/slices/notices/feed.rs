use chrono::{DateTime, NaiveDate, Utc};
use fullset_care::notice::{Affected, Hit};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::pieces::Piece,
};

crate::id!(
    /// A notice.
    NoticeId
);

/// What a notice asks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum NoticeAction {
    /// The piece is not used until somebody of the shop says that it is done with.
    StopUse,
    /// The piece is used only so.
    Limit {
        /// How: 1 to 500 characters.
        #[schema(min_length = 1, max_length = 500)]
        words: String,
    },
    /// The piece is inspected by that day; after it, it is not used.
    InspectBy {
        /// The last day for the inspection, in the agency's time zone.
        by: NaiveDate,
    },
}

/// A safety notice of a maker or of the agency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Notice {
    /// The UUID that the notice was issued under; it never changes.
    pub id: NoticeId,
    /// The number by which its issuer calls it; no other notice has it.
    pub number: String,
    /// What it is about, in a few words.
    pub title: String,
    /// What the notice says: 1 to 4,000 characters.
    pub text: String,
    /// Who issued it: a maker, an authority, the agency itself.
    pub issuer: String,
    /// The day on it.
    pub dated: NaiveDate,
    /// What is to be done with each affected piece.
    pub action: NoticeAction,
    /// The pieces that it is about.
    pub covers: Affected,
    /// From when on it counts here.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// Who put it in force.
    pub issued_by: Person,
    /// When it was withdrawn; null: it is in force.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub withdrawn_at: Option<DateTime<Utc>>,
    /// Who withdrew it; null while it is in force.
    pub withdrawn_by: Option<Person>,
    /// Why it was withdrawn, up to 4,000 characters; null while it is in force.
    pub withdrawn_reason: Option<String>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Notice {
    /// Whether a piece is affected by it, done with or not.
    pub fn hit(&self, piece: &Piece) -> Hit {
        self.covers.hit(piece.model.0, piece.serial.as_deref(), piece.made_on)
    }

    /// How it is named inside a sentence: "notice 24-7: handle may stick".
    pub fn words(&self) -> String {
        format!("notice {}: {}", self.number, self.title)
    }
}

impl Record for Notice {
    const KIND: &'static str = "notice";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["in_force", "withdrawn"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.number.clone(),
            uniq: Some(self.number.to_lowercase()),
            state: if self.withdrawn_at.is_none() { "in_force" } else { "withdrawn" }.into(),
            ..Index::default()
        }
    }
}
