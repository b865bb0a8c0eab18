use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use fullset_calc::{ratings::Kind, units::Quantity};
use fullset_care::{
    check::{Earlier, KnownReading, Sort, wear},
    life::LifePart,
    plan::{Ask, Limit},
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::rules::{Lives, ReplacementCause, ReplacementSum, Sum, by_year, cents, outlook, two_figures, until, year};
use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record as _, Row},
    },
    slices::{
        agencies::{Agency, Policy, day_of},
        check_plans::{CheckPlan, CheckPlanState},
        checks::{Check, CheckId, facts, known},
        models::{Model, ModelId},
        pieces::{Piece, PieceId, PieceState, lives},
        service_lives::{Lacking, NoLife, NoLifeCount, UnknownCount, count_unknown},
    },
};

/// The most lines, and the most pieces whose readings run against a limit, of one answer.
const MOST: usize = 2_000;

/// What is asked for. Everything is optional.
#[derive(Debug, Clone, Copy, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ReplacementsQuery {
    /// Only pieces that belong to this district.
    pub district: Option<Uuid>,
}

/// One year.
#[derive(Debug, Serialize, ToSchema)]
struct ReplacementYear {
    /// The calendar year in the agency's time zone.
    year: i32,
    /// What is to be replaced in it.
    #[serde(flatten)]
    sum: ReplacementSum,
    /// What it costs together with all before it and what has ended already, in the agency's money.
    so_far: f64,
}

/// Pieces of one model, or a part of them, that are to be replaced in one year for one cause.
#[derive(Debug, Serialize, ToSchema)]
struct ReplacementLine {
    /// The calendar year; null: what has ended by today.
    #[schema(required)]
    year: Option<i32>,
    /// The model of the pieces.
    model: ModelId,
    /// The model's name.
    name: String,
    /// The kind of the pieces.
    kind: Kind,
    /// The piece as a whole, or the part of it.
    part: LifePart,
    /// Why they are to be replaced.
    cause: ReplacementCause,
    /// Whether what is replaced is itself bought in these years.
    again: bool,
    /// How many pieces are to be replaced, or pieces of which a part is.
    pieces: usize,
    /// What they cost at the model's price; null: a part, or the model has no price.
    #[schema(required)]
    amount: Option<f64>,
}

/// A piece whose readings run against a limit of its check plan.
#[derive(Debug, Serialize, ToSchema)]
struct WornPiece {
    /// The piece whose readings move towards the limit.
    piece: PieceId,
    /// The piece's asset tag.
    tag: String,
    /// The kind of gear that the piece is.
    kind: Kind,
    /// The name of its model.
    model: String,
    /// The check plan whose limit it is.
    plan: String,
    /// The step of the plan: what is measured.
    step: String,
    /// The first day on which the line through its readings lies beyond the limit.
    reaches_on: NaiveDate,
    /// In words: "from 9.8 s, 0.4 s more in a year, by 5 readings since 2021-04-02".
    words: String,
}

/// What is to be replaced in ten years.
#[derive(Debug, Serialize, ToSchema)]
pub struct Replacements {
    /// When it was worked out (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// Today, in the agency's time zone.
    today: NaiveDate,
    /// What has ended by today.
    overdue: ReplacementSum,
    /// Ten calendar years, this one the first.
    #[schema(min_items = 10, max_items = 10)]
    years: Vec<ReplacementYear>,
    /// What they are made of, by year, kind and model; 2,000 at most.
    #[schema(max_items = 2000)]
    lines: Vec<ReplacementLine>,
    /// Lines that were left off.
    lines_left_off: usize,
    /// Pieces whose readings run against a limit within the ten years, the soonest first; 2,000 at most.
    #[schema(max_items = 2000)]
    worn: Vec<WornPiece>,
    /// Packs whose life is counted in charge cycles alone, which are not reached: they stand in no year.
    by_cycles: usize,
    /// What is not known, and stands in no year.
    unknown: Vec<UnknownCount>,
    /// Pieces that wear with age and for which no life is set, by kind: they stand in no year and in no sum, and run out all the same.
    no_life: Vec<NoLifeCount>,
    /// The day of the oldest price that is in a sum; null: none is.
    #[schema(required)]
    oldest_price: Option<NaiveDate>,
    /// The day of the newest price that is in a sum; null: none is.
    #[schema(required)]
    newest_price: Option<NaiveDate>,
    /// Models of which something is to be replaced and that have no price.
    unpriced_models: Vec<ModelId>,
    /// What counts, in words.
    how: Vec<String>,
}

