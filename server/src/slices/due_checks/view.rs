use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use fullset_calc::ratings::Kind;
use fullset_care::{
    due::{DueState, Occasions},
    plan::Signer,
    zone::Calendar,
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::{
    rows,
    rules::{MOST_NAMED, MissedCheck, drops_at, first_day, missed_checks, why},
};
use crate::{
    platform::{
        db::Db,
        door::lapses,
        error::{self, Fault},
        ids::AgencyId,
        listing::{self, Filter},
        record::{self, Record as _},
    },
    slices::{
        agencies::Agency,
        capability::{PieceStanding, PlanDue, last_pass},
        check_plans::{CheckPlan, CheckPlanId, PlanRule, calendar},
        checks::CheckId,
        pieces::{Piece, PieceId, PieceState, Place},
        rigs::Rig,
    },
};

/// Which checks are asked for. Everything is optional.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct DueChecksQuery {
    /// Only pieces in this district.
    pub district: Option<Uuid>,
    /// Only pieces at this station.
    pub station: Option<Uuid>,
    /// Only pieces on this rig.
    pub rig: Option<Uuid>,
    /// Only pieces in this shop.
    pub shop: Option<Uuid>,
    /// Only checks of this one piece.
    pub piece: Option<Uuid>,
    /// Only checks by this plan.
    pub plan: Option<Uuid>,
    /// Only checks in this state: `good`, `due`, `overdue`, `dropped` or `unknown`.
    pub state: Option<String>,
    /// Missed checks from this duty day on: 90 days back unless said, 400 at most.
    pub missed_from: Option<NaiveDate>,
    /// Up to this many pieces, 1 to 500; 100 unless said.
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<i64>,
    /// Go on after this key, taken from `next` of the page before.
    pub after: Option<String>,
}

/// How one plan's check of a piece stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct DueCheck {
    /// The plan that the check is by.
    plan: CheckPlanId,
    /// The name of the check's plan.
    name: String,
    /// How often it asks: "weekly", "every 10 uses".
    rhythm: String,
    /// Who may sign.
    signer: Signer,
    /// The same in words: "a technician with a valid certificate".
    signed_by: &'static str,
    /// How it stands now.
    state: DueState,
    /// When the piece last passed what the plan asks for; null: no pass is on record.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    last_passed_at: Option<DateTime<Utc>>,
    /// When the next is due, or since when it is; null: nothing has made it due, or nobody knows.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    due_at: Option<DateTime<Utc>>,
    /// The duty day on which that lies.
    due_on: Option<NaiveDate>,
    /// From when on it counts against the piece, which then counts for nothing; null: it does not by itself.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    drops_at: Option<DateTime<Utc>>,
    /// Why then, or what is missing.
    why: String,
    /// The checks of the calendar that nobody passed in their time, newest first; 60 at most.
    #[schema(max_items = 60)]
    missed: Vec<MissedCheck>,
    /// How many they are in all.
    missed_count: usize,
}

/// The checks of one piece.
#[derive(Debug, Serialize, ToSchema)]
pub struct PieceChecks {
    /// The piece that the checks are of.
    piece: PieceId,
    /// The tag of the piece.
    tag: String,
    /// What it is.
    kind: Kind,
    /// Whether it may be used. What is out of service is asked for its checks as well: it is checked before it comes back.
    state: PieceState,
    /// Where it is.
    place: Place,
    /// Whether the answer is settled; where it is not, a plan has changed a moment ago and the piece is being judged anew.
    known: bool,
    /// One for each plan in force that holds for it.
    #[schema(max_items = 60)]
    checks: Vec<DueCheck>,
}

/// One page of due checks.
#[derive(Debug, Serialize, ToSchema)]
pub struct DueChecks {
    /// As of when.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The duty day that it is.
    day: NaiveDate,
    /// The first duty day of which missed checks are told.
    missed_from: NaiveDate,
    /// The pieces, by tag; those that no plan asks anything of, or nothing in the state that was asked for, are left out.
    items: Vec<PieceChecks>,
    /// The key to go on after; absent on the last page.
    #[serde(skip_serializing_if = "Option::is_none")]
    next: Option<String>,
}

fn refused(field: &str, words: impl Into<String>) -> Fault {
    Fault::new(error::QUERY_INVALID, words.into()).at(field)
}

fn state(word: &str) -> Result<DueState, Fault> {
    DueState::ALL.iter().copied().find(|state| state.word() == word).ok_or_else(|| {
        let all: Vec<&str> = DueState::ALL.iter().map(|state| state.word()).collect();
        refused("state", format!("'{word}' is no state of a due check; it is one of {}", all.join(", ")))
    })
}

/// What a page is worked out with.
struct Looking {
    plans: HashMap<CheckPlanId, PlanRule>,
    calendar: Calendar,
    now: DateTime<Utc>,
    state: Option<DueState>,
    missed_from: NaiveDate,
    passes: HashMap<Uuid, Vec<DateTime<Utc>>>,
}

