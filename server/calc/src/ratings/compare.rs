//! Whether a rating meets a minimum. Sizes are compared in inner units, not as shown.

use super::{Better, CapacityLetter, CuttingLevels, Rating, Ratings, Term};
use crate::units::{Dimension, Quantity, Units};
use serde::{Deserialize, Serialize};

/// So much may be lost by writing a figure in another unit and back; a figure is never let off more.
const ROUND_TRIP: f64 = 1e-9;

/// A figure: a quantity, NFPA cutting levels or an EN 13204 capacity letter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Figure {
    /// A number with a unit.
    Quantity(Quantity),
    /// `A8/B9/C8/D9/E9`.
    Levels(CuttingLevels),
    /// `H`.
    Letter(CapacityLetter),
}

impl Figure {
    /// As people of the given habit read it.
    #[must_use]
    pub fn show(&self, units: Units) -> String {
        match self {
            Self::Quantity(q) => q.show(units),
            Self::Levels(levels) => levels.to_string(),
            Self::Letter(letter) => letter.to_string(),
        }
    }
}

/// The answer to "does this rating meet that minimum?".
#[derive(Debug, Clone, PartialEq)]
pub enum Meets {
    /// It does.
    Yes,
    /// It falls short.
    Short {
        /// What the piece is rated for.
        has: Figure,
        /// By how much, in the unit of the minimum; `None` for the cutting short forms.
        by: Option<Quantity>,
    },
    /// The piece is not rated in this term, or not in a way that can be compared: unknown, so not met.
    Unknown,
    /// The piece is rated, but by a standard whose figure does not answer this one: unknown, so not met.
    OtherStandard {
        /// The term and figure that there is.
        term: Term,
        /// What the piece is rated for there.
        has: Figure,
        /// The standard as written, or its family.
        standard: String,
    },
    /// The piece is rated, but nobody wrote down by which standard, and the minimum names one: unknown, so not met.
    StandardUnknown {
        /// What the piece is rated for.
        has: Figure,
        /// The standard that the minimum names.
        wanted: String,
    },
}

/// One minimum that was not met.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortfall {
    /// The term of the minimum.
    pub term: Term,
    /// The figure that the minimum asks for.
    pub needs: Figure,
    /// The answer; never [`Meets::Yes`].
    pub meets: Meets,
}

/// Standards whose figures mean the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Family {
    /// NFPA 1936, folded into NFPA 1960.
    Nfpa,
    /// EN 13204, to the 2016 edition or with none stated.
    EnOld,
    /// EN 13204 from 2025 on: new classes.
    EnNew,
}

/// The family of a standard; `None` when it is not one of these.
fn family(rating: &Rating) -> Option<Family> {
    let name = rating.standard.as_deref()?;
    let has = |part: &str| name.as_bytes().windows(part.len()).any(|w| w.eq_ignore_ascii_case(part.as_bytes()));
    if has("NFPA") {
        Some(Family::Nfpa)
    } else if has("13204") {
        let new = rating
            .edition
            .as_deref()
            .and_then(|e| e.get(..4))
            .and_then(|y| y.parse::<u16>().ok())
            .is_some_and(|y| y >= 2025);
        Some(if new { Family::EnNew } else { Family::EnOld })
    } else {
        None
    }
}

/// The standard that is written down, if one is.
fn stated(rating: &Rating) -> Option<&str> {
    rating.standard.as_deref().map(str::trim).filter(|name| !name.is_empty())
}

/// Whether figures of these two standards mean the same; both are stated.
fn answers(term: Term, rating: &Rating, minimum: &Rating) -> bool {
    // The same words are the same standard; only else are they looked into.
    if (&rating.standard, &rating.edition) == (&minimum.standard, &minimum.edition) {
        return true;
    }
    match (family(rating), family(minimum)) {
        (Some(a), Some(b)) => {
            // Lengths and forces of the EN editions mean the same; only letters and classes were renamed.
            let en = |f| matches!(f, Family::EnOld | Family::EnNew);
            a == b || (en(a) && en(b) && term.dimension().is_some())
        }
        (None, None) => stated(rating).zip(stated(minimum)).is_some_and(|(a, b)| a.eq_ignore_ascii_case(b)),
        _ => false,
    }
}

