use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use fullset_calc::ratings::Kind;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::{
    rows::{self, CheckSeen},
    rules::{ENOUGH_CHECKS, from, is_hasty},
};
use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        ids::AgencyId,
        person::Person,
        record,
    },
    slices::{
        notices::{Notice, NoticeId, progress},
        pieces::{Piece, PieceId, PieceState, Place},
        rigs::RigId,
    },
};

/// The most lines of each list.
const MOST: usize = 500;

/// What is asked for.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct SafetyQuery {
    /// So many days back, 1 to 400; 90 unless said.
    #[param(minimum = 1, maximum = 400)]
    pub days: Option<u32>,
}

/// A use of a piece that was out of service.
#[derive(Debug, Serialize, ToSchema)]
pub struct UsedWhileOut {
    /// The piece that was used although it was out of service or missing.
    piece: PieceId,
    /// The piece's asset tag.
    tag: String,
    /// The kind of gear that the piece is.
    kind: Kind,
    /// When it was used.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    used_at: DateTime<Utc>,
    /// Whether it may be used now: a person has returned it since.
    state: PieceState,
    /// Where it is now.
    place: Place,
}

/// A safety notice in force for which something is still to be done.
#[derive(Debug, Serialize, ToSchema)]
pub struct OpenNotice {
    /// The notice for which something is still to be done.
    notice: NoticeId,
    /// The number by which its issuer calls the notice.
    number: String,
    /// What it is about.
    title: String,
    /// Since when it is in force here.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    since: DateTime<Utc>,
    /// How many pieces it is about.
    pieces: usize,
    /// For how many something is still to be done.
    open: usize,
    /// Of those, how many were looked for and not found.
    not_found: usize,
}

/// What the safety officer looks at.
#[derive(Debug, Serialize, ToSchema)]
pub struct Safety {
    /// When this was read (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// From when on uses are told.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    from: DateTime<Utc>,
    /// Uses of pieces that were out of service, the last first; 500 at most.
    #[schema(max_items = 500)]
    used_while_out: Vec<UsedWhileOut>,
    /// Notices that are not closed, the oldest first; 100 at most.
    #[schema(max_items = 100)]
    notices: Vec<OpenNotice>,
}

/// A check of a round that was too fast for its answers.
#[derive(Debug, Serialize, ToSchema)]
pub struct HastyCheck {
    /// The piece that was checked.
    piece: Uuid,
    /// The piece's tag then.
    tag: String,
    /// The plan's name then.
    plan: String,
    /// The rig that it was on.
    rig: Option<RigId>,
    /// When it was done.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    done_at: DateTime<Utc>,
    /// Who signed the check of the piece.
    done_by: Person,
    /// How long the whole round took, in seconds, by the clock of its device.
    seconds: i64,
    /// How many steps were answered in it.
    answers: u32,
}

/// Somebody whose checks found nothing.
#[derive(Debug, Serialize, ToSchema)]
pub struct SpotlessMember {
    /// The member whose checks found nothing.
    member: Person,
    /// How many checks were recorded.
    checks: usize,
    /// How many of them in a round that was too fast.
    hasty: usize,
}

/// Checks that look as if they had not been done.
#[derive(Debug, Serialize, ToSchema)]
pub struct DoubtfulChecks {
    /// When this was read (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// From when on it was looked.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    from: DateTime<Utc>,
    /// How many checks were recorded since.
    checks: usize,
    /// Of how many of them nobody knows how long they took.
    untimed: usize,
    /// Checks of rounds that were too fast, the last first; 500 at most.
    #[schema(max_items = 500)]
    hasty: Vec<HastyCheck>,
    /// Members with at least 30 checks and no finding in any, the most checks first; 500 at most.
    #[schema(max_items = 500)]
    spotless: Vec<SpotlessMember>,
}

fn since(asked: &SafetyQuery, now: DateTime<Utc>) -> Result<DateTime<Utc>, Fault> {
    from(asked.days, now).map_err(|words| Fault::new(error::QUERY_INVALID, words).at("days"))
}

