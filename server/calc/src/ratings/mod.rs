//! What a model is rated for, by which standard and edition, and whether that meets a minimum.
//!
//! A rating is never a bare number: [`Rating`] carries the figure, the standard and the edition.
//! NFPA cutting levels and EN 13204 capacity letters never turn into one another, nor does an NFPA lowest
//! spreading force into an EN rated spreading force: across standards the answer is [`Meets::OtherStandard`].

mod compare;
mod cutting;
mod designation;
mod gear;
mod kind;
mod plausible;
mod term;

pub use compare::{Figure, Meets, Shortfall};
pub use cutting::{CapacityLetter, CuttingFault, CuttingLevels};
pub use designation::{CutterClass, Designation, DesignationFault, SpreaderClass};
pub use gear::Gear;
pub use kind::Kind;
pub(crate) use plausible::{Bounds, FORCE, LOOK_AGAIN, PRESSURE};
pub use term::{Better, Term};

use crate::units::{Quantity, Unit, UnitFault};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One rated figure with the standard and edition that it was rated by.
///
/// On the wire `{"value": 8.1, "unit": "in", "standard": "NFPA 1936", "edition": "2015"}`,
/// `{"levels": "A8/B9/C8/D9/E9", ...}` or `{"letter": "H", ...}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Wire", into = "Wire")]
pub struct Rating {
    /// A size with its unit, cutting levels, or a capacity letter.
    pub figure: Figure,
    /// The standard, as the plate names it; `None` when nobody wrote it down.
    pub standard: Option<String>,
    /// The edition, usually a year.
    pub edition: Option<String>,
}

impl Rating {
    /// A measured figure that names no standard.
    #[must_use]
    pub const fn plain(value: f64, unit: Unit) -> Self {
        Self {
            figure: Figure::Quantity(Quantity::new(value, unit)),
            standard: None,
            edition: None,
        }
    }

    /// A rating by a standard.
    #[must_use]
    pub fn by(figure: Figure, standard: &str, edition: &str) -> Self {
        Self {
            figure,
            standard: Some(standard.to_owned()),
            edition: Some(edition.to_owned()),
        }
    }

    /// The quantity, where the figure is one.
    #[must_use]
    pub const fn quantity(&self) -> Option<Quantity> {
        match &self.figure {
            Figure::Quantity(q) => Some(*q),
            _ => None,
        }
    }
}

/// The flat shape of a [`Rating`] on the wire.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = Rating))]
#[serde(deny_unknown_fields)]
struct Wire {
    /// The number of a measured figure.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "some_number")]
    value: Option<f64>,
    /// The unit of `value`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    unit: Option<Unit>,
    /// NFPA cutting levels, instead of a value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    levels: Option<CuttingLevels>,
    /// EN 13204 cutting capacity letter, instead of a value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    letter: Option<CapacityLetter>,
    /// The standard that the figure was rated by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    standard: Option<String>,
    /// The edition of that standard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    edition: Option<String>,
}

// serde hands the field over by reference.
#[allow(clippy::ref_option)]
fn some_number<S: serde::Serializer>(value: &Option<f64>, out: S) -> Result<S::Ok, S::Error> {
    match value {
        Some(v) => crate::units::write_number(v, out),
        None => out.serialize_none(),
    }
}

impl From<Rating> for Wire {
    fn from(rating: Rating) -> Self {
        let mut wire = Self {
            standard: rating.standard,
            edition: rating.edition,
            ..Self::default()
        };
        match rating.figure {
            Figure::Quantity(q) => (wire.value, wire.unit) = (Some(q.value), Some(q.unit)),
            Figure::Levels(levels) => wire.levels = Some(levels),
            Figure::Letter(letter) => wire.letter = Some(letter),
        }
        wire
    }
}

impl TryFrom<Wire> for Rating {
    type Error = &'static str;

    fn try_from(wire: Wire) -> Result<Self, &'static str> {
        let figure = match (wire.value, wire.unit, wire.levels, wire.letter) {
            (Some(value), Some(unit), None, None) if value.is_finite() => Figure::Quantity(Quantity::new(value, unit)),
            (Some(_), None, None, None) => return Err("a value needs a unit"),
            (None, None, Some(levels), None) => Figure::Levels(levels),
            (None, None, None, Some(letter)) => Figure::Letter(letter),
            _ => return Err("a rating is a value with a unit, or levels, or a letter"),
        };
        Ok(Self {
            figure,
            standard: wire.standard,
            edition: wire.edition,
        })
    }
}

#[cfg(feature = "openapi")]
impl utoipa::PartialSchema for Rating {
    fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
        <Wire as utoipa::PartialSchema>::schema()
    }
}