/// One page. The same number of queries, however many pieces it is about.
pub fn due_checks(db: &mut Db, agency: AgencyId, asked: &DueChecksQuery, now: DateTime<Utc>) -> Result<DueChecks, Fault> {
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?
        .ok_or_else(|| Fault::new(error::NOT_FOUND, "There is no such agency"))?
        .read()?;
    let calendar = calendar(&own.policy, own.time_zone);
    let today = calendar.duty_day(now);
    let missed_from = first_day(asked.missed_from, today).map_err(|words| refused("missed_from", words))?;
    let plans: HashMap<CheckPlanId, PlanRule> = record::read_all::<CheckPlan>(db, agency)?
        .into_iter()
        .filter_map(PlanRule::of)
        .filter(|rule| asked.plan.is_none_or(|plan| plan == rule.id.0))
        .map(|rule| (rule.id, rule))
        .collect();
    if asked.plan.is_some() && plans.is_empty() {
        return Err(refused("plan", "There is no such check plan in force in this agency"));
    }
    let filter = Filter {
        district: asked.district,
        station: asked.station,
        rig: asked.rig,
        shop: asked.shop,
        parent: asked.piece,
        limit: asked.limit,
        after: asked.after.clone(),
        ..Filter::default()
    };
    let wanted = asked.state.as_deref().map(state).transpose()?;
    let (rows, more) = listing::page::<PieceStanding>(db, agency, &filter)?;
    if rows.is_empty() && asked.after.is_none() && asked.piece.is_some_and(|piece| !is_piece(db, agency, piece)) {
        return Err(refused("piece", "There is no such piece in this agency"));
    }
    let next = rows.last().filter(|_| more).map(listing::key_of);
    let standings: Vec<PieceStanding> = rows.iter().map(record::Row::read).collect::<Result<_, Fault>>()?;
    let ids: Vec<Uuid> = standings.iter().map(|standing| standing.id.0).collect();
    let pieces = rows::pieces(db, agency, &ids)?;
    let late = (lapses::late(db, agency, Piece::KIND, now)?, lapses::late(db, agency, Rig::KIND, now)?);
    // An occasion opens within the duty day before it is due.
    let from = calendar.day_begins(missed_from) - TimeDelta::days(2);
    let by_calendar: Vec<Uuid> = standings
        .iter()
        .flat_map(|standing| standing.due.iter().map(move |due| (due.plan, standing.id)))
        .filter(|(plan, _)| plans.get(plan).is_some_and(|rule| Occasions::of(&rule.plan.rhythm, &calendar).is_some()))
        .map(|(plan, piece)| CheckId::of(plan, piece).0)
        .collect();
    let looking = Looking {
        passes: rows::passes(db, agency, &by_calendar, from)?,
        plans,
        calendar,
        now,
        state: wanted,
        missed_from,
    };
    let mut items = Vec::new();
    for standing in standings {
        let Some(piece) = pieces.get(&standing.id.0) else { continue };
        let checks = looking.checks(piece, standing.due)?;
        let on_rig = standing.rig.is_some_and(|rig| late.1.contains_key(&rig.0));
        if !checks.is_empty() {
            items.push(PieceChecks {
                piece: piece.id,
                tag: piece.tag.clone(),
                kind: piece.kind,
                state: piece.state,
                place: piece.place.clone(),
                known: standing.known && !late.0.contains_key(&piece.id.0) && !on_rig,
                checks,
            });
        }
    }
    Ok(DueChecks {
        at: now,
        day: today,
        missed_from,
        items,
        next,
    })
}

fn is_piece(db: &mut Db, agency: AgencyId, piece: Uuid) -> bool {
    record::find(db, agency, Piece::KIND, piece).is_ok_and(|row| row.is_some_and(|row| !row.gone))
}

impl Looking {
    /// The checks of a piece that are asked for.
    fn checks(&self, piece: &Piece, dues: Vec<PlanDue>) -> Result<Vec<DueCheck>, Fault> {
        let mut checks = Vec::new();
        for PlanDue { plan, name, due } in dues {
            let Some(rule) = self.plans.get(&plan) else { continue };
            let state = due.state(self.now, &self.calendar);
            if self.state.is_some_and(|wanted| wanted != state) {
                continue;
            }
            let rhythm = &rule.plan.rhythm;
            let last_passed_at = last_pass(piece, rule, self.calendar.zone);
            let mut missed = self.missed(piece, rule, last_passed_at)?;
            let missed_count = missed.len();
            missed.truncate(MOST_NAMED);
            checks.push(DueCheck {
                plan,
                name,
                rhythm: rhythm.words(),
                signer: rule.plan.signer,
                signed_by: rule.plan.signer.words(),
                state,
                last_passed_at,
                due_at: due.at(),
                due_on: due.at().map(|at| self.calendar.duty_day(at)),
                drops_at: drops_at(rhythm, &due),
                why: why(&due).to_owned(),
                missed,
                missed_count,
            });
        }
        Ok(checks)
    }

    fn missed(&self, piece: &Piece, rule: &PlanRule, last: Option<DateTime<Utc>>) -> Result<Vec<MissedCheck>, Fault> {
        let mut passes = self.passes.get(&CheckId::of(rule.id, piece.id).0).cloned().unwrap_or_default();
        passes.extend(last);
        let from = self.calendar.day_begins(self.missed_from).max(rule.asks_since);
        let from = from.max(piece.registered_at.unwrap_or(from));
        missed_checks(&rule.plan.rhythm, &self.calendar, &passes, from, self.now).map_err(|fault| refused("missed_from", fault.words))
    }
}
