//! The one writer of a process: takes jobs in order, applies them in groups, commits once per group.

use std::{
    collections::BTreeMap,
    sync::{Arc, mpsc::Receiver},
    thread,
};

use super::{
    Answer, Batch, Registry,
    apply::{Chain, Dues, Judging, Transaction, put_heads, unmet},
    command::Ready,
    journal,
    pulse::{LastBeat, survive},
    queue::{GroupLimits, Job, Look, Part, Tells, note},
    unit_of_work::UnitOfWork,
    writer_cache::WriterCache,
};
use crate::platform::{
    db::{Access, Db, Location},
    error::{self, Fault},
    ids::AgencyId,
    traces::{Attribute, Begun, MOST_LINKS, SpanKind},
};

pub(super) struct Writer {
    db: Db,
    location: Location,
    registry: Arc<Registry>,
    tells: Tells,
    limits: GroupLimits,
    kept: WriterCache,
    /// Records as the last transaction left them.
    memory: UnitOfWork,
    dues: Dues,
}

/// Why a whole transaction must be undone.
enum Undo {
    /// A command was refused after it had begun to write.
    Refused,
    /// The database failed.
    Failed(Fault),
}

/// The span of a group, within those of the requests that its jobs came by.
fn begun(group: &[Job]) -> Begun {
    let traces: Vec<_> = group.iter().filter_map(|job| job.trace).take(MOST_LINKS + 1).collect();
    Begun::within_all(&traces)
}

impl Writer {
    /// Starts its thread, which ends when nobody can hand in a job any more.
    pub(super) fn start(db: Db, location: Location, registry: Arc<Registry>, limits: GroupLimits, tells: Tells, jobs: Receiver<Job>) -> std::io::Result<()> {
        let writer = Self {
            db,
            location,
            registry,
            tells,
            limits,
            kept: WriterCache::default(),
            memory: UnitOfWork::default(),
            dues: Dues::default(),
        };
        thread::Builder::new().name("writer".into()).spawn(move || writer.run(&jobs))?;
        Ok(())
    }

    fn run(mut self, jobs: &Receiver<Job>) {
        let _last = LastBeat(Arc::clone(&self.tells.beat));
        while let Ok(first) = jobs.recv() {
            let mut count = first.part().commands.len();
            let mut group = vec![first];
            while count < self.limits.commands {
                let Ok(job) = jobs.try_recv() else { break };
                count += job.part().commands.len();
                group.push(job);
            }
            self.tells.beat.taken(group.len());
            self.tells.beat.begins(count);
            let traced = self.limits.traces.clone().filter(|_| count > 0);
            let begun = traced.map(|traces| (traces, begun(&group), group.len()));
            self.take(group);
            if let Some((traces, begun, jobs)) = begun {
                let number = |count: usize| Attribute::Number(i64::try_from(count).unwrap_or(i64::MAX));
                let told = vec![("fullset.commands", number(count)), ("fullset.jobs", number(jobs))];
                traces.hand_in(begun.end(SpanKind::Internal, "writer group".into(), told, false));
            }
            self.tells.beat.rests();
        }
    }

    /// Works through what was handed in, real commands first.
    fn take(&mut self, mut group: Vec<Job>) {
        // Two processes that take agencies in one order cannot wait for each other.
        group.sort_by_key(|job| job.part().actor.agency);
        let (trials, jobs): (Vec<Job>, Vec<Job>) = group.into_iter().partition(|job| job.look.is_some());
        if !jobs.is_empty() {
            self.settle(jobs);
        }
        for mut trial in trials {
            let answer = match trial.look.take() {
                Some(look) => self.try_out(trial.part(), look),
                None => continue,
            };
            let _ = trial.reply.send(answer);
        }
    }

