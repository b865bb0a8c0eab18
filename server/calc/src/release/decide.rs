//! The release itself.

use super::{
    Baseline, DefectClass, Ending, Evidence, HoseLife, Measure, Missing, MissingWhat, Needed, NeededReading, Plate, Role, Signature, needed::bounds,
    needed_for_release, plausible,
};
use crate::units::Quantity;
use chrono::NaiveDate;

/// How near to a bound still counts as on it: a hundred-millionth, so that a typed 90 % is 90 %.
const ON_THE_BOUND: f64 = 1e-8;

/// A release that holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cleared {
    /// Readings for which no limit is on record: the piece shows that.
    pub without_limit: Vec<Measure>,
}

/// Whether this evidence, signed by this role on this day, returns a piece that went out for these classes.
///
/// # Errors
/// Everything that is missing, never only the first.
pub fn release(
    plate: &Plate<'_>,
    classes: &[DefectClass],
    evidence: &Evidence,
    baseline: &[Baseline],
    role: Role,
    on: NaiveDate,
) -> Result<Cleared, Vec<Missing>> {
    judge(plate, &needed_for_release(plate, classes, baseline), evidence, role, on)
}

impl Needed {
    /// Whether this evidence, signed by this role on this day, is all that is needed.
    ///
    /// # Errors
    /// Everything that is missing, never only the first.
    pub fn met_by(&self, plate: &Plate<'_>, evidence: &Evidence, role: Role, on: NaiveDate) -> Result<Cleared, Vec<Missing>> {
        judge(plate, self, evidence, role, on)
    }
}

fn judge(plate: &Plate<'_>, needed: &Needed, evidence: &Evidence, role: Role, on: NaiveDate) -> Result<Cleared, Vec<Missing>> {
    let mut missing = Vec::new();
    if needed.ending == Ending::Retires {
        return Err(vec![Missing::new(
            MissingWhat::Retirement,
            "Nothing returns this piece: put it where nobody can use it, do not open it, and retire it",
        )]);
    }
    let said = |text: &Option<String>| text.as_ref().is_some_and(|text| !text.trim().is_empty());
    match plate.life {
        HoseLife::EndsOn(end) if on >= end => {
            missing.push(Missing::new(MissingWhat::Retirement, format!("Its service life ended on {end}: retire it")));
        }
        HoseLife::Unknown => missing.push(Missing::new(
            MissingWhat::DateOfMake,
            "Its date of make is not on record, and unknown is not young: read it from the label and have it put on record, or retire it",
        )),
        HoseLife::EndsOn(_) | HoseLife::NotAHose => {}
    }
    let by_maker = evidence.makers_service.as_ref().is_some_and(|paper| paper.fault(None, on).is_none());
    if needed.makers_service() && !by_maker {
        let words = if needed.ending == Ending::RetiresUnlessMaker {
            "Such damage ends in retirement, unless the maker's service returns the piece: name its paper, or retire it"
        } else {
            "Only the maker's service returns it: name its paper"
        };
        missing.push(Missing::new(MissingWhat::MakersService, words));
    }
    // The maker's paper stands for the technician's word; whoever files it answers for that.
    let signs = if by_maker { needed.signs.max(Signature::MakersService) } else { needed.signs };
    let enough = role.signs(signs) || (by_maker && role.signs(needed.signs));
    if !enough {
        let words = match signs {
            Signature::MakersService => "The paper of the maker's service is filed by the shop or the coordinator".to_owned(),
            _ => format!("This takes the word of {}", signs.words()),
        };
        missing.push(Missing {
            signs: Some(needed.signs),
            ..Missing::new(MissingWhat::Signature, words)
        });
    }
    if needed.manual && !said(&evidence.manual) && !by_maker {
        missing.push(Missing::new(
            MissingWhat::Manual,
            "What to do and its limits stand in the maker's manual: name the manual and the passage",
        ));
    }
    if !said(&evidence.note) {
        missing.push(Missing::new(MissingWhat::Note, "Say what was found and what was done"));
    }
    missing.extend(needed.readings.iter().filter_map(|reading| lacking(reading, evidence)));
    missing.extend(unasked(plate, needed, evidence));
    if missing.is_empty() {
        let without_limit = needed
            .readings
            .iter()
            .filter(|reading| !reading.limit_on_record)
            .map(|reading| reading.measure)
            .collect();
        Ok(Cleared { without_limit })
    } else {
        Err(missing)
    }
}

