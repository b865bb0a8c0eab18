//! One command inside the writer's transaction: seen before? then its rules, what follows for the rigs, revision, journal.

use std::{
    borrow::Cow,
    cell::Cell,
    collections::{BTreeMap, HashMap, btree_map},
    sync::Arc,
};

use chrono::{DateTime, Utc};
use serde_json::value::RawValue;
use uuid::Uuid;

use super::{
    Ahead, Answer, Head, Outcome, Present, RecordRef, Registry, Write, ahead,
    authority::still_signed_in,
    command::{Ready, is_client_id},
    journal::{self, Entry},
    lapses,
    queue::Part,
    raises::Raises,
    registry::Touched,
    unit_of_work::UnitOfWork,
    writer_cache::WriterCache,
};
use crate::platform::{
    auth::{Actor, Ended, Role},
    bodies,
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
    /// When something is next due to be settled, or earlier.
    pub(super) due: Option<DateTime<Utc>>,
    /// Whether something waits for the clock to be judged anew.
    pub(super) waits: bool,
}

/// What the writer knows of each agency since its last transaction: a revision, and when something was next due then. Where
/// the agency is still at that revision, nobody has written since and no lapse is another.
pub(super) type Dues = HashMap<AgencyId, (i64, Option<DateTime<Utc>>)>;

/// A transaction of the writer.
pub(super) struct Transaction<'a> {
    pub(super) db: &'a mut Db,
    pub(super) registry: &'a Registry,
    pub(super) held: &'a mut UnitOfWork,
    pub(super) kept: &'a mut WriterCache,
    pub(super) dues: &'a Dues,
    /// The sign-ins that were ended lately.
    pub(super) ended: &'a Ended,
    pub(super) chains: &'a mut BTreeMap<AgencyId, Chain>,
    pub(super) judging: Judging,
    /// Whether all of it is undone: then what lacks its reason is shown all the same, and that it lacks it.
    pub(super) trial: bool,
}

/// When the rigs are judged that a command touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Judging {
    /// With the command.
    Now,
    /// By the clock, because judging them with the command failed. Until then how they stand is not known.
    Later,
}

pub(super) fn put_heads(db: &mut Db, chains: &BTreeMap<AgencyId, Chain>) -> Result<(), Fault> {
    for (agency, chain) in chains.iter().filter(|(_, chain)| chain.rev > chain.start) {
        journal::put_head(db, *agency, chain.rev, &chain.hash)?;
    }
    Ok(())
}

/// Why the command that this one follows does not count as applied.
pub(super) fn unmet(db: &mut Db, held: &UnitOfWork, command: &Ready, answers: &[Answer], agency: AgencyId) -> Result<Option<Fault>, Fault> {
    for (field, after) in [("after", command.after), ("expects.after", command.expects_after)] {
        let Some(after) = after else { continue };
        let met = match answers.iter().find(|answer| answer.id == after) {
            Some(answer) => answer.took_effect(),
            None => held.applied(db, agency, after)?.is_some(),
        };
        if !met {
            return Ok(Some(not_applied(field, after)));
        }
    }
    Ok(None)
}

fn not_applied(field: &str, after: Uuid) -> Fault {
    let words = format!("It follows the command {after}, which was not applied; mend that one first");
    Fault::new(error::AFTER_REFUSED, words).at(field)
}

/// A command's head with the revision that it was decided on: the one named, or the one that the command named in its place made.
/// A revision is one command's, so no other change of the record is taken for it.
fn decided_on<'a>(db: &mut Db, held: &UnitOfWork, agency: AgencyId, command: &'a Ready) -> Result<Cow<'a, Head>, Fault> {
    let Some(after) = command.expects_after else {
        return Ok(Cow::Borrowed(&command.head));
    };
    let left = held.applied(db, agency, after)?.ok_or_else(|| not_applied("expects.after", after))?;
    Ok(Cow::Owned(Head {
        expects: Some(left.rev),
        ..command.head.clone()
    }))
}