const HOW: [&str; 6] = [
    "A piece stands in the year in which its service life ends: of hoses by the agency's policy, of others by what the maker's manual says of the model, the stricter of both.",
    "It stands in an earlier year where its readings reach a limit of its check plan before: four readings or more, over a year or longer, that clearly go one way, drawn on in a straight line (its slope is the middle one of all pairs of readings, after Theil and Sen). That is a guess for a budget. Whether a tool may be used, its checks say.",
    "What is replaced is bought new in that year and serves as long again, so packs may stand in several years.",
    "Prices are those of the models on their day. No rise is guessed, and what has no price is in no sum.",
    "What wears with age and has no life set is counted by kind and in no sum: hoses and packs. Tools, pumps and small gear stand here only where a life is set for their model or readings run against a limit.",
    "Lent gear, what is retired, and what fails by chance are left out; for those see reserves.",
];

/// A step whose number has limits, with the plan that it is of.
struct Measured {
    plan: CheckPlan,
    steps: Vec<(Sort, String, Vec<Limit>)>,
}

/// The plans in force that hold a number to a limit.
fn measuring_plans(plans: Vec<CheckPlan>) -> Vec<Measured> {
    let in_force = plans.into_iter().filter(|plan| plan.state == CheckPlanState::InForce);
    let with_steps = in_force.map(|plan| {
        let steps = plan.plan.steps.iter().filter_map(|step| match &step.ask {
            Ask::Number { measure, limits, .. } if !limits.is_empty() => Some((Sort::of(*measure, &step.id), step.title.clone(), limits.clone())),
            _ => None,
        });
        Measured { steps: steps.collect(), plan }
    });
    with_steps.filter(|measured| !measured.steps.is_empty()).collect()
}

/// What the pieces are looked at with.
struct Known {
    models: HashMap<ModelId, Model>,
    plans: Vec<Measured>,
    /// The readings of the latest check of each piece by each plan that measures.
    readings: HashMap<CheckId, Vec<Earlier>>,
    policy: Policy,
    today: NaiveDate,
    until: NaiveDate,
}

impl Known {
    /// The first of the piece's readings that reaches a limit.
    fn worn(&self, piece: &Piece, model: &Model) -> Option<WornPiece> {
        let baseline: Vec<KnownReading> = known(&piece.baseline);
        let mut found = Vec::new();
        for one in self.plans.iter().filter(|one| one.plan.plan.covers.has(model.kind, Some(model.id.0))) {
            let Some(earlier) = self.readings.get(&CheckId::of(one.plan.id, piece.id)) else {
                continue;
            };
            let facts = facts(model, &baseline, earlier);
            for (sort, title, limits) in &one.steps {
                found.extend(wear(earlier, sort, limits, &facts, self.today).map(|wear| (wear, one, title)));
            }
        }
        found.retain(|(wear, ..)| wear.reaches_on < self.until);
        let (wear, of, step) = found.into_iter().min_by_key(|(wear, ..)| wear.reaches_on)?;
        let way = if wear.per_year < 0.0 { "less" } else { "more" };
        let by_year = Quantity::new(two_figures(wear.per_year.abs()), wear.last.unit);
        Some(WornPiece {
            piece: piece.id,
            tag: piece.tag.clone(),
            kind: model.kind,
            model: model.name.clone(),
            plan: of.plan.plan.name.clone(),
            step: step.clone(),
            reaches_on: wear.reaches_on,
            words: format!(
                "{} last, {} {way} in a year, by {} readings since {}",
                wear.last.show_as_typed(),
                by_year.show_as_typed(),
                wear.readings,
                wear.since
            ),
        })
    }
}

type LineKey = (Option<i32>, Kind, ModelId, LifePart, ReplacementCause, bool);

/// What the pieces come to.
#[derive(Default)]
struct Gathered {
    lines: BTreeMap<LineKey, usize>,
    worn: Vec<WornPiece>,
    lacking: Vec<(Lacking, Kind, LifePart)>,
    no_life: NoLife,
    by_cycles: usize,
}

impl Gathered {
    fn add(&mut self, piece: &Piece, model: &Model, known: &Known) {
        let own = lives(piece, model.kind, &model.service_lives, &known.policy);
        let worn = known.worn(piece, model);
        let of_model = Lives {
            kind: model.kind,
            stated: &model.service_lives,
            hose_years: known.policy.hose_life_years,
        };
        let outlook = outlook(&own, worn.as_ref().map(|worn| worn.reaches_on), of_model, known.today, known.until);
        for one in &outlook.replacements {
            let key = (year(one.by, known.today), model.kind, model.id, one.part, one.cause, one.again);
            *self.lines.entry(key).or_default() += 1;
        }
        self.lacking.extend(outlook.lacking.iter().map(|(lacks, part)| (*lacks, model.kind, *part)));
        self.by_cycles += usize::from(outlook.by_cycles);
        // What its readings give a year stands in a sum.
        if worn.is_none() {
            self.no_life.add(model.kind, &model.name, &own);
        }
        self.worn.extend(worn);
    }
}

