//! One phone: a replica of its scope, an outbox, a clock that is wrong, and a bad line.

use std::{collections::BTreeSet, sync::Arc};

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    broken::Broken,
    fleet::{Fleet, Told},
    plan::{Air, Cut, PhonePlan, Step},
};
use crate::{
    sync::{belongs::Scope, known::id, model::Act, replica::Replica},
    world::Rng,
};

/// What a phone knows, as a copy of the whole phone would keep it.
#[derive(Debug, Clone, Default)]
struct Memory {
    scope: Scope,
    /// The scope that the token is of.
    token_of: Scope,
    replica: Replica,
    /// Everything up to this revision was known when its token was new: what compaction is measured by.
    settled: i64,
}

/// A phone.
pub struct Phone {
    pub number: usize,
    pub plan: PhonePlan,
    /// Everything that it has said so far, for words of its own.
    pub said: usize,
    /// The files that it has read in and not taken back: the import, and the command.
    pub imports: Vec<(Uuid, Value)>,
    /// What it has to send.
    pub outbox: Vec<Arc<Act>>,
    /// What has acted.
    done: Vec<Arc<Act>>,
    memory: Memory,
    kept: Option<Memory>,
}

impl Phone {
    pub fn new(number: usize, plan: PhonePlan, scope: Scope) -> Self {
        Self {
            number,
            plan,
            said: 0,
            imports: Vec::new(),
            outbox: Vec::new(),
            done: Vec::new(),
            memory: Memory { scope, ..Memory::default() },
            kept: None,
        }
    }

    pub fn scope(&self) -> &Scope {
        &self.memory.scope
    }

    pub fn replica(&self) -> &Replica {
        &self.memory.replica
    }

    /// The time by its own clock.
    pub fn clock(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        at.checked_add_signed(self.plan.skew).unwrap_or(at)
    }

    /// Does what was planned for a round.
    pub async fn live(&mut self, fleet: &Fleet, round: usize) {
        for step in self.plan.rounds[round].clone() {
            match step {
                Step::Read { pages, limit } => self.read(fleet, pages, limit).await,
                Step::Say(rng) => {
                    let said = self.say(rng);
                    self.outbox.extend(said.into_iter().map(Arc::new));
                }
                Step::Send { air, cut, rng } => self.send(fleet, air, cut, rng).await,
                Step::Again(rng) => self.again(fleet, rng).await,
                Step::Go(to) => self.memory.scope = fleet.scopes[to].clone(),
                Step::Keep => self.kept = Some(self.memory.clone()),
                Step::Restore => {
                    if let Some(kept) = self.kept.clone() {
                        fleet.count("phones put back to a copy");
                        self.memory = kept;
                    }
                }
                Step::Strange(which) => self.open_a_strange_token(fleet, which).await,
            }
        }
    }

    fn address(&self, token: Option<&str>, limit: usize) -> String {
        let since = token.map(|token| format!("&since={token}")).unwrap_or_default();
        format!("/v1/changes?scope={}&limit={limit}{since}", self.memory.scope.query())
    }

    /// Reads some pages, or as many as there are before the line breaks.
    async fn read(&mut self, fleet: &Fleet, pages: usize, limit: usize) {
        for _ in 0..pages {
            if self.page(fleet, limit).await != Some(true) {
                return;
            }
        }
    }

    /// Reads one page; answers whether there is more, or nothing when the line broke.
    async fn page(&mut self, fleet: &Fleet, limit: usize) -> Option<bool> {
        let server = self.plan.rng.roll(2);
        let token = self.memory.replica.next.clone();
        let strange = token.is_some() && self.memory.token_of != self.memory.scope;
        let path = self.address(token.as_deref(), limit);
        match fleet.get(server, self.plan.role, &path).await? {
            (200, mut page) => {
                if strange {
                    fleet.fault(format!("a token of another scope was followed: {path}"));
                }
                if fleet.broken == Some(Broken::ProxyTakesOneChange) && self.number == 0 {
                    page["changes"].as_array_mut().expect("changes").pop();
                }
                fleet.saw(&page);
                Some(self.take(fleet, &page, limit, token.is_none()))
            }
            (410, problem) if problem["code"] == "resync-required" && token.is_some() => {
                if !strange && !fleet.has_forgotten(self.memory.settled) {
                    fleet.fault(format!("a token that can be followed was refused: {path} {problem}"));
                }
                fleet.count(if strange { "new scopes" } else { "resyncs after compaction" });
                if fleet.broken == Some(Broken::KeepsTheOldScope) {
                    self.memory.replica.next = None;
                    self.memory.replica.revision = 0;
                } else {
                    self.memory.replica = Replica::default();
                }
                Some(true)
            }
            (503, _) => None,
            (status, answer) => {
                fleet.fault(format!("{path} was answered {status} {answer}"));
                None
            }
        }
    }

