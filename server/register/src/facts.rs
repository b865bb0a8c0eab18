//! The values that a row or a model gives, by what they are called, and which of them agree.
//!
//! A value that is *left out* agrees with any; one that is said to be *unknown* agrees with none that is given: the piece
//! in hand may be another make, and what nobody could read is never filled in from another line.

use fullset_calc::{
    hookup::{Hookup, same_name},
    ratings::{Figure, Rating, Ratings},
    units::Quantity,
};
use std::collections::{BTreeMap, BTreeSet};

/// Two figures are the same when they differ by no more than this share, which covers rounding into other units.
const SAME: f64 = 0.01;

/// What the parts of a hook-up are called.
pub(super) const COUPLING: &str = "coupling";
pub(super) const TOOL_COUPLING: &str = "tool end coupling";
pub(super) const FLUID: &str = "fluid";
pub(super) const PRESSURE: &str = "pressure";
pub(super) const CIRCUITS: &str = "circuits";
pub(super) const BATTERY: &str = "battery";
/// The standard of all tested ratings of a row.
pub(super) const STANDARD: &str = "standard";

/// One value of a model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Value<'a> {
    Text(&'a str),
    Count(u32),
    Size(Quantity),
    Rating(&'a Rating),
}

impl Value<'_> {
    pub(super) fn same(self, other: Self) -> bool {
        match (self, other) {
            (Self::Text(a), Self::Text(b)) => same_name(a, b),
            (Self::Size(a), Self::Size(b)) => near(a, b),
            (Self::Rating(a), Self::Rating(b)) => {
                let either = |a: &Option<String>, b: &Option<String>| a.as_deref().zip(b.as_deref()).is_none_or(|(a, b)| a.eq_ignore_ascii_case(b));
                let figures = match (&a.figure, &b.figure) {
                    (Figure::Quantity(a), Figure::Quantity(b)) => near(*a, *b),
                    (a, b) => a == b,
                };
                figures && either(&a.standard, &b.standard) && either(&a.edition, &b.edition)
            }
            (a, b) => a == b,
        }
    }

    pub(super) fn words(self) -> String {
        let size = |q: Quantity| format!("{} {}", q.value, q.unit.symbol());
        match self {
            Self::Text(text) => text.to_owned(),
            Self::Count(count) => format!("{count} circuits"),
            Self::Size(q) => size(q),
            Self::Rating(rating) => match rating.figure {
                Figure::Quantity(q) => size(q),
                Figure::Levels(levels) => levels.to_string(),
                Figure::Letter(letter) => letter.to_string(),
            },
        }
    }
}

fn near(a: Quantity, b: Quantity) -> bool {
    a.dimension() == b.dimension() && (a.si() - b.si()).abs() <= SAME * a.si().abs().max(b.si().abs())
}

/// What is given of a model, and what is said to be unknown.
#[derive(Debug, Clone)]
pub(super) struct Facts<'a> {
    pub(super) given: BTreeMap<&'static str, Value<'a>>,
    pub(super) unknown: &'a BTreeSet<&'static str>,
}

impl<'a> Facts<'a> {
    pub(super) fn of(hookup: &'a Hookup, ratings: &'a Ratings, unknown: &'a BTreeSet<&'static str>) -> Self {
        let text = |name, text: &'a Option<String>| text.as_deref().map(|text| (name, Value::Text(text)));
        let hooks = [
            text(COUPLING, &hookup.coupling),
            text(TOOL_COUPLING, &hookup.tool_coupling),
            hookup.fluid.map(|fluid| (FLUID, Value::Text(fluid.name()))),
            hookup.pressure.map(|q| (PRESSURE, Value::Size(q))),
            hookup.circuits.map(|count| (CIRCUITS, Value::Count(count))),
            text(BATTERY, &hookup.battery),
        ];
        let rated = ratings.iter().map(|(term, rating)| (term.label(), Value::Rating(rating)));
        Self {
            given: hooks.into_iter().flatten().chain(rated).collect(),
            unknown,
        }
    }

    /// Whether a value of that name is given.
    pub(super) fn gives(&self, name: &str) -> bool {
        let standard = |value: &Value| matches!(value, Value::Rating(rating) if rating.standard.is_some());
        self.given.contains_key(name) || (name == STANDARD && self.given.values().any(standard))
    }

    /// Whether both may be one model.
    pub(super) fn agree(&self, other: &Self) -> bool {
        let apart = |a: &Self, b: &Self| a.unknown.iter().any(|name| b.gives(name));
        let same = |(name, value): (&&'static str, &Value)| other.given.get(name).is_none_or(|its| value.same(*its));
        !apart(self, other) && !apart(other, self) && self.given.iter().all(same)
    }

    /// In what this differs from the other, as words to put behind a name.
    pub(super) fn differing(&self, other: &Self) -> Vec<(&'static str, String)> {
        let given = self.given.iter().filter_map(|(name, value)| {
            let differs = other.given.get(name).map_or(other.unknown.contains(name), |its| !value.same(*its));
            differs.then(|| (*name, value.words()))
        });
        let unknown = self
            .unknown
            .iter()
            .filter(|name| other.gives(name))
            .map(|name| (*name, format!("{name} unknown")));
        given.chain(unknown).collect()
    }
}
