//! Why a tool is not driven on this rig, in words and as data.

use super::board::{Board, GradeFit, PartFit, line_rules};
use super::gaps::{Asking, near};
use super::input::Piece;
use super::wire::{Fact, Near, NearCode};
use super::words::Voice;
use crate::hookup::{Misfit, MisfitCode, Obstacle, Reach};
use crate::sets::{self, Set};
use crate::units::Quantity;

/// Why a tool is not driven so that it serves a part: what drives it does not count, is too short, or does not drive it at all.
pub(super) fn why_not(asking: &Asking<'_, '_>, grade: &GradeFit<'_>, part: &PartFit<'_>, i: usize, piece: &Piece, usable: bool, reach: &Reach) -> Vec<Near> {
    let rated = reach.rated(i);
    if rated & part.outlets != 0 && grade.least_mm > 0.0 {
        let longest = sets::each(Set::from(rated & part.outlets)).map(|o| reach.longest_mm(i, o)).fold(0.0, f64::max);
        let units = asking.voice.units;
        let needs = grade.grade.line_length.map_or_else(String::new, |length| length.show(units));
        let text = if longest > 0.0 {
            format!(
                "its longest line is {}, {needs} needed",
                Quantity::new(longest / 1000.0, crate::units::Unit::Metre).show(units)
            )
        } else {
            format!("no line to it has a known length, {needs} needed")
        };
        return vec![near(piece, NearCode::LineTooShort, &text)];
    }
    let bit = sets::one(i);
    let on_battery = asking.board.own_pack & bit != 0 || asking.board.lines.packs_of(i) & asking.board.usable != 0;
    if rated != 0 || (on_battery && !part.battery) {
        return vec![near(piece, NearCode::DriveNotCounted, "what drives it does not count for this grade")];
    }
    if on_battery {
        return Vec::new();
    }
    let alive = if usable { asking.board.usable } else { asking.board.usable | bit };
    let mut all = why_not_driven(asking.board, i, piece, alive, asking.voice);
    if !usable {
        // Of a piece that must not be used only what lies in the piece itself is said.
        all.retain(|near| !matches!(near.code, NearCode::NoSource | NearCode::NoHose | NearCode::NoBattery));
    }
    all
}

/// Why nothing aboard drives a tool at its rated pressure.
pub(super) fn why_not_driven(board: &Board<'_>, i: usize, piece: &Piece, alive: Set, voice: &Voice<'_>) -> Vec<Near> {
    let mut all = Vec::new();
    let hookup = &piece.hookup;
    if hookup.battery.is_some() && board.own_pack & sets::one(i) == 0 && board.lines.packs_of(i) & alive == 0 {
        all.push(near(piece, NearCode::NoBattery, "no usable battery pack of its family aboard"));
    }
    if hookup.coupling.is_none() {
        if hookup.battery.is_none() {
            all.push(near(piece, NearCode::HookupUnknown, "how it is driven is unknown"));
        }
        return all;
    }
    all.extend(misses(board, i, piece, alive, voice));
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

fn misses(board: &Board<'_>, i: usize, piece: &Piece, alive: Set, voice: &Voice<'_>) -> Vec<Near> {
    let parts = board.parts();
    let mut all: Vec<Near> = Vec::new();
    for obstacle in board.lines.why_not(i, alive, 0.0, &parts, &line_rules(board.rules)) {
        all.push(match obstacle {
            Obstacle::NoSource => near(piece, NearCode::NoSource, "no power source in service to drive it"),
            Obstacle::NoHose => near(piece, NearCode::NoHose, "no hose in service leads to it"),
            Obstacle::Misfit { misfit, .. } => from_misfit(piece, &misfit, voice),
            Obstacle::HookupUnknown | Obstacle::NoPack | Obstacle::TooShort { .. } => continue,
        });
    }
    all
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

