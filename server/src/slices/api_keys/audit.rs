//! Keys of programs, held against what the journal's commands make of each: their records, and what they answer by.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use serde::Deserialize;
use uuid::Uuid;

use super::{
    ApiKeyRecord, KeyScope, KeyState,
    ops::{AddApiKey, RevokeApiKey},
};
use crate::{
    platform::{
        audit::{self, Compared, Finding, KeptState, PUT_BACK, about},
        auth::{self, KeptApiKey, SecretHash},
        bodies,
        db::Db,
        door::{self, Act, Journaled},
        error::Fault,
        ids::AgencyId,
        record::Record,
    },
    slices::members::MembersTold,
};

/// The body of `api_key.add`. What else it holds is let by, so that what an earlier version wrote is read.
#[derive(Debug, Deserialize)]
struct Added {
    name: String,
    scope: KeyScope,
    district: Option<Uuid>,
    station: Option<Uuid>,
    expires_at: DateTime<Utc>,
    secret_sha256: String,
}

#[derive(Deserialize)]
struct Of {
    id: Uuid,
}

/// What a key is by the journal.
#[derive(Debug)]
struct KeyTold {
    added: Added,
    rev: i64,
    at: DateTime<Utc>,
    maker: Option<Uuid>,
    /// The revision at which it was revoked.
    revoked: Option<i64>,
}

#[derive(Debug, Default)]
struct KeysTold {
    of: BTreeMap<Uuid, KeyTold>,
    /// Those of which an entry cannot be read.
    unread: BTreeSet<Uuid>,
}

impl KeysTold {
    fn take(&mut self, entry: &Journaled) {
        let named = serde_json::from_str(&entry.body).ok().map(|Of { id }| id);
        let Some(id) = named.or(entry.record) else { return };
        if entry.kind == RevokeApiKey::KIND {
            if let Some(told) = self.of.get_mut(&id) {
                told.revoked.get_or_insert(entry.rev);
            }
            return;
        }
        let Ok(mut added) = serde_json::from_str::<Added>(&entry.body) else {
            self.unread.insert(id);
            return;
        };
        added.name = added.name.trim().to_owned();
        added.scope.put_in_order();
        let told = KeyTold {
            added,
            rev: entry.rev,
            at: entry.at,
            maker: entry.actor,
            revoked: None,
        };
        self.of.insert(id, told);
    }
}

impl KeyTold {
    /// What of the record is not as it is told, at a revision.
    fn differs(&self, record: &ApiKeyRecord, rev: i64) -> Vec<&'static str> {
        let revoked = self.revoked.is_some_and(|at| at <= rev);
        let added = &self.added;
        named(&[
            ("name", record.name == added.name),
            ("what it may do", record.scope == added.scope),
            ("reach", (record.district, record.station) == (added.district, added.station)),
            ("end", is_same(record.expires_at, added.expires_at)),
            ("whether it was revoked", (record.state == KeyState::Revoked) == revoked),
            ("when it was made", is_same(record.made_at, self.at)),
            ("maker", record.made_by.id.map(|id| id.0) == self.maker),
        ])
    }

    /// What of that which a key answers by is not as it is told.
    fn answers_otherwise(&self, kept: &KeptApiKey) -> Vec<&'static str> {
        let added = &self.added;
        let Some(actor) = &kept.actor else { return vec!["what it may do"] };
        let is = (actor.role, actor.key.as_ref().and_then(|key| key.kinds.clone()));
        let secret = SecretHash::of_digits(&added.secret_sha256);
        named(&[
            ("name", actor.name == added.name),
            ("what it may do", is == added.scope.acts_in()),
            ("reach", (actor.district, actor.station) == (added.district, added.station)),
            ("end", is_same(kept.expires_at, added.expires_at)),
            ("maker", Some(kept.maker.0) == self.maker),
            ("secret", secret.is_ok_and(|hash| kept.is_opened_by(&hash))),
        ])
    }
}

fn named(fields: &[(&'static str, bool)]) -> Vec<&'static str> {
    fields.iter().filter(|(_, same)| !same).map(|(name, _)| *name).collect()
}

/// Whether two instants are one as they are kept: to the microsecond.
const fn is_same(one: DateTime<Utc>, other: DateTime<Utc>) -> bool {
    one.timestamp_micros() == other.timestamp_micros()
}

/// Holds every state that is kept of every key, and what the keys answer by, against what the journal's commands make of them.
pub fn as_told(db: &mut Db, agency: AgencyId, members: &MembersTold) -> Result<Compared, Fault> {
    let mut told = KeysTold::default();
    door::each_entry(db, agency, &[AddApiKey::KIND, RevokeApiKey::KIND], |entry| told.take(&entry))?;
    let mut compared = Compared {
        forgotten: audit::forgotten(db, agency, ApiKeyRecord::KIND)?,
        ..Compared::default()
    };
    let (mut there, mut unread) = (BTreeSet::new(), BTreeSet::new());
    let mut findings: Vec<Finding> = Vec::new();
    let mut wrong = |id: Uuid, what: String| findings.push(about(agency, ApiKeyRecord::KIND, id, what, PUT_BACK));
    audit::states(db, agency, ApiKeyRecord::KIND, |state| {
        if told.unread.contains(&state.id) {
            unread.insert(state.id);
            return;
        }
        there.insert(state.id);
        compared.states += 1;
        if let Some(what) = fault(told.of.get(&state.id), &state) {
            wrong(state.id, format!("at revision {} {what}", state.rev));
        }
    })?;
    for id in told.of.keys().filter(|id| !there.contains(*id)) {
        wrong(*id, "a command of the journal made it, and it is not there".to_owned());
    }
    for kept in auth::kept_api_keys(db, agency)?.iter().filter(|kept| !told.unread.contains(&kept.id)) {
        if let Some(what) = answers_wrongly(told.of.get(&kept.id), kept, members) {
            wrong(kept.id, what);
        }
    }
    compared.records = u64::try_from(there.len()).unwrap_or_default();
    compared.unread = u64::try_from(unread.len()).unwrap_or_default();
    compared.findings = findings;
    Ok(compared)
}

/// What is wrong with a state of a key by the journal, if anything.
fn fault(told: Option<&KeyTold>, state: &KeptState) -> Option<String> {
    let Some(told) = told.filter(|told| told.rev <= state.rev) else {
        return Some("it is there, and no command of the journal had made it".to_owned());
    };
    if state.gone {
        return Some("it is taken away, and no command takes a key away".to_owned());
    }
    let Ok(record) = bodies::read::<ApiKeyRecord>(&state.body) else {
        return Some("its body cannot be read".to_owned());
    };
    let mut differs = told.differs(&record, state.rev);
    if record.station != state.station || (record.station.is_none() && record.district != state.district) {
        differs.push("where it is found");
    }
    (!differs.is_empty()).then(|| format!("it is not what the journal's commands make of it: {}", differs.join(", ")))
}

/// What is wrong with that which a key answers by, if anything.
fn answers_wrongly(told: Option<&KeyTold>, kept: &KeptApiKey, members: &MembersTold) -> Option<String> {
    let Some(told) = told else {
        return Some("it answers, and no command of the journal made it".to_owned());
    };
    if told.revoked.is_some() {
        return Some("it was revoked, and it still answers".to_owned());
    }
    if told.maker.is_some_and(|maker| members.changed_after(maker, told.rev)) {
        return Some("its maker was let go or got another role or reach since, and it still answers".to_owned());
    }
    let differs = told.answers_otherwise(kept);
    (!differs.is_empty()).then(|| format!("it does not answer by what the journal's command made it: {}", differs.join(", ")))
}
