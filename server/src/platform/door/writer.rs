//! The one writer of a process: takes jobs in order, applies them in groups, commits once per group.

use std::{
    collections::{BTreeMap, HashMap},
    sync::{
        Arc, PoisonError, RwLock,
        mpsc::{Receiver, SyncSender, TrySendError, sync_channel},
    },
    thread,
};

use chrono::{DateTime, Utc};
use tokio::sync::{broadcast, oneshot};

use super::{
    Answer, Batch, Command, Registry,
    apply::{Chain, apply, chain_of, put_heads, unmet},
    command::Ready,
    journal, reading,
    write::{Kept, Seen},
};
use crate::platform::{
    auth::{Actor, Ended},
    clock::Clock,
    db::{Access, Db, Location},
    error::{self, Fault},
    ids::AgencyId,
};

/// How much one commit may carry.
#[derive(Debug, Clone, Copy)]
pub struct GroupLimits {
    /// Commands in one transaction.
    pub commands: usize,
    /// Jobs waiting before callers are told that the service is busy.
    pub queue: usize,
}

impl Default for GroupLimits {
    fn default() -> Self {
        Self { commands: 500, queue: 4096 }
    }
}

struct Job {
    actor: Arc<Actor>,
    commands: Vec<Ready>,
    reply: oneshot::Sender<Result<Batch, Fault>>,
}

/// Hands commands to the writer.
#[derive(Debug, Clone)]
pub struct Door {
    queue: SyncSender<Job>,
    registry: Arc<Registry>,
    clock: Clock,
    news: broadcast::Sender<(AgencyId, i64)>,
    revisions: Option<Revisions>,
    ended: Arc<Ended>,
}

/// Each agency's latest revision, told before the answers are.
type Revisions = Arc<RwLock<HashMap<AgencyId, i64>>>;

impl std::fmt::Debug for Job {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Job").field("commands", &self.commands.len()).finish_non_exhaustive()
    }
}

impl Door {
    /// Opens the writer's connection and starts its thread. The thread ends when the last door is dropped.
    pub fn open(location: &Location, registry: Arc<Registry>, clock: Clock, limits: GroupLimits) -> anyhow::Result<Self> {
        let db = Db::open(location, Access::Write)?;
        let (queue, jobs) = sync_channel(limits.queue);
        let (news, _) = broadcast::channel(1024);
        let revisions = matches!(location, Location::Sqlite(_)).then(Revisions::default);
        let ended = Arc::new(Ended::new(clock.clone()));
        let writer = Writer {
            db,
            ended: Arc::clone(&ended),
            location: location.clone(),
            registry: Arc::clone(&registry),
            news: news.clone(),
            revisions: revisions.clone(),
            limits,
            kept: Kept::default(),
        };
        thread::Builder::new().name("writer".into()).spawn(move || writer.run(&jobs))?;
        Ok(Self {
            queue,
            registry,
            clock,
            news,
            revisions,
            ended,
        })
    }

    /// The agency's latest revision without a look at the database, where that can be known: on SQLite, whose one service
    /// is this process. What the command line writes beside it is [heard](Self::heard) of a moment later.
    pub fn revision(&self, agency: AgencyId) -> Option<i64> {
        let known = self.revisions.as_ref()?.read().unwrap_or_else(PoisonError::into_inner);
        known.get(&agency).copied()
    }

    /// Takes note of a revision that was found in the database.
    pub fn heard(&self, agency: AgencyId, rev: i64) {
        if let Some(revisions) = &self.revisions {
            note(revisions, agency, rev);
        }
    }

    /// Tells of each agency's new revision, after it is durable.
    pub fn news(&self) -> broadcast::Receiver<(AgencyId, i64)> {
        self.news.subscribe()
    }

    /// The sign-ins that were ended lately.
    pub fn ended(&self) -> &Arc<Ended> {
        &self.ended
    }

    /// The command kinds.
    pub fn registry(&self) -> &Registry {
        &self.registry
    }

    /// The clock that commands are stamped by.
    pub fn clock(&self) -> &Clock {
        &self.clock
    }

