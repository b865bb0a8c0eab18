use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    ChangeKind, Receiver, ReceiverId, SwitchedOff, Way, rows,
    rules::{SendsEmail, checked_mailbox, secret_bytes},
};
use crate::{
    platform::{
        db::Db,
        door::{Act, Permission, Reach, RevisionNeed, Write, at_most, name, text},
        error::Fault,
        ids::AgencyId,
        outward::{Outward, checked_address},
        patch,
        record::Scope,
    },
    slices::{
        districts::{District, DistrictId},
        stations::{Station, StationId},
    },
};

/// The most receivers of an agency.
const MOST_RECEIVERS: usize = 20;

/// Adds somebody outside the service who is told of changes.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddReceiver {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ReceiverId,
    /// Its name: 1 to 200 characters.
    pub name: String,
    /// By what way it is told.
    pub way: Way,
    /// Where messages go: https://host/path, 1,000 characters at most; for e-mail one address, desk@dispatch.example.
    #[schema(max_length = 1000)]
    pub address: String,
    /// For a webhook what messages are signed with: `whsec_` and the base64 of 24 to 64 random bytes, made by the client. It is never told
    /// again. E-mail has none.
    pub secret: Option<String>,
    /// When set, it is told of this district alone.
    pub district: Option<DistrictId>,
    /// When set, it is told of the rigs of this station alone.
    pub station: Option<StationId>,
    /// What it is told of: 1 to 4.
    #[schema(min_items = 1, max_items = 4)]
    pub changes: Vec<ChangeKind>,
}

/// An address that the operator's settings let messages go to.
fn allowed(write: &Write<'_>, way: Way, address: &str) -> Result<String, Fault> {
    let checked = match way {
        Way::Webhook => checked_address(address.trim(), write.provided::<Outward>().copied().unwrap_or_default()).map(|url| url.to_string()),
        Way::Email => checked_mailbox(address.trim(), write.provided::<SendsEmail>().copied().unwrap_or_default()),
    };
    checked.map_err(|why| Fault::field("body.address", why))
}

/// The bytes of a secret where the way has one.
fn secret_of(way: Way, given: Option<&str>) -> Result<Option<Vec<u8>>, Fault> {
    match (way, given) {
        (Way::Webhook, Some(secret)) => secret_bytes(secret).map(Some).map_err(|why| Fault::field("body.secret", why)),
        (Way::Webhook, None) => Err(Fault::field(
            "body.secret",
            "A receiver of webhooks has a secret: its messages are signed with it",
        )),
        (Way::Email, Some(_)) => Err(Fault::field("body.secret", "E-mail has no secret; leave it out")),
        (Way::Email, None) => Ok(None),
    }
}

/// What a receiver is told of, each once and in order.
fn told_of(mut changes: Vec<ChangeKind>) -> Result<Vec<ChangeKind>, Fault> {
    at_most("body.changes", &changes, ChangeKind::ALL.len(), "change")?;
    changes.sort_unstable();
    changes.dedup();
    if changes.is_empty() {
        return Err(Fault::field("body.changes", "Say what it is told of; to tell it nothing, withdraw it"));
    }
    Ok(changes)
}

fn places(write: &mut Write<'_>, district: Option<DistrictId>, station: Option<StationId>) -> Result<(), Fault> {
    if let Some(district) = district {
        write.named::<District>("district", district)?;
    }
    if let Some(station) = station {
        let at = write.named::<Station>("station", station)?.record.district;
        if district.is_some_and(|district| district != at) {
            return Err(Fault::field("body.station", "This station is in another district; leave the district out"));
        }
    }
    Ok(())
}

impl Act for AddReceiver {
    const KIND: &'static str = "receiver.add";
    const SUMMARY: &'static str = "Add somebody outside who is told of changes";
    const DONE: &'static str = "Receiver added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;
    const SECRET: &'static [&'static str] = &["secret"];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        self.changes = told_of(std::mem::take(&mut self.changes))?;
        secret_of(self.way, self.secret.as_deref())?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Receiver>(self.id)?;
        let address = allowed(write, self.way, &self.address)?;
        places(write, self.district, self.station)?;
        let there = write.all::<Receiver>()?;
        if there.iter().filter(|one| one.record.withdrawn_at.is_none()).count() >= MOST_RECEIVERS {
            return Err(Fault::rule(format!("{MOST_RECEIVERS} receivers is the most; withdraw one that is not needed")));
        }
        if let Some(secret) = secret_of(self.way, self.secret.as_deref())? {
            let agency = write.agency;
            rows::put(write.beside(), agency, self.id.0, &secret)?;
        }
        let receiver = Receiver {
            id: self.id,
            name: self.name,
            way: self.way,
            address,
            district: self.district,
            station: self.station,
            changes: self.changes,
            switched_off: None,
            withdrawn_at: None,
            rev: 0,
        };
        write.save(receiver, Scope::default())
    }
}

