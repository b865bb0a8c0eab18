//! Rows with their figures, and the stops behind them.

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    Unfit,
    ratings::Kind,
    reliability::{Ends, PowerLaw, Rates, Repairs, Trend, power_law, rates, repairs, trend},
};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    facts::{Histories, History, Parts},
    groups::{Group, ReliabilityBy, groups},
    lives::days,
    period::{Period, PeriodQuery},
};
use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        ids::AgencyId,
        person::Person,
        record::{self, Record as _},
    },
    slices::agencies::Agency,
};

/// Which pieces are asked for, and how they are put in rows.
#[derive(Debug, Clone, Copy)]
pub struct Question {
    pub by: ReliabilityBy,
    pub kind: Option<Kind>,
    pub model: Option<Uuid>,
    pub period: PeriodQuery,
}

/// How pieces of one row hold up.
#[derive(Debug, Serialize, ToSchema)]
struct ReliabilityRow {
    /// What to ask for its stops by: a kind, a model's id, a part or a band of age.
    key: String,
    /// The name of the group.
    name: String,
    /// The kind of its pieces, where they are of one.
    kind: Option<Kind>,
    /// Pieces under watch.
    pieces: usize,
    /// How often they fail.
    rates: Rates,
    /// How long they are away.
    repairs: Repairs,
    /// Whether failures come more often; time counts from the start of each piece's watch.
    trend: Trend,
    /// A power law fitted to the failures.
    power_law: PowerLaw,
}

/// How pieces hold up.
#[derive(Debug, Serialize, ToSchema)]
pub struct Reliability {
    /// Up to when it is counted at most.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// What a row stands for.
    by: ReliabilityBy,
    /// The first day.
    from: NaiveDate,
    /// The last day.
    until: NaiveDate,
    /// Of each pair of bounds.
    confidence: f64,
    /// A row for each group that was asked for.
    rows: Vec<ReliabilityRow>,
    /// The same in a sentence for people.
    words: String,
    /// What counts as a failure and how time is counted, in words.
    how: Vec<String>,
}

/// The pieces that a question is about.
struct Subject<'k> {
    histories: Vec<History<'k>>,
    parts: Parts<'k>,
    period: Period,
}

fn subject<'k>(db: &mut Db, agency: AgencyId, known: &'k Histories, asked: &Question, now: DateTime<Utc>) -> Result<Subject<'k>, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There is no such agency");
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(missing)?.read()?;
    let period = Period::of(asked.period, own.time_zone, now)?;
    if asked.model.is_some_and(|model| !known.has_model(model)) {
        return Err(Fault::new(error::NOT_FOUND, "There is no such model in this agency").at("model"));
    }
    let mut histories = known.all();
    histories.retain(|history| {
        let piece = history.piece;
        asked.kind.is_none_or(|kind| kind == piece.kind) && asked.model.is_none_or(|model| model == piece.model.0)
    });
    let parts = if asked.by == ReliabilityBy::Part { known.parts() } else { Parts::default() };
    Ok(Subject { histories, parts, period })
}

fn how(by: ReliabilityBy) -> Vec<String> {
    let mut how = vec![
        "A stop begins when a piece is taken out of service, by itself or by a defect, and ends when a person puts it back in service. What is found meanwhile belongs to the same stop.",
        "Every stop is a failure, but for planned service. When something is found wrong during planned service, the whole stop is a failure.",
        "A piece is watched from its first day in service, but not from before it came on the register: what failed before was not written down here. The watch ends when it is retired.",
        "A stop that was there already when the watch begins is left out with the time that it lasted. Time out of service is no time in use.",
        "Bounds hold for a failure rate that does not change; where the trend says otherwise, read the power law.",
    ];
    match by {
        ReliabilityBy::Part => {
            how.push("A failure is one of a part when a closed ticket of the stop names the part. Watched are all pieces of the models that ever got it.")
        }
        ReliabilityBy::Age => how
            .push("Age counts from the date of make, else from the first day in service. A piece that grows older is watched in each band for its time there."),
        ReliabilityBy::Kind | ReliabilityBy::Model => {}
    }
    how.into_iter().map(str::to_owned).collect()
}

fn unfit(cause: Unfit) -> Fault {
    if cause.code == "confidence" {
        return Fault::new(error::QUERY_INVALID, cause.words).at("confidence");
    }
    anyhow::anyhow!("a history cannot be counted: {cause}").into()
}

