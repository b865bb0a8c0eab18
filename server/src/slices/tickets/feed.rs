use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::release::{Evidence, Measure};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{Step, allows};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{defects::DefectId, pieces::PieceId, shops::ShopId},
};

crate::id!(
    /// A repair ticket.
    TicketId
);

/// How far the shop is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum TicketState {
    /// Nobody has taken it.
    Waiting,
    /// The shop has taken it.
    Accepted,
    /// A mechanic is on it.
    Working,
    /// It waits for parts or for somebody outside.
    OnHold,
    /// The last test passed; the piece may be returned.
    Tested,
    /// The piece is back, or the ticket was closed without it.
    Closed,
}

impl TicketState {
    /// The state in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Accepted => "accepted",
            Self::Working => "working",
            Self::OnHold => "on_hold",
            Self::Tested => "tested",
            Self::Closed => "closed",
        }
    }
}

/// What a line of a ticket is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LineKind {
    /// A part.
    Part,
    /// Labour.
    Labour,
}

/// A part or labour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Part or labour.
    pub kind: LineKind,
    /// What.
    pub what: String,
    /// How many parts.
    #[serde(default)]
    #[schema(minimum = 0)]
    pub quantity: Option<f64>,
    /// Cost of one, in the agency's currency.
    #[serde(default)]
    #[schema(minimum = 0)]
    pub unit_cost: Option<f64>,
    /// Minutes of labour.
    #[serde(default)]
    pub minutes: Option<u32>,
}

/// One test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Test {
    /// When.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: Person,
    /// Whether it passed.
    pub passed: bool,
    /// What it rests on: the readings, the manual, the maker's paper, what was found.
    pub evidence: Evidence,
    /// Whether it is the annual service: its day becomes the piece's last service when the piece comes back.
    #[serde(default)]
    #[schema(required)]
    pub annual: bool,
    /// Readings for which no limit is on record.
    #[serde(default)]
    #[schema(required)]
    pub without_limit: Vec<Measure>,
}

/// A repair ticket.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Ticket {
    /// Id of the ticket: the UUID that it was made with; it never changes.
    pub id: TicketId,
    /// Id of the piece.
    pub piece: PieceId,
    /// Id of the shop.
    pub shop: ShopId,
    /// What is wrong, in the crew's own words.
    pub what: String,
    /// The defects that it deals with; up to 50.
    #[schema(max_items = 50)]
    pub defects: Vec<DefectId>,
    /// How far the shop is.
    pub state: TicketState,
    /// When it was opened.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub opened_at: DateTime<Utc>,
    /// Who opened it.
    pub opened_by: Person,
    /// Who accepted it.
    pub accepted_by: Option<Person>,
    /// What it waits for.
    pub hold_for: Option<String>,
    /// When the wait should end.
    pub expected_on: Option<NaiveDate>,
    /// Parts and labour; up to 200 lines.
    #[schema(max_items = 200)]
    pub lines: Vec<Line>,
    /// Tests, oldest first; up to 50.
    #[schema(max_items = 50)]
    pub tests: Vec<Test>,
    /// When it was closed.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// Who closed it: who returned the piece to service.
    pub closed_by: Option<Person>,
    /// What was done.
    pub note: Option<String>,
    /// The commands that the ticket allows as it is: any other is refused. Whether a test is enough, `ticket.return` itself says.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<Step>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Ticket {
    const KIND: &'static str = "ticket";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self);
    }

    fn states() -> Vec<&'static str> {
        [
            TicketState::Waiting,
            TicketState::Accepted,
            TicketState::Working,
            TicketState::OnHold,
            TicketState::Tested,
            TicketState::Closed,
        ]
        .map(TicketState::word)
        .into()
    }

    fn index(&self) -> Index {
        let label = self.opened_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string();
        Index {
            label,
            uniq: None,
            mark: None,
            state: self.state.word().into(),
            parent: Some(self.piece.0),
        }
    }
}
