//! Whether a plan can be kept: every text and list has a most, and what is asked can be answered.

use super::{CheckPlan, Rhythm, validate_steps};
use crate::{Fault, recurrence::End};
use std::collections::BTreeSet;

/// The longest name of a plan, in characters.
pub const MOST_NAME: usize = 80;
/// The longest title of a step, in characters.
pub const MOST_TITLE: usize = 60;
/// The longest how and caution of a step, in characters.
pub const MOST_WORDS: usize = 240;
/// The longest source of a step, in characters.
pub const MOST_SOURCE: usize = 200;
/// The most steps of a plan.
pub const MOST_STEPS: usize = 60;
/// The most models that a plan names.
pub const MOST_MODELS: usize = 200;
/// The most proofs of a plan: one of each.
pub const MOST_PROOFS: usize = 4;
/// The most days of grace: ten years, as in the policy.
pub const MOST_GRACE_DAYS: u32 = 3_650;
/// The most months between two checks.
pub const MOST_EVERY_MONTHS: u32 = 240;
/// The most uses between two checks.
pub const MOST_EVERY_USES: u32 = 10_000;
/// The most running hours between two checks.
pub const MOST_EVERY_HOURS: u32 = 10_000;

pub(super) fn faults(plan: &CheckPlan) -> Vec<Fault> {
    let mut found = Vec::new();
    text(&mut found, "name", "the name", &plan.name, 1, MOST_NAME);
    if plan.version == 0 {
        found.push(Fault::new("version", "the first version is 1"));
    }
    covers(plan, &mut found);
    rhythm(&plan.rhythm, &mut found);
    most(&mut found, "proves", "proofs", plan.proves.len(), MOST_PROOFS);
    once(&mut found, "proves", &plan.proves);
    if plan.grace_days > MOST_GRACE_DAYS {
        found.push(Fault::new(
            "grace_days",
            format!("{} days of grace: give {MOST_GRACE_DAYS} at most", plan.grace_days),
        ));
    }
    if plan.steps.is_empty() {
        found.push(Fault::new("steps", "a plan asks at least one thing"));
    }
    if most(&mut found, "steps", "steps", plan.steps.len(), MOST_STEPS) {
        validate_steps::faults(&plan.steps, &mut found);
    }
    found
}

fn covers(plan: &CheckPlan, found: &mut Vec<Fault>) {
    if plan.covers.kinds.is_empty() && plan.covers.models.is_empty() {
        found.push(Fault::new("covers", "name a kind or a model: a plan that covers nothing is never done"));
    }
    once(found, "covers.kinds", &plan.covers.kinds);
    if most(found, "covers.models", "models", plan.covers.models.len(), MOST_MODELS) {
        once(found, "covers.models", &plan.covers.models);
    }
}

fn rhythm(rhythm: &Rhythm, found: &mut Vec<Fault>) {
    let mut range = |path: &str, what: &str, value: u32, top: u32| {
        if !(1..=top).contains(&value) {
            found.push(Fault::new(path, format!("{value} {what}: give 1 to {top}")));
        }
    };
    match rhythm {
        Rhythm::Use | Rhythm::Shift => {}
        Rhythm::Months { months } => range("rhythm.months", "months", *months, MOST_EVERY_MONTHS),
        Rhythm::Uses { uses } => range("rhythm.uses", "uses", *uses, MOST_EVERY_USES),
        Rhythm::Hours { hours } => range("rhythm.hours", "hours", *hours, MOST_EVERY_HOURS),
        Rhythm::Calendar { rule, start } => {
            if rule.end() != End::Never {
                found.push(Fault::new(
                    "rhythm.rule",
                    "a check does not end by itself: leave COUNT and UNTIL out, and take the plan out of use when it is not wanted any more",
                ));
            }
            if !rule.occurs(*start) {
                found.push(Fault::new("rhythm.rule", "no day is ever like that: correct the rule or its start"));
            }
        }
        Rhythm::Event { events } => {
            if events.is_empty() {
                found.push(Fault::new("rhythm.events", "name at least one event"));
            }
            once(found, "rhythm.events", events);
        }
    }
}

/// A text with so many characters; blanks alone are none.
pub(super) fn text(found: &mut Vec<Fault>, path: impl Into<String>, what: &str, text: &str, least: usize, most: usize) {
    let length = text.chars().count();
    if text.trim().is_empty() && least > 0 {
        found.push(Fault::new(path, format!("write {what}")));
    } else if length > most {
        found.push(Fault::new(path, format!("{what} has {length} characters; it has {most} at most")));
    }
}

/// A list with at most so many; whether it has.
pub(super) fn most(found: &mut Vec<Fault>, path: impl Into<String>, what: &str, count: usize, most: usize) -> bool {
    if count > most {
        found.push(Fault::new(path, format!("{count} {what}: give {most} at most")));
    }
    count <= most
}

/// A list that names each thing once.
pub(super) fn once<T: Ord>(found: &mut Vec<Fault>, path: impl Into<String>, all: &[T]) {
    let distinct: BTreeSet<&T> = all.iter().collect();
    if distinct.len() != all.len() {
        found.push(Fault::new(path, "something is named twice"));
    }
}
