//! Why a tool is not driven on this rig, in words and as data.

use super::board::{Board, GradeFit, PartFit, line_rules};
use super::gaps::{Asking, near};
use super::input::Piece;
use super::suits;
use super::wire::{Fact, Near, NearCode};
use super::words::Voice;
use crate::hookup::{Misfit, MisfitCode, Obstacle, Reach, each_outlet};
use crate::sets::{self, Set};
use crate::units::Quantity;
use chrono::{DateTime, Utc};

/// Whether a reason lies in a part that is missing beside the piece, not in the piece.
pub(super) const fn lies_beside(code: NearCode) -> bool {
    matches!(code, NearCode::NoSource | NearCode::NoHose | NearCode::NoBattery)
}

/// Why a tool is not driven so that it serves a part: what drives it does not count, is too short, or does not drive it at all.
pub(super) fn why_not(asking: &Asking<'_, '_>, grade: &GradeFit<'_>, part: &PartFit<'_>, i: usize, piece: &Piece, usable: bool, reach: &Reach) -> Vec<Near> {
    let rated = reach.rated(i);
    let drives = rated & part.outlets;
    if drives != 0 {
        if grade.least_mm <= 0.0 {
            return Vec::new();
        }
        let longest = each_outlet(drives).map(|o| asking.board.lines.longest_mm(reach, i, o)).fold(0.0, f64::max);
        return if longest >= grade.least_mm * (1.0 - 1e-9) {
            Vec::new()
        } else {
            vec![too_short(asking, grade, piece, longest)]
        };
    }
    let bit = sets::one(i);
    if rated == 0 && reach.below(i) & part.outlets != 0 && !piece.rated_at.is_empty() {
        // What it lacks there is told by the ratings for that pressure; that none are stated for it, here.
        let stated = each_outlet(reach.below(i) & part.outlets).filter_map(|o| asking.board.lines.outlets().get(o));
        if stated.filter_map(|outlet| suits::rated_at(piece, outlet, asking.board.rules)).next().is_some() {
            return Vec::new();
        }
    }
    let on_battery = asking.board.own_pack & bit != 0 || asking.board.lines.packs_of(i) & asking.board.usable != 0;
    if on_battery && part.battery {
        return Vec::new();
    }
    if rated != 0 || on_battery {
        return vec![near(piece, NearCode::DriveNotCounted, "what drives it does not count for this grade")];
    }
    let alive = if usable { asking.board.usable } else { asking.board.usable | bit };
    let mut all = why_not_driven(asking.board, i, piece, alive, (asking.at, asking.voice));
    if !usable {
        // Of a piece that must not be used only what lies in the piece itself is said.
        all.retain(|near| near.piece == Some(piece.id) && !lies_beside(near.code));
    }
    all
}

fn too_short(asking: &Asking<'_, '_>, grade: &GradeFit<'_>, piece: &Piece, longest_mm: f64) -> Near {
    let units = asking.voice.units;
    let needs = grade.grade.line_length.map_or_else(String::new, |length| length.show(units));
    let text = if longest_mm > 0.0 {
        let longest = Quantity::new(longest_mm / 1000.0, crate::units::Unit::Metre).show(units);
        format!("its longest line is {longest}, {needs} needed")
    } else {
        format!("no line to it has a known length, {needs} needed")
    };
    near(piece, NearCode::LineTooShort, &text)
}

/// Why nothing aboard drives a tool at its rated pressure.
pub(super) fn why_not_driven(board: &Board<'_>, i: usize, piece: &Piece, alive: Set, (at, voice): (DateTime<Utc>, &Voice<'_>)) -> Vec<Near> {
    let mut all = Vec::new();
    let hookup = &piece.hookup;
    if hookup.battery.is_some() && board.own_pack & sets::one(i) == 0 && board.lines.packs_of(i) & alive == 0 {
        all.push(near(piece, NearCode::NoBattery, "no usable battery pack of its family aboard"));
        all.extend(out_of_use(&Asking { board, at, voice }, board.lines.packs_of(i) & !board.usable));
    }
    if hookup.coupling.is_none() {
        if hookup.battery.is_none() {
            all.push(near(piece, NearCode::HookupUnknown, "how it is driven is unknown"));
        }
        return all;
    }
    all.extend(misses(board, i, piece, alive, (at, voice)));
    all
}

/// Why no source aboard feeds a hose or adapter, where something of it is known; none where nothing is to be said.
pub(super) fn why_not_fed(board: &Board<'_>, piece: &Piece, voice: &Voice<'_>) -> Option<Vec<Near>> {
    if piece.kind != crate::ratings::Kind::Hose {
        return None;
    }
    let against = sets::each(board.lines.sources & board.usable).filter_map(|s| board.piece(s));
    let fewest = against.map(|source| hose_against(board, source, piece, voice)).min_by_key(Vec::len);
    fewest.filter(|all| !all.is_empty())
}