impl Transaction<'_> {
    /// Takes the agency for this transaction, if it is not taken yet.
    pub(super) fn chain(&mut self, agency: AgencyId) -> Result<&mut Chain, Fault> {
        match self.chains.entry(agency) {
            btree_map::Entry::Occupied(chain) => Ok(chain.into_mut()),
            btree_map::Entry::Vacant(place) => {
                let (rev, hash) = journal::take_head(self.db, agency)?
                    .ok_or_else(|| Fault::new(error::SIGN_IN_NEEDED, "This agency is not kept here any more; sign in again"))?;
                let due = match self.dues.get(&agency) {
                    Some((known, due)) if *known == rev => *due,
                    _ => lapses::next(self.db, agency)?,
                };
                let alone = self.kept.begins(agency, rev);
                if !alone {
                    self.held.forget(agency);
                }
                // Another process may have ended sign-ins: with a command, which the revision tells, or by signing out.
                if !alone || ahead::serves(self.db) {
                    self.ended.look(self.db)?;
                }
                Ok(place.insert(Chain {
                    start: rev,
                    rev,
                    hash,
                    ended: false,
                    due,
                    waits: false,
                }))
            }
        }
    }

    /// Reads what a group's commands will ask for. Its parts stand in the order of their agencies.
    pub(super) fn read_ahead(&mut self, parts: &[Part<'_>]) -> Result<(), Fault> {
        // Before anything is written: what is heard of sign-ins that were ended is then what others have committed.
        for part in parts {
            self.chain(part.actor.agency)?;
        }
        if !ahead::serves(self.db) {
            return Ok(());
        }
        for parts in parts.chunk_by(|one, other| one.actor.agency == other.actor.agency) {
            let Some(agency) = parts.first().map(|part| part.actor.agency) else {
                continue;
            };
            let commands: Vec<&Ready> = parts.iter().flat_map(|part| part.commands).collect();
            let ids: Vec<Uuid> = commands
                .iter()
                .flat_map(|command| [Some(command.head.id), command.after, command.expects_after])
                .flatten()
                .collect();
            let mut ahead = Ahead::default();
            for part in parts.iter().filter(|part| part.actor.sign_in.is_some() && !part.commands.is_empty()) {
                (self.registry.authority.ahead)(part.actor, &mut ahead);
            }
            for act in commands.iter().filter_map(|command| command.act.as_ref().ok()) {
                act.ahead(&mut ahead);
            }
            if !ids.is_empty() {
                self.held.read_ahead(self.db, agency, &ids, ahead, self.registry.judged())?;
            }
        }
        Ok(())
    }

    /// Applies one command; answers what is told of it and the revision that it left.
    pub(super) fn apply(&mut self, actor: &Arc<Actor>, command: &Ready) -> Result<(Answer, i64), Fault> {
        if actor.role != Role::Service && !is_client_id(command.head.id) {
            let words = "A command's id is a UUID of version 7 that the client makes; other versions are the service's own";
            return Err(Fault::field("id", words));
        }
        let rev = self.chain(actor.agency)?.rev;
        if let Some(repeated) = self.repeated(actor.agency, command)? {
            return Ok((repeated, rev));
        }
        let act = match &command.act {
            Ok(act) => act,
            Err(fault) => return Err(fault.again()),
        };
        let actor = &*self.acting(actor, command)?;
        let head = decided_on(self.db, self.held, actor.agency, command)?;
        let Some(chain) = self.chains.get_mut(&actor.agency) else {
            return Err(anyhow::anyhow!("a command of an agency that was not taken").into());
        };
        let rev = chain.rev + 1;
        let mark = self.held.mark();
        let mut write = Write {
            db: self.db,
            held: self.held,
            kept: self.kept,
            followers: self.registry.followers(),
            settlers: self.registry.settlers(),
            agency: actor.agency,
            actor,
            head: &head,
            rev,
            dirty: false,
            ended: false,
            touched: Vec::new(),
            before: Vec::new(),
            provided: &self.registry.provided,
            main: None,
            judged_kinds: self.registry.judged(),
            follow: Touched::default(),
            due: chain.due,
            waits: false,
            raises: Raises::default(),
            asked: Cell::new(false),
        };
        let done = act.run(&mut write).and_then(|()| write.has_asked(act.reach())).and_then(|()| {
            let follow = std::mem::take(&mut write.follow);
            match self.judging {
                _ if follow.is_empty() => Ok(()),
                Judging::Now => (self.registry.follow)(&mut write, &follow),
                Judging::Later => write.judge_later(&follow),
            }
        });
        let unexplained = match act.says_why() {
            true => None,
            false => write.raises.unexplained(act.raise_needs_reason()),
        };
        let problem = unexplained.as_ref().filter(|_| self.trial).map(Fault::problem);
        let by_program = actor.key.as_ref().and_then(|_| write.raises.takes_a_person());
        let done = match by_program {
            Some(fault) => done.and(Err(fault)),
            None => done,
        };
        let done = match unexplained.filter(|_| !self.trial) {
            Some(fault) => done.and(Err(fault)),
            None => done,
        };
        let done = done.and_then(|()| self.registry.watchers.iter().try_for_each(|watch| watch(&mut write)));
        if let Err(mut fault) = done {
            // What it has put among the rows that wait is taken back; what has reached a table is undone with the transaction.
            let (dirty, held) = (write.dirty, write.held);
            fault.spoils = dirty || held.has_written_since(mark) || !held.take_back(mark);
            if fault.spoils {
                *held = UnitOfWork::default();
            }
            return Err(fault);
        }
        chain.ended |= write.ended;
        chain.waits |= write.waits;
        chain.due = write.due;
        let record = write.main_body();
        // In the order in which it is read again, should the command be sent again.
        let mut touched = write.touched;
        if let Some((_, others)) = touched.split_first_mut() {
            others.sort_unstable_by(|one, other| (&one.kind, one.id).cmp(&(&other.kind, other.id)));
        }
        let answer = Answer {
            id: command.head.id,
            outcome: Outcome::Applied,
            revision: Some(rev),
            device: actor.device,
            records: touched,
            record: None,
            current: None,
            problem,
        };
        let mut entry = entry(actor, command, &answer, rev);
        entry.hash = entry.chained(&chain.hash);
        chain.rev = rev;
        chain.hash.clone_from(&entry.hash);
        self.held.append(entry);
        Ok((Answer { record, ..answer }, rev))
    }

    /// Who acts by a command: the sender as the records say it now, or who signed the command. What has no sign-in, the service and
    /// the command line, is believed.
    fn acting<'b>(&mut self, sender: &'b Actor, command: &Ready) -> Result<Cow<'b, Actor>, Fault> {
        if sender.sign_in.is_none() {
            return Ok(Cow::Borrowed(sender));
        }
        self.ended.allows(sender.sign_in)?;
        if self.chain(sender.agency)?.ended {
            still_signed_in(self.db, sender)?;
        }
        let authority = self.registry.authority;
        let mut present = Present {
            db: self.db,
            held: self.held,
            agency: sender.agency,
            now: command.head.received_at,
        };
        let sender = (authority.acts)(&mut present, sender)?;
        // A signed command is the signer's: its role, its reach, its name in the journal.
        let actor = match &command.signature {
            Some(signature) => (authority.signs)(&mut present, &sender, signature)?,
            None => sender,
        };
        self.registry.permit(&actor, &command.kind)?;
        Ok(Cow::Owned(actor))
    }

    /// The first answer again, where the command was applied before.
    fn repeated(&mut self, agency: AgencyId, command: &Ready) -> Result<Option<Answer>, Fault> {
        let Some(before) = self.held.applied(self.db, agency, command.head.id)? else {
            return Ok(None);
        };
        if command.act.is_ok() && !before.is(&command.kind, &command.journaled) {
            return Err(Fault::new(error::ID_REUSED, "This id was used before for a command with another body; make a new id").at("id"));
        }
        self.held.write(self.db)?;
        let mut touched = record::touched_by(self.db, agency, before.rev)?;
        let main = before.record.and_then(|main| touched.iter().position(|one| *one == main));
        let record = match main.and_then(|at| touched.get_mut(..=at)) {
            Some(to_main) => {
                to_main.rotate_right(1);
                self.left(agency, before.rev, to_main.first())?
            }
            None => None,
        };
        Ok(Some(Answer {
            id: command.head.id,
            outcome: Outcome::Repeated,
            revision: Some(before.rev),
            device: before.device,
            records: touched.into_iter().map(|(kind, id)| RecordRef { kind, id, rev: before.rev }).collect(),
            record,
            current: None,
            problem: None,
        }))
    }

    /// A record as a revision left it, in the form of now.
    fn left(&mut self, agency: AgencyId, rev: i64, record: Option<&(String, Uuid)>) -> Result<Option<Box<RawValue>>, Fault> {
        let Some((kind, id)) = record else { return Ok(None) };
        let Some(body) = record::as_of_change(self.db, agency, rev, kind, *id)? else {
            return Ok(None);
        };
        Ok(Some(RawValue::from_string(
            bodies::current(&body.0, self.registry.upcasts(kind))?.into_owned(),
        )?))
    }
}

/// The journal's entry of a command that was applied, its hash still to be made.
fn entry(actor: &Actor, command: &Ready, answer: &Answer, rev: i64) -> Entry {
    let main = answer.records.first();
    Entry {
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
        device: answer.device.map(Uid),
        record_kind: main.map(|main| main.kind.clone()),
        record: main.map(|main| Uid(main.id)),
        hash: Vec::new(),
    }
}