/// Reads it, in a fixed number of queries.
pub fn replacements(db: &mut Db, agency: AgencyId, asked: ReplacementsQuery, now: DateTime<Utc>) -> Result<Replacements, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There is no such agency");
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(missing)?.read()?;
    let today = day_of(now, own.time_zone);
    let until = until(today).ok_or_else(|| Fault::rule("There are no such years in any calendar"))?;
    let models = record::read_all::<Model>(db, agency)?.into_iter().map(|model| (model.id, model)).collect();
    let plans = measuring_plans(record::read_all::<CheckPlan>(db, agency)?);
    let mut pieces: Vec<Piece> = Vec::new();
    for row in record::all_but(db, agency, Piece::KIND, PieceState::Retired.word())? {
        if asked.district.is_none() || asked.district == row.home_district.or(row.district).map(|id| id.0) {
            pieces.push(row.read()?);
        }
    }
    pieces.retain(|piece| piece.lent_by.is_none());
    let known = Known {
        readings: readings(db, agency, &plans, &pieces)?,
        models,
        plans,
        policy: own.policy,
        today,
        until,
    };
    let mut gathered = Gathered::default();
    for piece in &pieces {
        if let Some(model) = known.models.get(&piece.model) {
            gathered.add(piece, model, &known);
        }
    }
    Ok(answer(gathered, &known, now))
}

/// The readings of the latest checks by the plans that measure.
fn readings(db: &mut Db, agency: AgencyId, plans: &[Measured], pieces: &[Piece]) -> Result<HashMap<CheckId, Vec<Earlier>>, Fault> {
    if plans.is_empty() {
        return Ok(HashMap::new());
    }
    let ids: Vec<Uuid> = pieces.iter().map(|piece| piece.id.0).collect();
    let wanted: HashMap<Uuid, CheckId> = pieces
        .iter()
        .flat_map(|piece| plans.iter().map(|one| CheckId::of(one.plan.id, piece.id)))
        .map(|id| (id.0, id))
        .collect();
    let rows = record::of_parents(db, agency, Check::KIND, &ids)?;
    let of_row = |row: &Row| wanted.get(&row.id.0).map(|id| Ok((*id, row.read::<Check>()?.readings)));
    rows.iter().filter_map(of_row).collect()
}

/// Adds up and puts in words.
fn answer(gathered: Gathered, known: &Known, now: DateTime<Utc>) -> Replacements {
    let mut sums: BTreeMap<Option<i32>, Sum> = BTreeMap::new();
    let mut lines = Vec::new();
    let mut priced: Vec<NaiveDate> = Vec::new();
    let mut unpriced: Vec<ModelId> = Vec::new();
    for ((year, kind, id, part, cause, again), pieces) in gathered.lines {
        let Some(model) = known.models.get(&id) else { continue };
        let price = model.price.as_ref().filter(|_| part == LifePart::Whole);
        let cost = price.map(|price| cents(price.amount, pieces));
        sums.entry(year).or_default().add(part, pieces, cost);
        priced.extend(price.map(|price| price.priced_on));
        if price.is_none() && part == LifePart::Whole && !unpriced.contains(&id) {
            unpriced.push(id);
        }
        lines.push(ReplacementLine {
            year,
            model: id,
            name: model.name.clone(),
            kind,
            part,
            cause,
            again,
            pieces,
            amount: cost.map(|cents| cents / 100.0),
        });
    }
    let overdue = sums.get(&None).copied().unwrap_or_default();
    let mut so_far = overdue;
    let years = by_year(known.today.year(), &sums).into_iter().map(|(year, sum)| {
        so_far = so_far.with(sum);
        ReplacementYear {
            year,
            sum: sum.shown(),
            so_far: so_far.shown().amount,
        }
    });
    let years = years.collect();
    let lines_left_off = lines.len().saturating_sub(MOST);
    lines.truncate(MOST);
    let mut worn = gathered.worn;
    worn.sort_by(|a, b| (a.reaches_on, &a.tag).cmp(&(b.reaches_on, &b.tag)));
    worn.truncate(MOST);
    Replacements {
        at: now,
        today: known.today,
        overdue: overdue.shown(),
        years,
        lines,
        lines_left_off,
        worn,
        by_cycles: gathered.by_cycles,
        unknown: count_unknown(gathered.lacking.into_iter()),
        no_life: gathered.no_life.counts(),
        oldest_price: priced.iter().min().copied(),
        newest_price: priced.iter().max().copied(),
        unpriced_models: unpriced,
        how: HOW.map(str::to_owned).into(),
    }
}