/// The term under which another standard would have rated the same ability.
const fn counterpart(term: Term) -> Option<Term> {
    match term {
        Term::CuttingLevels => Some(Term::CuttingCapacity),
        Term::CuttingCapacity => Some(Term::CuttingLevels),
        Term::LowestSpreadingForce | Term::HighestSpreadingForce => Some(Term::RatedSpreadingForce),
        Term::RatedSpreadingForce => Some(Term::LowestSpreadingForce),
        _ => None,
    }
}

impl Ratings {
    /// Whether this rating meets one minimum.
    #[must_use]
    pub fn meets(&self, term: Term, minimum: &Rating) -> Meets {
        let Some(rating) = self.get(term).or_else(|| self.last_stage(term)) else {
            return counterpart(term)
                .and_then(|other| self.get(other).map(|r| (other, r)))
                .map_or(Meets::Unknown, |(other, r)| Meets::OtherStandard {
                    term: other,
                    has: r.figure,
                    standard: named(r, other),
                });
        };
        if term.by_test()
            && let Some(wanted) = stated(minimum)
        {
            if stated(rating).is_none() {
                return Meets::StandardUnknown {
                    has: rating.figure,
                    wanted: wanted.to_owned(),
                };
            }
            if !answers(term, rating, minimum) {
                return Meets::OtherStandard {
                    term,
                    has: rating.figure,
                    standard: named(rating, term),
                };
            }
        }
        match (&rating.figure, &minimum.figure) {
            (Figure::Quantity(has), Figure::Quantity(needs)) => sizes(term, *has, *needs),
            (Figure::Levels(has), Figure::Levels(needs)) => match has.serves(needs) {
                Some(true) => Meets::Yes,
                Some(false) => Meets::Short { has: rating.figure, by: None },
                None => Meets::Unknown,
            },
            (Figure::Letter(has), Figure::Letter(needs)) => {
                if has >= needs {
                    Meets::Yes
                } else {
                    Meets::Short { has: rating.figure, by: None }
                }
            }
            _ => Meets::Unknown,
        }
    }

    /// The force with which a ram ends its way: its last stage keeps its whole force to the end, so it answers for the
    /// stages that the ram does not have. Only where the number of stages is stated (physics: one piston, F = p A).
    fn last_stage(&self, term: Term) -> Option<&Rating> {
        let asked = match term {
            Term::PushForce2 => 2,
            Term::PushForce3 => 3,
            _ => return None,
        };
        let stages = self.get(Term::RamStages)?.quantity().filter(|q| q.dimension() == Dimension::Count)?;
        let has = |n: f64| (stages.value - n).abs() < 0.5;
        match asked {
            2 | 3 if has(1.0) => self.get(Term::PushForce),
            3 if has(2.0) => self.get(Term::PushForce2),
            _ => None,
        }
    }

    /// Whether every minimum is met.
    #[must_use]
    pub fn meet_all(&self, minimums: &Self) -> bool {
        minimums.iter().all(|(term, minimum)| self.meets(term, minimum) == Meets::Yes)
    }

    /// Every minimum that is not met, in the order of terms.
    #[must_use]
    pub fn shortfalls(&self, minimums: &Self) -> Vec<Shortfall> {
        minimums
            .iter()
            .filter_map(|(term, minimum)| match self.meets(term, minimum) {
                Meets::Yes => None,
                meets => Some(Shortfall {
                    term,
                    needs: minimum.figure,
                    meets,
                }),
            })
            .collect()
    }
}

fn named(rating: &Rating, term: Term) -> String {
    match (&rating.standard, term) {
        (Some(name), _) => name.clone(),
        (None, Term::CuttingCapacity | Term::RatedSpreadingForce) => "EN 13204".into(),
        (None, _) => "NFPA 1936".into(),
    }
}

fn sizes(term: Term, has: Quantity, needs: Quantity) -> Meets {
    if has.dimension() != needs.dimension() || term.dimension() != Some(has.dimension()) {
        return Meets::Unknown;
    }
    let (a, b) = (has.si(), needs.si());
    let slack = ROUND_TRIP * a.abs().max(b.abs());
    let (met, short) = match term.better() {
        Better::Higher => (a >= b - slack, b - a),
        Better::Lower => (a <= b + slack, a - b),
    };
    if met {
        Meets::Yes
    } else {
        Meets::Short {
            has: Figure::Quantity(has),
            by: Some(Quantity::new(short / needs.unit.factor(), needs.unit)),
        }
    }
}
