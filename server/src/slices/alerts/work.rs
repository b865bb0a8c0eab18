//! Sends what is due. Each receiver gets its messages one after another, the least tried and then the oldest first; receivers do not wait
//! for each other.

use std::{
    collections::HashSet,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use tokio::task::JoinSet;
use uuid::Uuid;

use super::{
    Alert,
    feed::{TellingState, ToldBy},
    letter::{letter, notice},
    mail::Mail,
    message,
    ops::NoteTelling,
    outward::{Post, Posted, Sender},
    rows::{self, Key, Row},
    rules::{Answered, SPREAD, Tried, answered, next_try, problem},
};
use crate::{
    platform::{
        auth::Actor,
        db::Db,
        door::{Act as _, Outcome},
        error::Fault,
        http::Shared,
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        agencies::Agency,
        members::Member,
        receivers::{ChangeKind, Receiver, ReceiverId, Way, secret},
        subscriptions::{self, Subscription},
    },
};

/// How long it sleeps between looks at what is due, unless something has changed; a look is one indexed query.
const STEP: Duration = Duration::from_secs(1);
/// For how long a message is one process's to send; longer than sending takes.
const LEASE: TimeDelta = TimeDelta::seconds(60);
/// The most receivers that are told at once.
const MOST_AT_ONCE: usize = 16;
/// How long a message can be sent again, and acknowledged by its code.
const KEPT: TimeDelta = TimeDelta::days(90);

/// A receiver of an agency.
type Whom = (AgencyId, Uuid);

/// Runs until it is dropped. What it has begun then is begun again when its lease is over.
pub async fn keep_telling(shared: Arc<Shared>, sender: Arc<Sender>) {
    let (mut news, mut at_work) = (shared.door.news(), JoinSet::new());
    let busy: Arc<Mutex<HashSet<Whom>>> = Arc::default();
    let mut tidied = None;
    loop {
        while at_work.try_join_next().is_some() {}
        let now = sender.now();
        if tidied.is_none_or(|day| day != now.date_naive()) {
            tidied = Some(now.date_naive());
            log(sender.work(move |db| rows::forget(db, now - KEPT)).await);
            log(sender.work(move |db| subscriptions::forget_ended(db, now)).await);
        }
        let due = log(sender.work(move |db| rows::receivers_due(db, now, 500)).await).unwrap_or_default();
        for whom in due {
            let mut told = busy.lock().unwrap_or_else(PoisonError::into_inner);
            if told.len() >= MOST_AT_ONCE || !told.insert(whom) {
                continue;
            }
            let (shared, sender, place) = (Arc::clone(&shared), Arc::clone(&sender), Place(Arc::clone(&busy), whom));
            at_work.spawn(async move {
                let _place = place;
                log(tell(&shared, &sender, whom).await);
            });
        }
        tokio::select! {
            () = tokio::time::sleep(STEP) => {}
            told = news.recv() => if told.is_err() { tokio::time::sleep(STEP).await },
        }
    }
}

/// A receiver's place among those that are being told; given up when dropped.
struct Place(Arc<Mutex<HashSet<Whom>>>, Whom);

impl Drop for Place {
    fn drop(&mut self) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&self.1);
    }
}

fn log<T>(done: Result<T, Fault>) -> Option<T> {
    done.inspect_err(|fault| tracing::warn!(cause = ?fault.cause, %fault, "messages to dispatch are sent a moment later"))
        .ok()
}

/// Sends a receiver what is due to it, until something fails.
async fn tell(shared: &Arc<Shared>, sender: &Sender, whom: Whom) -> Result<(), Fault> {
    loop {
        let now = sender.now();
        let Some(row) = sender.work(move |db| rows::claim(db, whom, now, now + LEASE)).await? else {
            return Ok(());
        };
        if !tell_once(shared, sender, row).await? {
            return Ok(());
        }
    }
}

/// To whom a message goes.
enum To {
    /// A program, with what its messages are signed with.
    Program(Receiver, Vec<u8>),
    /// A desk that reads e-mail.
    Desk(Receiver),
    /// A member's phone.
    Phone(Box<Subscription>),
}