    /// Applies a group in one transaction. Where one command spoils it, each job gets a transaction of its own, and where
    /// that is spoilt too, each command: one bad command never spoils the others.
    fn settle(&mut self, group: Vec<Job>) {
        let parts: Vec<Part<'_>> = group.iter().map(Job::part).collect();
        let answers = match self.attempt(&parts) {
            Ok(batches) => batches.into_iter().map(Ok).collect(),
            Err(_) if parts.len() > 1 => parts.iter().map(|part| self.settle_job(*part)).collect(),
            Err(undo) => parts.iter().map(|part| self.settle_singly(*part, &undo)).collect::<Vec<_>>(),
        };
        drop(parts);
        for (job, answer) in group.into_iter().zip(answers) {
            // A caller that has gone away asks again under the same ids.
            let _ = job.reply.send(answer);
        }
    }

    /// Applies commands in a transaction that is undone, with a look before and one after.
    fn try_out(&mut self, part: Part<'_>, mut look: Look) -> Result<Batch, Fault> {
        self.begin()?;
        let outcome = self.guarded(|writer| writer.tried(part, &mut look, &mut BTreeMap::new()));
        self.undo();
        outcome
    }

    /// Runs work on a transaction. A panic in it becomes a failure, and the connection that it left is opened anew: what a
    /// panic leaves half done belongs to nobody.
    fn guarded<T>(&mut self, work: impl FnOnce(&mut Self) -> Result<T, Fault>) -> Result<T, Fault> {
        let mut came_back = false;
        let done = survive(|| {
            let done = work(self);
            came_back = true;
            done
        });
        if !came_back {
            self.undo();
            self.db = Db::open(&self.location, Access::Write)?;
        }
        done
    }

    /// Forgets the transaction and what was learnt in it.
    fn undo(&mut self) {
        self.db.rollback();
        self.kept.forget();
        self.memory = UnitOfWork::default();
    }

    fn tried(&mut self, part: Part<'_>, look: &mut Look, chains: &mut BTreeMap<AgencyId, Chain>) -> Result<Batch, Fault> {
        let agency = part.actor.agency;
        let mut held = UnitOfWork::default();
        let mut open = self.open(&mut held, chains);
        open.settle_due(agency, part.received_at)?;
        open.trial = true;
        look(open.db)?;
        let mut answers = Vec::with_capacity(part.commands.len());
        for command in part.commands {
            match open.apply(part.actor, command) {
                Ok((answer, _)) => answers.push(answer),
                Err(fault) if fault.is_ours() => return Err(fault),
                Err(fault) => {
                    answers.push(Answer::from_fault(command.head.id, &fault));
                    break;
                }
            }
        }
        open.held.write(open.db)?;
        look(open.db)?;
        let revision = open.chain(agency)?.rev;
        Ok(Batch { revision, answers })
    }

    fn settle_job(&mut self, part: Part<'_>) -> Result<Batch, Fault> {
        match self.attempt(&[part]) {
            Ok(mut batches) => batches.pop().ok_or_else(|| anyhow::anyhow!("a job without an answer").into()),
            Err(undo) => self.settle_singly(part, &undo),
        }
    }

    /// Each command in a transaction of its own, after the job was undone as a whole.
    fn settle_singly(&mut self, part: Part<'_>, undo: &Undo) -> Result<Batch, Fault> {
        let agency = part.actor.agency;
        if let (true, Undo::Failed(fault)) = (part.commands.is_empty(), undo) {
            return Err(fault.again());
        }
        let mut batch = Batch {
            revision: 0,
            answers: Vec::with_capacity(part.commands.len()),
        };
        for command in part.commands {
            if let Some(fault) = self.unmet(command, &batch.answers, agency)? {
                batch.answers.push(Answer::from_fault(command.head.id, &fault));
                continue;
            }
            match self.settle_command(part, command)? {
                Ok((revision, answer)) => {
                    batch.revision = revision;
                    batch.answers.push(answer);
                }
                Err(fault) => batch.answers.push(Answer::from_fault(command.head.id, &fault)),
            }
        }
        if batch.revision == 0 {
            batch.revision = journal::take_head(&mut self.db, agency)?.map_or(0, |(rev, _)| rev);
        }
        Ok(batch)
    }