    /// Applies a batch; answers when it is durable. `sent_at` is the sender's clock at sending, for measuring its skew.
    pub async fn send(&self, actor: Arc<Actor>, sent_at: Option<DateTime<Utc>>, commands: Vec<Command>) -> Result<Batch, Fault> {
        // A body may have been long on its way: the sign-in counts that is there when it has come.
        self.ended.allows(actor.sign_in)?;
        let (registry, own, received_at) = (Arc::clone(&self.registry), Arc::clone(&actor), self.clock.now());
        let slow = commands.iter().any(|command| registry.slow(&command.kind));
        let read = move || reading::ready(&registry, &own, received_at, sent_at, commands);
        let ready = if slow {
            let read = tokio::task::spawn_blocking(read).await;
            read.map_err(|error| anyhow::anyhow!("reading commands ended early: {error}"))?
        } else {
            read()
        };
        let (reply, answer) = oneshot::channel();
        self.queue.try_send(Job { actor, commands: ready, reply }).map_err(|full| match full {
            TrySendError::Full(_) => Fault::new(
                error::BUSY,
                "Too many commands are waiting; nothing of this batch was taken. Send it again in a moment",
            ),
            TrySendError::Disconnected(_) => Fault::new(error::BUSY, "The service is stopping; send the batch again in a moment"),
        })?;
        answer.await.map_err(|_| {
            Fault::new(
                error::BUSY,
                "The service stopped before it could answer; send the batch again under the same ids",
            )
        })?
    }
}

fn note(revisions: &Revisions, agency: AgencyId, rev: i64) {
    let mut known = revisions.write().unwrap_or_else(PoisonError::into_inner);
    let latest = known.entry(agency).or_default();
    *latest = rev.max(*latest);
}

struct Writer {
    db: Db,
    ended: Arc<Ended>,
    location: Location,
    registry: Arc<Registry>,
    news: broadcast::Sender<(AgencyId, i64)>,
    revisions: Option<Revisions>,
    limits: GroupLimits,
    kept: Kept,
}

/// Why a whole transaction must be undone.
enum Undo {
    /// A command was refused after it had begun to write.
    Refused,
    /// The database failed.
    Failed(Fault),
}

impl Writer {
    fn run(mut self, jobs: &Receiver<Job>) {
        while let Ok(first) = jobs.recv() {
            let mut count = first.commands.len();
            let mut group = vec![first];
            while count < self.limits.commands {
                let Ok(job) = jobs.try_recv() else { break };
                count += job.commands.len();
                group.push(job);
            }
            // Two processes that take agencies in one order cannot wait for each other.
            group.sort_by_key(|job| job.actor.agency);
            self.settle(group);
        }
    }

    /// Applies a group in one transaction. Where one command spoils it, each job gets a transaction of its own, and where
    /// that is spoilt too, each command: one bad command never spoils the others.
    fn settle(&mut self, group: Vec<Job>) {
        let parts: Vec<(Arc<Actor>, &[Ready])> = group.iter().map(|job| (Arc::clone(&job.actor), job.commands.as_slice())).collect();
        let answers = match self.attempt(&parts) {
            Ok(batches) => batches.into_iter().map(Ok).collect(),
            Err(_) if parts.len() > 1 => parts.iter().map(|(actor, commands)| self.settle_job(actor, commands)).collect(),
            Err(_) => parts.iter().map(|(actor, commands)| self.settle_singly(actor, commands)).collect::<Vec<_>>(),
        };
        drop(parts);
        for (job, answer) in group.into_iter().zip(answers) {
            // A caller that has gone away asks again under the same ids.
            let _ = job.reply.send(answer);
        }
    }

    fn settle_job(&mut self, actor: &Arc<Actor>, commands: &[Ready]) -> Result<Batch, Fault> {
        match self.attempt(&[(Arc::clone(actor), commands)]) {
            Ok(mut batches) => batches.pop().ok_or_else(|| anyhow::anyhow!("a job without an answer").into()),
            Err(_) => self.settle_singly(actor, commands),
        }
    }

    fn settle_singly(&mut self, actor: &Arc<Actor>, commands: &[Ready]) -> Result<Batch, Fault> {
        let mut batch = Batch {
            revision: 0,
            answers: Vec::with_capacity(commands.len()),
        };
        for command in commands {
            if let Some(fault) = self.unmet(command, &batch.answers, actor.agency)? {
                batch.answers.push(Answer::from_fault(command.head.id, &fault));
                continue;
            }
            match self.attempt_one(actor, command) {
                Ok((revision, answer)) => {
                    batch.revision = revision;
                    batch.answers.push(answer);
                }
                Err(fault) if fault.is_ours() => return Err(fault),
                Err(fault) => batch.answers.push(Answer::from_fault(command.head.id, &fault)),
            }
        }
        if batch.revision == 0 {
            batch.revision = journal::take_head(&mut self.db, actor.agency)?.map_or(0, |(rev, _)| rev);
        }
        Ok(batch)
    }

