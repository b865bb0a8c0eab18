//! Whether the steps of a plan can be asked and answered.

use super::validate::{MOST_SOURCE, MOST_TITLE, MOST_WORDS, most, once, text};
use super::{Ask, Limit, RatedFigure, Source, Stage, Step};
use crate::Fault;
use fullset_calc::{
    release::{Measure, is_at_most},
    units::{Dimension, Quantity, Unit},
};
use std::collections::BTreeSet;

/// The longest id of a step, in characters.
pub const MOST_STEP_ID: usize = 40;
/// The most words to choose from.
pub const MOST_OPTIONS: usize = 12;
/// The longest word to choose, in characters.
pub const MOST_OPTION: usize = 40;
/// The most units that a step offers.
pub const MOST_UNITS: usize = 4;
/// The most limits of a number.
pub const MOST_LIMITS: usize = 4;
/// The largest share, in percent.
pub const MOST_PERCENT: u32 = 1_000;

pub(super) fn faults(steps: &[Step], found: &mut Vec<Fault>) {
    let mut ids = BTreeSet::new();
    for (n, step) in steps.iter().enumerate() {
        let at = format!("steps[{n}]");
        if !ids.insert(&step.id) {
            found.push(Fault::new(format!("{at}.id"), format!("another step is called \"{}\" too", step.id)));
        }
        one(step, &at, found);
    }
    let has = |stage: Stage| steps.iter().any(|step| step.stage == stage && !step.optional);
    if steps.iter().any(|step| step.stage == Stage::Load) && !has(Stage::Look) {
        found.push(Fault::new(
            "steps",
            "a load test is made only after a clean look: ask for a look first, in a step that is not optional",
        ));
    }
    if !steps.is_empty() && steps.iter().all(|step| step.optional || !step.applies.is_to_all()) {
        found.push(Fault::new("steps", "one step at least is asked of every piece and is not optional"));
    }
}

fn one(step: &Step, at: &str, found: &mut Vec<Fault>) {
    let slug = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if step.id.is_empty() || step.id.len() > MOST_STEP_ID || !step.id.chars().all(slug) {
        found.push(Fault::new(format!("{at}.id"), format!("write 1 to {MOST_STEP_ID} of a to z, 0 to 9 and -")));
    }
    text(found, format!("{at}.title"), "the title", &step.title, 1, MOST_TITLE);
    text(found, format!("{at}.how"), "how", &step.how, 0, MOST_WORDS);
    if let Some(caution) = &step.caution {
        text(found, format!("{at}.caution"), "the caution", caution, 1, MOST_WORDS);
    }
    if let Source::Published { text: source } = &step.source {
        text(found, format!("{at}.source.text"), "the source", source, 1, MOST_SOURCE);
    }
    once(found, format!("{at}.applies.drives"), &step.applies.drives);
    once(found, format!("{at}.applies.gear"), &step.applies.gear);
    ask(step, &format!("{at}.ask"), found);
}

fn ask(step: &Step, at: &str, found: &mut Vec<Fault>) {
    match &step.ask {
        Ask::Photo | Ask::Note => {}
        Ask::YesNo { measure: None, .. } => {}
        Ask::YesNo { sound, measure: Some(measure) } => match measure.sound_answer() {
            None => found.push(Fault::new(
                format!("{at}.measure"),
                format!("{} is not answered with yes or no: ask for a number, or leave the measure out", measure.label()),
            )),
            Some(right) if right != *sound => found.push(Fault::new(
                format!("{at}.sound"),
                format!("{}: a sound piece answers {}", measure.label(), if right { "yes" } else { "no" }),
            )),
            Some(_) => {}
        },
        Ask::Choice { options, passing } => choice(options, passing, at, found),
        Ask::Number {
            measure,
            dimension,
            units,
            limits,
        } => number(*measure, *dimension, units, limits, at, found),
    }
}