/// What a message is made of.
struct Loaded {
    alert: Alert,
    /// None where it is not told any more.
    to: Option<To>,
    /// Whether it is for a phone.
    by_phone: bool,
    /// The agency's time zone.
    zone: Tz,
}

/// What a message is made of; none where its alert is not there.
fn load(db: &mut Db, key: Key, now: DateTime<Utc>) -> Result<Option<Loaded>, Fault> {
    let Some(alert) = record::find(db, key.agency, Alert::KIND, key.alert)?.filter(|row| !row.gone) else {
        return Ok(None);
    };
    let mut alert: Alert = alert.read()?;
    let agency = record::find(db, key.agency, Agency::KIND, key.agency.0)?;
    let agency: Option<Agency> = agency.map(|row| row.read()).transpose()?;
    let by_phone = alert.telling(ReceiverId(key.receiver)).is_some_and(|telling| telling.way == ToldBy::Phone);
    let to = if by_phone {
        phone(db, key, &alert, now)?.map(|phone| To::Phone(Box::new(phone)))
    } else {
        receiver(db, key)?
    };
    Ok(Some(Loaded {
        alert,
        to,
        by_phone,
        zone: agency.map_or(Tz::UTC, |agency| agency.time_zone),
    }))
}

/// The phone that a message is for, while its member is to be told of it.
fn phone(db: &mut Db, key: Key, alert: &Alert, now: DateTime<Utc>) -> Result<Option<Subscription>, Fault> {
    let Some(phone) = subscriptions::find(db, key.agency, key.receiver, now)? else {
        return Ok(None);
    };
    let member = record::find(db, key.agency, Member::KIND, phone.member.into())?.filter(|row| !row.gone);
    let member: Option<Member> = member.map(|row| row.read()).transpose()?;
    let hears = member.is_some_and(|member| subscriptions::hears(&member, &ChangeKind::ALL, alert.change, alert.district, alert.station));
    Ok(hears.then_some(phone))
}

/// The receiver outside that a message is for, while it is told.
fn receiver(db: &mut Db, key: Key) -> Result<Option<To>, Fault> {
    let receiver = record::find(db, key.agency, Receiver::KIND, key.receiver)?.filter(|row| !row.gone);
    let receiver: Option<Receiver> = receiver.map(|row| row.read()).transpose()?;
    let Some(receiver) = receiver.filter(|receiver| receiver.switched_off.is_none()) else {
        return Ok(None);
    };
    Ok(match receiver.way {
        Way::Email => Some(To::Desk(receiver)),
        Way::Webhook => secret(db, key.agency, key.receiver)?.map(|secret| To::Program(receiver, secret)),
    })
}

