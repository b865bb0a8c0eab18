//! The plan in the shape in which it is sent.

use super::home;
use super::input::{Day, Home, Mend, Rig};
use super::joint::Planning;
use super::search::BestPlan;
use crate::amount::{percent, real};
use crate::capability::MOST_PIECES;
use crate::sets::pick;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// One piece to move.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Move {
    /// The piece that is moved.
    pub piece: Uuid,
    /// From what kind of place.
    pub from: Home,
    /// The rig that gets the piece.
    pub rig: Uuid,
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
    /// The rig that is not full now and is after the plan.
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
    /// The rig that is not full now and stays so.
    pub rig: Uuid,
    /// Why the plan does not make it full, in a sentence for people.
    pub words: String,
}

/// A rig of which the search does not know every set of pieces that would make it full.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct UndecidedRig {
    /// The rig for which not every set of pieces was tried.
    pub rig: Uuid,
    /// Why not every set was tried, in a sentence for people.
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
    /// True: no plan reaches more, none as much with fewer moves, none that with fewer minutes, of all plans in which a rig gets at most three
    /// pieces, of which none could be left out, and gives only what it can spare as it stands.
    pub proved: bool,
    /// The rigs for which that was not decided.
    pub undecided: Vec<UndecidedRig>,
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

/// `whole`: the day as it was handed in.
pub(super) fn tell(whole: &Day, planned: &Planning) -> SwapPlan {
    let Planning { day, task, found } = planned;
    let of_gap = |gap: usize| {
        let way = found.chosen.iter().filter_map(|way| task.ways.get(*way)).find(|way| way.gaps.contains(&gap))?;
        task.candidates.get(way.candidate).map(|candidate| candidate.rig)
    };
    let mut pairs: Vec<(usize, usize, usize)> = found.pairs.iter().filter_map(|(gap, donor)| Some((of_gap(*gap)?, *gap, *donor))).collect();
    pairs.sort_unstable();
    let moves_of = |rig: usize| pairs.iter().filter(|(r, ..)| *r == rig).count();
    let moves = pairs.iter().filter_map(|(number, gap, donor)| {
        let (rig, of) = (day.rigs.get(*number)?, day.donors.get(*donor)?);
        let minutes = task.minutes(*gap, *donor)?;
        let restores = match moves_of(*number) {
            1 => format!("{} is full with it", rig.name),
            n => format!("{} is full with all {n} moves to it", rig.name),
        };
        let leaves = of.leaves.clone();
        let open = leaves
            .as_ref()
            .map_or_else(|| "it leaves nothing open".to_owned(), |what| format!("it leaves open: {what}"));
        let words = format!("Move {} from {} to {}: {restores}; {open}.", of.name, of.place, rig.name);
        Some(Move {
            piece: of.id,
            from: of.home,
            rig: rig.id,
            minutes: real(minutes),
            leaves,
            words,
        })
    });
    let moves: Vec<Move> = moves.collect();
    let without = |way: usize| -> Vec<usize> { found.chosen.iter().copied().filter(|other| *other != way).collect() };
    let restored = found.chosen.iter().filter_map(|chosen| {
        let number = task.candidates.get(task.ways.get(*chosen)?.candidate)?.rig;
        let rig = day.rigs.get(number)?;
        let weight = found.value - task.worth(&without(*chosen));
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
            words: why_not(whole, planned, number),
        });
    let undecided = undecided(day);
    let (after, bound) = (task.before + found.value, (task.before + found.bound + task.unknown).min(task.total));
    let proved = found.proved && undecided.is_empty();
    let (from, to) = (share(task.before, task.total), share(after, task.total));
    let mut words = match moves.len() {
        0 => format!("No move brings full rigs to more demand than the {from} they reach now."),
        1 => format!("One move: full rigs reach {to} of the demand instead of {from}."),
        n => format!("{n} moves: full rigs reach {to} of the demand instead of {from}."),
    };
    if !proved {
        words.push_str(&not_proved(found, &undecided, (bound > after).then(|| share(bound, task.total))));
    }
    SwapPlan {
        total: real(task.total),
        before: real(task.before),
        after: real(after),
        bound: real(bound),
        proved,
        undecided,
        minutes: real(found.minutes),
        unrestored: unrestored.collect(),
        moves,
        restored,
        words,
    }
}