fn row(group: Group<'_>, confidence: f64) -> Result<ReliabilityRow, Fault> {
    let planned = group.planned();
    let watched = group.watched;
    let ends = Ends::AtTime;
    Ok(ReliabilityRow {
        pieces: watched.len(),
        rates: Rates {
            planned,
            ..rates(&watched, ends, confidence).map_err(unfit)?
        },
        repairs: repairs(&watched, confidence).map_err(unfit)?,
        trend: trend(&watched, ends, confidence).map_err(unfit)?,
        power_law: power_law(&watched, ends, confidence).map_err(unfit)?,
        key: group.key,
        name: group.name,
        kind: group.kind,
    })
}

fn some(n: usize, one: &str, several: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { several })
}

/// How pieces hold up.
pub fn reliability(db: &mut Db, agency: AgencyId, known: &Histories, asked: &Question, confidence: f64, now: DateTime<Utc>) -> Result<Reliability, Fault> {
    // A confidence that means nothing is refused before the work, and where there is nothing to count.
    rates(&[], Ends::AtTime, confidence).map_err(unfit)?;
    let Subject { histories: all, parts, period } = subject(db, agency, known, asked, now)?;
    let period = &period;
    let first = all.iter().filter_map(|history| history.begins(period)).min();
    let (from, until) = (period.first_day(first), period.last_day);
    let seen = groups(&all, ReliabilityBy::Kind, period, &parts);
    let pieces: usize = seen.iter().map(|group| group.watched.len()).sum();
    let planned: usize = seen.iter().map(Group::planned).sum();
    let failures = seen.iter().map(|group| group.stops.len()).sum::<usize>() - planned;
    let words = if pieces == 0 {
        "No piece was in use in this time: there is nothing to judge by.".to_owned()
    } else {
        format!(
            "{} and {} of {} from {from} to {until}.",
            some(failures, "failure", "failures"),
            some(planned, "planned service", "planned services"),
            some(pieces, "piece", "pieces")
        )
    };
    let rows = groups(&all, asked.by, period, &parts)
        .into_iter()
        .map(|group| row(group, confidence))
        .collect::<Result<_, _>>()?;
    Ok(Reliability {
        at: now,
        by: asked.by,
        from,
        until,
        confidence,
        rows,
        words,
        how: how(asked.by),
    })
}

/// A time when a piece could not be used.
#[derive(Debug, Serialize, ToSchema)]
struct ReliabilityStop {
    /// The piece that went out of service.
    piece: Uuid,
    /// The piece's asset tag.
    tag: String,
    /// Its model's name.
    model_name: String,
    /// When it was taken out of service.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    from: DateTime<Utc>,
    /// When it was in service again, or was retired; null: it still lasts.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    until: Option<DateTime<Utc>>,
    /// Days so far.
    days: f64,
    /// Planned service: no failure.
    planned: bool,
    /// Why, in a member's words; the last that was said.
    reason: Option<String>,
    /// Who said so.
    by: Person,
    /// The last repair ticket that it was on.
    ticket: Option<Uuid>,
}

/// The stops behind the numbers, newest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReliabilityStops {
    /// The times that pieces went out, newest first.
    items: Vec<ReliabilityStop>,
}

/// The stops that count in one row, or in all.
pub fn stops(db: &mut Db, agency: AgencyId, known: &Histories, asked: &Question, key: Option<&str>, now: DateTime<Utc>) -> Result<ReliabilityStops, Fault> {
    let Subject { histories: all, parts, period } = subject(db, agency, known, asked, now)?;
    let mut items: Vec<ReliabilityStop> = groups(&all, asked.by, &period, &parts)
        .iter()
        .filter(|group| key.is_none_or(|key| key == group.key))
        .flat_map(|group| group.stops.iter())
        .map(|(history, stop)| ReliabilityStop {
            piece: history.piece.id.0,
            tag: history.piece.tag.clone(),
            model_name: history.model_name().to_owned(),
            from: stop.from,
            until: stop.until,
            days: days(stop.until.unwrap_or(now) - stop.from).max(0.0),
            planned: stop.planned,
            reason: stop.reason.clone(),
            by: stop.by.clone(),
            ticket: stop.tickets.last().copied(),
        })
        .collect();
    items.sort_by(|a, b| b.from.cmp(&a.from).then_with(|| a.tag.cmp(&b.tag)));
    // A stop of two parts is one stop.
    items.dedup_by(|a, b| a.piece == b.piece && a.from == b.from);
    Ok(ReliabilityStops { items })
}