/// Sends one message; answers whether the receiver takes more.
async fn tell_once(shared: &Arc<Shared>, sender: &Sender, row: Row) -> Result<bool, Fault> {
    let (key, tries) = (row.key(), row.tries);
    let now = sender.now();
    let loaded = sender.work(move |db| load(db, key, now)).await?;
    let note = |state, problem| NoteTelling {
        id: super::AlertId(key.alert),
        receiver: ReceiverId(key.receiver),
        state,
        problem,
        tries,
        due: None,
        switch_off: false,
        acknowledged_by: None,
    };
    let Some(mut loaded) = loaded else {
        sender.work(move |db| rows::settle(db, key, None, tries)).await?;
        return Ok(true);
    };
    let Some(posted) = send_once(sender, &loaded, &row).await? else {
        let why = if loaded.by_phone {
            "The phone was signed out, or its member is not told of this any more"
        } else {
            "The receiver is switched off or withdrawn"
        };
        note_down(shared, key.agency, note(TellingState::Stopped, Some(why.to_owned()))).await?;
        return Ok(true);
    };
    let (came, why, retry_after) = match posted {
        Posted::Taken => {
            note_down(shared, key.agency, note(TellingState::Taken, None)).await?;
            return Ok(true);
        }
        Posted::Refused(why) => {
            note_down(shared, key.agency, note(TellingState::GivenUp, Some(why))).await?;
            return Ok(true);
        }
        Posted::Answered {
            status,
            retry_after,
            acknowledged_by,
        } => match answered(status) {
            Answered::Taken => {
                let taken = NoteTelling {
                    acknowledged_by,
                    ..note(TellingState::Taken, None)
                };
                note_down(shared, key.agency, taken).await?;
                return Ok(true);
            }
            Answered::Gone => {
                let why = if loaded.by_phone {
                    "Its push service knows the phone no more: notices were switched off there"
                } else {
                    "It answered 410: it wants no more messages"
                };
                let gone = NoteTelling {
                    switch_off: true,
                    ..note(TellingState::Stopped, Some(why.to_owned()))
                };
                note_down(shared, key.agency, gone).await?;
                return Ok(true);
            }
            came => (came, problem(status), retry_after),
        },
        Posted::Unreached(why) => (Answered::Closed, why, None),
    };
    let tries = tries.saturating_add(1);
    let now = sender.now();
    let next = next_try(Tried {
        tries,
        began_at: row.began_at.0,
        now,
        retry_after,
        chance: rand::random_range(0..=SPREAD),
    });
    let failed = NoteTelling {
        tries,
        due: next,
        ..note(if next.is_some() { TellingState::Failing } else { TellingState::GivenUp }, Some(why.clone()))
    };
    // What the record says already is not written once more.
    let known = loaded
        .alert
        .telling(ReceiverId(key.receiver))
        .is_some_and(|telling| telling.state == failed.state && telling.problem == failed.problem);
    if known {
        sender.work(move |db| rows::settle(db, key, next, tries)).await?;
    } else {
        note_down(shared, key.agency, failed).await?;
    }
    if came == Answered::Closed {
        let until = next.unwrap_or(now + LEASE);
        sender.work(move |db| rows::put_off(db, (key.agency, key.receiver), until)).await?;
    }
    Ok(came != Answered::Closed)
}

/// Sends a message by its receiver's way; none where the receiver is not told any more.
async fn send_once(sender: &Sender, loaded: &Loaded, row: &Row) -> Result<Option<Posted>, Fault> {
    let alert = &loaded.alert;
    Ok(Some(match &loaded.to {
        None => return Ok(None),
        Some(To::Phone(phone)) => {
            let urgent = matches!(alert.change, ChangeKind::RigFalls | ChangeKind::DistrictShort);
            sender.push(phone, &notice(alert, loaded.zone), urgent).await?
        }
        Some(To::Desk(receiver)) => {
            let mail = Mail {
                to: &receiver.address,
                letter: &letter(alert, &row.code, sender.origin(), loaded.zone),
                about: (alert.id.0, receiver.id.0),
                at: sender.now(),
            };
            sender.mail(mail).await
        }
        Some(To::Program(receiver, secret)) => {
            let (id, body) = (alert.id.to_string(), message::body(AgencyId(row.agency.0), alert, &row.code)?);
            let post = Post {
                address: &receiver.address,
                secret,
                id: &id,
                body: &body,
            };
            sender.post(post).await
        }
    }))
}

/// Notes how a message fared, and what is to be done with it next.
async fn note_down(shared: &Arc<Shared>, agency: AgencyId, note: NoteTelling) -> Result<(), Fault> {
    // Each try is a command of its own. One whose note is lost is tried again, under the message's own id.
    let cause = Uuid::new_v4().to_string();
    let answer = shared
        .door
        .send_own(dispatcher(agency), NoteTelling::KIND, &cause, &serde_json::to_value(&note)?)
        .await?;
    match answer.outcome {
        Outcome::Applied => Ok(()),
        other => Err(anyhow::anyhow!("how a message fared was not noted: {other:?} {:?}", answer.problem).into()),
    }
}

/// The message that a code acknowledges.
pub async fn code_of(shared: &Arc<Shared>, code: String) -> Result<Option<Key>, Fault> {
    shared.read(move |db| rows::by_code(db, &code)).await
}

/// Who acts where the service itself notes how a message fared.
pub fn dispatcher(agency: AgencyId) -> Actor {
    Actor::service(agency, "telling dispatch")
}