    fn unmet(&mut self, command: &Ready, answers: &[Answer], agency: AgencyId) -> Result<Option<Fault>, Fault> {
        unmet(&mut self.db, &UnitOfWork::default(), command, answers, agency)
    }

    /// One command in a transaction of its own; the outer failure is the database's. Where judging what the command touched
    /// fails, the command counts and the clock judges later. Where the command itself fails, it alone is refused.
    fn settle_command(&mut self, part: Part<'_>, command: &Ready) -> Result<Result<(i64, Answer), Fault>, Fault> {
        let fault = match self.attempt_one(part, command, Judging::Now) {
            Err(fault) if fault.is_ours() => fault,
            told => return Ok(told),
        };
        if !self.writes(part.actor.agency) {
            return Err(fault);
        }
        let id = command.head.id;
        tracing::error!(%id, kind = command.kind, %fault, cause = ?fault.cause, "a command failed");
        self.tells.beat.failed();
        match self.attempt_one(part, command, Judging::Later) {
            Err(again) if again.is_ours() => {
                let words = "The service failed on this command and left it out; what was sent with it went on. \
                             Keep it and send it again later; whoever runs the service finds the reason in the log under the command's id";
                Ok(Err(Fault::new(error::INTERNAL, words)))
            }
            told => Ok(told),
        }
    }

    /// Whether the agency's row can be written: if so, a failure is not the database's.
    fn writes(&mut self, agency: AgencyId) -> bool {
        let mut written = || {
            self.begin()?;
            if let Some((rev, head)) = journal::take_head(&mut self.db, agency)? {
                journal::put_head(&mut self.db, agency, rev, &head)?;
            }
            Ok::<_, Fault>(self.db.commit()?)
        };
        written().inspect_err(|_| self.undo()).is_ok()
    }

    fn attempt_one(&mut self, part: Part<'_>, command: &Ready, judging: Judging) -> Result<(i64, Answer), Fault> {
        self.begin()?;
        // What is committed here is not among what is remembered.
        self.memory = UnitOfWork::default();
        let mut chains = BTreeMap::new();
        let agency = part.actor.agency;
        let outcome = self.guarded(|writer| {
            let mut held = UnitOfWork::default();
            let mut open = writer.open(&mut held, &mut chains);
            open.judging = judging;
            open.settle_due(agency, part.received_at)?;
            let told = open.apply(part.actor, command);
            open.held.write(open.db)?;
            told
        });
        let outcome = match outcome {
            // What a refused command wrote is undone with it. One that wrote nothing may have left a wrong signature counted.
            Err(fault) if fault.is_ours() || fault.spoils => Err(fault),
            told => put_heads(&mut self.db, &chains).and_then(|()| Ok(self.db.commit()?)).and_then(|()| {
                self.tell(&chains);
                told.map(|(answer, _)| answer)
            }),
        };
        match outcome {
            Ok(answer) => Ok((chains.get(&agency).map_or(0, |chain| chain.rev), answer)),
            Err(fault) => {
                self.undo();
                Err(fault)
            }
        }
    }

