use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Alert, AlertId,
    feed::{Acknowledged, TellingState, Through, ToldBy},
    rows::{self, Key},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Write, text},
        error::Fault,
    },
    slices::{
        receivers::{Receiver, ReceiverId},
        subscriptions,
    },
};

/// Says that whoever was told knows of it: by telephone, over the radio. Without a receiver, all who have not acknowledged.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AcknowledgeAlert {
    /// The alert that whoever was told knows of; one that somebody has not acknowledged.
    pub id: AlertId,
    /// The receiver that knows, or the phone whose member does; null: all of them.
    #[serde(default)]
    pub receiver: Option<ReceiverId>,
    /// How: up to 4,000 characters.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for AcknowledgeAlert {
    const KIND: &'static str = "alert.acknowledge";
    const SUMMARY: &'static str = "Say that whoever was told of a change knows of it";
    const DONE: &'static str = "Acknowledged";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Alert>(self.id)?;
        write.reach(stored.scope)?;
        let mut alert = stored.record;
        let acknowledged = Acknowledged {
            at: write.head.at,
            by: write.actor.person(),
            through: Through::Member,
            note: self.note.as_deref().map(|note| text("body.note", note)).transpose()?,
        };
        if let Some(receiver) = self.receiver
            && alert.telling(receiver).is_none()
        {
            return Err(Fault::field("body.receiver", "This receiver was not told of it"));
        }
        let mut open = 0;
        for telling in &mut alert.told {
            if self.receiver.is_none_or(|receiver| receiver == telling.receiver) && telling.acknowledged.is_none() {
                telling.acknowledged = Some(acknowledged.clone());
                open += 1;
            }
        }
        if open == 0 {
            return Err(Fault::rule("This was acknowledged before; the alert says by whom"));
        }
        write.save(alert, stored.scope)
    }
}

/// Sends the message of an alert to one receiver again: the same message under the same id.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ResendAlert {
    /// The alert whose message is sent again.
    pub id: AlertId,
    /// The receiver that it is sent to, or the phone: one that was told of it and is not switched off.
    pub receiver: ReceiverId,
}

impl Act for ResendAlert {
    const KIND: &'static str = "alert.resend";
    const SUMMARY: &'static str = "Send the message of a change to a receiver again";
    const DONE: &'static str = "Sent again";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Alert>(self.id)?;
        write.reach(stored.scope)?;
        let mut alert = stored.record;
        let now = write.now();
        let Some(telling) = alert.telling(self.receiver) else {
            return Err(Fault::field("body.receiver", "This receiver was not told of it"));
        };
        let (agency, by_phone) = (write.agency, telling.way == ToldBy::Phone);
        if by_phone && subscriptions::find(write.reading_beside(), agency, self.receiver.0, now)?.is_none() {
            return Err(Fault::rule("This phone gets no notices any more; tell them by another way"));
        }
        match write.look::<Receiver>(self.receiver)? {
            _ if by_phone => {}
            None => return Err(Fault::rule("This receiver was withdrawn; tell them by another way")),
            Some(receiver) if receiver.record.switched_off.is_some() => return Err(Fault::rule("This receiver is switched off; switch it on first")),
            Some(_) => {}
        }
        if let Some(telling) = alert.telling(self.receiver) {
            (telling.state, telling.since, telling.problem) = (TellingState::Waiting, now, None);
        }
        let key = Key {
            agency,
            alert: self.id.0,
            receiver: self.receiver.0,
        };
        if !rows::again(write.beside(), key, now)? {
            return Err(Fault::rule("This message is too old to be sent again; tell them by another way"));
        }
        write.save(alert, stored.scope)
    }
}
