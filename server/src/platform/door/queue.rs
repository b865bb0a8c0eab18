//! Where commands are handed in: the queue before the one writer of a process.

use std::{
    collections::HashMap,
    sync::{
        Arc, PoisonError, RwLock,
        mpsc::{SyncSender, TrySendError, sync_channel},
    },
};

use chrono::{DateTime, Utc};
use tokio::sync::{Notify, Semaphore, broadcast, oneshot};

use super::{
    Answer, Batch, Command, Pulse, Registry,
    authority::is_signed_out,
    command::{Ready, own_body, own_id},
    pulse::Beat,
    reading,
    write_limits::{WriteLimits, WriteRates},
    writer::Writer,
};
use crate::platform::{
    auth::{Actor, Ended, Hashing, HashingPlace},
    clock::Clock,
    db::{Access, Db, Location},
    error::{self, Fault},
    histogram::Counts,
    ids::AgencyId,
    traces::{self, Traces},
};

/// How much one commit may carry, and who is told of it.
#[derive(Debug, Clone)]
pub struct GroupLimits {
    /// Commands in one transaction.
    pub commands: usize,
    /// Jobs waiting before callers are told that the service is busy.
    pub queue: usize,
    /// How much each may write; none: as much as they like.
    pub writes: Option<WriteLimits>,
    /// Where the spans of groups are handed in.
    pub traces: Option<Traces>,
}

impl Default for GroupLimits {
    fn default() -> Self {
        Self {
            commands: 500,
            queue: 4096,
            writes: None,
            traces: None,
        }
    }
}

pub(super) struct Job {
    actor: Arc<Actor>,
    received_at: DateTime<Utc>,
    commands: Vec<Ready>,
    /// One piece of the clock's work instead of commands.
    slice: bool,
    /// The commands are tried and undone; this looks at the database before and after.
    pub(super) look: Option<Look>,
    /// The request that it came by, where that is traced.
    pub(super) trace: Option<traces::Context>,
    pub(super) reply: oneshot::Sender<Result<Batch, Fault>>,
}

impl Job {
    pub(super) fn part(&self) -> Part<'_> {
        Part {
            actor: &self.actor,
            received_at: self.received_at,
            commands: &self.commands,
            slice: self.slice,
        }
    }
}

/// A job as one transaction sees it.
#[derive(Clone, Copy)]
pub(super) struct Part<'a> {
    pub(super) actor: &'a Arc<Actor>,
    pub(super) received_at: DateTime<Utc>,
    pub(super) commands: &'a [Ready],
    pub(super) slice: bool,
}

/// Looks at the database inside a transaction that will be undone: once before the commands, once after them.
pub type Look = Box<dyn FnMut(&mut Db) -> Result<(), Fault> + Send>;

/// To whom the writer tells what it has done.
pub(super) struct Tells {
    pub(super) ended: Arc<Ended>,
    pub(super) news: broadcast::Sender<(AgencyId, i64)>,
    pub(super) revisions: Option<Revisions>,
    pub(super) waits: Arc<Notify>,
    pub(super) beat: Arc<Beat>,
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
    hashing: Arc<Hashing>,
    rates: Option<Arc<WriteRates>>,
    /// Whose turn it is to try something out.
    trials: Arc<Semaphore>,
    waits: Arc<Notify>,
    beat: Arc<Beat>,
}

