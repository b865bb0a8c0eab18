use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    plate::{self, MadeOn},
    ratings::{Kind, Term},
    release::DefectClass,
};
use fullset_care::life::PartMade;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Place,
    marks::{BaselineValue, CycleCount, Lender, NoticeMark, Pass, Released, Trial},
    rules::{PieceAct, allows, mark_of},
};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::models::ModelId,
};

crate::id!(
    /// A piece.
    PieceId
);
crate::id!(
    /// A tool set.
    ToolSetId
);

/// Whether a piece may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PieceState {
    /// It may be used.
    InService,
    /// It must not be used.
    OutOfService,
    /// Nobody can find it. It keeps its last place.
    Missing,
    /// It has left the register.
    Retired,
}

impl PieceState {
    /// The state in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::InService => "in_service",
            Self::OutOfService => "out_of_service",
            Self::Missing => "missing",
            Self::Retired => "retired",
        }
    }
}

/// What keeps a piece out of service until a person closes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Hold {
    /// Whether an open defect or a repair ticket holds it.
    pub by: HoldBy,
    /// The defect's or ticket's id.
    pub id: Uuid,
}

/// What can hold a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HoldBy {
    /// An open defect that puts it out of service.
    Defect,
    /// An open repair ticket.
    Ticket,
}

/// What a release of the piece must still answer for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Unanswered {
    /// What kind of thing is wrong.
    pub class: DefectClass,
    /// The defect, where one was reported.
    #[serde(default)]
    #[schema(required)]
    pub defect: Option<Uuid>,
}

impl Unanswered {
    /// Taken out for something that nobody has named.
    pub fn unnamed() -> Self {
        Self {
            class: DefectClass::Other,
            defect: None,
        }
    }
}

/// Under which limit, and until when, the piece may be used in spite of an open defect.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PieceLimit {
    /// The open defect that the limit comes from.
    pub defect: Uuid,
    /// What was found, in the crew's own words.
    #[serde(default)]
    #[schema(required)]
    pub what: String,
    /// What the crew must not do, and what to do instead: it may be used only so.
    pub words: String,
    /// Ratings that do not count while the defect is open.
    #[serde(default)]
    #[schema(required, max_items = 8)]
    pub without: Vec<Term>,
    /// Why the agency's own rule lets the piece stay in use, where the shipped one would not, or not for so long.
    #[serde(default)]
    #[schema(required)]
    pub own_rule: Option<String>,
    /// Since when the defect is known.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// The instant from which on it is not usable, unless the defect is closed.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub repair_by: DateTime<Utc>,
}

