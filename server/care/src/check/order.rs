//! Which step may be answered now.

use super::{
    answer::Answer,
    facts::Facts,
    judge::{StepResult, alone},
};
use crate::plan::{PlanSnapshot, Stage, Step};

/// Whether a step may be answered, after these answers.
///
/// # Errors
/// Why not, and what to do first: a load test before a clean look and function, a pump alone under pressure without a dump valve, a step
/// that this piece is not asked.
pub fn may_answer(asked: &PlanSnapshot, step: &str, answers: &[Answer], facts: &Facts<'_>) -> Result<(), String> {
    let Some(step) = asked.steps.iter().find(|known| known.id == step) else {
        return Err(format!("this check has no step \"{step}\""));
    };
    if !step.applies.has(facts.drive, facts.gear) {
        return Err(format!("{}: such a piece is not asked that", step.title));
    }
    may_load(asked, step, answers, facts)
}

/// The same for a step that is known to be asked.
pub(super) fn may_load(asked: &PlanSnapshot, step: &Step, answers: &[Answer], facts: &Facts<'_>) -> Result<(), String> {
    if step.pump_alone && facts.dump_valve != Some(true) {
        let why = if facts.dump_valve == Some(false) {
            "it has no dump valve, and the unit would stay under pressure"
        } else {
            "nobody has entered whether it has a dump valve"
        };
        return Err(format!("{}: never with the pump alone: {why}. Test it with a tool at its end", step.title));
    }
    if step.stage == Stage::Load {
        let before = asked
            .steps
            .iter()
            .filter(|other| other.stage != Stage::Load && other.applies.has(facts.drive, facts.gear));
        for other in before {
            let clean = match alone(asked, other, answers, facts) {
                StepResult::Passed => true,
                StepResult::NotAnswered { .. } => other.optional,
                _ => false,
            };
            if !clean {
                return Err(format!(
                    "{}: load it only after a clean look: \"{}\" is not passed yet",
                    step.title, other.title
                ));
            }
        }
    }
    Ok(())
}
