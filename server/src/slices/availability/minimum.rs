//! How much of the time each district had as many full rigs as it is to have.

use std::collections::{HashMap, HashSet};

use chrono::{DateTime, Utc};
use fullset_calc::{
    capability::Level,
    standing::{Here, MinimumShare, Needed, ShortTime, at_minimum},
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::{
    months::span,
    rows::{self, Stretch},
    view::{Time, Whereabouts, not_found},
};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        agencies::Agency,
        districts::District,
        rigs::{Duty, Rig},
    },
};

/// The most times of one district that are told.
const MOST_SHORT: usize = 20;

/// Which months.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct MonthsQuery {
    /// The first month, `2026-01`; eleven months before the last unless said. 120 months at most.
    from: Option<String>,
    /// The last month; the running one unless said.
    until: Option<String>,
}

/// How one district stood against its number.
#[derive(Debug, Serialize, ToSchema)]
struct DistrictAtMinimum {
    /// The id of the district whose full rigs are counted.
    id: Uuid,
    /// What the district is called now.
    name: String,
    /// How many full rigs it is to have now; 0: no number is set.
    minimum: u32,
    /// One for each month.
    months: Vec<MinimumShare>,
    /// All months together.
    total: MinimumShare,
    /// The longest times that it was short, the longest first; 20 at most.
    #[schema(max_items = 20)]
    short: Vec<ShortTime>,
    /// How often it was short in all.
    short_count: usize,
}

/// How the districts stood against their numbers.
#[derive(Debug, Serialize, ToSchema)]
pub struct DistrictsAtMinimum {
    /// Up to when it is counted.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The time zone in which the months begin.
    time_zone: String,
    /// The months that are counted, the earliest first: `2026-01`.
    #[schema(example = json!(["2026-01"]))]
    months: Vec<String>,
    /// The districts, by name.
    rows: Vec<DistrictAtMinimum>,
}

/// What is known of a stretch, and what of it is not.
fn split_by_knowledge(stretch: &Stretch, now: DateTime<Utc>) -> Vec<(Time, Option<bool>)> {
    let judged = stretch.level != Level::NotJudged;
    let full = judged.then_some(matches!(stretch.level, Level::Full | Level::Heavy) && !stretch.planned);
    let whole = Time {
        from: stretch.from,
        until: stretch.until,
    };
    match stretch.unknown_from(now) {
        None => vec![(whole, full)],
        Some(at) => vec![(Time { until: Some(at), ..whole }, full), (Time { from: at, ..whole }, None)],
    }
}

/// Answers it. Five queries, whatever the number of rigs and intervals.
pub fn districts_at_minimum(db: &mut Db, agency: AgencyId, asked: &MonthsQuery, now: DateTime<Utc>) -> Result<DistrictsAtMinimum, Fault> {
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(|| not_found("agency"))?.read()?;
    let span = span(asked.from.as_deref(), asked.until.as_deref(), own.time_zone, now)?;
    let districts = record::read_all::<District>(db, agency)?;
    let rigs = record::all(db, agency, Rig::KIND)?;
    let mut front_line: HashSet<Uuid> = HashSet::new();
    for row in &rigs {
        if row.read::<Rig>()?.duty == Duty::FrontLine {
            front_line.insert(row.id.0);
        }
    }
    let whereabouts = Whereabouts::read(db, agency, &rigs)?;
    let (Some(first), Some(last)) = (span.edges.first(), span.edges.last()) else {
        return Err(anyhow::anyhow!("a span without months").into());
    };
    let mut here: HashMap<Uuid, Vec<Here>> = HashMap::new();
    let stretches = rows::between(db, agency, None, *first, *last)?;
    for stretch in stretches.iter().filter(|stretch| front_line.contains(&stretch.rig)) {
        for (time, full) in split_by_knowledge(stretch, now) {
            for (district, part) in whereabouts.split(stretch.rig, time) {
                let Some(district) = district else { continue };
                here.entry(district).or_default().push(Here {
                    from: part.from,
                    until: part.until,
                    full,
                });
            }
        }
    }
    let mut needed: HashMap<Uuid, Vec<Needed>> = HashMap::new();
    for set in rows::minimums(db, agency)? {
        needed.entry(set.district).or_default().push(Needed { from: set.at, rigs: set.rigs });
    }
    let row = |district: District| {
        let id = district.id.0;
        let rigs = here.get(&id).map_or(&[][..], Vec::as_slice);
        let numbers = needed.get(&id).map_or(&[][..], Vec::as_slice);
        let mut found = at_minimum(rigs, numbers, &span.edges, now);
        let short_count = found.short.len();
        found.short.truncate(MOST_SHORT);
        DistrictAtMinimum {
            id,
            name: district.name,
            minimum: district.min_full,
            months: found.periods,
            total: found.total,
            short: found.short,
            short_count,
        }
    };
    let mut rows: Vec<DistrictAtMinimum> = districts.into_iter().map(row).collect();
    rows.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(DistrictsAtMinimum {
        at: now,
        time_zone: own.time_zone.name().to_owned(),
        months: span.names,
        rows,
    })
}
