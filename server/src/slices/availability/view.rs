//! From intervals to shares.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use fullset_calc::standing::{Interval, Shares, shares};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::{
    months::{Span, span},
    rows::{self, Stretch},
};
use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record as _, Row},
    },
    slices::{agencies::Agency, districts::District, rigs::Rig},
};

/// What a row stands for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum AvailabilityBy {
    /// The whole agency: one row.
    #[default]
    Agency,
    /// A district.
    District,
    /// A rig.
    Rig,
}

/// What is asked of availability.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// What a row stands for: `agency` unless said.
    #[serde(default)]
    #[param(inline, required = false)]
    pub by: AvailabilityBy,
    /// Only the row of this district or rig.
    pub of: Option<Uuid>,
    /// Only the time that rigs spent in this district.
    pub district: Option<Uuid>,
    /// The first month, `2026-01`; eleven months before the last unless said. 120 months at most.
    pub from: Option<String>,
    /// The last month; the running one unless said.
    pub until: Option<String>,
}

/// How one row stood.
#[derive(Debug, Serialize, ToSchema)]
struct AvailabilityRow {
    /// The agency, the district or the rig.
    id: Uuid,
    /// What the agency, the district or the rig is called now.
    name: String,
    /// One for each month.
    months: Vec<Shares>,
    /// Shares of the whole time, all months together.
    total: Shares,
}

/// Shares of each month at each level.
#[derive(Debug, Serialize, ToSchema)]
pub struct Availability {
    /// Up to when it is counted.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The time zone in which the months begin.
    time_zone: String,
    /// What a row stands for.
    by: AvailabilityBy,
    /// The months that are counted, the earliest first: `2026-01`.
    #[schema(example = json!(["2026-01"]))]
    months: Vec<String>,
    /// The rows, by name.
    rows: Vec<AvailabilityRow>,
    /// The same in a sentence for people.
    words: String,
}

/// The intervals of a rig that lie in one district, and those that do not.
#[derive(Default)]
struct SplitIntervals {
    here: Vec<Interval>,
    elsewhere: Vec<Interval>,
}

/// An interval with the district where the rig then stood.
type Part = (Option<Uuid>, Interval);

/// Where each rig stood when.
pub(super) struct Whereabouts {
    now: HashMap<Uuid, Option<Uuid>>,
    left: HashMap<Uuid, Vec<rows::DistrictMove>>,
}

impl Whereabouts {
    pub(super) fn read(db: &mut Db, agency: AgencyId, rigs: &[Row]) -> Result<Self, Fault> {
        let mut left: HashMap<Uuid, Vec<rows::DistrictMove>> = HashMap::new();
        for moved in rows::moves(db, agency)? {
            left.entry(moved.rig).or_default().push(moved);
        }
        Ok(Self {
            now: rigs.iter().map(|row| (row.id.0, row.scope().district)).collect(),
            left,
        })
    }

    /// A time of a rig in parts: one for each district in which it stood meanwhile.
    pub(super) fn split(&self, rig: Uuid, time: Time) -> Vec<(Option<Uuid>, Time)> {
        let mut parts = Vec::new();
        let mut rest = time;
        for moved in self.left.get(&rig).into_iter().flatten() {
            if moved.at <= rest.from {
                continue;
            }
            if rest.until.is_some_and(|until| until <= moved.at) {
                parts.push((Some(moved.left), rest));
                return parts;
            }
            let before = Time { until: Some(moved.at), ..rest };
            parts.push((Some(moved.left), before));
            rest.from = moved.at;
        }
        parts.push((self.now.get(&rig).copied().flatten(), rest));
        parts
    }

    /// The interval as far as it is known, in parts: one for each district in which the rig stood meanwhile.
    fn part(&self, stretch: &Stretch, now: DateTime<Utc>) -> Vec<Part> {
        let known = Time {
            from: stretch.from,
            until: stretch.unknown_from(now).or(stretch.until),
        };
        let parts = self.split(stretch.rig, known).into_iter().map(|(district, time)| {
            let interval = Interval {
                from: time.from,
                until: time.until,
                level: stretch.level,
                planned: stretch.planned,
            };
            (district, interval)
        });
        parts.collect()
    }
}

/// From one instant on, up to another; none: it still lasts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Time {
    pub from: DateTime<Utc>,
    pub until: Option<DateTime<Utc>>,
}

pub(super) fn not_found(what: &str) -> Fault {
    Fault::new(error::NOT_FOUND, format!("There is no such {what} in this agency"))
}

