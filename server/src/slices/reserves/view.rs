//! The families with their spares and what their record says.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    Unfit,
    capability::Verdict,
    ratings::Kind,
    reliability::{Ends, Watched, rates, repairs},
    reserves::{Stock, pipeline, stock},
};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    family::{Part, key, part},
    waits::{Outage, Waits},
};
use crate::{
    platform::{
        db::Db,
        door::own_id,
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        agencies::Agency,
        capability::PieceStanding,
        models::ModelPrice,
        pieces::{PieceId, Place},
        reliability::{Histories, History, ModelNow, Period, PeriodQuery, StandIn},
    },
};

/// Of each pair of bounds.
const CONFIDENCE: f64 = 0.9;

/// A spare.
#[derive(Debug, Serialize, ToSchema)]
struct SparePiece {
    /// The piece that may stand in for one of the family.
    piece: Uuid,
    /// The piece's asset tag.
    tag: String,
    /// Where the spare is now, or where it is on its way to.
    place: Place,
    /// Whether it could go aboard now.
    ready: bool,
    /// Why it could not.
    #[schema(required)]
    why_not: Option<String>,
}

/// What one more piece of a family costs.
#[derive(Debug, Clone, Serialize, ToSchema)]
struct FamilyPrice {
    /// What one piece costs, in the agency's money.
    amount: f64,
    /// The day of the price.
    priced_on: NaiveDate,
    /// The name of the model whose price it is.
    model: String,
}

/// Pieces that can take each other's slots.
#[derive(Debug, Serialize, ToSchema)]
struct ReserveFamily {
    /// The id of the family; the same key has the same id.
    id: Uuid,
    /// Kind, coupling and fluid, or kind and battery.
    #[schema(example = "cutter, flat-face single, mineral oil")]
    key: String,
    /// What people call the family; the same as `key`.
    name: String,
    /// The kind of its pieces.
    kind: Kind,
    /// Pieces with their home on a rig.
    fleet: usize,
    /// Pieces in service that may stand in.
    spares: usize,
    /// Those of them that could go aboard now: on a shelf or in a shop, and nothing forbids their use.
    on_hand: usize,
    /// Those pieces, by tag.
    spare_pieces: Vec<SparePiece>,
    /// Failures of the fleet.
    failures: usize,
    /// Piece-years of 365 days on which the fleet could be used.
    piece_years: f64,
    /// Failures of one piece in a year of 365 days; null: no piece was in use.
    per_piece_year: Option<f64>,
    /// At least that many, with 90 % confidence.
    per_piece_year_lower: Option<f64>,
    /// At most that many, with 90 % confidence.
    per_piece_year_upper: Option<f64>,
    /// Repairs of the fleet that ended.
    repairs: usize,
    /// Repairs of the fleet that still last.
    open_repairs: usize,
    /// The longest that one of those has lasted, in days.
    longest_open_days: Option<f64>,
    /// Mean days away: of all repairs, for each that ended. Null while none has ended.
    days_away: Option<f64>,
    /// At most that many, with 90 % confidence.
    days_away_upper: Option<f64>,
    /// What one more costs: the newest price of a model that pieces of the family are of; null: none of them has one.
    #[schema(required)]
    price: Option<FamilyPrice>,
    /// The waits that happened.
    waits: Waits,
    /// Mean number of pieces away; null while no repair has ended.
    mean_away: Option<f64>,
    /// What the spares that are there do about it.
    now: Option<Stock>,
    /// The same in a sentence for people.
    words: String,
}

/// The reserves of an agency.
#[derive(Debug, Serialize, ToSchema)]
pub struct Reserves {
    /// Up to when it is counted at most.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The first day that is counted, in the agency's time zone.
    from: NaiveDate,
    /// The last day that is counted, in the agency's time zone.
    until: NaiveDate,
    /// The families, by kind, then by key.
    families: Vec<ReserveFamily>,
    /// What counts, in words.
    how: Vec<String>,
}

#[derive(Default)]
struct Gathered<'a> {
    fleet: usize,
    spares: Vec<History<'a>>,
    watched: Vec<Watched>,
    waits: Waits,
    price: Option<FamilyPrice>,
}

