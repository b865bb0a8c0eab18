//! A number against one limit.

use super::facts::{Facts, Sort};
use crate::plan::{Bound, Drift, Limit, RatedFigure};
use fullset_calc::{
    release::{is_at_least, is_at_most, rated_force, share},
    units::{Dimension, Quantity},
};

/// What a number is to a limit.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum LimitCheck {
    /// It keeps to it.
    Within,
    /// It does not, and why.
    Beyond(String),
    /// The limit cannot be read: what is missing and what to enter.
    Unknown(String),
}

/// The bounds of a limit for this piece: least and most.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Between {
    pub low: Option<Quantity>,
    pub high: Option<Quantity>,
}

impl Between {
    fn keeps(self, value: Quantity, what: &str) -> LimitCheck {
        if let Some(low) = self.low.filter(|low| !is_at_least(value, *low)) {
            return LimitCheck::Beyond(format!("{} is less than {}{what}", value.show_as_typed(), low.show_as_typed()));
        }
        if let Some(high) = self.high.filter(|high| !is_at_most(value, *high)) {
            return LimitCheck::Beyond(format!("{} is more than {}{what}", value.show_as_typed(), high.show_as_typed()));
        }
        LimitCheck::Within
    }
}

fn part(of: Quantity, percent: u32) -> Quantity {
    share(of, f64::from(percent) / 100.0)
}

/// The number against the limit. `title` is the step's.
pub(super) fn hold(limit: &Limit, sort: &Sort, title: &str, value: Quantity, facts: &Facts<'_>) -> LimitCheck {
    match limit {
        Limit::Fixed { min, max } => Between { low: *min, high: *max }.keeps(value, ""),
        Limit::ShareOfRating { bound, percent, of } => rated(*bound, *percent, *of, sort, value, facts),
        Limit::MakersBound => {
            let known = facts.makers_bounds.iter().find(|known| known.sort == *sort);
            match known.map(|known| (known.min, known.max)) {
                None | Some((None, None)) => LimitCheck::Unknown(format!(
                    "the maker's limit is not on record: take it from the manual and enter it for the model ({title})"
                )),
                Some((low, high)) if mixed(value, low, high) => LimitCheck::Unknown(format!(
                    "the maker's limit on record is in another unit of measure: correct it at the model ({title})"
                )),
                Some((low, high)) => Between { low, high }.keeps(value, ", the maker's limit"),
            }
        }
        Limit::Drift { percent, way } => {
            let known = facts.baseline.iter().find(|known| known.sort == *sort);
            match known.map(|known| known.value) {
                None => LimitCheck::Unknown(format!(
                    "its acceptance test has no value for this: enter the reading of a good day as its baseline ({title})"
                )),
                Some(base) if base.dimension() != value.dimension() => {
                    LimitCheck::Unknown(format!("its acceptance test has another unit of measure for this: correct it ({title})"))
                }
                Some(base) => {
                    let up = part(base, 100_u32.saturating_add(*percent));
                    let down = part(base, 100_u32.saturating_sub(*percent));
                    let between = Between {
                        low: (*way != Drift::Up).then_some(down),
                        high: (*way != Drift::Down).then_some(up),
                    };
                    between.keeps(value, &format!(", {percent} % off its acceptance test ({})", base.show_as_typed()))
                }
            }
        }
    }
}

fn mixed(value: Quantity, low: Option<Quantity>, high: Option<Quantity>) -> bool {
    [low, high].into_iter().flatten().any(|bound| bound.dimension() != value.dimension())
}

fn rated(bound: Bound, percent: u32, of: RatedFigure, sort: &Sort, value: Quantity, facts: &Facts<'_>) -> LimitCheck {
    let between = |figure: Quantity| match bound {
        Bound::AtLeast => Between {
            low: Some(part(figure, percent)),
            high: None,
        },
        Bound::AtMost => Between {
            low: None,
            high: Some(part(figure, percent)),
        },
    };
    let what = |figure: Quantity, name: &str| format!(", {percent} % of its {name} of {}", figure.show_as_typed());
    let Some(measure) = of.measure() else {
        let nominal = facts.nominal.filter(|nominal| nominal.dimension() == Dimension::Pressure);
        return nominal.map_or_else(
            || LimitCheck::Unknown("its nominal pressure is not on record: enter it from its plate".to_owned()),
            |nominal| between(nominal).keeps(value, &what(nominal, of.words())),
        );
    };
    let plate = rated_force(facts.ratings, measure);
    let force = |figure: &Quantity| figure.dimension() == Dimension::Force;
    // The least that it is rated for anywhere is a floor, whatever the measuring point.
    if bound == Bound::AtLeast
        && let Some(floor) = plate.floor.filter(force)
        && let LimitCheck::Beyond(why) = between(floor).keeps(value, &what(floor, "lowest rated force"))
    {
        return LimitCheck::Beyond(why);
    }
    if let Some(figure) = plate.rated.filter(force) {
        return between(figure).keeps(value, &what(figure, of.words()));
    }
    // A plate that names a lowest and a highest force says nothing of the measuring point; the acceptance test does.
    let base = facts.baseline.iter().find(|known| known.sort == *sort).map(|known| known.value).filter(force);
    match base {
        Some(base) => between(base).keeps(value, &what(base, "acceptance test")),
        None => LimitCheck::Unknown(format!(
            "its {} is not on record: enter it from its plate, or the reading of its acceptance test",
            of.words()
        )),
    }
}
