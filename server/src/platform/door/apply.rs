//! One command inside the writer's transaction: seen before? then its rules, what follows for the rigs, revision, journal.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use serde_json::value::RawValue;

use super::{
    Answer, Outcome, Registry, Write,
    command::Ready,
    journal::{self, Entry},
    write::{Kept, Seen},
};
use crate::platform::{
    auth::Actor,
    db::{
        Db,
        types::{Doc, Moment, Uid},
    },
    error::{self, Fault},
    ids::AgencyId,
    record,
};

/// What the transaction knows of an agency: revision and chain.
pub(super) struct Chain {
    pub(super) start: i64,
    pub(super) rev: i64,
    pub(super) hash: Vec<u8>,
    /// Whether sign-ins were ended.
    pub(super) ended: bool,
}

pub(super) fn chain_of<'c>(db: &mut Db, chains: &'c mut BTreeMap<AgencyId, Chain>, agency: AgencyId) -> Result<&'c mut Chain, Fault> {
    match chains.entry(agency) {
        std::collections::btree_map::Entry::Occupied(chain) => Ok(chain.into_mut()),
        std::collections::btree_map::Entry::Vacant(place) => {
            let (rev, hash) =
                journal::take_head(db, agency)?.ok_or_else(|| Fault::new(error::SIGN_IN_NEEDED, "This agency is not kept here any more; sign in again"))?;
            Ok(place.insert(Chain {
                start: rev,
                rev,
                hash,
                ended: false,
            }))
        }
    }
}

pub(super) fn put_heads(db: &mut Db, chains: &BTreeMap<AgencyId, Chain>) -> Result<(), Fault> {
    for (agency, chain) in chains.iter().filter(|(_, chain)| chain.rev > chain.start) {
        journal::put_head(db, *agency, chain.rev, &chain.hash)?;
    }
    Ok(())
}

/// Why the command that this one follows does not count as applied.
pub(super) fn unmet(db: &mut Db, command: &Ready, answers: &[Answer], agency: AgencyId) -> Result<Option<Fault>, Fault> {
    let Some(after) = command.after else { return Ok(None) };
    let met = match answers.iter().find(|answer| answer.id == after) {
        Some(answer) => answer.took_effect(),
        None => journal::seen(db, agency, after)?.is_some(),
    };
    Ok((!met).then(|| {
        Fault::new(
            error::AFTER_REFUSED,
            format!("It follows the command {after}, which was not applied; mend that one first"),
        )
        .at("after")
    }))
}

pub(super) fn apply(
    db: &mut Db,
    registry: &Registry,
    (seen, kept): (&mut Seen, &mut Kept),
    chains: &mut BTreeMap<AgencyId, Chain>,
    actor: &Arc<Actor>,
    command: &Ready,
) -> Result<(Answer, i64), Fault> {
    let chain = chain_of(db, chains, actor.agency)?;
    if let Some((body_hash, answer)) = journal::seen(db, actor.agency, command.head.id)? {
        if command.act.is_ok() && body_hash != command.body_hash {
            return Err(Fault::new(error::ID_REUSED, "This id was used before for a command with another body; make a new id").at("id"));
        }
        let first: Answer = serde_json::from_str(&answer.0)?;
        let record = match (first.revision, first.records.first()) {
            (Some(rev), Some(main)) => record::as_of_change(db, actor.agency, rev, &main.kind, main.id)?,
            _ => None,
        };
        let record = record.map(|body| RawValue::from_string(body.0)).transpose()?;
        return Ok((
            Answer {
                outcome: Outcome::Repeated,
                record,
                ..first
            },
            chain.rev,
        ));
    }
    let act = match &command.act {
        Ok(act) => act,
        Err(fault) => return Err(fault.again()),
    };
    // A signed command is the signer's: its role, its reach, its name in the journal.
    let signer = match &command.signature {
        Some(signature) => Some((registry.signer)(db, actor, signature)?),
        None => None,
    };
    let actor = signer.as_ref().unwrap_or(actor);
    if signer.is_some() {
        registry.permit(actor.role, &command.kind)?;
    }
    let rev = chain.rev + 1;
    let mut write = Write {
        db,
        seen,
        kept,
        followers: registry.followers(),
        agency: actor.agency,
        actor,
        head: &command.head,
        rev,
        dirty: false,
        ended: false,
        touched: Vec::new(),
        main: None,
        rigs: BTreeSet::new(),
    };
    let done = act.run(&mut write).and_then(|()| {
        let rigs = std::mem::take(&mut write.rigs);
        if rigs.is_empty() { Ok(()) } else { (registry.follow)(&mut write, &rigs) }
    });
    if let Err(mut fault) = done {
        fault.spoils = write.dirty;
        return Err(fault);
    }
    chain.ended |= write.ended;
    let record = write.main_body();
    let touched = write.touched;
    // The change log has the record as this revision leaves it; the journal need not hold it a second time.
    let answer = Answer {
        id: command.head.id,
        outcome: Outcome::Applied,
        revision: Some(rev),
        device: actor.device,
        records: touched,
        record: None,
        current: None,
        problem: None,
    };
    let mut entry = Entry {
        agency: actor.agency.into(),
        rev,
        command: Uid(command.head.id),
        kind: command.kind.clone(),
        actor: actor.member.map(|member| Uid(member.0)),
        actor_name: actor.name.clone(),
        actor_role: actor.role.to_string(),
        at_raw: Moment(command.head.at_raw),
        at: Moment(command.head.at),
        received_at: Moment(command.head.received_at),
        skew_us: command.head.skew_us,
        body: Doc(command.journaled.clone()),
        body_hash: command.body_hash.to_vec(),
        answer: Doc(serde_json::to_string(&answer)?),
        prev_hash: chain.hash.clone(),
        hash: Vec::new(),
    };
    entry.hash = entry.chained();
    journal::append(db, &entry)?;
    chain.rev = rev;
    chain.hash = entry.hash;
    Ok((Answer { record, ..answer }, rev))
}
