//! The plan in the shape in which it is sent.

use super::input::{Day, Gap, Home};
use super::search::BestPlan;
use super::zones::Task;
use crate::amount::{percent, real};
use crate::sets::pick;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// One piece to move.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Move {
    /// Id of the piece.
    pub piece: Uuid,
    /// From what kind of place.
    pub from: Home,
    /// To which rig.
    pub rig: Uuid,
    /// Into which slot.
    pub slot: String,
    /// Minutes to bring it there.
    pub minutes: f64,
    /// What it leaves open where it was; `None`: nothing that counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leaves: Option<String>,
    /// In words: what to move, what that restores, what it leaves open.
    pub words: String,
}

/// A rig that the plan makes full.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Restored {
    /// Id of the rig.
    pub rig: Uuid,
    /// How many moves it takes.
    pub moves: usize,
    /// Weight that would be lost again if only this rig were left out of the plan.
    pub weight: f64,
    /// The same in a sentence for people.
    pub words: String,
}

/// A rig that stays as it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Unrestored {
    /// Id of the rig.
    pub rig: Uuid,
    /// Why, in words.
    pub words: String,
}

/// A swap plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct SwapPlan {
    /// Weight of all zones.
    pub total: f64,
    /// Weight that full rigs reach now.
    pub before: f64,
    /// Weight that they reach after the plan.
    pub after: f64,
    /// No plan reaches more.
    pub bound: f64,
    /// True: no plan reaches more, none as much with fewer moves, none that with fewer minutes.
    pub proved: bool,
    /// What to move, rig by rig.
    pub moves: Vec<Move>,
    /// Minutes of all moves.
    pub minutes: f64,
    /// The rigs made full.
    pub restored: Vec<Restored>,
    /// The rigs that are not full and stay so, in the order handed in.
    pub unrestored: Vec<Unrestored>,
    /// The same in a sentence for people.
    pub words: String,
}

fn share(part: i64, total: i64) -> String {
    percent(real(part) / real(total.max(1)))
}

pub(super) fn tell(day: &Day, task: &Task, found: &BestPlan) -> SwapPlan {
    let mut pairs: Vec<(usize, usize, usize)> = found
        .pairs
        .iter()
        .filter_map(|(gap, donor)| day.gaps.get(*gap).map(|g| (g.rig, *gap, *donor)))
        .collect();
    pairs.sort_unstable();
    let moves_of = |rig: usize| pairs.iter().filter(|(r, ..)| *r == rig).count();
    let moves = pairs.iter().filter_map(|(number, gap, donor)| {
        let (rig, donor_) = (day.rigs.get(*number)?, day.donors.get(*donor)?);
        let Gap { slot, .. } = day.gaps.get(*gap)?;
        let minutes = task.fits.get(*gap)?.iter().find(|fit| fit.0 == *donor)?.1;
        let restores = match moves_of(*number) {
            1 => format!("{} is full with it", rig.name),
            n => format!("{} is full with all {n} moves to it", rig.name),
        };
        let leaves = match (&donor_.leaves, donor_.strips.and_then(|rig| day.rigs.get(rig))) {
            (Some(what), _) => Some(what.clone()),
            (None, Some(stripped)) => Some(format!("one more gap on {}", stripped.name)),
            (None, None) => None,
        };
        let open = leaves
            .as_ref()
            .map_or_else(|| "it leaves nothing open".to_owned(), |what| format!("it leaves open: {what}"));
        let words = format!("Move {} from {} to {}, slot {slot}: {restores}; {open}.", donor_.name, donor_.place, rig.name);
        Some(Move {
            piece: donor_.id,
            from: donor_.home,
            rig: rig.id,
            slot: slot.clone(),
            minutes: real(minutes),
            leaves,
            words,
        })
    });
    let moves: Vec<Move> = moves.collect();
    let worth = |without: Option<usize>| -> i64 {
        let chosen = || found.chosen.iter().filter(|c| Some(**c) != without).filter_map(|c| task.candidates.get(*c));
        let mut reached = vec![false; task.weights.len()];
        for zone in chosen().flat_map(|c| &c.zones) {
            if let Some(mark) = reached.get_mut(*zone) {
                *mark = true;
            }
        }
        task.weights.iter().zip(reached).filter(|(_, r)| *r).map(|(w, _)| w).sum()
    };
    let restored = found.chosen.iter().filter_map(|chosen| {
        let number = task.candidates.get(*chosen)?.rig;
        let rig = day.rigs.get(number)?;
        let weight = found.value - worth(Some(*chosen));
        let n = moves_of(number);
        Some(Restored {
            rig: rig.id,
            moves: n,
            weight: real(weight),
            words: format!(
                "{} becomes full with {n} move{}: {} of the demand hangs on it alone.",
                rig.name,
                if n == 1 { "" } else { "s" },
                share(weight, task.total)
            ),
        })
    });
    let restored: Vec<Restored> = restored.collect();
    let unrestored = day
        .rigs
        .iter()
        .enumerate()
        .filter(|(_, rig)| !rig.full && !restored.iter().any(|r| r.rig == rig.id))
        .map(|(number, rig)| Unrestored {
            rig: rig.id,
            words: why_not(day, task, found, number),
        });
    let (after, bound) = (task.before + found.value, task.before + found.bound);
    let (from, to) = (share(task.before, task.total), share(after, task.total));
    let mut words = match moves.len() {
        0 => format!("No move brings full rigs to more demand than the {from} they reach now."),
        1 => format!("One move: full rigs reach {to} of the demand instead of {from}."),
        n => format!("{n} moves: full rigs reach {to} of the demand instead of {from}."),
    };
    if !found.proved && bound > after {
        words.push_str(&format!(
            " The search was stopped: a better plan was not ruled out, but none reaches more than {}.",
            share(bound, task.total)
        ));
    } else if !found.proved {
        words.push_str(" No plan reaches more; one with fewer moves or minutes was not ruled out.");
    }
    SwapPlan {
        total: real(task.total),
        before: real(task.before),
        after: real(after),
        bound: real(bound),
        proved: found.proved,
        minutes: real(found.minutes),
        unrestored: unrestored.collect(),
        moves,
        restored,
        words,
    }
}