/// What is out of its limits among the readings that nobody asked for: a test that shows a fault has not passed, whatever it was for.
fn unasked(plate: &Plate<'_>, needed: &Needed, evidence: &Evidence) -> Vec<Missing> {
    let mut seen: Vec<Measure> = needed.readings.iter().map(|reading| reading.measure).collect();
    let mut all = Vec::new();
    for reading in &evidence.readings {
        if reading.measure != Measure::Other && !seen.contains(&reading.measure) {
            seen.push(reading.measure);
            all.extend(lacking(&bounds(plate, reading.measure, &[]), evidence));
        }
    }
    all
}

/// What is wrong with the evidence for one reading: none given, or the worst of those given is out of its limits.
fn lacking(needed: &NeededReading, evidence: &Evidence) -> Option<Missing> {
    let told = |what, words: String| Missing {
        measure: Some(needed.measure),
        low: needed.low,
        high: needed.high,
        ..Missing::new(what, words)
    };
    let given: Vec<_> = evidence.readings.iter().filter(|reading| reading.measure == needed.measure).collect();
    if given.is_empty() {
        return Some(told(MissingWhat::Reading, format!("{}: not recorded{}", needed.label, limits(needed))));
    }
    for reading in given {
        match (needed.answer, reading.yes, reading.value) {
            (Some(sound), Some(yes), _) if yes == sound => {}
            (Some(sound), Some(_), _) => {
                let must = if sound { "yes" } else { "no" };
                return Some(told(MissingWhat::OutOfLimit, format!("{}: must be {must}", needed.label)));
            }
            (None, _, Some(value)) if Some(value.dimension()) == needed.dimension => {
                if let Some(why) = plausible::impossible(needed.measure, value) {
                    return Some(told(MissingWhat::OutOfLimit, format!("{}: {why}{}", needed.label, limits(needed))));
                }
                if !within(needed, value) {
                    return Some(told(MissingWhat::OutOfLimit, format!("{}: {}{}", needed.label, shown(value), limits(needed))));
                }
            }
            _ => return Some(told(MissingWhat::Reading, format!("{}: not recorded{}", needed.label, limits(needed)))),
        }
    }
    None
}

fn within(needed: &NeededReading, value: Quantity) -> bool {
    needed.low.is_none_or(|low| is_at_least(value, low)) && needed.high.is_none_or(|high| is_at_most(value, high))
}

/// Whether a measured value reaches its bound, in whichever units both were typed; a value on the bound does, one of another
/// dimension or without a size does not.
#[must_use]
pub fn is_at_least(value: Quantity, low: Quantity) -> bool {
    let measured = value.si();
    value.dimension() == low.dimension() && measured.is_finite() && measured + measured.abs() * ON_THE_BOUND >= low.si()
}

/// Whether a measured value stays within its bound, in whichever units both were typed; a value on the bound does, one of another
/// dimension or without a size does not.
#[must_use]
pub fn is_at_most(value: Quantity, high: Quantity) -> bool {
    let measured = value.si();
    value.dimension() == high.dimension() && measured.is_finite() && measured - measured.abs() * ON_THE_BOUND <= high.si()
}

fn shown(value: Quantity) -> String {
    value.show_as_typed()
}

fn limits(needed: &NeededReading) -> String {
    match (needed.low, needed.high) {
        (Some(low), Some(high)) => format!("; it must be from {} to {}", shown(low), shown(high)),
        (Some(low), None) => format!("; it must be at least {}", shown(low)),
        (None, Some(high)) => format!("; it must be at most {}", shown(high)),
        (None, None) if !needed.limit_on_record => "; its limit is not on record: take it from the manual".to_owned(),
        (None, None) => String::new(),
    }
}