    fn take(&mut self, fleet: &Fleet, page: &Value, limit: usize, first: bool) -> bool {
        let (more, revision) = (page["more"] == true, page["revision"].as_i64().unwrap_or_default());
        self.memory.token_of = self.memory.scope.clone();
        if first || !more {
            self.memory.settled = revision;
        }
        let mut page = std::borrow::Cow::Borrowed(page);
        match fleet.broken {
            Some(Broken::DropsAPage) if self.number == 0 && more => page.to_mut()["changes"] = json!([]),
            Some(Broken::IgnoresGone) => page.to_mut()["changes"]
                .as_array_mut()
                .expect("changes")
                .retain(|change| change["gone"].is_null()),
            _ => {}
        }
        if let Err(fault) = self.memory.replica.take(&page, limit) {
            fleet.fault(format!("phone {}: {fault}", self.number));
        }
        more
    }

    /// A token that is not its own must never be followed: that would be a silent hole.
    async fn open_a_strange_token(&mut self, fleet: &Fleet, which: usize) {
        let Some(own) = self.memory.replica.next.clone() else { return };
        let token = match which {
            0 => "made-up".to_owned(),
            1 => own.chars().skip(1).collect(),
            2 => format!("{own}A"),
            _ => ".".to_owned(),
        };
        let path = self.address(Some(&token), 10);
        if let Some((status, answer)) = fleet.get(0, self.plan.role, &path).await
            && (status, &answer["code"]) != (410, &json!("resync-required"))
        {
            fleet.fault(format!("{path} was answered {status} {answer}"));
        }
    }

    fn body(&self, acts: &[Arc<Act>]) -> Value {
        let commands: Vec<&Value> = acts.iter().map(|act| &act.command).collect();
        json!({ "sent_at": self.clock(Utc::now()), "commands": commands })
    }

    async fn send(&mut self, fleet: &Fleet, air: Air, cut: Cut, mut rng: Rng) {
        let mut all = self.outbox.clone();
        let batches: Vec<Vec<Arc<Act>>> = match cut {
            Cut::Whole => vec![all],
            Cut::Into(size) => all.chunks(size).map(<[_]>::to_vec).collect(),
            Cut::Shuffled => {
                rng.shuffle(&mut all);
                vec![in_order(all)]
            }
            Cut::TailFirst => {
                let tail = all.split_off(all.len() / 2);
                vec![tail, all]
            }
        };
        for batch in batches.into_iter().filter(|batch| !batch.is_empty()) {
            self.post(fleet, air, batch, &mut rng).await;
        }
    }

    async fn post(&mut self, fleet: &Fleet, air: Air, batch: Vec<Arc<Act>>, rng: &mut Rng) {
        let (body, low, server) = (self.body(&batch), fleet.latest(), rng.roll(2));
        match air {
            Air::Silent => {}
            Air::Good => {
                if let Some(answer) = fleet.post(server, self.plan.role, &body).await {
                    self.hear(fleet, &batch, &answer, low, true);
                }
            }
            Air::ReplyLost => {
                fleet.count("replies lost");
                let _ = fleet.post(server, self.plan.role, &body).await;
                if fleet.broken == Some(Broken::NewIdOnResend) {
                    self.rename(&batch);
                }
            }
            Air::Twice => {
                let (one, two) = tokio::join!(fleet.post(server, self.plan.role, &body), fleet.post(server + 1, self.plan.role, &body));
                // What one answer says was not done, the other may have done: that is known when both are there.
                let both = one.is_some() && two.is_some();
                for answer in [one, two].into_iter().flatten() {
                    self.hear(fleet, &batch, &answer, low, both);
                }
            }
        }
    }

    /// Broken on purpose: new ids for what was sent.
    fn rename(&mut self, batch: &[Arc<Act>]) {
        for act in &mut self.outbox {
            if batch.iter().any(|sent| Arc::ptr_eq(sent, act)) {
                let mut new = Act::clone(act);
                new.command["id"] = json!(self.plan.rng.id(Utc::now()));
                *act = Arc::new(new);
            }
        }
    }

    fn waits(&self, command: &Value) -> bool {
        self.outbox.iter().any(|act| act.command["id"] == *command)
    }