/// Answers the question. Five queries, whatever the number of rigs and intervals.
pub fn availability(db: &mut Db, agency: AgencyId, asked: &Question, now: DateTime<Utc>) -> Result<Availability, Fault> {
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(|| not_found("agency"))?.read()?;
    let span = span(asked.from.as_deref(), asked.until.as_deref(), own.time_zone, now)?;
    let districts = record::all(db, agency, District::KIND)?;
    let rigs = record::all(db, agency, Rig::KIND)?;
    if asked.district.is_some_and(|id| !districts.iter().any(|row| row.id.0 == id)) {
        return Err(not_found("district").at("district"));
    }
    let whereabouts = Whereabouts::read(db, agency, &rigs)?;
    let (Some(first), Some(last)) = (span.edges.first(), span.edges.last()) else {
        return Err(anyhow::anyhow!("a span without months").into());
    };
    let mut of: HashMap<Uuid, Vec<Part>> = HashMap::new();
    let one = asked.of.filter(|_| asked.by == AvailabilityBy::Rig);
    for stretch in rows::between(db, agency, one, *first, *last)? {
        let parts = whereabouts.part(&stretch, now);
        of.entry(stretch.rig).or_default().extend(parts);
    }
    // Only rigs that are on the register: a row has a name.
    let known: Vec<(&Row, Vec<Part>)> = rigs
        .iter()
        .filter_map(|row| Some((row, of.remove(&row.id.0)?)))
        .filter(|(_, parts)| asked.district.is_none() || parts.iter().any(|(district, _)| *district == asked.district))
        .collect();
    let parted = |parts: &[Part], district: Option<Uuid>| {
        let mut sorted = SplitIntervals::default();
        for (at, interval) in parts {
            let side = if district.is_none_or(|district| *at == Some(district)) {
                &mut sorted.here
            } else {
                &mut sorted.elsewhere
            };
            side.push(*interval);
        }
        sorted
    };
    let mut rows = Vec::new();
    let mut add = |id: Uuid, name: String, of: &[SplitIntervals]| -> Result<(), Fault> {
        if asked.of.is_none_or(|one| one == id) {
            rows.push(AvailabilityRow {
                id,
                name,
                months: counted(of, &span.edges, now)?,
                total: counted(of, &[*first, *last], now)?
                    .pop()
                    .ok_or_else(|| anyhow::anyhow!("a period without shares"))?,
            });
        }
        Ok(())
    };
    match asked.by {
        AvailabilityBy::Agency => {
            let of: Vec<SplitIntervals> = known.iter().map(|(_, parts)| parted(parts, asked.district)).collect();
            add(agency.0, own.name, &of)?;
        }
        AvailabilityBy::District => {
            for row in districts.iter().filter(|row| asked.district.is_none_or(|id| row.id.0 == id)) {
                let of: Vec<SplitIntervals> = known
                    .iter()
                    .map(|(_, parts)| parted(parts, Some(row.id.0)))
                    .filter(|parted| !parted.here.is_empty())
                    .collect();
                add(row.id.0, row.label.clone(), &of)?;
            }
        }
        AvailabilityBy::Rig => {
            for (row, parts) in &known {
                add(row.id.0, row.label.clone(), &[parted(parts, asked.district)])?;
            }
        }
    }
    if rows.is_empty() && asked.of.is_some() {
        let there = match asked.by {
            AvailabilityBy::Agency => false,
            AvailabilityBy::District => districts.iter().any(|row| Some(row.id.0) == asked.of),
            AvailabilityBy::Rig => rigs.iter().any(|row| Some(row.id.0) == asked.of),
        };
        if !there {
            return Err(not_found("row").at("of"));
        }
    }
    Ok(Availability {
        at: now,
        time_zone: own.time_zone.name().to_owned(),
        by: asked.by,
        words: words(&span, own.time_zone, &rows),
        months: span.names,
        rows,
    })
}

/// Shares of each period. The time that a rig spent elsewhere is not missing here: it is no part of the time in all.
fn counted(rigs: &[SplitIntervals], edges: &[DateTime<Utc>], now: DateTime<Utc>) -> Result<Vec<Shares>, Fault> {
    let unfit = |cause: fullset_calc::Unfit| Fault::from(anyhow::anyhow!("intervals cannot be counted: {cause}"));
    let here: Vec<Vec<Interval>> = rigs.iter().map(|parted| parted.here.clone()).collect();
    let mut all = shares(&here, edges, now).map_err(unfit)?;
    let away: Vec<Vec<Interval>> = rigs
        .iter()
        .filter(|parted| !parted.elsewhere.is_empty())
        .map(|parted| parted.elsewhere.clone())
        .collect();
    if !away.is_empty() {
        for (period, away) in all.iter_mut().zip(shares(&away, edges, now).map_err(unfit)?) {
            period.seconds -= away.known_seconds;
        }
    }
    Ok(all)
}

fn words(span: &Span, zone: Tz, rows: &[AvailabilityRow]) -> String {
    let (Some(first), Some(last)) = (span.names.first(), span.names.last()) else {
        return String::new();
    };
    let period = if first == last { first.clone() } else { format!("{first} to {last}") };
    let known: i64 = rows.iter().map(|row| row.total.known_seconds).sum();
    if known == 0 {
        return format!("Nothing is known about {period}: no rig was on the register then.");
    }
    let all: i64 = rows.iter().map(|row| row.total.seconds).sum();
    let gap = if known < all {
        " Time before a rig was on the register, or in which it was not judged, is not known and counts in no share."
    } else {
        ""
    };
    format!("{period} in {zone}: shares are of the time that is known. Planned service counts by itself, neither as full nor as down.{gap}")
}