impl Gathered<'_> {
    /// Takes the model's price where it is newer than what is known.
    fn take_price(&mut self, model: &ModelNow) {
        let newer = |price: &&ModelPrice| self.price.as_ref().is_none_or(|known| price.priced_on > known.priced_on);
        if let Some(price) = model.price.as_ref().filter(newer) {
            self.price = Some(FamilyPrice {
                amount: price.amount,
                priced_on: price.priced_on,
                model: model.name.clone(),
            });
        }
    }
}

const HOW: [&str; 6] = [
    "A family is pieces of one kind with one coupling and one fluid, or one battery. Families cannot stand in for each other, so each is its own stock.",
    "The fleet is the pieces with their home on a rig. A spare has its home on a shelf or in a shop, or no home and lies there, and is in service.",
    "Failures, time in use and days away are those of the fleet, retired pieces included, counted as reliability counts them. Planned service is no failure.",
    "Days away are the days of all failures, those that still last with the days that they have lasted, for each that ended. Pieces away on average = fleet x failures a piece and year x days away / 365.",
    "A slot waits while its piece is out of service for a failure and no swap says that something stands in for that piece; waits of a day and longer are counted, those of now all. On hand is what could go aboard now.",
    "The number away at a time is taken as Poisson, whatever the spread of the days away (Palm's theorem). Few failures give a wide answer: read the bounds.",
];

