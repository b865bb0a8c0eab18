//! From what the register says of a piece to what capability is judged by. Dates become instants here: a day begins and
//! ends in the agency's time zone.

use std::sync::Arc;

use chrono::{DateTime, Datelike as _, Days, NaiveDate, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{self as calc, DueCheck, LastRelease, Life, LifeOf, Limit, Overdue, RatedAt, State},
    ratings::{Gear, Kind},
};
use fullset_care::{
    due::{Due, Past, Run, grace_days, next_due},
    life::{End, LifePart, ServiceLife},
    notice::Hit,
    plan::{Proof, Rhythm},
};

use super::feed::PlanDue;
use crate::{
    platform::said::quoted,
    slices::{
        agencies::{LooseRule, LooserRule, Policy, day_begins},
        check_plans::{PlanRule, calendar},
        models::Model,
        notices::{Notice, NoticeAction},
        pieces::{NoticeState, Piece, PieceLimit, PieceState, Released, lives},
        uses::Ran,
    },
};

/// A model's part that many pieces share.
#[derive(Debug, Clone)]
pub struct SharedModel {
    pub kind: Kind,
    pub gear: Option<Gear>,
    pub hookup: Arc<fullset_calc::hookup::Hookup>,
    pub ratings: Arc<fullset_calc::ratings::Ratings>,
    pub rated_at: Arc<Vec<RatedAt>>,
    pub service_lives: Arc<Vec<ServiceLife>>,
}

impl From<Model> for SharedModel {
    fn from(model: Model) -> Self {
        Self {
            kind: model.kind,
            gear: model.gear,
            hookup: Arc::new(model.hookup),
            ratings: Arc::new(model.ratings),
            rated_at: Arc::new(model.rated_at),
            service_lives: Arc::new(model.service_lives),
        }
    }
}

/// A due day beyond this year is a slip of the pen; it never falls due.
const LAST_YEAR: i32 = 9000;

/// What the agency judges every piece by.
#[derive(Debug, Clone, Copy)]
pub struct PieceRules<'a> {
    pub policy: &'a Policy,
    /// The rules of its own that are looser than the shipped ones.
    pub looser: &'a [LooserRule],
    /// The check plans in force.
    pub plans: &'a [PlanRule],
    /// The safety notices in force, oldest first.
    pub notices: &'a [Notice],
    pub zone: Tz,
}

/// The piece as capability sees it, and when each check that a plan asks of it is due.
pub fn judged(piece: &Piece, model: &SharedModel, rules: PieceRules<'_>, ran: &Ran) -> (calc::Piece, Vec<PlanDue>) {
    let PieceRules { policy, zone, .. } = rules;
    let told = told(piece, rules.notices, zone);
    let due = dues(piece, rules, ran);
    let (life, life_of) = life(piece, model, policy, zone);
    let state = match piece.state {
        PieceState::InService => told.not_found.map_or(State::InService, |since| State::Missing { since }),
        PieceState::OutOfService | PieceState::Retired => State::OutOfService {
            since: piece.state_since,
            reason: quoted(piece.state_reason.as_deref().unwrap_or_default()),
        },
        PieceState::Missing => State::Missing { since: piece.state_since },
    };
    let judged = calc::Piece {
        id: piece.id.0,
        tag: piece.tag.clone(),
        kind: model.kind,
        gear: model.gear,
        hookup: Arc::clone(&model.hookup),
        ratings: Arc::clone(&model.ratings),
        rated_at: Arc::clone(&model.rated_at),
        fixed_to: piece.fixed_to.map(|source| source.0),
        state,
        stop_use: told.stop_use,
        quarantine: None,
        life,
        life_of,
        checks: annual(piece, model.kind, policy, zone)
            .into_iter()
            .chain(planned(&due, rules))
            .chain(told.inspections)
            .collect(),
        limits: piece.limits.iter().map(limit).chain(told.limits).collect(),
        last_check: piece.last_service_on.map(|day| day_begins(day, zone)).max(piece.checked_at),
        used_unchecked: piece.used_at.filter(|used| piece.checked_at.is_none_or(|checked| checked < *used)),
        used_while_out: piece.used_while_out,
        released: piece.released.as_ref().and_then(released),
        looser_rules: rules.looser.iter().filter_map(|own| spared(piece, model, policy, own, zone)).collect(),
        untried_since: piece.untried_since(),
    };
    (judged, due)
}

/// A release by the shipped rules that rests on limits on record alone has nothing to tell.
fn released(released: &Released) -> Option<LastRelease> {
    (!released.without_limit.is_empty() || !released.own_rule.is_empty()).then(|| LastRelease {
        at: released.at,
        without_limit: released.without_limit.clone(),
        manual: released.manual.clone(),
        own_rule: released.own_rule.iter().map(|why| quoted(why)).collect(),
    })
}