/// Changes a receiver. What is left out stays.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditReceiver {
    /// The receiver to change; one that is not withdrawn.
    pub id: ReceiverId,
    /// New name: 1 to 200 characters.
    pub name: Option<String>,
    /// New address, as for `receiver.add`: 1,000 characters at most.
    #[schema(max_length = 1000)]
    pub address: Option<String>,
    /// New secret, as for `receiver.add`; messages that still wait are signed with it.
    pub secret: Option<String>,
    /// This district alone; null: all.
    #[serde(default, deserialize_with = "patch::field")]
    pub district: Option<Option<DistrictId>>,
    /// The rigs of this station alone; null: all.
    #[serde(default, deserialize_with = "patch::field")]
    pub station: Option<Option<StationId>>,
    /// What it is told of: 1 to 4.
    #[schema(min_items = 1, max_items = 4)]
    pub changes: Option<Vec<ChangeKind>>,
    /// True: it is told again. False: it is not told any more, until it is switched on.
    pub on: Option<bool>,
    /// Why it is switched off: 1 to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditReceiver {
    const KIND: &'static str = "receiver.edit";
    const SUMMARY: &'static str = "Change a receiver, or switch it off or on";
    const DONE: &'static str = "Receiver changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("receiver");
    const SECRET: &'static [&'static str] = &["secret"];

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = self.name.as_deref().map(|given| name("body.name", given)).transpose()?;
        self.changes = self.changes.take().map(told_of).transpose()?;
        if let Some(secret) = &self.secret {
            secret_bytes(secret).map_err(|why| Fault::field("body.secret", why))?;
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Receiver>(self.id)?;
        write.expects(&stored)?;
        let mut receiver = stored.record;
        if receiver.withdrawn_at.is_some() {
            return Err(withdrawn());
        }
        if let Some(given) = &self.address {
            receiver.address = allowed(write, receiver.way, given)?;
        }
        receiver.district = self.district.unwrap_or(receiver.district);
        receiver.station = self.station.unwrap_or(receiver.station);
        places(write, receiver.district, receiver.station)?;
        receiver.name = self.name.unwrap_or(receiver.name);
        receiver.changes = self.changes.unwrap_or(receiver.changes);
        match self.on {
            Some(true) => receiver.switched_off = None,
            Some(false) if receiver.switched_off.is_none() => {
                receiver.switched_off = Some(SwitchedOff {
                    since: write.head.at,
                    why: self
                        .reason
                        .as_deref()
                        .map_or_else(|| Ok("Switched off by a member".to_owned()), |reason| text("body.reason", reason))?,
                });
            }
            _ => {}
        }
        if self.secret.is_some()
            && let Some(secret) = secret_of(receiver.way, self.secret.as_deref())?
        {
            let agency = write.agency;
            rows::put(write.beside(), agency, self.id.0, &secret)?;
        }
        write.save(receiver, Scope::default())
    }
}

fn withdrawn() -> Fault {
    Fault::rule("This receiver was withdrawn; add it anew")
}

/// Withdraws a receiver: it is told of nothing any more, and its secret is forgotten. What it was told stays on record.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawReceiver {
    /// The receiver to withdraw for good; one that is not withdrawn yet.
    pub id: ReceiverId,
    /// Why: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for WithdrawReceiver {
    const KIND: &'static str = "receiver.withdraw";
    const SUMMARY: &'static str = "Withdraw a receiver";
    const DONE: &'static str = "Receiver withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("receiver");

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Receiver>(self.id)?;
        write.expects(&stored)?;
        if stored.record.withdrawn_at.is_some() {
            return Err(withdrawn());
        }
        let (agency, at) = (write.agency, write.head.at);
        rows::forget(write.beside(), agency, self.id.0)?;
        let receiver = Receiver {
            switched_off: Some(SwitchedOff {
                since: at,
                why: text("body.reason", &self.reason)?,
            }),
            withdrawn_at: Some(at),
            ..stored.record
        };
        write.save(receiver, Scope::default())
    }
}

/// Switches a receiver off inside a command of the service's own: it has said that it wants no more.
pub fn switch_off(write: &mut Write<'_>, id: ReceiverId, why: String) -> Result<(), Fault> {
    let Some(stored) = write.look::<Receiver>(id)? else { return Ok(()) };
    if stored.record.switched_off.is_some() {
        return Ok(());
    }
    let since = write.now();
    let receiver = Receiver {
        switched_off: Some(SwitchedOff { since, why }),
        ..stored.record
    };
    write.save(receiver, stored.scope)
}

/// What a receiver's messages are signed with.
pub fn secret(db: &mut Db, agency: AgencyId, receiver: Uuid) -> Result<Option<Vec<u8>>, Fault> {
    rows::find(db, agency, receiver)
}