/// Reads what everybody may know.
pub fn safety(db: &mut Db, agency: AgencyId, asked: &SafetyQuery, now: DateTime<Utc>) -> Result<Safety, Fault> {
    let from = since(asked, now)?;
    let mut notices = Vec::new();
    for notice in record::read_all::<Notice>(db, agency)?
        .into_iter()
        .filter(|notice| notice.withdrawn_at.is_none())
    {
        let progress = progress(db, agency, &notice)?;
        if progress.open > 0 {
            notices.push(OpenNotice {
                notice: notice.id,
                number: notice.number,
                title: notice.title,
                since: notice.since,
                pieces: progress.pieces,
                open: progress.open,
                not_found: progress.not_found,
            });
        }
    }
    notices.sort_by(|a, b| (a.since, &a.number).cmp(&(b.since, &b.number)));
    Ok(Safety {
        at: now,
        from,
        used_while_out: used_while_out(db, agency, from)?,
        notices,
    })
}

/// A use that was corrected since leaves no later use behind: the piece was last used before it, or never.
fn used_while_out(db: &mut Db, agency: AgencyId, from: DateTime<Utc>) -> Result<Vec<UsedWhileOut>, Fault> {
    let uses = rows::used_while_out(db, agency, from)?;
    if uses.is_empty() {
        return Ok(Vec::new());
    }
    let pieces: HashMap<Uuid, Piece> = record::read_all::<Piece>(db, agency)?.into_iter().map(|piece| (piece.id.0, piece)).collect();
    let mut found: Vec<UsedWhileOut> = uses
        .into_iter()
        .filter_map(|(id, used_at)| {
            let piece = pieces.get(&id)?;
            piece.used_at.filter(|last| *last >= used_at)?;
            Some(UsedWhileOut {
                piece: piece.id,
                tag: piece.tag.clone(),
                kind: piece.kind,
                used_at,
                state: piece.state,
                place: piece.place.clone(),
            })
        })
        .collect();
    found.sort_by(|a, b| (b.used_at, &a.tag).cmp(&(a.used_at, &b.tag)));
    found.truncate(MOST);
    Ok(found)
}

/// Reads what only the coordinator is told.
pub fn doubtful_checks(db: &mut Db, agency: AgencyId, asked: &SafetyQuery, now: DateTime<Utc>) -> Result<DoubtfulChecks, Fault> {
    let from = since(asked, now)?;
    let all = rows::checks(db, agency, from)?;
    let hasty = |check: &CheckSeen| check.walk.as_ref().is_some_and(is_hasty);
    let mut members: BTreeMap<Uuid, (SpotlessMember, bool)> = BTreeMap::new();
    for check in &all {
        let Some(id) = check.done_by.id else { continue };
        let (told, found) = members.entry(id.0).or_insert_with(|| {
            let member = check.done_by.clone();
            let none = SpotlessMember { member, checks: 0, hasty: 0 };
            (none, false)
        });
        told.checks += 1;
        told.hasty += usize::from(hasty(check));
        *found |= !check.passed;
    }
    let mut spotless: Vec<SpotlessMember> = members
        .into_values()
        .filter(|(told, found)| !found && told.checks >= ENOUGH_CHECKS)
        .map(|(told, _)| told)
        .collect();
    spotless.sort_by(|a, b| (b.checks, &a.member.name).cmp(&(a.checks, &b.member.name)));
    spotless.truncate(MOST);
    Ok(DoubtfulChecks {
        at: now,
        from,
        checks: all.len(),
        untimed: all.iter().filter(|check| check.walk.is_none()).count(),
        hasty: told_hasty(all.iter().filter(|check| hasty(check))),
        spotless,
    })
}

fn told_hasty<'c>(checks: impl Iterator<Item = &'c CheckSeen>) -> Vec<HastyCheck> {
    let mut told: Vec<HastyCheck> = checks
        .filter_map(|check| {
            let walk = check.walk.as_ref()?;
            Some(HastyCheck {
                piece: check.piece,
                tag: check.tag.clone(),
                plan: check.plan.clone(),
                rig: check.rig.map(RigId),
                done_at: check.done_at,
                done_by: check.done_by.clone(),
                seconds: (walk.ended_at - walk.began_at).num_seconds(),
                answers: walk.answers,
            })
        })
        .collect();
    told.sort_by(|a, b| (b.done_at, &a.tag).cmp(&(a.done_at, &b.tag)));
    told.truncate(MOST);
    told
}