    fn open<'a>(&'a mut self, held: &'a mut UnitOfWork, chains: &'a mut BTreeMap<AgencyId, Chain>) -> Transaction<'a> {
        Transaction {
            db: &mut self.db,
            registry: &self.registry,
            held,
            kept: &mut self.kept,
            dues: &self.dues,
            ended: &self.tells.ended,
            chains,
            judging: Judging::Now,
            trial: false,
        }
    }

    fn attempt(&mut self, parts: &[Part<'_>]) -> Result<Vec<Batch>, Undo> {
        self.begin().map_err(Undo::Failed)?;
        let mut chains = BTreeMap::new();
        let outcome = self.guarded(|writer| Ok(writer.apply_all(parts, &mut chains))).map_err(Undo::Failed).flatten();
        let outcome = outcome.and_then(|batches| {
            put_heads(&mut self.db, &chains).map_err(Undo::Failed)?;
            self.db.commit().map_err(|error| Undo::Failed(error.into()))?;
            Ok(batches)
        });
        match outcome {
            Ok((batches, mut held)) => {
                self.memory = held.remembered();
                self.tell(&chains);
                Ok(batches)
            }
            Err(undo) => {
                self.undo();
                if let Undo::Failed(fault) = &undo {
                    tracing::warn!(cause = ?fault.cause, "a group of commands was undone and is applied again one by one");
                }
                Err(undo)
            }
        }
    }

    fn apply_all(&mut self, parts: &[Part<'_>], chains: &mut BTreeMap<AgencyId, Chain>) -> Result<(Vec<Batch>, UnitOfWork), Undo> {
        let mut held = std::mem::take(&mut self.memory);
        let mut open = self.open(&mut held, chains);
        let mut batches = Vec::with_capacity(parts.len());
        open.read_ahead(parts).map_err(Undo::Failed)?;
        for part in parts {
            let agency = part.actor.agency;
            let settled = match (part.slice, part.commands.is_empty()) {
                (true, _) => open.settle_slice(agency, part.received_at),
                (false, true) => open.settle_seen_due(agency, part.received_at),
                (false, false) => open.settle_due(agency, part.received_at).map(|_| Vec::with_capacity(part.commands.len())),
            };
            let mut answers = settled.map_err(Undo::Failed)?;
            for command in part.commands {
                if let Some(fault) = unmet(open.db, open.held, command, &answers, agency).map_err(Undo::Failed)? {
                    answers.push(Answer::from_fault(command.head.id, &fault));
                    continue;
                }
                match open.apply(part.actor, command) {
                    Ok((answer, _)) => answers.push(answer),
                    Err(fault) if fault.is_ours() => return Err(Undo::Failed(fault)),
                    Err(fault) if fault.spoils => return Err(Undo::Refused),
                    Err(fault) => answers.push(Answer::from_fault(command.head.id, &fault)),
                }
            }
            let revision = open.chain(agency).map_err(Undo::Failed)?.rev;
            batches.push(Batch { revision, answers });
        }
        held.write(&mut self.db).map_err(|error| Undo::Failed(error.into()))?;
        Ok((batches, held))
    }

    fn begin(&mut self) -> Result<(), Fault> {
        match self.db.begin(Access::Write) {
            Ok(()) => Ok(()),
            Err(error) => {
                // The server may have been restarted under us: one new connection, then the caller hears of it.
                tracing::warn!(%error, "the writer opens its connection again");
                self.db = Db::open(&self.location, Access::Write)?;
                Ok(self.db.begin(Access::Write)?)
            }
        }
    }

    fn tell(&mut self, chains: &BTreeMap<AgencyId, Chain>) {
        if chains.values().any(|chain| chain.ended)
            && let Err(fault) = self.tells.ended.look(&mut self.db)
        {
            tracing::warn!(cause = ?fault.cause, "sign-ins that were ended are heard of a moment later");
        }
        for (agency, chain) in chains {
            self.dues.insert(*agency, (chain.rev, chain.due));
            self.kept.ends(*agency, chain.rev);
        }
        if chains.values().any(|chain| chain.waits) {
            self.tells.waits.notify_one();
        }
        for (agency, chain) in chains.iter().filter(|(_, chain)| chain.rev > chain.start) {
            if let Some(revisions) = &self.tells.revisions {
                note(revisions, *agency, chain.rev);
            }
            // Nobody listening is no failure.
            let _ = self.tells.news.send((*agency, chain.rev));
        }
    }
}
