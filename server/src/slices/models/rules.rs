//! The one way to make a model: what its hook-up and ratings may say, whoever says it.

use chrono::NaiveDate;
use fullset_calc::{
    capability::RatedAt,
    hookup::{Couplings, Hookup},
    ratings::{Gear, Kind, Ratings},
    units::Dimension,
};
use fullset_care::{
    check::MakersBound,
    crew::asks_for_sign_off,
    life::{self, ServiceLife},
};

use super::feed::{Model, ModelId, ModelPrice, ModelWarning};
use crate::{
    platform::{door::name, error::Fault},
    slices::couplings::family,
};

/// What somebody says of a model.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Id of the model.
    pub id: ModelId,
    /// The model's name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Which accessory it is.
    pub gear: Option<Gear>,
    /// The family of models that are run alike and take a sign-off of their own.
    pub family: Option<String>,
    /// What it connects to, couplings as written.
    pub hookup: Hookup,
    /// What it is rated for.
    pub ratings: Ratings,
    /// What its maker states for lower pressures.
    pub rated_at: Vec<RatedAt>,
    /// What its maker's manual names as limits of a test.
    pub makers_bounds: Vec<MakersBound>,
    /// How long its pieces serve.
    pub service_lives: Vec<ServiceLife>,
    /// Of a pump: whether it has a dump valve.
    pub dump_valve: Option<bool>,
}

/// Ratings for so many lower pressures at most.
const MOST_RATED_AT: usize = 4;

fn lower_pressures(kind: Kind, hookup: &Hookup, rated_at: &[RatedAt]) -> Result<(), Fault> {
    if rated_at.len() > MOST_RATED_AT {
        return Err(Fault::field(
            "body.rated_at",
            format!("Ratings are stated for {MOST_RATED_AT} lower pressures at most"),
        ));
    }
    if !rated_at.is_empty() && !kind.is_tool() {
        return Err(Fault::field("body.rated_at", "Only a tool has ratings at a lower pressure"));
    }
    for (n, stated) in rated_at.iter().enumerate() {
        let lower = hookup.pressure.is_some_and(|rated| stated.pressure.si() < rated.si());
        if stated.pressure.dimension() != Dimension::Pressure || stated.pressure.value <= 0.0 || !lower {
            return Err(Fault::field(
                format!("body.rated_at[{n}].pressure"),
                "This is a pressure above zero and below the one that the tool is rated at",
            ));
        }
        sourced(&format!("body.rated_at[{n}].ratings"), &stated.ratings)?;
        if let Some(fault) = stated.ratings.faults(kind).into_iter().next() {
            return Err(Fault {
                hint: fault.hint,
                ..Fault::field(format!("body.rated_at[{n}].ratings.{}", fault.term.name()), fault.reason)
            });
        }
    }
    Ok(())
}

/// Limits of so many measures at most.
const MOST_BOUNDS: usize = 20;

/// Holds the maker's limits to one for each measure, of its own dimension, the least below the most.
fn bounds(all: &[MakersBound]) -> Result<(), Fault> {
    if all.len() > MOST_BOUNDS {
        return Err(Fault::field("body.makers_bounds", format!("{MOST_BOUNDS} limits are the most")));
    }
    for (n, bound) in all.iter().enumerate() {
        let field = format!("body.makers_bounds[{n}]");
        if all.iter().take(n).any(|other| other.sort == bound.sort) {
            return Err(Fault::field(field, "This measure has a limit already; write one with its least and most"));
        }
        let given = [bound.min, bound.max];
        if given.iter().all(Option::is_none) {
            return Err(Fault::field(field, "Give the least, the most, or both, as the maker's manual has them"));
        }
        let of = bound.sort.measure.dimension();
        if given
            .iter()
            .flatten()
            .any(|value| of.is_some_and(|of| value.dimension() != of) || value.value < 0.0)
        {
            return Err(Fault::field(field, "The limit has another unit than what is measured, or is below zero"));
        }
        if let [Some(min), Some(max)] = given
            && (min.dimension() != max.dimension() || min.si() > max.si())
        {
            return Err(Fault::field(field, "The least is more than the most"));
        }
    }
    Ok(())
}