#[cfg(feature = "openapi")]
impl utoipa::ToSchema for Rating {
    fn name() -> std::borrow::Cow<'static, str> {
        "Rating".into()
    }

    fn schemas(schemas: &mut Vec<(String, utoipa::openapi::RefOr<utoipa::openapi::schema::Schema>)>) {
        <Wire as utoipa::ToSchema>::schemas(schemas);
    }
}

/// The ratings of a model, or the minimums of a slot: a map from [`Term`] to [`Rating`].
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(transparent)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(value_type = BTreeMap<String, Rating>))]
pub struct Ratings(BTreeMap<Term, Rating>);

/// What is wrong with one rating, or unusual about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct RatingFault {
    /// The term at fault.
    pub term: Term,
    /// `torque-unit`, `wrong-dimension`, `not-positive`, `wrong-figure`, `not-possible`, `lowest-above-highest`,
    /// `stages-out-of-order`, `stages-contradict`, `stroke-too-long` or `stroke-differs`; of a warning `unusual`.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub code: &'static str,
    /// What is wrong or unusual, in words for people.
    pub reason: String,
    /// What to write instead, where that is known.
    pub hint: Option<String>,
}

impl Ratings {
    /// No ratings.
    #[must_use]
    pub const fn new() -> Self {
        Self(BTreeMap::new())
    }

    /// Sets a rating, and hands back what stood there.
    pub fn set(&mut self, term: Term, rating: Rating) -> Option<Rating> {
        self.0.insert(term, rating)
    }

    /// The rating of a term.
    #[must_use]
    pub fn get(&self, term: Term) -> Option<&Rating> {
        self.0.get(&term)
    }

    /// Every rating, in the order of terms.
    pub fn iter(&self) -> impl Iterator<Item = (Term, &Rating)> {
        self.0.iter().map(|(term, rating)| (*term, rating))
    }

    /// Whether nothing is rated.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many terms are rated.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// What cannot be so for a piece of this kind: a unit that does not measure the term, a figure that is not above zero
    /// or that no such piece can have, figures that contradict each other (NFPA 1936: HSF >= LSF > 0, HPF >= LPF > 0).
    #[must_use]
    pub fn faults(&self, kind: Kind) -> Vec<RatingFault> {
        let mut faults = self.misshapen();
        faults.extend(self.impossible(kind));
        faults.extend(self.contradictions());
        faults
    }

    /// What is wrong with these as the minimums of a slot that takes these kinds. Each is a bound by itself, so they do
    /// not contradict each other; one that no kind of the slot can meet is refused.
    #[must_use]
    pub fn minimum_faults(&self, kinds: &[Kind]) -> Vec<RatingFault> {
        let mut faults = self.misshapen();
        let mut by_kind = kinds.iter().map(|kind| self.impossible(*kind));
        if let Some(first) = by_kind.next() {
            let others: Vec<Vec<RatingFault>> = by_kind.collect();
            let in_all = |fault: &RatingFault| others.iter().all(|other| other.iter().any(|f| f.term == fault.term));
            faults.extend(first.into_iter().filter(in_all));
        }
        faults
    }

    fn misshapen(&self) -> Vec<RatingFault> {
        let mut faults = Vec::new();
        for (term, rating) in self.iter() {
            match (&rating.figure, term.dimension()) {
                (Figure::Quantity(q), Some(wanted)) if q.dimension() != wanted => {
                    let UnitFault { code, reason, hint } = UnitFault::wrong_dimension(q.unit, wanted, Some(q.value));
                    faults.push(RatingFault {
                        term,
                        code,
                        reason: format!("{}: {reason}", term.label()),
                        hint,
                    });
                }
                (Figure::Quantity(q), Some(_)) if q.value <= 0.0 => faults.push(RatingFault {
                    term,
                    code: "not-positive",
                    reason: format!("{} must be above zero", term.label()),
                    hint: Some("leave it out when it is not known".into()),
                }),
                (Figure::Quantity(_), Some(_)) => {}
                (Figure::Levels(_), _) if term == Term::CuttingLevels => {}
                (Figure::Letter(_), _) if term == Term::CuttingCapacity => {}
                _ => faults.push(RatingFault {
                    term,
                    code: "wrong-figure",
                    reason: format!("{} is not given as such a figure", term.label()),
                    hint: Some(term.shape().into()),
                }),
            }
        }
        faults
    }
}

impl FromIterator<(Term, Rating)> for Ratings {
    fn from_iter<I: IntoIterator<Item = (Term, Rating)>>(iter: I) -> Self {
        Self(iter.into_iter().collect())
    }
}
