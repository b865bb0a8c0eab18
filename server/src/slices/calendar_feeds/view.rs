use std::collections::HashMap;

use fullset_care::due::Due;
use uuid::Uuid;

use super::{
    CalendarFeed, CalendarFeedState, CalendarPlace,
    calendar::{self, DueEvent},
    rows,
};
use crate::{
    platform::{auth::SecretHash, db::Db, error::Fault, ids::AgencyId, record},
    slices::{
        agencies::Agency,
        capability::PieceStanding,
        check_plans::{CheckPlan, CheckPlanId, PlanRule, calendar as calendar_of},
        districts::District,
        members::Member,
        rigs::Rig,
        shops::Shop,
        stations::Station,
    },
};

/// The most pieces whose checks a calendar shows.
const MOST_PIECES: i64 = 2_000;

/// The feed that a secret opens, and its agency.
pub fn opened_by(db: &mut Db, hash: &SecretHash) -> Result<Option<(AgencyId, Uuid)>, Fault> {
    rows::find(db, hash)
}

/// A feed whose address answers: not revoked, and whoever added it, and so knows the address, was not let go.
fn answering(db: &mut Db, agency: AgencyId, feed: Uuid) -> Result<Option<CalendarFeed>, Fault> {
    let feed = find::<CalendarFeed>(db, agency, feed)?.filter(|feed| feed.state == CalendarFeedState::Active);
    let Some(by) = feed.as_ref().and_then(|feed| feed.added_by.id) else {
        // The service or a program added it, or it is none.
        return Ok(feed);
    };
    let stays = find::<Member>(db, agency, by.0)?.is_some_and(|member| member.active);
    Ok(feed.filter(|_| stays))
}

/// The calendar file of a feed; none where it does not answer any more. A fixed number of queries.
pub fn file(db: &mut Db, agency: AgencyId, feed: Uuid) -> Result<Option<String>, Fault> {
    let Some(feed) = answering(db, agency, feed)? else {
        return Ok(None);
    };
    let (Some(own), Some(name)) = (find::<Agency>(db, agency, agency.0)?, name_of(db, agency, feed.place)?) else {
        return Ok(None);
    };
    let calendar = calendar_of(&own.policy, own.time_zone);
    let plans: HashMap<CheckPlanId, PlanRule> = record::read_all::<CheckPlan>(db, agency)?
        .into_iter()
        .filter_map(PlanRule::of)
        .map(|rule| (rule.id, rule))
        .collect();
    let rigs: HashMap<Uuid, String> = record::read_all::<Rig>(db, agency)?.into_iter().map(|rig| (rig.id.0, rig.name)).collect();
    let standings = rows::standings(db, agency, feed.place, MOST_PIECES)?;
    let mut revs: Vec<i64> = standings.iter().map(|standing| standing.rev).collect();
    revs.sort_unstable();
    revs.dedup();
    let changed = rows::instants(db, agency, &revs)?;
    let mut without_day = 0_usize;
    let mut events = Vec::new();
    for standing in &standings {
        let PieceStanding { id, tag, rig, due, rev, .. } = standing;
        let Some(changed_at) = changed.get(rev).copied() else { continue };
        for one in due {
            let Some(rule) = plans.get(&one.plan) else { continue };
            let (at, why) = match &one.due {
                Due::At { at, why, .. } => (*at, why),
                Due::Unknown { .. } => {
                    without_day += 1;
                    continue;
                }
                Due::NotYet { .. } => continue,
            };
            let signed_by = rule.plan.signer.words();
            events.push(DueEvent {
                uid: format!("{id}.{}@fullset", one.plan),
                day: calendar.duty_day(at),
                summary: format!("{}: {tag}", one.name),
                description: format!("Due {}\n{why}\nTo be signed by {signed_by}", calendar.show(at)),
                location: rig.and_then(|rig| rigs.get(&rig.0).cloned()),
                sequence: *rev,
                changed_at,
            });
        }
    }
    let unknown = match without_day {
        0 => String::new(),
        1 => " 1 check has no day, because nobody knows when it is due: see the list of due checks.".to_owned(),
        count => format!(" {count} checks have no day, because nobody knows when they are due: see the list of due checks."),
    };
    let about = format!("The next check of each piece by each plan, in {}.{unknown}", own.time_zone);
    Ok(Some(calendar::file(&format!("Checks: {name}"), &about, events)))
}

fn find<R: record::Record>(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<Option<R>, Fault> {
    record::find(db, agency, R::KIND, id)?.filter(|row| !row.gone).map(|row| row.read()).transpose()
}

fn name_of(db: &mut Db, agency: AgencyId, place: CalendarPlace) -> Result<Option<String>, Fault> {
    let id = place.id();
    Ok(match place {
        CalendarPlace::District { .. } => find::<District>(db, agency, id)?.map(|found| found.name),
        CalendarPlace::Station { .. } => find::<Station>(db, agency, id)?.map(|found| found.name),
        CalendarPlace::Rig { .. } => find::<Rig>(db, agency, id)?.map(|found| found.name),
        CalendarPlace::Shop { .. } => find::<Shop>(db, agency, id)?.map(|found| found.name),
    })
}
