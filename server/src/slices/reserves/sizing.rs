//! How many spares to keep, and what to buy first. Pure.

use std::collections::HashSet;

use fullset_calc::{
    Unfit, percent,
    reserves::{self as calc, Curve, Finite, Stock, Target},
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    door::name,
    error::{Fault, FieldFault},
};

/// The most spares of a family that are looked at.
const MOST_SPARES: usize = 1000;
/// The most families that are sized at once.
const MOST_FAMILIES: usize = 100;

fn usual_target() -> f64 {
    0.95
}

fn usual_up_to() -> usize {
    12
}

fn usual_weight() -> f64 {
    1.0
}

/// A family to be sized.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SizingFamily {
    /// An id of the client's choice for the family; each only once.
    id: Uuid,
    /// Its name: 1 to 200 characters, without the spaces around it.
    name: String,
    /// Pieces that serve on rigs: 2,000 at most.
    #[schema(maximum = 2_000)]
    fleet: usize,
    /// Spares that are there.
    #[schema(maximum = 1_000)]
    spares: usize,
    /// Failures of one piece in a year: 0 to 1,000.
    #[schema(minimum = 0, maximum = 1_000)]
    per_piece_year: f64,
    /// At most that many, as far as the record allows; null: nobody knows.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 1_000)]
    per_piece_year_upper: Option<f64>,
    /// Days that a failed piece is away on average: 0 to 3,650.
    #[schema(minimum = 0, maximum = 3_650)]
    days_away: f64,
    /// At most that many, as far as the record allows; null: nobody knows.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 3_650)]
    days_away_upper: Option<f64>,
    /// Price of one more.
    #[schema(minimum = 0.01, maximum = 1_000_000_000)]
    price: f64,
    /// What one waiting slot of it counts against one of another: 1 unless said.
    #[serde(default = "usual_weight")]
    #[schema(minimum = 0, maximum = 1_000_000)]
    weight: f64,
}

/// What is to be sized.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SizingRequest {
    /// Money to spend, in the agency's currency.
    #[schema(minimum = 0, maximum = 1_000_000_000)]
    budget: f64,
    /// The rate to be reached, between 0 and 1: 0.95 unless said.
    #[serde(default = "usual_target")]
    target: f64,
    /// Stocks are shown up to this many spares: 12 unless said.
    #[serde(default = "usual_up_to")]
    #[schema(maximum = 60)]
    up_to: usize,
    /// The families; none can stand in for another.
    #[schema(max_items = 100)]
    families: Vec<SizingFamily>,
}

/// Whether the spares that are there reach the target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum StockReach {
    /// They do not, by the means.
    TooFew,
    /// They do by the means, and do not where the bounds of the record are true, or nobody knows these.
    ByTheMean,
    /// They do even where both bounds of the record are true.
    Enough,
}

/// A family and what numbers of spares do.
#[derive(Debug, Serialize, ToSchema)]
struct SizedFamily {
    /// The family's id, as it was handed in.
    id: Uuid,
    /// Mean number of pieces away.
    mean_away: f64,
    /// What 0, 1, 2, ... spares do, when failures do not get fewer while pieces are away.
    stocks: Vec<Stock>,
    /// The same for a fleet of this size, in which only pieces in a slot fail.
    finite: Vec<Finite>,
    /// Spares with which the target share of failures finds a spare on the shelf; null: more than 1,000.
    needed_fill: Option<usize>,
    /// Spares with which no slot waits for the target share of the time; null: more than 1,000.
    needed_ready: Option<usize>,
    /// Whether the spares that are there reach the target share of failures.
    reach_fill: StockReach,
    /// Whether the spares that are there reach the target share of the time.
    reach_ready: StockReach,
    /// The same in a sentence for people.
    words: String,
}

/// How many spares to keep, and what to buy first.
#[derive(Debug, Serialize, ToSchema)]
pub struct Sizing {
    /// The families, in the order in which they were handed in.
    families: Vec<SizedFamily>,
    /// What to buy with the budget, best return first.
    curve: Curve,
}

