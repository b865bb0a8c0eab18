//! What of this service phones are told with: the key that push services know it by, and the contact that it gives them.

use std::sync::{Arc, OnceLock};

use super::{
    PushContact, Subscription, SubscriptionId,
    rows::{add, of_member, remove},
};
use crate::platform::{
    auth::{PushKey, SealingKey, end_of, push_key, refusal},
    clock::Clock,
    db::{Access, Db, Pool},
    error::Fault,
    ids::{AgencyId, MemberId},
    outward::Outward,
};

/// What phones are told with.
#[allow(missing_debug_implementations)]
pub struct Phones {
    writers: Pool,
    clock: Clock,
    sealing: Option<SealingKey>,
    /// None: whoever runs the service has named nobody, and phones are told nothing.
    contact: Option<PushContact>,
    outward: Outward,
    key: OnceLock<PushKey>,
}

impl Phones {
    /// By the operator's settings.
    pub fn new((writers, clock): (&Pool, &Clock), sealing: Option<SealingKey>, contact: Option<PushContact>, outward: Outward) -> Self {
        Self {
            writers: writers.clone(),
            clock: clock.clone(),
            sealing,
            contact,
            outward,
            key: OnceLock::new(),
        }
    }

    /// Whom push services may ask; none: phones are told nothing.
    pub fn contact(&self) -> Option<&PushContact> {
        self.contact.as_ref()
    }

    /// Where messages may go.
    pub fn outward(&self) -> Outward {
        self.outward
    }

    /// The phones of a member that get notices, and the key that browsers are given; none where nothing is offered.
    pub async fn own(self: &Arc<Self>, agency: AgencyId, member: MemberId) -> Result<(Option<String>, Vec<Subscription>), Fault> {
        let now = self.clock.now();
        self.work(move |db, own| {
            let key = match own.contact {
                Some(_) => Some(own.key(db)?.public.clone()),
                None => None,
            };
            Ok((key, of_member(db, agency, member, now)?))
        })
        .await
    }

    /// Adds a phone of a member. A sign-in that was ended meanwhile adds none.
    pub async fn add(self: &Arc<Self>, new: Subscription) -> Result<Subscription, Fault> {
        let now = self.clock.now();
        self.work(move |db, own| {
            // What is given for a key that nobody has made yet would be forgotten when it is made.
            own.key(db)?;
            db.transaction(Access::Write, |db| {
                if let Some(revoked) = end_of(db, new.sign_in)? {
                    return Err(refusal(revoked));
                }
                add(db, &new, now)?;
                Ok(new)
            })
        })
        .await
    }

    /// Takes one of a member's own phones off; answers whether it was there.
    pub async fn remove(self: &Arc<Self>, agency: AgencyId, member: MemberId, id: SubscriptionId) -> Result<bool, Fault> {
        self.work(move |db, _| db.transaction(Access::Write, |db| remove(db, agency, member, id.0)))
            .await
    }

    /// Works on the database on a thread that may block.
    pub async fn work<T: Send + 'static>(self: &Arc<Self>, work: impl FnOnce(&mut Db, &Self) -> Result<T, Fault> + Send + 'static) -> Result<T, Fault> {
        let own = Arc::clone(self);
        tokio::task::spawn_blocking(move || work(&mut *own.writers.get().map_err(anyhow::Error::from)?, &own))
            .await
            .map_err(|error| anyhow::anyhow!("work on the phones of members ended early: {error}"))?
    }

    /// The key, which the first who asks makes.
    pub fn key(&self, db: &mut Db) -> Result<&PushKey, Fault> {
        if let Some(known) = self.key.get() {
            return Ok(known);
        }
        let found = push_key(db, self.clock.now(), self.sealing.as_ref())?;
        Ok(self.key.get_or_init(|| found))
    }

    /// `Authorization` for a push service, by the origin of the address that a notice goes to.
    pub async fn authorization(self: &Arc<Self>, origin: String) -> Result<Option<String>, Fault> {
        let Some(PushContact(contact)) = self.contact.clone() else { return Ok(None) };
        let now = self.clock.now();
        if let Some(key) = self.key.get() {
            return key.authorization(&origin, &contact, now).map(Some);
        }
        self.work(move |db, own| own.key(db)?.authorization(&origin, &contact, now).map(Some)).await
    }
}