/// From when until when the piece counts only because the agency has made a rule looser; none where the rule does not touch it.
fn spared(piece: &Piece, model: &SharedModel, policy: &Policy, own: &LooserRule, zone: Tz) -> Option<calc::LooserRule> {
    let shipped = Policy::default();
    let annual = |policy: &Policy| match annual_service(piece, model.kind, policy) {
        AnnualService::DueOn(due) => Some(day_begins(due, zone)),
        AnnualService::None | AnnualService::Unknown => None,
    };
    let counts_from = |by: &Policy, due| by.for_capability().counts_from(due);
    let (from, until) = match own.rule {
        LooseRule::AnnualCheckDays => (annual(&shipped)?, annual(policy)),
        LooseRule::OverdueGraceDays => {
            let due = annual(policy)?;
            (counts_from(&shipped, due)?, counts_from(policy, due))
        }
        LooseRule::HoseLifeYears => match (life(piece, model, &shipped, zone).0, life(piece, model, policy, zone).0) {
            (Life::Ends(from), Life::Ends(until)) => (from, Some(until)),
            (Life::Ends(from), Life::None) => (from, None),
            _ => return None,
        },
        // These are the rig's matter, or say their reason where they apply.
        LooseRule::PressureTolerance | LooseRule::Batteries | LooseRule::Adapters | LooseRule::UnknownHoseAge => return None,
    };
    Some(calc::LooserRule {
        from,
        until,
        words: format!("{}: {}", own.words, quoted(&own.reason)),
    })
}

fn limit(limit: &PieceLimit) -> Limit {
    Limit {
        since: limit.since,
        what: quoted(&limit.what),
        words: limit.words.clone(),
        repair_by: Some(limit.repair_by),
        without: limit.without.clone(),
        own_rule: limit.own_rule.as_deref().map(quoted),
    }
}

/// The life of a piece that ends first, of those of the whole and of its parts. One whose beginning nobody knows meets nothing; of a hose of
/// unknown age the coordinator may allow it until a day.
fn life(piece: &Piece, model: &SharedModel, policy: &Policy, zone: Tz) -> (Life, LifeOf) {
    let mut found = (Life::None, LifeOf::Piece);
    for one in lives(piece, model.kind, &model.service_lives, policy) {
        let of = match one.part {
            LifePart::Whole => LifeOf::Piece,
            part => LifeOf::Part(part.word()),
        };
        let own = match (one.end, &piece.cycles) {
            (End::On(day), _) if day.year() <= LAST_YEAR => (Life::Ends(day_begins(day, zone)), of),
            (End::On(_), _) => continue,
            (End::DateUnknown, _) if model.kind == Kind::Hose => (of_unknown_age(policy, zone), of),
            (End::DateUnknown, _) => (Life::Unknown, of),
            (End::AtCycles(Some(count), limit), Some(read)) if count >= limit => (Life::Ends(read.at), LifeOf::Cycles),
            (End::AtCycles(Some(_), _), _) => continue,
            (End::AtCycles(None, _), _) => (Life::Unknown, LifeOf::Cycles),
        };
        found = sooner(found, own);
    }
    found
}

fn of_unknown_age(policy: &Policy, zone: Tz) -> Life {
    policy.unknown_hose_age.as_ref().map_or(Life::Unknown, |allowance| {
        let after = allowance.until.succ_opt().unwrap_or(allowance.until);
        Life::AllowedUntil(day_begins(after, zone), quoted(&allowance.reason))
    })
}

/// What is unknown before what ends, and of two ends the first.
fn sooner(one: (Life, LifeOf), other: (Life, LifeOf)) -> (Life, LifeOf) {
    match (&one.0, &other.0) {
        (Life::None, _) => other,
        (Life::Unknown, _) | (_, Life::None) => one,
        (_, Life::Unknown) => other,
        (Life::Ends(first) | Life::AllowedUntil(first, _), Life::Ends(second) | Life::AllowedUntil(second, _)) => {
            if second < first {
                other
            } else {
                one
            }
        }
    }
}

/// When a piece is due for its annual service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnnualService {
    /// It has none: not for its kind, or not in any year that means something.
    None,
    /// Nobody knows: neither a last service nor a first day of service is on record.
    Unknown,
    /// On this day.
    DueOn(NaiveDate),
}

/// The annual service counts from the last one, or from the first day of service where none is recorded.
pub fn annual_service(piece: &Piece, kind: Kind, policy: &Policy) -> AnnualService {
    if kind == Kind::Accessory {
        return AnnualService::None;
    }
    let Some(from) = piece.last_service_on.or(piece.in_service_since) else {
        return AnnualService::Unknown;
    };
    from.checked_add_days(Days::new(u64::from(policy.annual_check_days)))
        .filter(|due| due.year() <= LAST_YEAR)
        .map_or(AnnualService::None, AnnualService::DueOn)
}