fn unfit(cause: Unfit) -> Fault {
    anyhow::anyhow!("a history cannot be counted: {cause}").into()
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// Why a spare could not go aboard now.
fn why_not(history: History<'_>, standing: Option<&PieceStanding>) -> Option<String> {
    match &history.piece.place {
        Place::Rig { .. } => return Some("stands in aboard a rig".to_owned()),
        Place::Shelf { .. } | Place::Shop { .. } => {}
        _ => return Some("is on its way or away".to_owned()),
    }
    let Some(standing) = standing.filter(|standing| standing.known) else {
        return Some("is being judged".to_owned());
    };
    (standing.answer.verdict == Verdict::No).then(|| {
        let first = standing.answer.reasons.first();
        first.map_or_else(|| "must not be used".to_owned(), |reason| reason.words.clone())
    })
}

type Standings = HashMap<PieceId, PieceStanding>;

fn family(agency: AgencyId, key: String, kind: Kind, of: &Gathered<'_>, standings: &Standings) -> Result<ReserveFamily, Fault> {
    let rates = rates(&of.watched, Ends::AtTime, CONFIDENCE).map_err(unfit)?;
    let repairs = repairs(&of.watched, CONFIDENCE).map_err(unfit)?;
    let mean_away = rates
        .per_piece_year
        .zip(repairs.exposure_days)
        .map(|(rate, days)| pipeline(count(of.fleet), rate, days));
    let spares = of.spares.len();
    let now = mean_away.map(|mean| stock(mean, spares)).transpose().map_err(unfit)?;
    let spare_pieces: Vec<SparePiece> = of
        .spares
        .iter()
        .map(|history| {
            let why_not = why_not(*history, standings.get(&history.piece.id));
            SparePiece {
                piece: history.piece.id.0,
                tag: history.piece.tag.clone(),
                place: history.piece.place.clone(),
                ready: why_not.is_none(),
                why_not,
            }
        })
        .collect();
    let on_hand = spare_pieces.iter().filter(|spare| spare.ready).count();
    let there = format!(
        "{spares} spare{} for {} on rigs, {on_hand} of them on hand.{}",
        if spares == 1 { "" } else { "s" },
        of.fleet,
        waits_words(of.waits)
    );
    let words = match now {
        Some(now) => format!(
            "{there} A spare is on the shelf for {:.0} % of failures; no slot waits {:.0} % of the time.{}",
            now.fill_rate * 100.0,
            now.ready_rate * 100.0,
            if rates.failures < 5 { " Few failures: read the bounds." } else { "" }
        ),
        None if rates.failures > 0 => format!("{there} No repair has ended yet: there is no time away to size by."),
        None => match rates.per_piece_year_upper {
            Some(upper) => format!(
                "{there} No failure in {:.1} piece-years: at most {upper:.2} a piece and year, and no time away to size by.",
                rates.piece_years
            ),
            None => format!("{there} Nothing was in use in this time: there is nothing to size by."),
        },
    };
    Ok(ReserveFamily {
        id: own_id(&format!("reserves/{agency}/{key}")),
        name: key.clone(),
        key,
        kind,
        fleet: of.fleet,
        spares,
        on_hand,
        spare_pieces,
        failures: rates.failures,
        piece_years: rates.piece_years,
        per_piece_year: rates.per_piece_year,
        per_piece_year_lower: rates.per_piece_year_lower,
        per_piece_year_upper: rates.per_piece_year_upper,
        repairs: repairs.ended,
        open_repairs: repairs.open,
        longest_open_days: repairs.longest_open_days,
        days_away: repairs.exposure_days,
        days_away_upper: repairs.exposure_days_upper,
        price: of.price.clone(),
        waits: of.waits,
        mean_away,
        now,
        words,
    })
}

/// The waits that happened, as words behind others.
fn waits_words(waits: Waits) -> String {
    let now = match waits.now {
        0 => String::new(),
        1 => " One slot waits now.".to_owned(),
        n => format!(" {n} slots wait now."),
    };
    match waits.count {
        0 => now,
        1 => format!("{now} A slot waited once, for {:.0} days.", waits.longest_days),
        n => format!("{now} Slots waited {n} times, for {:.0} days at the longest.", waits.longest_days),
    }
}

/// Counts the waits of a piece's slot in the period.
fn count_waits(waits: &mut Waits, history: History<'_>, period: &Period, stand_ins: &[StandIn]) {
    let Some(window) = history.within(period, None, None) else { return };
    for stop in window.stops.iter().filter(|stop| !stop.planned) {
        let until = stop.until.unwrap_or(window.ends).min(window.ends);
        let outage = Outage {
            from: stop.from,
            until,
            lasts: stop.until.is_none_or(|back| back > window.ends),
        };
        waits.take(outage, stand_ins);
    }
}

/// The families of an agency.
pub fn reserves(db: &mut Db, agency: AgencyId, known: &Histories, asked: PeriodQuery, now: DateTime<Utc>) -> Result<Reserves, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There is no such agency");
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(missing)?.read()?;
    let period = Period::of(asked, own.time_zone, now)?;
    let (all, stand_ins) = (known.all(), known.stand_ins());
    let mut families: BTreeMap<(Kind, String), Gathered<'_>> = BTreeMap::new();
    for history in &all {
        let piece = history.piece;
        let Some(model) = history.model else { continue };
        let on_rig = matches!(piece.home, Some(Place::Rig { .. }));
        let part = part(piece);
        if !on_rig && part != Part::Spare {
            continue;
        }
        let of = families.entry((model.kind, key(model.kind, &model.hookup))).or_default();
        of.take_price(model);
        match part {
            Part::Fleet => of.fleet += 1,
            Part::Spare => of.spares.push(*history),
            Part::Neither => {}
        }
        if part == Part::Fleet {
            let of_it = stand_ins.get(&piece.id).map_or(&[][..], Vec::as_slice);
            count_waits(&mut of.waits, *history, &period, of_it);
        }
        if on_rig {
            of.watched.extend(history.watched(&period));
        }
    }
    // What is left of a family that was retired as a whole needs no reserve.
    families.retain(|_, of| of.fleet > 0 || !of.spares.is_empty());
    let spares: Vec<Uuid> = families.values().flat_map(|of| of.spares.iter().map(|spare| spare.piece.id.0)).collect();
    let mut standings = Standings::new();
    for row in record::of_parents(db, agency, PieceStanding::KIND, &spares)? {
        let standing: PieceStanding = row.read()?;
        standings.insert(standing.id, standing);
    }
    let first = all.iter().filter_map(|history| history.begins(&period)).min();
    Ok(Reserves {
        at: now,
        from: period.first_day(first),
        until: period.last_day,
        families: families
            .into_iter()
            .map(|((kind, key), of)| family(agency, key, kind, &of, &standings))
            .collect::<Result<_, _>>()?,
        how: HOW.map(str::to_owned).into(),
    })
}