    /// Takes the answers to a batch; a refusal is only believed where nothing else is on its way.
    fn hear(&mut self, fleet: &Fleet, batch: &[Arc<Act>], answer: &Value, low: i64, alone: bool) {
        let answers = answer["answers"].as_array().expect("answers");
        let revision = answer["revision"].as_i64().expect("a revision");
        fleet.heard(revision);
        if answers.len() != batch.len() {
            fleet.fault(format!("{} answers to {} commands", answers.len(), batch.len()));
            return;
        }
        let applied = |answer: &Value| answer["revision"].as_i64().filter(|_| answer["outcome"] == "applied");
        let mut low = low;
        for (n, (act, answer)) in batch.iter().zip(answers).enumerate() {
            if answer["id"] != act.command["id"] {
                fleet.fault(format!("{answer} answers {}", act.command));
            }
            let next = answers.iter().skip(n + 1).find_map(applied).map(|rev| rev - 1);
            let outcome = answer["outcome"].as_str().unwrap_or_default();
            let code = answer["problem"]["code"].as_str().unwrap_or_default();
            low = applied(answer).unwrap_or(low);
            fleet.tell(Told {
                act: Arc::clone(act),
                outcome: outcome.to_owned(),
                code: code.to_owned(),
                revision: answer["revision"].as_i64(),
                current: answer["current"].clone(),
                low,
                high: next.or((fleet.servers() == 1).then_some(revision)),
            });
            let acted = ["applied", "repeated"].contains(&outcome);
            if !acted && !alone {
                continue;
            }
            if code == "after-refused" && self.waits(&act.command["after"]) {
                continue; // Its turn comes when the one before has been answered.
            }
            if !self.waits(&act.command["id"]) {
                continue; // Answered before.
            }
            self.outbox.retain(|waiting| waiting.command["id"] != act.command["id"]);
            if acted {
                self.done.push(Arc::clone(act));
            }
            if outcome == "conflict" && self.plan.rng.chance(50) {
                self.decide_again(act, &answer["current"]);
            }
        }
    }

    /// A person has looked at both sides of a conflict and decides the same on the record as it stands.
    fn decide_again(&mut self, act: &Act, current: &Value) {
        let mut new = act.clone();
        new.command["id"] = json!(self.plan.rng.id(Utc::now()));
        new.command["expects"] = current["rev"].clone();
        new.command["after"] = Value::Null;
        new.seen = current["rev"].as_i64().unwrap_or_default();
        self.outbox.push(Arc::new(new));
    }

    /// Sends again what has acted, in other company: it must be answered as the first time and act no more.
    async fn again(&mut self, fleet: &Fleet, mut rng: Rng) {
        let mut all: Vec<Arc<Act>> = self.done.iter().chain(&self.outbox).cloned().collect();
        rng.shuffle(&mut all);
        all.truncate(6);
        let batch = in_order(all);
        if !batch.is_empty() {
            self.post(fleet, Air::Good, batch, &mut rng).await;
        }
    }

    /// Has signal at last: sends everything.
    pub async fn flush(&mut self, fleet: &Fleet) {
        let mut rng = self.plan.rng.fork();
        for _ in 0..50 {
            if self.outbox.is_empty() {
                return;
            }
            self.send(fleet, Air::Good, Cut::Whole, rng.fork()).await;
        }
        fleet.fault(format!("phone {} could not get rid of {:?}", self.number, self.outbox));
    }

    /// Follows its feed to the end.
    pub async fn catch_up(&mut self, fleet: &Fleet) {
        let limit = [10, 50, 200, 2000][self.plan.rng.roll(4)];
        for _ in 0..1000 {
            if self.page(fleet, limit).await == Some(false) {
                return;
            }
        }
        fleet.fault(format!("phone {} came to no end", self.number));
    }

    /// The skew of its clock is measured: what was done at an instant is never dated before it.
    pub fn said_at(&self, rng: &mut Rng) -> (DateTime<Utc>, DateTime<Utc>) {
        let at = Utc::now() - TimeDelta::seconds(i64::try_from(rng.roll(10_000)).expect("small"));
        (at, self.clock(at))
    }
}

/// Puts what follows another command behind it.
fn in_order(mut acts: Vec<Arc<Act>>) -> Vec<Arc<Act>> {
    let mut ordered: Vec<Arc<Act>> = Vec::with_capacity(acts.len());
    while !acts.is_empty() {
        let waiting: BTreeSet<_> = acts.iter().map(|act| id(&act.command, "id")).collect();
        let (later, now): (Vec<_>, Vec<_>) = acts
            .into_iter()
            .partition(|act| act.command["after"].is_string() && waiting.contains(&id(&act.command, "after")));
        ordered.extend(now);
        acts = later;
    }
    ordered
}