/// What keeps a hose from the first outlets of a source.
fn hose_against(board: &Board<'_>, source: &Piece, hose: &Piece, voice: &Voice<'_>) -> Vec<Near> {
    let (from, to) = (&source.hookup, &hose.hookup);
    let mut all = Vec::new();
    match (from.coupling.as_deref(), to.coupling.as_deref()) {
        (_, None) => all.push(near(hose, NearCode::CouplingUnknown, "coupling unknown")),
        (Some(a), Some(b)) if !board.rules.mates.mate(a, b) => all.push(Near {
            has: Some(Fact::Text(b.to_owned())),
            needs: Some(Fact::Text(a.to_owned())),
            ..near(hose, NearCode::CouplingDiffers, &format!("coupling {b} does not mate with {a}"))
        }),
        _ => {}
    }
    match (from.fluid, to.fluid) {
        (_, None) => all.push(near(hose, NearCode::FluidUnknown, "fluid unknown")),
        (Some(a), Some(b)) if a != b => {
            let text = format!("made for {}, never to be mixed with {}", b.name(), a.name());
            all.push(near(hose, NearCode::FluidDiffers, &text));
        }
        _ => {}
    }
    let tolerance = board.rules.policy.pressure_tolerance.clamp(0.0, 0.02);
    match (from.pressure, to.pressure) {
        (_, None) => all.push(near(hose, NearCode::PressureUnknown, "pressure unknown")),
        (Some(runs), Some(stands)) if stands.si() < runs.si() * (1.0 - tolerance) => {
            let text = format!("allowed for {}, the source runs at {}", stands.show(voice.units), runs.show(voice.units));
            all.push(near(hose, NearCode::PressureBelow, &text));
        }
        _ => {}
    }
    all
}

/// So many steps of work are spent on why tools do not run, before it is told in general.
const WHY_WORK: usize = 400_000;

/// The most pieces out of use that are named as the cause.
const MOST_LAPSED: usize = 4;

fn misses(board: &Board<'_>, i: usize, piece: &Piece, alive: Set, (at, voice): (DateTime<Utc>, &Voice<'_>)) -> Vec<Near> {
    let before = board.work();
    if board.told.get() > WHY_WORK {
        return vec![near(piece, NearCode::NoHose, "no line aboard leads to it")];
    }
    let parts = board.parts();
    let mut all: Vec<Near> = Vec::new();
    let (mut no_source, mut no_hose) = (false, false);
    for obstacle in board.lines.why_not(i, alive, 0.0, &parts, &line_rules(board.rules)) {
        match obstacle {
            Obstacle::NoSource => no_source = true,
            Obstacle::NoHose => no_hose = true,
            Obstacle::Misfit { misfit, .. } => all.push(from_misfit(piece, &misfit, voice)),
            Obstacle::HookupUnknown | Obstacle::NoPack | Obstacle::TooShort { .. } => {}
        }
    }
    if no_source {
        all.push(near(piece, NearCode::NoSource, "no power source in service to drive it"));
    }
    if no_hose {
        all.push(near(piece, NearCode::NoHose, "no hose in service leads to it"));
    }
    let asking = Asking { board, at, voice };
    let away = (board.lines.sources | board.lines.hoses | board.lines.adapters) & !board.usable;
    // What would drive it were it not out of use is the cause; else what is out of use where nothing of its sort is in use.
    let mut cause = sets::each(away)
        .filter(|j| board.lines.reach(alive | sets::one(*j)).rated(i) != 0)
        .fold(0, |set, j| set | sets::one(j));
    if cause == 0 {
        cause = away & (if no_source { board.lines.sources } else { 0 } | if no_hose { board.lines.hoses } else { 0 });
    }
    all.extend(out_of_use(&asking, cause));
    board.told.set(board.told.get() + board.work() - before);
    all
}

/// Why these pieces are out of use.
fn out_of_use(asking: &Asking<'_, '_>, pieces: Set) -> Vec<Near> {
    let of = sets::each(pieces).take(MOST_LAPSED).filter_map(|j| asking.board.piece(j));
    of.flat_map(|piece| asking.faults(piece)).collect()
}

fn from_misfit(piece: &Piece, misfit: &Misfit, voice: &Voice<'_>) -> Near {
    let code = match misfit.code {
        MisfitCode::CouplingUnknown => NearCode::CouplingUnknown,
        MisfitCode::CouplingDiffers => NearCode::CouplingDiffers,
        MisfitCode::FluidUnknown => NearCode::FluidUnknown,
        MisfitCode::FluidDiffers => NearCode::FluidDiffers,
        MisfitCode::PressureUnknown => NearCode::PressureUnknown,
        MisfitCode::PressureBelow => NearCode::PressureBelow,
        MisfitCode::PressureTooLow => NearCode::PressureTooLow,
        MisfitCode::FixedElsewhere => NearCode::FixedElsewhere,
    };
    let (mut has, mut needs) = (misfit.has.clone().map(Fact::Text), misfit.needs.clone().map(Fact::Text));
    let mut short_by = None;
    if let Some((rated, runs)) = misfit.pressures {
        (has, needs) = (Some(Fact::Quantity(rated)), Some(Fact::Quantity(runs)));
        short_by = Some(Quantity::new((runs.si() - rated.si()).abs() / runs.unit.factor(), runs.unit));
    }
    Near {
        has,
        needs,
        short_by,
        ..near(piece, code, &misfit.words(voice.units))
    }
}