fn not_proved(found: &BestPlan, undecided: &[UndecidedRig], bound: Option<String>) -> String {
    let why = match (found.proved, undecided.len()) {
        (false, _) => "The search was stopped".to_owned(),
        (true, 1) => "For one rig not every set of pieces was tried".to_owned(),
        (true, n) => format!("For {n} rigs not every set of pieces was tried"),
    };
    match bound {
        Some(bound) => format!(" {why}: a better plan was not ruled out, but none reaches more than {bound}."),
        None => format!(" {why}: no plan reaches more; one with fewer moves or minutes was not ruled out."),
    }
}

/// Rigs that could bring something, of which not every mend is known.
fn undecided(day: &Day) -> Vec<UndecidedRig> {
    let mut reached = vec![false; day.zones.len()];
    for zone in day.rigs.iter().filter(|rig| rig.full).flat_map(|rig| &rig.reaches) {
        if let Some(mark) = reached.get_mut(*zone) {
            *mark = true;
        }
    }
    let brings = |rig: &&Rig| {
        rig.reaches
            .iter()
            .any(|zone| !pick(&reached, *zone) && day.zones.get(*zone).is_some_and(|zone| zone.weight > 0.0))
    };
    let open = day.rigs.iter().filter(|rig| !rig.full).filter(brings);
    open.filter_map(|rig| {
        let why = rig.undecided.as_ref()?;
        Some(UndecidedRig {
            rig: rig.id,
            words: format!("{}: {why}.", rig.name),
        })
    })
    .collect()
}

fn why_not(whole: &Day, planned: &Planning, number: usize) -> String {
    let Planning { day, task, found } = planned;
    let Some(rig) = whole.rigs.get(number) else { return String::new() };
    let name = &rig.name;
    if !rig.is_sought {
        return format!("{name}: this plan looks for pieces to put aboard so that a rig is full; it looked for none here.");
    }
    if rig.mends.is_empty() {
        return match &rig.undecided {
            Some(why) => format!("{name}: not decided, for {why}."),
            None => format!("{name}: no {MOST_PIECES} pieces that could come, or fewer, would make it full."),
        };
    }
    let Some(candidate) = task.candidates.iter().find(|c| c.rig == number) else {
        if kept_elsewhere(whole, rig) {
            return format!("{name}: what would make it full stays in its own district, which is short and would be mended by a piece at hand there.");
        }
        return format!("{name}: it reaches no zone that full rigs do not reach already.");
    };
    let used: Vec<usize> = found.pairs.iter().map(|(_, donor)| *donor).collect();
    let given = used.iter().find(|donor| rig.mends.iter().any(|mend| mend.rests_on.contains(donor)));
    if let Some(donor) = given.and_then(|donor| day.donors.get(*donor)) {
        return format!("{name}: it gives up {} to a rig that brings more.", donor.name);
    }
    let reached = |zone: &usize| {
        let made_full = found
            .chosen
            .iter()
            .filter_map(|way| task.ways.get(*way))
            .filter_map(|way| task.candidates.get(way.candidate));
        made_full.into_iter().any(|other| other.zones.contains(zone))
    };
    if candidate.zones.iter().all(reached) {
        return format!("{name}: the rigs that the plan makes full reach all that it would reach.");
    }
    let is_taken = |mend: &Mend| mend.wants.iter().any(|want| want.fits.iter().all(|fit| used.contains(&fit.donor)));
    if rig.mends.iter().all(is_taken) {
        return format!("{name}: the pieces that would make it full go to rigs that bring more.");
    }
    format!("{name}: there are too few pieces for it and for the rigs that bring more.")
}

/// Whether each mend of a rig asks for a piece that another, short district keeps.
fn kept_elsewhere(whole: &Day, rig: &Rig) -> bool {
    let kept = home::kept(whole);
    let stays = |donor: usize| pick(&kept, donor) && whole.donors.get(donor).is_some_and(|donor| donor.district != rig.district);
    rig.mends
        .iter()
        .all(|mend| mend.wants.iter().any(|want| want.fits.iter().all(|fit| stays(fit.donor))))
}
