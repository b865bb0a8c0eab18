use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};
use fullset_calc::capability::Level;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        ids::MemberId,
        person::Person,
        record::{Index, Record},
    },
    slices::{
        receivers::{ChangeKind, ReceiverId, Way},
        rigs::RigId,
    },
};

crate::id!(
    /// An alert.
    AlertId
);

/// How a rig or a district stands, in the one word that dispatch is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stands {
    /// The rig is out of service.
    OutOfService,
    /// The rig meets no grade: its level is none.
    None,
    /// The rig can begin an extrication.
    Limited,
    /// The rig can do a full extrication.
    Full,
    /// The rig can do more than that.
    Heavy,
    /// The district has fewer full rigs than it needs.
    Short,
    /// The district has as many full rigs as it needs.
    Enough,
}

/// By what way somebody was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldBy {
    /// A signed POST to a receiver's address.
    Webhook,
    /// An e-mail to a receiver's address.
    Email,
    /// A notice on the phone of a member of the agency.
    Phone,
}

impl From<Way> for ToldBy {
    fn from(way: Way) -> Self {
        match way {
            Way::Webhook => Self::Webhook,
            Way::Email => Self::Email,
        }
    }
}

/// How far a receiver has been told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum TellingState {
    /// The message waits to be sent for the first time, or was sent again by a member.
    Waiting,
    /// The message was sent and not taken; it is tried again.
    Failing,
    /// The receiver took the message.
    Taken,
    /// The message was tried for a day and not taken; a member may send it again.
    GivenUp,
    /// The receiver is switched off or withdrawn, or the phone was signed out; nothing is sent.
    Stopped,
}

/// How somebody acknowledged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Through {
    /// By the answer to the message.
    Answer,
    /// By the message's code.
    Code,
    /// A member said so.
    Member,
}

/// Who acknowledged, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Acknowledged {
    /// When it was acknowledged (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who: a member, or the desk or person that the receiver named, without an id.
    pub by: Person,
    /// By what way: the answer to the message, its code, or a member's word.
    pub through: Through,
    /// In their own words, where a member added some.
    pub note: Option<String>,
}

/// What one receiver was told of an alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Telling {
    /// The receiver that was told, or the phone; it may be switched off, withdrawn or signed out by now.
    pub receiver: ReceiverId,
    /// Its name of then; of a phone the name of its member.
    pub name: String,
    /// The way that it was told by: a signed webhook, an e-mail, or a notice on a member's phone.
    pub way: ToldBy,
    /// Whose phone it is; null where a receiver outside was told.
    #[serde(default)]
    #[schema(required)]
    pub member: Option<MemberId>,
    /// How far it has come.
    pub state: TellingState,
    /// Since when it has come so far (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// When the receiver took it.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub taken_at: Option<DateTime<Utc>>,
    /// What stood in the way, in a sentence, where the last try failed.
    pub problem: Option<String>,
    /// Who acknowledged it; null: nobody has yet.
    pub acknowledged: Option<Acknowledged>,
}

/// A change that receivers outside the service, and officers by their phones, are told of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Alert {
    /// The alert's id; its messages are sent under it too.
    pub id: AlertId,
    /// Whether a rig fell or rose, or a district is short or has enough again.
    pub change: ChangeKind,
    /// The agency's revision that changed it. Of two alerts about one rig or district the one with the higher number is the later.
    pub revision: i64,
    /// Since when it stands so.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// The rig; null where a district is meant.
    pub rig: Option<RigId>,
    /// The station that the rig belonged to then; null where a district is meant.
    pub station: Option<Uuid>,
    /// The district that is meant, or the one that the rig belonged to then.
    pub district: Option<Uuid>,
    /// The name of the rig or the district.
    pub name: String,
    /// How it stood before.
    pub before: Stands,
    /// How the rig or the district stands since the change.
    pub after: Stands,
    /// Whether checked pieces alone reach the level of the rig; false: it stands so by the records, and `reason` says what is not
    /// confirmed. Null where the rig has no level, where a district is meant, and in alerts from before this was told.
    #[serde(default)]
    #[schema(required)]
    pub confirmed: Option<bool>,
    /// The level that the rig's class is expected to reach; null: none is set.
    pub expected: Option<Level>,
    /// Full rigs of the district by the records, front line and in service; null where a rig is meant.
    pub full: Option<u32>,
    /// Those of them whose level is confirmed; null where a rig is meant, and in alerts from before this was told.
    #[serde(default)]
    #[schema(required)]
    pub confirmed_full: Option<u32>,
    /// How many it needs at least.
    pub min_full: Option<u32>,
    /// Why, in a sentence, without anybody's own words.
    pub reason: String,
    /// The day on which the shops expect the last of what the rig lacks, where they have named one for each need that is not met.
    pub expected_back: Option<NaiveDate>,
    /// Who is told: 20 receivers and 100 phones at most.
    #[schema(max_items = 120)]
    pub told: Vec<Telling>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Alert {
    /// Whether somebody who was told has not acknowledged: each receiver outside for itself; of the phones of members, one that has is enough.
    pub fn is_open(&self) -> bool {
        let (phones, outside): (Vec<&Telling>, Vec<&Telling>) = self.told.iter().partition(|telling| telling.way == ToldBy::Phone);
        let silent = |telling: &&Telling| telling.acknowledged.is_none();
        outside.iter().any(silent) || (!phones.is_empty() && phones.iter().all(silent))
    }

    /// What a receiver was told.
    pub fn telling(&mut self, receiver: ReceiverId) -> Option<&mut Telling> {
        self.told.iter_mut().find(|telling| telling.receiver == receiver)
    }
}

impl Record for Alert {
    const KIND: &'static str = "alert";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["open", "acknowledged"]
    }

    fn index(&self) -> Index {
        let at = self.at.to_rfc3339_opts(SecondsFormat::Micros, true);
        // Lists are in the order of labels: what nobody has acknowledged stands first, because digits do.
        let (state, label) = if self.is_open() {
            ("open", at)
        } else {
            ("acknowledged", format!("acknowledged {at}"))
        };
        Index {
            label,
            state: state.into(),
            parent: self.rig.map(|rig| rig.0).or(self.district),
            ..Index::default()
        }
    }
}