/// Every number that cannot be worked with, by its field.
fn faults(asked: &SizingRequest) -> Vec<FieldFault> {
    let mut all = Vec::new();
    let mut fault = |field: String, detail: &str| {
        all.push(FieldFault {
            field,
            detail: detail.to_owned(),
        });
    };
    if !(0.0..=1e9).contains(&asked.budget) {
        fault("body.budget".into(), "Give a budget from 0 to 1,000,000,000");
    }
    if !(asked.target > 0.0 && asked.target < 1.0) {
        fault(
            "body.target".into(),
            "No stock reaches a rate for certain: give one between 0 and 1, such as 0.95",
        );
    }
    if asked.up_to > 60 {
        fault("body.up_to".into(), "Ask for 60 spares at most");
    }
    if asked.families.len() > MOST_FAMILIES {
        fault("body.families".into(), "Size 100 families at most at once");
    }
    let mut ids = HashSet::new();
    for (n, family) in asked.families.iter().enumerate() {
        let at = |field: &str| format!("body.families[{n}].{field}");
        if !ids.insert(family.id) {
            fault(at("id"), "This family is there twice");
        }
        if let Err(wrong) = name(&at("name"), &family.name) {
            fault(at("name"), &wrong.detail);
        }
        if family.fleet > 2000 {
            fault(at("fleet"), "Give 2,000 pieces at most");
        }
        if family.spares > MOST_SPARES {
            fault(at("spares"), "Give 1,000 spares at most");
        }
        if !(0.0..=1000.0).contains(&family.per_piece_year) {
            fault(at("per_piece_year"), "Give failures per piece and year, from 0 to 1,000");
        }
        if family
            .per_piece_year_upper
            .is_some_and(|upper| !(family.per_piece_year..=1000.0).contains(&upper))
        {
            fault(at("per_piece_year_upper"), "Give no less than the rate, and 1,000 at most");
        }
        if family.days_away_upper.is_some_and(|upper| !(family.days_away..=3650.0).contains(&upper)) {
            fault(at("days_away_upper"), "Give no less than the days away, and 3,650 at most");
        }
        if !(0.0..=3650.0).contains(&family.days_away) {
            fault(at("days_away"), "Give mean days away, from 0 to 3,650");
        }
        if !(family.price >= 0.01 && family.price <= 1e9) {
            fault(at("price"), "Give the price of one more piece, from 0.01 up");
        }
        if !(0.0..=1e6).contains(&family.weight) {
            fault(at("weight"), "Give a weight from 0 to 1,000,000; 1 is usual");
        }
    }
    all
}

fn unfit(cause: Unfit) -> Fault {
    Fault::field("body.families", cause.words)
}

/// Sizes the families and spends the budget.
pub fn size(asked: &SizingRequest) -> Result<Sizing, Fault> {
    let faults = faults(asked);
    if let Some(first) = faults.first() {
        let mut fault = Fault::field(first.field.clone(), first.detail.clone());
        fault.errors = if faults.len() > 1 { faults } else { Vec::new() };
        return Err(fault);
    }
    let mut families = Vec::with_capacity(asked.families.len());
    let mut shelves = Vec::with_capacity(asked.families.len());
    for (n, family) in asked.families.iter().enumerate() {
        let fleet = f64::from(u32::try_from(family.fleet).unwrap_or(u32::MAX));
        let mean_away = calc::pipeline(fleet, family.per_piece_year, family.days_away);
        if mean_away > 500.0 {
            let words = format!("{mean_away:.0} pieces away on average is more than any fleet bears; look at the rate and the days away");
            return Err(Fault::field(format!("body.families[{n}].per_piece_year"), words));
        }
        families.push(sized(family, mean_away, asked)?);
        shelves.push(calc::Family {
            id: family.id,
            name: family.name.trim().to_owned(),
            mean_away,
            spares: family.spares,
            price: family.price,
            weight: family.weight,
        });
    }
    Ok(Sizing {
        families,
        curve: calc::curve(&shelves, asked.budget).map_err(unfit)?,
    })
}

fn sized(family: &SizingFamily, mean_away: f64, asked: &SizingRequest) -> Result<SizedFamily, Fault> {
    let needed_for = |mean: f64, of: Target| {
        let needed = calc::needed(mean, asked.target, of).map_err(unfit)?;
        Ok::<_, Fault>(Some(needed).filter(|spares| *spares <= MOST_SPARES))
    };
    let (needed_fill, needed_ready) = (needed_for(mean_away, Target::FillRate)?, needed_for(mean_away, Target::ReadyRate)?);
    let fleet = f64::from(u32::try_from(family.fleet).unwrap_or(u32::MAX));
    // A mean that no fleet bears is met by no stock either.
    let worst = family.per_piece_year_upper.zip(family.days_away_upper);
    let worst = worst.map(|(rate, days)| calc::pipeline(fleet, rate, days)).filter(|mean| *mean <= 500.0);
    let reach = |needed: Option<usize>, of: Target| {
        let enough = |needed: Option<usize>| needed.is_some_and(|needed| family.spares >= needed);
        Ok::<_, Fault>(if !enough(needed) {
            StockReach::TooFew
        } else if worst.map(|mean| needed_for(mean, of)).transpose()?.is_some_and(enough) {
            StockReach::Enough
        } else {
            StockReach::ByTheMean
        })
    };
    let (reach_fill, reach_ready) = (reach(needed_fill, Target::FillRate)?, reach(needed_ready, Target::ReadyRate)?);
    let stocks = (0..=asked.up_to)
        .map(|spares| calc::stock(mean_away, spares))
        .collect::<Result<_, _>>()
        .map_err(unfit)?;
    let finite = (0..=asked.up_to)
        .map(|spares| calc::finite(family.fleet, spares, family.per_piece_year, family.days_away))
        .collect::<Result<_, _>>()
        .map_err(unfit)?;
    let keep = |spares: Option<usize>| spares.map_or_else(|| "more than 1,000".to_owned(), |spares| spares.to_string());
    let target = percent(asked.target);
    Ok(SizedFamily {
        id: family.id,
        mean_away,
        stocks,
        finite,
        needed_fill,
        needed_ready,
        reach_fill,
        reach_ready,
        words: format!(
            "{mean_away:.2} away on average. Keep {} so that {target} of failures find a spare on the shelf, {} so that no slot waits {target} of the time; there are {}.",
            keep(needed_fill),
            keep(needed_ready),
            family.spares
        ),
    })
}
