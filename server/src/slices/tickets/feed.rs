use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::release::{Evidence, Measure};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{Step, allows, sums};
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

/// Why a ticket has to wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = TicketWaitReason)]
pub enum WaitReason {
    /// For a part.
    Part,
    /// For somebody outside who mends or tests it.
    OutsideService,
    /// For somebody to agree to the cost, or to say that it is given up.
    Decision,
    /// For an answer: of the crew, of the maker.
    Answer,
    /// For room on the bench, or for a mechanic.
    Bench,
    /// For somebody to bring or fetch the piece.
    Transport,
}

/// What the trouble came from, as the shop found it: a short list of the project's own (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = TicketCause)]
pub enum Cause {
    /// Worn by the use that it is made for.
    Wear,
    /// Too old, though little used: rubber, seals, packs.
    Age,
    /// Damaged at work by what it is made for: a hard load, a hot part.
    HardUse,
    /// Damaged by what it is not made for: twisted, overloaded, used as a hammer.
    WrongUse,
    /// Dropped, driven over, shut in a door.
    Accident,
    /// Care that was missed or done wrong: low fluid, dirty couplings, stale fuel.
    Care,
    /// A fault of material or make.
    Make,
    /// Another fluid, water or dirt inside.
    Contamination,
    /// Nothing was wrong: planned service, a notice, or not found.
    NoFault,
    /// Looked for and not found out.
    Unknown,
}

/// The day on which the shop says that the piece is ready to go home.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = TicketPromise)]
pub struct Promise {
    /// The day, in the agency's zone.
    pub on: NaiveDate,
    /// What was promised first.
    pub first: NaiveDate,
    /// How often it was put off or moved up since then.
    pub moved: u32,
    /// Who said so last.
    pub by: Person,
    /// When the day was last promised (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
}

/// What the lines come to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = TicketSums)]
pub struct Sums {
    /// Cost of all lines that have one, in the agency's currency, to the cent; a part without a quantity is one.
    pub cost: f64,
    /// Parts and outside work without a cost: with any, `cost` is not the whole.
    pub unpriced: u32,
    /// Minutes of all lines that name any, added up.
    pub minutes: u64,
}

/// What a line of a ticket is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LineKind {
    /// A part.
    Part,
    /// Labour.
    Labour,
    /// Work that somebody outside has done, or carriage.
    Outside,
}

/// A part, labour, or work done outside.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Part, labour or work done outside.
    pub kind: LineKind,
    /// The part, the labour or the work, by name: 1 to 200 characters.
    pub what: String,
    /// How many of it, from 0 to 1,000,000,000, fractions too; null counts as one.
    #[serde(default)]
    #[schema(minimum = 0)]
    pub quantity: Option<f64>,
    /// Cost of one, in the agency's currency.
    #[serde(default)]
    #[schema(minimum = 0)]
    pub unit_cost: Option<f64>,
    /// Minutes that the work took; a line of labour always has them.
    #[serde(default)]
    pub minutes: Option<u32>,
    /// Who sold the part or did the work outside.
    #[serde(default)]
    pub vendor: Option<String>,
}

/// One test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Test {
    /// When the test was done (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// The member who recorded the test.
    pub by: Person,
    /// Whether the piece passed; a failed test sends the ticket back to `working`.
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
    /// The UUID that the ticket was opened under; it never changes.
    pub id: TicketId,
    /// The piece to repair; the ticket holds it out of service until it closes.
    pub piece: PieceId,
    /// The shop that is to repair it.
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
    /// Who asked for the repair by opening the ticket.
    pub opened_by: Person,
    /// Who took it on for the shop; null: nobody has yet.
    pub accepted_by: Option<Person>,
    /// Who is to work on it.
    #[serde(default)]
    pub assigned_to: Option<Person>,
    /// Until when the shop says that it is done.
    #[serde(default)]
    pub promise: Option<Promise>,
    /// Why it waits, while it does.
    #[serde(default)]
    pub hold_reason: Option<WaitReason>,
    /// What for exactly: the part's name, the firm.
    pub hold_for: Option<String>,
    /// When the wait should end.
    pub expected_on: Option<NaiveDate>,
    /// When the piece should be ready: as the shop promised, else when what it waits for should be there; null: nobody has said.
    #[serde(default)]
    #[schema(required)]
    pub ready_on: Option<NaiveDate>,
    /// What it came from, once the shop has said so.
    #[serde(default)]
    pub cause: Option<Cause>,
    /// Parts, labour and work done outside; up to 200 lines.
    #[schema(max_items = 200)]
    pub lines: Vec<Line>,
    /// What the lines come to.
    #[serde(default)]
    #[schema(required)]
    pub sums: Sums,
    /// Tests, oldest first; up to 50.
    #[schema(max_items = 50)]
    pub tests: Vec<Test>,
    /// When it was closed.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// Who closed it: who returned the piece to service.
    pub closed_by: Option<Person>,
    /// What was done, or why it was closed without the piece, up to 4,000 characters; null: open, or not said.
    pub note: Option<String>,
    /// The commands that the ticket allows as it is: any other is refused. Whether a test is enough, `ticket.return` itself says.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<Step>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Ticket {
    /// When the piece should be ready: as the shop promised, else when what it waits for should be there; none where nobody has said.
    pub fn ready_on(&self) -> Option<NaiveDate> {
        self.promise.as_ref().map(|promise| promise.on).or(self.expected_on)
    }
}

impl Record for Ticket {
    const KIND: &'static str = "ticket";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self);
        self.ready_on = self.ready_on();
        self.sums = sums(&self.lines);
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
