use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{models::ModelId, photos::PhotoName, rig_classes::RigClassId},
};

crate::id!(
    /// An operating card: the id of the model or rig class that it is about.
    CardId
);
crate::id!(
    /// A draft of an operating card.
    CardDraftId
);

/// What a card is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "of", rename_all = "snake_case", deny_unknown_fields)]
pub enum CardSubject {
    /// How a model is run.
    Model {
        /// The model that the card says how to run.
        model: ModelId,
    },
    /// How the agency stows and uses what the rigs of a class carry.
    RigClass {
        /// The rig class whose gear the card says how to stow and use.
        rig_class: RigClassId,
    },
}

impl CardSubject {
    /// The id of its card.
    pub const fn card(self) -> CardId {
        match self {
            Self::Model { model } => CardId(model.0),
            Self::RigClass { rig_class } => CardId(rig_class.0),
        }
    }
}

/// A section of a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CardSection {
    /// Where it is stowed.
    Stowed,
    /// How it is started or made ready.
    Start,
    /// Levers and valves.
    Levers,
    /// The controls on the tool.
    Controls,
    /// What is different from what it replaces.
    Differs,
    /// How it is shut down.
    ShutDown,
    /// How it goes back.
    Restow,
    /// Care after use.
    Care,
    /// Cautions beside the usual ones.
    Cautions,
}

/// A picture on a card.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CardPicture {
    /// The photo, by its name; it may be sent before the card or after it.
    pub photo: PhotoName,
    /// The section under which it stands.
    pub section: CardSection,
    /// What it shows, in words: 1 to 200 characters. Read aloud, and shown while the picture is not there.
    #[schema(min_length = 1, max_length = 200)]
    pub words: String,
}

/// What a card says: each section up to 2,000 characters, empty where nothing is said; all of them together 10,000 at most. Markdown of
/// paragraphs, lists (`- ` or `1. `), `**strong**` and `*stressed*` words, and nothing else.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CardText {
    /// Where it is stowed.
    #[schema(max_length = 2000)]
    pub stowed: String,
    /// How it is started or made ready.
    #[schema(max_length = 2000)]
    pub start: String,
    /// How the levers and valves are worked; empty: nothing is said.
    #[schema(max_length = 2000)]
    pub levers: String,
    /// The controls on the tool.
    #[schema(max_length = 2000)]
    pub controls: String,
    /// What is different from what it replaces.
    #[schema(max_length = 2000)]
    pub differs: String,
    /// How it is shut down.
    #[schema(max_length = 2000)]
    pub shut_down: String,
    /// How it goes back.
    #[schema(max_length = 2000)]
    pub restow: String,
    /// How it is cared for after use; empty: nothing is said.
    #[schema(max_length = 2000)]
    pub care: String,
    /// Cautions beside the usual ones, which every screen shows anyway.
    #[schema(max_length = 2000)]
    pub cautions: String,
    /// The model that it replaces, of the same kind; null: none, or a card of a rig class.
    pub replaces: Option<ModelId>,
    /// The pictures, in their order; at most 6.
    #[schema(max_items = 6)]
    pub pictures: Vec<CardPicture>,
}

/// What counts as the card of a model or rig class.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct OperatingCard {
    /// The id of the model or rig class, which is the card's as well.
    pub id: CardId,
    /// What it is about.
    pub subject: CardSubject,
    /// Which version it is, counted from 1.
    pub version: u32,
    /// What it says; null: it was withdrawn, and there is no card until the next version is approved.
    pub text: Option<CardText>,
    /// What is new in this version, in a few words.
    pub note: Option<String>,
    /// Who wrote it last.
    pub written_by: Person,
    /// When the draft that became this version was last written (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub written_at: DateTime<Utc>,
    /// Who approved it, and so answers for it.
    pub approved_by: Person,
    /// When that draft was approved (UTC); the version counts from then on.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub approved_at: DateTime<Utc>,
    /// When it was withdrawn; null: it counts.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub withdrawn_at: Option<DateTime<Utc>>,
    /// Who withdrew it; null while it counts.
    pub withdrawn_by: Option<Person>,
    /// Why it was withdrawn, up to 4,000 characters; null while it counts.
    pub withdrawn_reason: Option<String>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for OperatingCard {
    const KIND: &'static str = "operating_card";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["approved", "withdrawn"]
    }

    fn index(&self) -> Index {
        Index {
            label: format!("operating card, version {}", self.version),
            state: if self.text.is_some() { "approved" } else { "withdrawn" }.into(),
            parent: Some(self.id.0),
            ..Index::default()
        }
    }
}

/// A version that nobody has approved yet. It counts for nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CardDraft {
    /// The UUID that the draft was begun under; the card has another.
    pub id: CardDraftId,
    /// What the card is about.
    pub subject: CardSubject,
    /// The version of the card that was there when it was written last; 0: there was none.
    pub from_version: u32,
    /// What the card shall say.
    pub text: CardText,
    /// What is new in it, in a few words.
    pub note: Option<String>,
    /// Who wrote it last.
    pub written_by: Person,
    /// When it was last written (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub written_at: DateTime<Utc>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for CardDraft {
    const KIND: &'static str = "card_draft";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: "a draft of its operating card".into(),
            parent: Some(self.subject.card().0),
            ..Index::default()
        }
    }
}