fn why_not(day: &Day, task: &Task, found: &BestPlan, number: usize) -> String {
    let gaps: Vec<(usize, &Gap)> = day.gaps.iter().enumerate().filter(|(_, gap)| gap.rig == number).collect();
    let name = day.rigs.get(number).map_or("", |rig| rig.name.as_str());
    if gaps.is_empty() {
        return format!("{name}: this plan looks for pieces to put aboard so that a rig is full; it looked for none here.");
    }
    let without: Vec<&str> = gaps
        .iter()
        .filter(|(gap, _)| task.fits.get(*gap).is_none_or(Vec::is_empty))
        .map(|(_, gap)| gap.slot.as_str())
        .collect();
    if !without.is_empty() {
        return format!(
            "{name}: this plan looks at one piece for each gap up to full; it found no single donor for {}.",
            without.join(", ")
        );
    }
    let used: Vec<usize> = found.pairs.iter().map(|(_, donor)| *donor).collect();
    if let Some((_, donor)) = found
        .pairs
        .iter()
        .find(|(_, donor)| pick(&task.strips, *donor).is_some_and(|rig| rig == number))
    {
        let donor = day.donors.get(*donor).map_or("", |donor| donor.name.as_str());
        return format!("{name}: it gives up {donor} to a rig that brings more.");
    }
    let taken = gaps
        .iter()
        .filter(|(gap, _)| task.fits.get(*gap).is_some_and(|fits| fits.iter().all(|fit| used.contains(&fit.0))));
    let taken: Vec<&str> = taken.map(|(_, gap)| gap.slot.as_str()).collect();
    if !taken.is_empty() {
        return format!("{name}: the donors that fit {} go to rigs that bring more.", taken.join(", "));
    }
    let Some(candidate) = task.candidates.iter().find(|c| c.rig == number) else {
        return format!("{name}: it reaches no zone that full rigs do not reach already.");
    };
    let reached = |zone: &usize| found.chosen.iter().filter_map(|c| task.candidates.get(*c)).any(|c| c.zones.contains(zone));
    if candidate.zones.iter().all(reached) {
        return format!("{name}: the rigs that the plan makes full reach all that it would reach.");
    }
    format!("{name}: there are too few donors for it and for the rigs that bring more.")
}