/// One tracked thing with an asset tag.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Piece {
    /// The UUID that the piece was added under; it never changes.
    pub id: PieceId,
    /// Its asset tag; no other piece has or had it.
    pub tag: String,
    /// Id of its model.
    pub model: ModelId,
    /// What it is: its model's kind.
    pub kind: Kind,
    /// The maker's serial number.
    pub serial: Option<String>,
    /// Date of make, from its label: a day, or a month where the label names no day. Unknown is not young.
    pub made_on: Option<MadeOn>,
    /// Dates of make of its parts; 6 at most.
    #[serde(default)]
    #[schema(required, max_items = 6)]
    pub parts: Vec<PartMade>,
    /// Of a battery pack: its charge cycles.
    #[serde(default)]
    #[schema(required)]
    pub cycles: Option<CycleCount>,
    /// In service with the agency since.
    pub in_service_since: Option<NaiveDate>,
    /// When it was entered in the register: no check was asked of it before.
    #[serde(default)]
    #[schema(required)]
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub registered_at: Option<DateTime<Utc>>,
    /// Its last annual service.
    pub last_service_on: Option<NaiveDate>,
    /// Whether it may be used.
    pub state: PieceState,
    /// Since when it is in this state.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub state_since: DateTime<Utc>,
    /// Why, in a member's words.
    pub state_reason: Option<String>,
    /// Who put it in this state.
    pub state_by: Person,
    /// Whether it is out of service for planned service alone, which is no failure.
    #[serde(default)]
    #[schema(required)]
    pub planned: bool,
    /// What keeps it out of service.
    pub holds: Vec<Hold>,
    /// What its return must answer for.
    #[serde(default)]
    #[schema(required)]
    pub unanswered: Vec<Unanswered>,
    /// The limits of its open defects that may stay usable; up to 60. Past the first `repair_by` it is not usable.
    #[serde(default)]
    #[schema(required, max_items = 60)]
    pub limits: Vec<PieceLimit>,
    /// When it was last used, as far as uses are recorded.
    #[serde(default)]
    #[schema(required)]
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub used_at: Option<DateTime<Utc>>,
    /// When it was last used although it was out of service; until a person returns it.
    #[serde(default)]
    #[schema(required)]
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub used_while_out: Option<DateTime<Utc>>,
    /// When it was last looked over and found sound.
    #[serde(default)]
    #[schema(required)]
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub checked_at: Option<DateTime<Utc>>,
    /// Who found it sound at `checked_at`; null: nobody has looked it over yet.
    #[serde(default)]
    #[schema(required)]
    pub checked_by: Option<Person>,
    /// When it came aboard the rig that it is on; null where it is on none, or was registered there and never moved.
    #[serde(default)]
    #[schema(required)]
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub aboard_since: Option<DateTime<Utc>>,
    /// That it was tried on the rig that it is on. Until then a piece that came aboard is not confirmed there.
    #[serde(default)]
    #[schema(required)]
    pub tried: Option<Trial>,
    /// Its acceptance test; up to 20 values.
    #[serde(default)]
    #[schema(required, max_items = 20)]
    pub baseline: Vec<BaselineValue>,
    /// When it last passed a check by each plan; up to 60.
    #[serde(default)]
    #[schema(required, max_items = 60)]
    pub passes: Vec<Pass>,
    /// What was last said of it for each safety notice; up to 100.
    #[serde(default)]
    #[schema(required, max_items = 100)]
    pub notices: Vec<NoticeMark>,
    /// What its last release rests on.
    #[serde(default)]
    #[schema(required)]
    pub released: Option<Released>,
    /// How it was made unusable, when it was retired.
    #[serde(default)]
    #[schema(required)]
    pub disposal: Option<String>,
    /// Where it is now; in transit it counts nowhere.
    pub place: Place,
    /// Where it belongs and goes back to; null: nowhere.
    pub home: Option<Place>,
    /// Of a hose: the source that it is fixed to, as a reel or a whip is. It serves that one only and moves with it.
    #[serde(default)]
    #[schema(required)]
    pub fixed_to: Option<PieceId>,
    /// Who lends it to the agency, where it is not the agency's own.
    #[serde(default)]
    #[schema(required)]
    pub lent_by: Option<Lender>,
    /// The rig's place in a rollout that it is kept for: until that changeover it goes aboard no rig; null: it is kept for none.
    #[serde(default)]
    #[schema(required)]
    pub kept_for: Option<Uuid>,
    /// The set that it was issued with.
    pub tool_set: Option<ToolSetId>,
    /// What else is worth knowing, up to 4,000 characters; null: nothing.
    pub note: Option<String>,
    /// The commands that the piece allows as it is: any other is refused. Whether the member may send one is in `may` of the
    /// session; what another record says (an open swap, an open defect) is not looked at.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<PieceAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Piece {
    /// A piece that has just come on record, in service, with nothing known of it and nothing done to it.
    pub fn new(id: PieceId, tag: String, (model, kind): (ModelId, Kind), place: Place, (since, by): (DateTime<Utc>, Person)) -> Self {
        Self {
            id,
            tag,
            model,
            kind,
            serial: None,
            made_on: None,
            parts: Vec::new(),
            cycles: None,
            in_service_since: None,
            registered_at: Some(since),
            last_service_on: None,
            state: PieceState::InService,
            state_since: since,
            state_reason: None,
            state_by: by,
            planned: false,
            holds: Vec::new(),
            unanswered: Vec::new(),
            limits: Vec::new(),
            used_at: None,
            used_while_out: None,
            checked_at: None,
            checked_by: None,
            aboard_since: None,
            tried: None,
            baseline: Vec::new(),
            passes: Vec::new(),
            notices: Vec::new(),
            released: None,
            disposal: None,
            home: None,
            place,
            fixed_to: None,
            lent_by: None,
            kept_for: None,
            tool_set: None,
            note: None,
            allows: Vec::new(),
            rev: 0,
        }
    }

    /// What is stamped on it, as it is compared. A retired piece leaves its number free.
    pub fn mark(&self) -> Option<String> {
        let serial = self.serial.as_deref().filter(|_| self.state != PieceState::Retired);
        serial.map(|serial| mark_of(self.model, serial))
    }

    /// Puts it at a place. On a rig that it was not on before it has not been tried.
    pub fn put_at(&mut self, place: Place, at: DateTime<Utc>) {
        let (before, now) = (self.place.rig(), place.rig());
        if before != now {
            self.aboard_since = now.map(|_| at);
            self.tried = None;
        }
        self.place = place;
    }

    /// When it came aboard its rig, where nobody has tried it there since. Accessories are not joined to anything.
    pub fn untried_since(&self) -> Option<DateTime<Utc>> {
        self.aboard_since
            .filter(|_| self.kind != Kind::Accessory && self.place.rig().is_some())
            .filter(|since| self.tried.as_ref().is_none_or(|tried| tried.at < *since))
    }
}

impl Record for Piece {
    const KIND: &'static str = "piece";
    const JUDGED: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self);
    }

    fn tagged_as(tag: &str) -> Option<String> {
        Some(tag.trim().to_lowercase())
    }

    fn stamped_as(serial: &str) -> Option<String> {
        Some(format!(":{}", plate::plain_serial(serial)))
    }

    fn states() -> Vec<&'static str> {
        [PieceState::InService, PieceState::OutOfService, PieceState::Missing, PieceState::Retired]
            .map(PieceState::word)
            .into()
    }

    fn index(&self) -> Index {
        Index {
            label: self.tag.clone(),
            uniq: Some(self.tag.to_lowercase()),
            mark: self.mark(),
            state: self.state.word().into(),
            parent: Some(self.model.0),
        }
    }
}
