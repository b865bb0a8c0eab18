//! What the service itself notes of an alert: how a message fared, and that its receiver acknowledged it.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    Alert, AlertId,
    feed::{Acknowledged, Telling, TellingState, Through, ToldBy},
    rows::{self, Key},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Stored, Write, name},
        error::{self, Fault},
        person::Person,
    },
    slices::{
        receivers::{ReceiverId, switch_off},
        subscriptions,
    },
};

/// How a message fared.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoteTelling {
    /// The alert whose message was sent or tried.
    pub id: AlertId,
    /// The receiver that the message was for, or the phone.
    pub receiver: ReceiverId,
    /// How far it has come.
    pub state: TellingState,
    /// What stood in the way.
    pub problem: Option<String>,
    /// Tries that have failed.
    pub tries: i64,
    /// When it is tried again.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub due: Option<DateTime<Utc>>,
    /// Whether the receiver wants no more messages.
    pub switch_off: bool,
    /// Who acknowledged it in the answer.
    pub acknowledged_by: Option<String>,
}

impl Act for NoteTelling {
    const KIND: &'static str = "alert.note";
    const SUMMARY: &'static str = "Note how a message about a change fared; made by the service itself, never sent";
    const DONE: &'static str = "Message sent, or tried";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let Stored { record: mut alert, scope, .. } = write.find::<Alert>(self.id)?;
        let now = write.now();
        let key = Key {
            agency: write.agency,
            alert: self.id.0,
            receiver: self.receiver.0,
        };
        let Some(telling) = alert.telling(self.receiver) else {
            return Err(Fault::field("body.receiver", "This receiver was not told of it"));
        };
        if telling.state != self.state {
            (telling.state, telling.since) = (self.state, now);
        }
        telling.problem.clone_from(&self.problem);
        if self.state == TellingState::Taken {
            telling.taken_at = Some(now);
        }
        if let Some(by) = self.acknowledged_by.as_deref().and_then(|by| name("body.acknowledged_by", by).ok()) {
            acknowledge(telling, by, Through::Answer, now);
        }
        let by_phone = telling.way == ToldBy::Phone;
        rows::settle(write.beside(), key, self.due, self.tries)?;
        write.save(alert, scope)?;
        if self.switch_off && by_phone {
            subscriptions::end(write.beside(), key.agency, self.receiver.0)?;
        } else if self.switch_off {
            switch_off(write, self.receiver, self.problem.unwrap_or_else(|| "It wants no more messages".to_owned()))?;
        }
        Ok(())
    }
}

/// Keeps who acknowledged first.
fn acknowledge(telling: &mut Telling, by: String, through: Through, at: DateTime<Utc>) {
    telling.acknowledged.get_or_insert(Acknowledged {
        at,
        by: Person { id: None, name: by },
        through,
        note: None,
    });
}

/// A receiver acknowledges by the message's code.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AnswerAlert {
    /// The alert that the code belongs to.
    pub id: AlertId,
    /// The receiver that got the code in its message.
    pub receiver: ReceiverId,
    /// Who it says that it is.
    pub by: String,
}

impl Act for AnswerAlert {
    const KIND: &'static str = "alert.answer";
    const SUMMARY: &'static str = "Acknowledge by a message's code; made by the service itself, never sent";
    const DONE: &'static str = "Acknowledged by the receiver";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let Stored { record: mut alert, scope, .. } = write.find::<Alert>(self.id)?;
        let (by, now) = (name("body.by", &self.by)?, write.now());
        match alert.telling(self.receiver) {
            Some(telling) if telling.acknowledged.is_none() => acknowledge(telling, by, Through::Code, now),
            _ => return Err(Fault::new(error::CODE_UNKNOWN, "This code was used already: the message has been acknowledged").at("body.code")),
        }
        write.save(alert, scope)
    }
}