    fn unmet(&mut self, command: &Ready, answers: &[Answer], agency: AgencyId) -> Result<Option<Fault>, Fault> {
        unmet(&mut self.db, command, answers, agency)
    }

    fn attempt_one(&mut self, actor: &Arc<Actor>, command: &Ready) -> Result<(i64, Answer), Fault> {
        self.begin()?;
        let mut seen = Seen::new();
        let mut chains = BTreeMap::new();
        let outcome = apply(&mut self.db, &self.registry, (&mut seen, &mut self.kept), &mut chains, actor, command);
        let outcome = match outcome {
            // What a refused command wrote is undone with it. One that wrote nothing may have left a wrong signature counted.
            Err(fault) if fault.is_ours() || fault.spoils => Err(fault),
            told => put_heads(&mut self.db, &chains)
                .and_then(|()| Ok(self.db.commit()?))
                .and(told.map(|(answer, _)| answer)),
        };
        match outcome {
            Ok(answer) => {
                self.tell(&chains);
                Ok((chains.get(&actor.agency).map_or(0, |chain| chain.rev), answer))
            }
            Err(fault) => {
                self.db.rollback();
                self.kept.forget();
                Err(fault)
            }
        }
    }

    fn attempt(&mut self, parts: &[(Arc<Actor>, &[Ready])]) -> Result<Vec<Batch>, Undo> {
        self.begin().map_err(Undo::Failed)?;
        let mut chains = BTreeMap::new();
        let outcome = self.apply_all(parts, &mut chains).and_then(|batches| {
            put_heads(&mut self.db, &chains).map_err(Undo::Failed)?;
            self.db.commit().map_err(|error| Undo::Failed(error.into()))?;
            Ok(batches)
        });
        match outcome {
            Ok(batches) => {
                self.tell(&chains);
                Ok(batches)
            }
            Err(undo) => {
                self.db.rollback();
                self.kept.forget();
                if let Undo::Failed(fault) = &undo {
                    tracing::warn!(cause = ?fault.cause, "a group of commands was undone and is applied again one by one");
                }
                Err(undo)
            }
        }
    }

    fn apply_all(&mut self, parts: &[(Arc<Actor>, &[Ready])], chains: &mut BTreeMap<AgencyId, Chain>) -> Result<Vec<Batch>, Undo> {
        let mut seen = Seen::new();
        let mut batches = Vec::with_capacity(parts.len());
        for (actor, commands) in parts {
            let mut answers: Vec<Answer> = Vec::with_capacity(commands.len());
            for command in *commands {
                if let Some(fault) = unmet(&mut self.db, command, &answers, actor.agency).map_err(Undo::Failed)? {
                    answers.push(Answer::from_fault(command.head.id, &fault));
                    continue;
                }
                match apply(&mut self.db, &self.registry, (&mut seen, &mut self.kept), chains, actor, command) {
                    Ok((answer, _)) => answers.push(answer),
                    Err(fault) if fault.is_ours() => return Err(Undo::Failed(fault)),
                    Err(fault) if fault.spoils => return Err(Undo::Refused),
                    Err(fault) => answers.push(Answer::from_fault(command.head.id, &fault)),
                }
            }
            let revision = chain_of(&mut self.db, chains, actor.agency).map_err(Undo::Failed)?.rev;
            batches.push(Batch { revision, answers });
        }
        Ok(batches)
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
            && let Err(fault) = self.ended.look(&mut self.db)
        {
            tracing::warn!(cause = ?fault.cause, "sign-ins that were ended are heard of a moment later");
        }
        for (agency, chain) in chains.iter().filter(|(_, chain)| chain.rev > chain.start) {
            if let Some(revisions) = &self.revisions {
                note(revisions, *agency, chain.rev);
            }
            // Nobody listening is no failure.
            let _ = self.news.send((*agency, chain.rev));
        }
    }
}