/// The annual check as capability sees it. Packs and chargers have one too (DGUV Grundsatz 305-002, 13.2.3).
fn annual(piece: &Piece, kind: Kind, policy: &Policy, zone: Tz) -> Option<DueCheck> {
    let due = match annual_service(piece, kind, policy) {
        AnnualService::DueOn(due) => Some(day_begins(due, zone)),
        AnnualService::Unknown => None,
        AnnualService::None => return None,
    };
    Some(DueCheck {
        name: "annual service".into(),
        due,
        overdue: Overdue::AgencyGrace,
    })
}

/// When a piece last passed what a plan asks for. A service that is on record counts as a pass of the plans that prove one, and any look over
/// the piece as one of the plans after use.
pub fn last_pass(piece: &Piece, rule: &PlanRule, zone: Tz) -> Option<DateTime<Utc>> {
    let passed = piece.passes.iter().find(|pass| pass.plan == rule.id).map(|pass| pass.at);
    let serviced = piece.last_service_on.filter(|_| rule.plan.proves.contains(&Proof::Serviced));
    let looked = piece.checked_at.filter(|_| rule.plan.rhythm == Rhythm::Use);
    passed.max(serviced.map(|day| day_begins(day, zone))).max(looked)
}

/// When each check of a piece is due; `ran` is what it ran since its last pass of each plan that counts it.
fn dues(piece: &Piece, rules: PieceRules<'_>, ran: &Ran) -> Vec<PlanDue> {
    let PieceRules { policy, zone, .. } = rules;
    let calendar = calendar(policy, zone);
    let last_used: Vec<Run> = piece.used_at.map(|at| Run { at, minutes: None }).into_iter().collect();
    let covering = rules.plans.iter().filter(|rule| rule.plan.covers.has(piece.kind, Some(piece.model.0)));
    covering
        .map(|rule| {
            let past = Past {
                last_pass: last_pass(piece, rule, zone),
                since: rule.since.max(piece.registered_at.unwrap_or(rule.since)),
                uses: if rule.plan.rhythm.counts() { &ran.uses } else { &last_used },
                meter: &ran.meter,
                events: &[],
            };
            PlanDue {
                plan: rule.id,
                name: rule.plan.name.clone(),
                due: next_due(&rule.plan, &past, &calendar, &policy.for_capability()),
            }
        })
        .collect()
}

/// The same as capability sees them. A check after use is what it asks of every piece in any case.
fn planned<'r>(due: &'r [PlanDue], rules: PieceRules<'r>) -> impl Iterator<Item = DueCheck> + 'r {
    due.iter().filter_map(move |one| {
        let rule = rules
            .plans
            .iter()
            .find(|rule| rule.id == one.plan)
            .filter(|rule| rule.plan.rhythm != Rhythm::Use)?;
        let due = match one.due {
            Due::At { at, .. } => Some(at),
            Due::Unknown { .. } => None,
            Due::NotYet { .. } => return None,
        };
        Some(DueCheck {
            name: one.name.clone(),
            due,
            overdue: Overdue::Grace(grace_days(&rule.plan, &rules.policy.for_capability())),
        })
    })
}

/// What safety notices do to a piece.
#[derive(Default)]
struct NoticeEffects {
    stop_use: Option<calc::Notice>,
    limits: Vec<Limit>,
    inspections: Vec<DueCheck>,
    /// When somebody first looked for it and did not find it.
    not_found: Option<DateTime<Utc>>,
}

/// The notices in force that the piece is, or may be, affected by and that nobody has done it with. Of several that stop its use the first.
fn told(piece: &Piece, notices: &[Notice], zone: Tz) -> NoticeEffects {
    let mut told = NoticeEffects::default();
    for notice in notices {
        let mark = piece.notices.iter().find(|mark| mark.notice == notice.id.0);
        if mark.is_some_and(|mark| mark.state.is_done()) {
            continue;
        }
        let why = match notice.hit(piece) {
            Hit::No => continue,
            Hit::Yes => String::new(),
            Hit::Unknown { why } => format!("; {why}"),
        };
        // Somebody looked for it and it was not there: whatever the records say, nobody can take it in hand.
        let not_found = mark.filter(|mark| mark.state == NoticeState::NotFound).map(|mark| mark.at);
        told.not_found = told.not_found.or(not_found);
        let words = format!("{}{why}", notice.words());
        match &notice.action {
            NoticeAction::StopUse => {
                let since = notice.since;
                told.stop_use = told.stop_use.or(Some(calc::Notice { since, words }));
            }
            NoticeAction::Limit { words: how } => told.limits.push(Limit {
                since: notice.since,
                what: words,
                words: how.clone(),
                repair_by: None,
                without: Vec::new(),
                own_rule: None,
            }),
            NoticeAction::InspectBy { by } => told.inspections.push(DueCheck {
                name: format!("inspection by {words}"),
                due: Some(day_begins(by.succ_opt().unwrap_or(*by), zone)),
                overdue: Overdue::Grace(0),
            }),
        }
    }
    told
}