/// The lives as they are kept, each with its source.
fn lives(kind: Kind, given: Vec<ServiceLife>) -> Result<Vec<ServiceLife>, Fault> {
    if let Some(fault) = life::faults(kind, &given).into_iter().next() {
        return Err(Fault::field(format!("body.{}", fault.path), fault.words));
    }
    let named = given.into_iter().enumerate().map(|(n, life)| {
        let source = name(&format!("body.service_lives[{n}].source"), &life.source)?;
        Ok(ServiceLife { source, ..life })
    });
    named.collect()
}

/// Holds the standard and edition of each rating to a name's length.
pub fn sourced(field: &str, ratings: &Ratings) -> Result<(), Fault> {
    for (term, rating) in ratings.iter() {
        for (part, text) in [("standard", &rating.standard), ("edition", &rating.edition)] {
            if let Some(text) = text {
                name(&format!("{field}.{}.{part}", term.name()), text)?;
            }
        }
    }
    Ok(())
}

/// The model, its couplings by the names of the agency's list, with what is unusual about it; or the field that cannot
/// be so, and why.
pub fn model(draft: Draft, couplings: &Couplings) -> Result<Model, Fault> {
    let Draft {
        id,
        name: given,
        kind,
        gear,
        family: run_alike,
        mut hookup,
        ratings,
        rated_at,
        makers_bounds,
        service_lives,
        dump_valve,
    } = draft;
    let given = name("body.name", &given)?;
    let run_alike = run_alike.filter(|given| !given.trim().is_empty());
    let run_alike = run_alike.map(|given| name("body.family", &given)).transpose()?;
    if run_alike.is_some() && !asks_for_sign_off(kind) {
        return Err(Fault::field("body.family", "Nobody is signed off on gear of this kind; leave it out"));
    }
    sourced("body.ratings", &ratings)?;
    if let Some(text) = &hookup.battery {
        name("body.hookup.battery", text)?;
    }
    if gear.is_some() && kind != Kind::Accessory {
        return Err(Fault::field("body.gear", "Only an accessory is named so; leave it out"));
    }
    lower_pressures(kind, &hookup, &rated_at)?;
    bounds(&makers_bounds)?;
    let service_lives = lives(kind, service_lives)?;
    if dump_valve.is_some() && !matches!(kind, Kind::PowerUnit | Kind::HandPump) {
        return Err(Fault::field("body.dump_valve", "Only a pump has a dump valve; leave it out"));
    }
    let hookup_faults = hookup
        .faults(kind)
        .into_iter()
        .map(|fault| (format!("body.hookup.{}", fault.field), fault.reason, fault.hint));
    let rating_faults = ratings
        .faults(kind)
        .into_iter()
        .map(|fault| (format!("body.ratings.{}", fault.term.name()), fault.reason, fault.hint));
    if let Some((field, reason, hint)) = hookup_faults.chain(rating_faults).next() {
        return Err(Fault {
            hint,
            ..Fault::field(field, reason)
        });
    }
    for (n, outlet) in hookup.outlets.iter_mut().enumerate() {
        outlet.coupling = family(couplings, &format!("body.hookup.outlets[{n}].coupling"), &outlet.coupling)?;
    }
    for (part, written) in [("coupling", &mut hookup.coupling), ("tool_coupling", &mut hookup.tool_coupling)] {
        if let Some(text) = written {
            *text = family(couplings, &format!("body.hookup.{part}"), text)?;
        }
    }
    let warnings = warnings(kind, &hookup, &ratings);
    Ok(Model {
        id,
        name: given,
        kind,
        gear,
        family: run_alike,
        hookup,
        ratings,
        rated_at,
        makers_bounds,
        service_lives,
        price: None,
        dump_valve,
        warnings,
        rev: 0,
    })
}

/// The dearest price of one piece.
const MOST_PRICE: f64 = 1e7;

/// The price as it is kept, to the cent.
pub fn price(given: ModelPrice, today: NaiveDate) -> Result<ModelPrice, Fault> {
    let amount = (given.amount * 100.0).round() / 100.0;
    if !(0.01..=MOST_PRICE).contains(&amount) {
        return Err(Fault::field("body.price.amount", "Give what one piece costs: 0.01 to 10,000,000"));
    }
    if given.priced_on > today {
        return Err(Fault::field(
            "body.price.priced_on",
            "A price of a day to come is no price yet; give the day of the offer",
        ));
    }
    Ok(ModelPrice {
        amount,
        source: name("body.price.source", &given.source)?,
        ..given
    })
}