/// Each agency's latest revision, told before the answers are.
pub(super) type Revisions = Arc<RwLock<HashMap<AgencyId, i64>>>;

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
        let waits = Arc::new(Notify::new());
        let beat = Arc::new(Beat::default());
        let tells = Tells {
            ended: Arc::clone(&ended),
            news: news.clone(),
            revisions: revisions.clone(),
            waits: Arc::clone(&waits),
            beat: Arc::clone(&beat),
        };
        let rates = limits.writes.map(|writes| Arc::new(WriteRates::new(writes)));
        Writer::start(db, location.clone(), Arc::clone(&registry), limits, tells, jobs)?;
        Ok(Self {
            queue,
            registry,
            clock,
            news,
            revisions,
            ended,
            hashing: Arc::default(),
            rates,
            trials: Arc::new(Semaphore::new(1)),
            waits,
            beat,
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

    /// The line before passwords.
    pub fn hashing(&self) -> &Arc<Hashing> {
        &self.hashing
    }

    /// How the writer fares.
    pub fn pulse(&self) -> Pulse {
        self.beat.read()
    }

    /// How many commands the writer took at once, by how often.
    pub fn groups(&self) -> Counts {
        self.beat.groups()
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
        let (received_at, ready) = self.read(&actor, sent_at, commands).await?;
        signed_in(self.queued(actor, received_at, ready, false, None).await?)
    }

    /// Sends a command that the service itself decides on; the same cause makes the same command.
    pub async fn send_own(&self, actor: Actor, kind: &str, cause: &str, body: &serde_json::Value) -> Result<Answer, Fault> {
        let command = Command {
            id: own_id(&format!("{kind}/{cause}")),
            kind: kind.to_owned(),
            at: None,
            expects: None,
            after: None,
            by: None,
            body: own_body(body)?,
        };
        let mut batch = self.send(Arc::new(actor), None, vec![command]).await?;
        batch.answers.pop().ok_or_else(|| anyhow::anyhow!("a command without an answer").into())
    }

    /// Tries a batch and undoes it: what would it do? `look` sees the database before and after. Answers as for a batch that
    /// was sent; nothing of it is kept.
    pub async fn try_out(&self, actor: Arc<Actor>, commands: Vec<Command>, look: Look) -> Result<Batch, Fault> {
        self.ended.allows(actor.sign_in)?;
        let (received_at, ready) = self.read(&actor, None, commands).await?;
        // A trial holds the writer and writes nothing: one waits for it at a time, so that whoever tries without end keeps a command
        // waiting for one trial and not for all.
        let turn = self.trials.acquire().await;
        let _turn = turn.map_err(|error| anyhow::anyhow!("the line of trials was closed: {error}"))?;
        signed_in(self.queued(actor, received_at, ready, false, Some(look)).await?)
    }

    async fn read(&self, actor: &Arc<Actor>, sent_at: Option<DateTime<Utc>>, commands: Vec<Command>) -> Result<(DateTime<Utc>, Vec<Ready>), Fault> {
        if let Some(rates) = &self.rates {
            rates.count(actor, &commands)?;
        }
        let (registry, own, received_at) = (Arc::clone(&self.registry), Arc::clone(actor), self.clock.now());
        // A batch that may not be sent takes no place in the line.
        let slow = commands
            .iter()
            .any(|command| registry.slow(&command.kind) && command.by.is_none() && registry.permit(actor, &command.kind).is_ok());
        let place = slow.then(|| self.hashing.place(actor.sender())).transpose()?;
        let read = move |place: Option<&HashingPlace>| reading::ready(&registry, &own, place, (received_at, sent_at), commands);
        let ready = if slow {
            let read = tokio::task::spawn_blocking(move || read(place.as_ref())).await;
            read.map_err(|error| anyhow::anyhow!("reading commands ended early: {error}"))?
        } else {
            read(None)
        };
        Ok((received_at, ready))
    }

    /// Settles all that is due in an agency now, before it is read; answers what the clock did.
    pub async fn settle(&self, agency: AgencyId) -> Result<Batch, Fault> {
        self.queued(Arc::new(Actor::service(agency, "the clock")), self.clock.now(), Vec::new(), false, None)
            .await
    }

    /// Does the clock's next piece of work for an agency: lapses of one instant, or some of what waits to be judged anew.
    /// No answers: there is nothing left to do now.
    pub async fn settle_slice(&self, agency: AgencyId) -> Result<Batch, Fault> {
        self.queued(Arc::new(Actor::service(agency, "the clock")), self.clock.now(), Vec::new(), true, None)
            .await
    }

    /// Waits until a command has left work for the clock.
    pub async fn left_to_clock(&self) {
        self.waits.notified().await;
    }

    async fn queued(&self, actor: Arc<Actor>, received_at: DateTime<Utc>, commands: Vec<Ready>, slice: bool, look: Option<Look>) -> Result<Batch, Fault> {
        let (reply, answer) = oneshot::channel();
        let job = Job {
            actor,
            received_at,
            commands,
            slice,
            look,
            trace: traces::current(),
            reply,
        };
        self.beat.queued();
        self.queue.try_send(job).inspect_err(|_| self.beat.taken(1)).map_err(|full| match full {
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

/// Refuses a whole batch whose sender's sign-in or key ended while it waited or was applied, as if it had ended before.
fn signed_in(batch: Batch) -> Result<Batch, Fault> {
    let mut problems = batch.answers.iter().filter_map(|answer| answer.problem.as_ref());
    match problems.find(|problem| is_signed_out(problem)) {
        Some(problem) => Err(Fault::new(problem.code, problem.detail.clone())),
        None => Ok(batch),
    }
}

pub(super) fn note(revisions: &Revisions, agency: AgencyId, rev: i64) {
    let mut known = revisions.write().unwrap_or_else(PoisonError::into_inner);
    let latest = known.entry(agency).or_default();
    *latest = rev.max(*latest);
}
