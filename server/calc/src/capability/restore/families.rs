//! The hydraulic and battery families that pieces are put aboard on: those that are aboard already.

use super::super::board::{Board, line_rules};
use super::super::grade::Drive;
use super::super::wire::Level;
use crate::hookup::{Fluid, fold};
use crate::ratings::Kind;
use crate::units::{Dimension, Quantity, Unit};

/// So many families, and pressures of one family, are thought of at most.
const MOST: usize = 6;
const MOST_PRESSURES: usize = 3;

/// The coupling that stands in where none is known.
pub(super) const TO_BE_CHOSEN: &str = "one coupling family and fluid";

/// The battery family that stands in where none is known.
const PACKS_TO_BE_CHOSEN: &str = "one battery family";

/// A coupling and fluid, with the pressures that occur on it.
pub(super) struct Family {
    pub coupling: String,
    pub fluid: Fluid,
    /// Those of sources first. Never empty.
    pub pressures: Vec<Quantity>,
}

impl Family {
    pub(super) fn is(&self, coupling: &str, fluid: Fluid) -> bool {
        self.fluid == fluid && fold(&self.coupling) == fold(coupling)
    }

    /// The highest pressure: a hose that is allowed it serves everywhere on the family.
    pub(super) fn highest(&self) -> Quantity {
        let highest = self.pressures.iter().copied().max_by(|a, b| a.si().total_cmp(&b.si()));
        highest.unwrap_or_else(to_be_chosen)
    }
}

const fn to_be_chosen() -> Quantity {
    Quantity::new(700.0, Unit::Bar)
}

/// The hydraulic families aboard: those of sources, then those that tools and hoses have without a source. Second: whether all
/// found room.
pub(super) fn hydraulic(board: &Board<'_>) -> (Vec<Family>, bool) {
    let tolerance = line_rules(board.rules).tolerance;
    let mut all: Vec<Family> = Vec::new();
    let mut is_whole = true;
    let mut add = |coupling: Option<&str>, fluid: Option<Fluid>, pressure: Option<Quantity>, further: bool| {
        let pressure = pressure.filter(|q| q.dimension() == Dimension::Pressure && q.value > 0.0);
        let (Some(coupling), Some(fluid), Some(pressure)) = (coupling.filter(|c| !fold(c).is_empty()), fluid, pressure) else {
            return;
        };
        if let Some(family) = all.iter_mut().find(|known| known.is(coupling, fluid)) {
            let equal = |known: &Quantity| (known.si() - pressure.si()).abs() <= pressure.si() * tolerance;
            if !further || family.pressures.iter().any(equal) {
            } else if family.pressures.len() < MOST_PRESSURES {
                family.pressures.push(pressure);
            } else {
                is_whole = false;
            }
        } else if all.len() < MOST {
            all.push(Family {
                coupling: coupling.to_owned(),
                fluid,
                pressures: vec![pressure],
            });
        } else {
            is_whole = false;
        }
    };
    for piece in board.pieces.iter().filter(|piece| piece.kind.is_source()) {
        let hookup = &piece.hookup;
        add(hookup.coupling.as_deref(), hookup.fluid, hookup.pressure, true);
        for outlet in &hookup.outlets {
            add(Some(&outlet.coupling), hookup.fluid, Some(outlet.pressure), true);
        }
    }
    for piece in board.pieces.iter().filter(|piece| piece.kind.is_tool()) {
        add(piece.hookup.coupling.as_deref(), piece.hookup.fluid, piece.hookup.pressure, true);
    }
    for piece in board.pieces.iter().filter(|piece| piece.kind == Kind::Hose) {
        add(piece.hookup.coupling.as_deref(), piece.hookup.fluid, piece.hookup.pressure, false);
    }
    if all.is_empty() {
        all.push(Family {
            coupling: TO_BE_CHOSEN.to_owned(),
            fluid: Fluid::MineralOil,
            pressures: vec![to_be_chosen()],
        });
    }
    (all, is_whole)
}

/// The battery families aboard. Where none is and some grade up to the target cannot do without a battery: one on record, or one
/// to be chosen.
pub(super) fn batteries(board: &Board<'_>, target: Level) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for name in board.pieces.iter().filter_map(|piece| piece.hookup.battery.as_deref()) {
        if !fold(name).is_empty() && !all.iter().any(|known| fold(known) == fold(name)) {
            all.push(name.to_owned());
        }
    }
    let mut grades = board.grades.iter().filter(|grade| grade.level <= target);
    let asks = grades.any(|grade| grade.grade.kinds_of_drive > 1 || grade.parts.iter().any(|part| part.part.drives == [Drive::Battery]));
    if all.is_empty() && asks {
        all.push(board.rules.packs_on_record.first().cloned().unwrap_or_else(|| PACKS_TO_BE_CHOSEN.to_owned()));
    }
    all.truncate(MOST);
    all
}
