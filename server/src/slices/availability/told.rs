//! The intervals behind a number, each with the act that began it.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, TimeDelta, Utc};
use fullset_calc::capability::Level;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    rows::{self, Opening},
    view::not_found,
};
use crate::{
    platform::{
        db::Db,
        door::{Registry, told_in_words},
        error::{self, Fault},
        ids::AgencyId,
        past::{self, When},
        person::Person,
        record::{self, Record as _, Row},
    },
    slices::{rigs::Rig, stations::Station},
};

/// An interval of a rig.
#[derive(Debug, Serialize, ToSchema)]
pub struct StandingItem {
    /// From this instant on.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    from: DateTime<Utc>,
    /// Up to this one; null: it still lasts.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    until: Option<DateTime<Utc>>,
    /// The level that the rig was at.
    level: Level,
    /// Below full for planned service alone.
    planned: bool,
    /// From then on the level is not known: its answer had run out, and the rig was not judged again.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    unknown_from: Option<DateTime<Utc>>,
    /// The revision that began it.
    revision: i64,
    /// The kind of the command that began it.
    kind: Option<String>,
    /// Who sent that command; null where it is not on record.
    by: Option<Person>,
    /// What it was, in words.
    words: Option<String>,
}

/// The intervals of a rig, newest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct Standing {
    /// The intervals, newest first; 2,000 at most.
    items: Vec<StandingItem>,
}

/// The most intervals that are told at once.
const MOST_INTERVALS: i64 = 2000;

fn told(registry: &Registry, opened: Option<Opening>) -> (Option<String>, Option<Person>, Option<String>) {
    match opened {
        Some(Opening { kind, by, body }) => {
            let words = told_in_words(registry, &kind, &body);
            (Some(kind), Some(by), Some(words))
        }
        None => (None, None, None),
    }
}

/// The intervals behind a rig's numbers.
pub fn standing(
    db: &mut Db,
    registry: &Registry,
    agency: AgencyId,
    rig: Uuid,
    (from, until): (Option<DateTime<Utc>>, DateTime<Utc>),
    now: DateTime<Utc>,
) -> Result<Standing, Fault> {
    record::find(db, agency, Rig::KIND, rig)?
        .filter(|row| !row.gone)
        .ok_or_else(|| not_found("rig"))?;
    let items = rows::of_rig(db, agency, rig, from, until, MOST_INTERVALS)?
        .into_iter()
        .map(|(stretch, opened)| {
            let (kind, by, words) = told(registry, opened);
            StandingItem {
                from: stretch.from,
                until: stretch.until,
                level: stretch.level,
                planned: stretch.planned,
                unknown_from: stretch.unknown_from(now),
                revision: stretch.rev,
                kind,
                by,
                words,
            }
        });
    Ok(Standing { items: items.collect() })
}

/// One change on the board.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardChange {
    /// The rig whose answer changed.
    rig: Uuid,
    /// What the rig is called now.
    rig_name: String,
    /// Its station's name now.
    station_name: String,
    /// When the answer changed (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The level before; null when the rig was new.
    from: Option<Level>,
    /// The level since; the same as before where it only became, or ceased to be, planned service.
    to: Level,
    /// Below full for planned service alone.
    planned: bool,
    /// The revision that changed it.
    revision: i64,
    /// The kind of the command behind it.
    kind: Option<String>,
    /// Who sent that command; null where it is not on record.
    by: Option<Person>,
    /// What it was, in words.
    words: Option<String>,
}

/// What changed on the board.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardChanges {
    /// The last revision that does not count.
    revision: i64,
    /// The instant since when.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The instant up to which changes are told (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    until: DateTime<Utc>,
    /// The changes, newest first.
    items: Vec<BoardChange>,
    /// Whether there are more, older ones.
    more: bool,
}

/// The most changes that are told at once.
const MOST_CHANGES: usize = 500;

/// What changed on the board since an instant or a revision; since a day ago, where neither is named.
pub fn changes(
    db: &mut Db,
    registry: &Registry,
    agency: AgencyId,
    (since, until): (When, Option<DateTime<Utc>>),
    district: Option<Uuid>,
    now: DateTime<Utc>,
) -> Result<BoardChanges, Fault> {
    let since = if since.is_now() {
        When {
            at: Some(now - TimeDelta::days(1)),
            ..since
        }
    } else {
        since
    };
    let then = past::then(db, agency, since, now)?;
    let to = past::then(db, agency, When { at: until, revision: None }, now).map_err(|fault| if until.is_some() { fault.at("until") } else { fault })?;
    if to.at < then.at {
        return Err(Fault::new(error::QUERY_INVALID, "This is before the instant that is compared with; name a later one").at("until"));
    }
    let stations: HashMap<Uuid, String> = record::all(db, agency, Station::KIND)?.into_iter().map(|row| (row.id.0, row.label)).collect();
    let rigs: BTreeMap<Uuid, Row> = record::all(db, agency, Rig::KIND)?.into_iter().map(|row| (row.id.0, row)).collect();
    let wanted: Option<Vec<Uuid>> = district.map(|district| {
        let there = rigs.values().filter(|row| row.scope().district == Some(district));
        there.map(|row| row.id.0).collect()
    });
    let limit = i64::try_from(MOST_CHANGES + 1).unwrap_or(i64::MAX);
    let mut found = rows::opened_since(db, agency, then.revision, to.revision, wanted.as_deref(), limit)?;
    let more = found.len() > MOST_CHANGES;
    found.truncate(MOST_CHANGES);
    let touched: BTreeSet<Uuid> = found.iter().map(|(stretch, _)| stretch.rig).collect();
    let touched: Vec<Uuid> = touched.into_iter().collect();
    let mut before: HashMap<(Uuid, i64), Level> = HashMap::new();
    if let Some(earliest) = found.iter().map(|(stretch, _)| stretch.from).min() {
        let known = rows::ended_since(db, agency, &touched, earliest)?;
        for (one, next) in known.iter().zip(known.iter().skip(1)) {
            if one.rig == next.rig {
                before.insert((next.rig, next.rev), one.level);
            }
        }
    }
    let items = found.into_iter().filter_map(|(stretch, opened)| {
        let row = rigs.get(&stretch.rig)?;
        let (kind, by, words) = told(registry, opened);
        Some(BoardChange {
            rig: stretch.rig,
            rig_name: row.label.clone(),
            station_name: row.scope().station.and_then(|id| stations.get(&id).cloned()).unwrap_or_default(),
            at: stretch.from,
            from: before.get(&(stretch.rig, stretch.rev)).copied(),
            to: stretch.level,
            planned: stretch.planned,
            revision: stretch.rev,
            kind,
            by,
            words,
        })
    });
    Ok(BoardChanges {
        revision: then.revision,
        at: then.at,
        until: to.at,
        items: items.collect(),
        more,
    })
}