/// What is possible but unusual, each with its field.
pub fn warnings(kind: Kind, hookup: &Hookup, ratings: &Ratings) -> Vec<ModelWarning> {
    let of_hookup = hookup.warnings(kind).into_iter().map(|one| ModelWarning {
        field: format!("hookup.{}", one.field),
        words: one.reason,
    });
    let of_ratings = ratings.warnings(kind).into_iter().map(|one| ModelWarning {
        field: format!("ratings.{}", one.term.name()),
        words: one.reason,
    });
    of_hookup.chain(of_ratings).collect()
}

#[cfg(test)]
mod tests {
    use fullset_calc::hookup::CouplingFamily;
    use serde_json::{Value, json};
    use uuid::Uuid;

    use super::*;

    fn made(kind: Kind, hookup: Value, ratings: Value) -> Result<Model, Fault> {
        let couplings = Couplings::new(vec![CouplingFamily {
            name: "Flat-face single".into(),
            spellings: vec!["FFS".into()],
            mates_with: Vec::new(),
            under_pressure: fullset_calc::hookup::UnderPressure::Unknown,
        }]);
        let draft = Draft {
            id: ModelId(Uuid::from_u128(1)),
            name: " Dorvan X ".into(),
            kind,
            gear: None,
            family: None,
            hookup: serde_json::from_value(hookup).unwrap(),
            ratings: serde_json::from_value(ratings).unwrap(),
            rated_at: Vec::new(),
            makers_bounds: Vec::new(),
            service_lives: Vec::new(),
            dump_valve: None,
        };
        model(draft, &couplings)
    }

    #[test]
    fn a_model_carries_the_lists_name_of_its_coupling_and_what_is_unusual() {
        let hookup = json!({ "coupling": "ffs", "tool_coupling": "FLAT FACE SINGLE", "pressure": { "value": 1050, "unit": "psi" } });
        let model = made(Kind::Hose, hookup, json!({ "hose_length": { "value": 200, "unit": "ft" } })).unwrap();
        assert_eq!(model.name, "Dorvan X");
        assert_eq!(
            (model.hookup.coupling.as_deref(), model.hookup.tool_coupling.as_deref()),
            (Some("Flat-face single"), Some("Flat-face single"))
        );
        let fields: Vec<&str> = model.warnings.iter().map(|one| one.field.as_str()).collect();
        assert_eq!(fields, ["hookup.pressure", "ratings.hose_length"]);
        assert!(model.warnings[0].words.contains("is unusual for a hose"), "{:?}", model.warnings);
    }

    #[test]
    fn what_cannot_be_is_refused_at_its_field() {
        let size = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        for (kind, hookup, ratings, field) in [
            (Kind::Hose, json!({ "pressure": size(105_000.0, "psi") }), json!({}), "body.hookup.pressure"),
            (Kind::Hose, json!({ "pressure": size(10_500.0, "bar") }), json!({}), "body.hookup.pressure"),
            (Kind::Hose, json!({ "pressure": size(10.5, "psi") }), json!({}), "body.hookup.pressure"),
            (Kind::Hose, json!({ "coupling": "coax" }), json!({}), "body.hookup.coupling"),
            (
                Kind::Hose,
                json!({ "coupling": "FFS", "tool_coupling": "twin" }),
                json!({}),
                "body.hookup.tool_coupling",
            ),
            (Kind::Battery, json!({ "battery": "--" }), json!({}), "body.hookup.battery"),
            (Kind::PowerUnit, json!({ "circuits": 17 }), json!({}), "body.hookup.circuits"),
            (
                Kind::Cutter,
                json!({}),
                json!({ "cutter_opening": size(8.0, "ft") }),
                "body.ratings.cutter_opening",
            ),
            (
                Kind::Ram,
                json!({}),
                json!({ "push_force": size(20.0, "kN"), "push_force_2": size(40.0, "kN") }),
                "body.ratings.push_force_2",
            ),
            (
                Kind::Ram,
                json!({}),
                json!({ "stroke": size(1000.0, "mm"), "extended_length": size(900.0, "mm") }),
                "body.ratings.stroke",
            ),
        ] {
            let fault = made(kind, hookup, ratings).unwrap_err();
            assert_eq!(fault.field.as_deref(), Some(field), "{}", fault.detail);
        }
    }
}