fn choice(options: &[String], passing: &[String], at: &str, found: &mut Vec<Fault>) {
    if options.len() < 2 {
        found.push(Fault::new(format!("{at}.options"), "give two words to choose from at least"));
    }
    if !most(found, format!("{at}.options"), "words to choose from", options.len(), MOST_OPTIONS) {
        return;
    }
    for (n, option) in options.iter().enumerate() {
        text(found, format!("{at}.options[{n}]"), "the word", option, 1, MOST_OPTION);
    }
    once(found, format!("{at}.options"), options);
    once(found, format!("{at}.passing"), passing);
    if passing.is_empty() {
        found.push(Fault::new(format!("{at}.passing"), "say which word passes"));
    }
    for unknown in passing.iter().filter(|word| !options.contains(word)).take(MOST_OPTIONS) {
        found.push(Fault::new(
            format!("{at}.passing"),
            format!("\"{unknown}\" is not among the words to choose from"),
        ));
    }
}

fn number(measure: Measure, dimension: Option<Dimension>, units: &[Unit], limits: &[Limit], at: &str, found: &mut Vec<Fault>) {
    if measure.sound_answer().is_some() {
        found.push(Fault::new(format!("{at}.measure"), format!("{} is answered with yes or no", measure.label())));
        return;
    }
    let of = match (measure.dimension(), dimension) {
        (Some(own), Some(said)) if own != said => {
            found.push(Fault::new(
                format!("{at}.dimension"),
                format!("{} is {}: leave the dimension out", measure.label(), own.word()),
            ));
            return;
        }
        (Some(own), _) => own,
        (None, Some(said)) => said,
        (None, None) => {
            found.push(Fault::new(format!("{at}.dimension"), "say what is measured: a length, a pressure, a time"));
            return;
        }
    };
    most(found, format!("{at}.units"), "units", units.len(), MOST_UNITS);
    for unit in units.iter().take(MOST_UNITS).filter(|unit| unit.dimension() != of) {
        found.push(Fault::new(
            format!("{at}.units"),
            format!("{} is {}, and {} is asked for", unit.symbol(), unit.dimension().word(), of.word()),
        ));
    }
    if most(found, format!("{at}.limits"), "limits", limits.len(), MOST_LIMITS) {
        for (n, limit) in limits.iter().enumerate() {
            bound(limit, measure, of, &format!("{at}.limits[{n}]"), found);
        }
    }
}

fn bound(limit: &Limit, measure: Measure, of: Dimension, at: &str, found: &mut Vec<Fault>) {
    match limit {
        Limit::MakersBound => {}
        Limit::Fixed { min, max } => {
            if min.is_none() && max.is_none() {
                found.push(Fault::new(at, "give a least or a most"));
            }
            for value in [min, max].into_iter().flatten() {
                size(*value, of, at, found);
            }
            if let (Some(min), Some(max)) = (min, max)
                && min.dimension() == max.dimension()
                && !is_at_most(*min, *max)
            {
                found.push(Fault::new(
                    at,
                    format!("the least, {}, is more than the most, {}", min.show_as_typed(), max.show_as_typed()),
                ));
            }
        }
        Limit::ShareOfRating { percent, of: figure, .. } => {
            share(*percent, at, found);
            let fits = match figure.measure() {
                Some(wanted) => wanted == measure,
                None => of == Dimension::Pressure,
            };
            if !fits {
                let what = if *figure == RatedFigure::NominalPressure {
                    "a pressure"
                } else {
                    figure.words()
                };
                found.push(Fault::new(at, format!("{} is not compared with the {what} of the plate", measure.label())));
            }
        }
        Limit::Drift { percent, .. } => share(*percent, at, found),
    }
}

fn share(percent: u32, at: &str, found: &mut Vec<Fault>) {
    if !(1..=MOST_PERCENT).contains(&percent) {
        found.push(Fault::new(at, format!("{percent} %: give 1 to {MOST_PERCENT}")));
    }
}

fn size(value: Quantity, of: Dimension, at: &str, found: &mut Vec<Fault>) {
    if value.dimension() != of {
        found.push(Fault::new(
            at,
            format!("{} is {}, and {} is asked for", value.unit.symbol(), value.dimension().word(), of.word()),
        ));
    }
    if !value.value.is_finite() || value.value < 0.0 || value.value > 1e12 {
        found.push(Fault::new(at, "a limit is a number from 0 up"));
    }
}
