//! A plan as it is worked out: lines of progress while the search goes on, at last the answer. The search runs on a thread of its own
//! and stops when nobody listens any more.

use std::{
    collections::HashMap,
    sync::Arc,
    time::{Duration, Instant},
};

use actix_web::web;
use fullset_calc::service_plan::{self as calc, Assigned, service_plan};
use serde::Serialize;
use tokio::sync::mpsc;
use utoipa::ToSchema;

use super::{
    due::{DueDistrict, DueSet, DueShop, DueYear, PlanLeftOut, count},
    feed::{PlanAsk, PlanVisit},
    rules::PlanPeriod,
};
use crate::{
    platform::{
        error::{Fault, Problem},
        http::{OwnPlace, SearchTurn, Searches, Shared},
        ids::AgencyId,
    },
    slices::{pieces::ToolSetId, shops::ShopId},
};

/// What a search may spend, in looks: in the order of ten seconds.
const BUDGET: u64 = 12_000_000_000;
/// Between two lines of progress.
const PACE: Duration = Duration::from_millis(100);
/// How often one that waits in line says so; by this it is also noticed that nobody listens any more.
const BEAT: Duration = Duration::from_secs(1);

/// How far a search is.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PlanProgress {
    /// Of the work allowed, how much is spent, 0 to 1. Most searches end long before 1.
    share: f64,
    /// What is being done.
    words: String,
}

/// A plan, or what stands in its way, with all that it was worked out from.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PlanAnswer {
    /// The plan. Its obstacles name a district only where the district's limit counts for a set.
    plan: calc::ServicePlan,
    /// The same as visits, to be kept.
    visits: Vec<PlanVisit>,
    /// The periods of the plan, in order.
    periods: Vec<PlanPeriod>,
    /// The sets that are due.
    sets: Vec<DueSet>,
    /// What districts can spare.
    districts: Vec<DueDistrict>,
    /// What shops have.
    shops: Vec<DueShop>,
    /// What is not planned, and why.
    left_out: Vec<PlanLeftOut>,
}

/// One line of the answer. The last one is `answer` or `problem`.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PlanLine {
    /// How far it is.
    Progress(PlanProgress),
    /// The plan, or why there is none: the last line.
    Answer(Box<PlanAnswer>),
    /// Why no plan was worked out: the last line.
    Problem(Box<Problem>),
}

impl PlanLine {
    fn bytes(&self) -> Result<web::Bytes, Fault> {
        let mut line = serde_json::to_vec(self)?;
        line.push(b'\n');
        Ok(line.into())
    }
}

/// Works a plan out, in the turn of who stands in that place; the lines come as they are made. What is not fetched is not made: the search stops when the receiver is gone.
pub fn work(shared: Arc<Shared>, (agency, place): (AgencyId, OwnPlace), ask: PlanAsk, due: DueYear) -> mpsc::Receiver<web::Bytes> {
    let (tell, lines) = mpsc::channel(16);
    actix_web::rt::spawn(async move {
        let last = match turn(&shared.searches, (agency, place), &tell).await {
            Ok(None) => return,
            Err(fault) => Err(fault),
            Ok(Some(turn)) => {
                let told = tell.clone();
                let found = web::block(move || {
                    let _turn = turn;
                    search(&ask, due, &told)
                });
                found.await.map_err(|error| anyhow::anyhow!("a search ended early: {error}").into()).flatten()
            }
        };
        let line = last.map_or_else(|fault| PlanLine::Problem(Box::new(told(&fault))), |answer| PlanLine::Answer(Box::new(answer)));
        if let Ok(line) = line.bytes() {
            // Whoever has gone does not miss it.
            drop(tell.send(line).await);
        }
    });
    lines
}

/// The problem of a fault; what is the service's own is logged, as it would be with a plain answer.
fn told(fault: &Fault) -> Problem {
    if fault.is_ours() {
        tracing::error!(code = %fault.code, cause = ?fault.cause, "failed");
    }
    fault.problem()
}

/// Waits for the turn; none when nobody listens any more.
async fn turn(searches: &Searches, (agency, place): (AgencyId, OwnPlace), tell: &mpsc::Sender<web::Bytes>) -> Result<Option<SearchTurn>, Fault> {
    let turn = searches.turn(place, agency);
    tokio::pin!(turn);
    let mut beat = tokio::time::interval(BEAT);
    loop {
        tokio::select! {
            biased;
            turn = &mut turn => return turn.map(Some),
            _ = beat.tick() => {
                let waits = PlanProgress { share: 0.0, words: "waiting in line: another search is going on".into() };
                if tell.is_closed() {
                    return Ok(None);
                }
                // Never waited for: a place must not stay taken by one that reads nothing.
                drop(tell.try_send(PlanLine::Progress(waits).bytes()?));
            }
        }
    }
}

/// The search itself.
fn search(ask: &PlanAsk, due: DueYear, tell: &mpsc::Sender<web::Bytes>) -> Result<PlanAnswer, Fault> {
    let began = Instant::now();
    let (mut last, mut spent) = (None::<Instant>, 0);
    let mut watch = |done: u64, bound: f64, _best: f64| {
        spent = done;
        if tell.is_closed() {
            return false;
        }
        if last.is_none_or(|last| last.elapsed() >= PACE) {
            last = Some(Instant::now());
            let progress = PlanLine::Progress(PlanProgress {
                share: share(done),
                words: if bound > 0.0 {
                    "reckoning how low the peak can be".into()
                } else {
                    "looking for a plan with less lateness, then with a lower peak".into()
                },
            });
            // A line that finds no room is not missed: the next one says more.
            if let Ok(line) = progress.bytes() {
                drop(tell.try_send(line));
            }
        }
        true
    };
    let plan = service_plan(&due.year(ask), BUDGET, &mut watch).map_err(|unfit| Fault::field("body", unfit.words))?;
    let left = tell.is_closed();
    let milliseconds = u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX);
    tracing::info!(sets = due.sets.len(), looks = spent, milliseconds, left, "a service plan was worked out");
    Ok(answer(ask, due, plan))
}

fn share(done: u64) -> f64 {
    // Thousandths are fine enough for a bar.
    let thousandths = u32::try_from(done.saturating_mul(1000) / BUDGET).unwrap_or(1000).min(1000);
    f64::from(thousandths) / 1000.0
}

fn answer(ask: &PlanAsk, due: DueYear, mut plan: calc::ServicePlan) -> PlanAnswer {
    let sets: HashMap<ToolSetId, &DueSet> = due.sets.iter().map(|set| (set.set, set)).collect();
    let visit = |placed: &Assigned| {
        let set = sets.get(&ToolSetId(placed.set))?;
        Some(PlanVisit {
            set: set.set,
            name: set.name.clone(),
            district: set.district,
            period: count(placed.period),
            shop: ShopId(placed.shop),
            hours: set.hours,
            due_on: set.due_on,
            late: count(placed.late),
            pinned: ask.pins.iter().any(|pin| pin.set == set.set),
            stand_in: placed.stand_in.map(ToolSetId),
        })
    };
    let mut visits: Vec<PlanVisit> = plan.plan.iter().filter_map(visit).collect();
    visits.sort_by(|a, b| a.period.cmp(&b.period).then_with(|| a.name.cmp(&b.name)));
    for obstacle in &mut plan.obstacles {
        // Sets that take no place are in a district that is none.
        obstacle.districts.retain(|district| !district.is_nil());
    }
    PlanAnswer {
        visits,
        plan,
        periods: due.periods,
        sets: due.sets,
        districts: due.districts,
        shops: due.shops,
        left_out: due.left_out,
    }
}
