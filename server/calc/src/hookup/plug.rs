//! Hook-ups with their names turned into small numbers, and the joint rules on them.

use super::{Fluid, Hookup, names::fold};
use crate::ratings::Kind;
use crate::units::{Dimension, Quantity, Units};
use serde::Serialize;

/// A round trip through another unit may not turn a pressure down.
const ROUND_TRIP: f64 = 1e-9;

/// What keeps two ends apart, as bits; 0 when nothing does.
pub(crate) type Misfits = u8;

const COUPLING_UNKNOWN: Misfits = 1;
const COUPLING_DIFFERS: Misfits = 2;
const FLUID_UNKNOWN: Misfits = 4;
const FLUID_DIFFERS: Misfits = 8;
const PRESSURE_UNKNOWN: Misfits = 16;
const PRESSURE_BELOW: Misfits = 32;

/// Which two of source, hose and tool are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joint {
    /// Coupling, fluid and pressure.
    SourceToHose,
    /// Coupling and fluid.
    HoseToTool,
    /// Fluid and pressure.
    SourceToTool,
}

/// What keeps two pieces from being hooked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum MisfitCode {
    /// A coupling family was not written down.
    CouplingUnknown,
    /// The coupling families do not mate.
    CouplingDiffers,
    /// A fluid was not written down.
    FluidUnknown,
    /// The fluids differ; they never mix.
    FluidDiffers,
    /// A pressure was not written down.
    PressureUnknown,
    /// Rated below the source's operating pressure, beyond the policy's tolerance.
    PressureBelow,
}

/// One reason why two pieces do not fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfit {
    /// Where.
    pub joint: Joint,
    /// Why.
    pub code: MisfitCode,
    /// What the further piece (hose or tool) has, as words; `None` when unknown.
    pub has: Option<String>,
    /// What the nearer piece (source or hose) asks; `None` when unknown.
    pub needs: Option<String>,
    /// The two pressures, where they are the reason: has, needs.
    pub pressures: Option<(Quantity, Quantity)>,
}

impl Misfit {
    /// As a sentence part: `coupling twin does not mate with flat-face single`.
    #[must_use]
    pub fn words(&self, units: Units) -> String {
        let has = self.has.as_deref().unwrap_or("unknown");
        let needs = self.needs.as_deref().unwrap_or("unknown");
        match self.code {
            MisfitCode::CouplingUnknown => "coupling unknown".into(),
            MisfitCode::CouplingDiffers => format!("coupling {has} does not mate with {needs}"),
            MisfitCode::FluidUnknown => "fluid unknown".into(),
            MisfitCode::FluidDiffers => format!("made for {has}, never to be mixed with {needs}"),
            MisfitCode::PressureUnknown => "pressure unknown".into(),
            MisfitCode::PressureBelow => match self.pressures {
                Some((has, needs)) => format!("rated {}, the source runs at {}", has.show(units), needs.show(units)),
                None => "rated below the source's pressure".into(),
            },
        }
    }
}

/// A hook-up with small numbers for names: 0 is "not known".
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Plug {
    pub coupling: u16,
    pub tool_coupling: u16,
    pub fluid: Option<Fluid>,
    /// Not a number when unknown, so that every comparison with it fails.
    pub kpa: f64,
    pub circuits: usize,
    pub battery: u16,
}

impl Default for Plug {
    fn default() -> Self {
        Self {
            coupling: 0,
            tool_coupling: 0,
            fluid: None,
            kpa: f64::NAN,
            circuits: 0,
            battery: 0,
        }
    }
}

/// The names met so far; names that nobody wrote down have no number. A spelling is folded once, when it is first met.
#[derive(Debug, Default)]
pub(crate) struct Plugs<'a> {
    /// Each spelling with its number.
    spellings: Vec<(&'a str, u16)>,
    /// Of each number: the folded name.
    keys: Vec<String>,
}

impl<'a> Plugs<'a> {
    fn number(&mut self, name: Option<&'a str>) -> u16 {
        let Some(name) = name else { return 0 };
        if let Some((_, number)) = self.spellings.iter().find(|(known, _)| *known == name) {
            return *number;
        }
        let key = fold(name);
        if key.is_empty() {
            return 0;
        }
        let at = self.keys.iter().position(|known| *known == key).unwrap_or_else(|| {
            self.keys.push(key);
            self.keys.len() - 1
        });
        let number = u16::try_from(at + 1).unwrap_or(0);
        self.spellings.push((name, number));
        number
    }

    /// The name behind a number, as it was first written.
    pub(crate) fn name(&self, number: u16) -> Option<&'a str> {
        let found = self.spellings.iter().find(|(_, known)| *known == number);
        found.filter(|_| number != 0).map(|(name, _)| name.trim())
    }

    /// Turns the names of a hook-up into numbers.
    pub(crate) fn read(&mut self, kind: Kind, hookup: &'a Hookup) -> Plug {
        let pressure = hookup.pressure.filter(|q| q.dimension() == Dimension::Pressure && q.value > 0.0);
        let coupling = self.number(hookup.coupling.as_deref());
        Plug {
            coupling,
            tool_coupling: if hookup.tool_coupling.is_some() {
                self.number(hookup.tool_coupling.as_deref())
            } else {
                coupling
            },
            fluid: hookup.fluid,
            kpa: pressure.map_or(f64::NAN, Quantity::si),
            circuits: match kind {
                Kind::PowerUnit => hookup.circuits.map_or(1, |n| usize::try_from(n).unwrap_or(usize::MAX)),
                Kind::HandPump => 1,
                _ => 0,
            },
            battery: self.number(hookup.battery.as_deref()),
        }
    }
}

fn couplings(a: u16, b: u16) -> Misfits {
    match (a, b) {
        (0, _) | (_, 0) => COUPLING_UNKNOWN,
        (a, b) if a == b => 0,
        _ => COUPLING_DIFFERS,
    }
}

fn fluids(a: Option<Fluid>, b: Option<Fluid>) -> Misfits {
    match (a, b) {
        (None, _) | (_, None) => FLUID_UNKNOWN,
        (a, b) if a == b => 0,
        _ => FLUID_DIFFERS,
    }
}

fn pressures(source: f64, rated: f64, tolerance: f64) -> Misfits {
    if source.is_nan() || rated.is_nan() {
        PRESSURE_UNKNOWN
    } else if rated >= source * (1.0 - tolerance) * (1.0 - ROUND_TRIP) {
        0
    } else {
        PRESSURE_BELOW
    }
}

impl Plug {
    /// This source into that hose.
    pub(crate) fn feeds(&self, hose: &Self, tolerance: f64) -> Misfits {
        couplings(self.coupling, hose.coupling) | fluids(self.fluid, hose.fluid) | pressures(self.kpa, hose.kpa, tolerance)
    }

    /// This hose into that tool.
    pub(crate) fn mouths(&self, tool: &Self) -> Misfits {
        couplings(self.tool_coupling, tool.coupling) | fluids(self.fluid, tool.fluid)
    }

    /// This source's fluid and pressure in that tool.
    pub(crate) fn drives(&self, tool: &Self, tolerance: f64) -> Misfits {
        fluids(self.fluid, tool.fluid) | pressures(self.kpa, tool.kpa, tolerance)
    }
}

/// The bits of a joint as reasons. `near` is the source or hose, `far` the hose or tool behind it.
pub(crate) fn told(joint: Joint, bits: Misfits, near: &Hookup, far: &Hookup) -> Vec<Misfit> {
    let near_end = if joint == Joint::HoseToTool { near.tool_end() } else { near.source_end() };
    let ends = (far.source_end().map(str::to_owned), near_end.map(str::to_owned));
    let fluids = (far.fluid.map(|f| f.name().to_owned()), near.fluid.map(|f| f.name().to_owned()));
    let both = far.pressure.zip(near.pressure);
    [
        (COUPLING_UNKNOWN, MisfitCode::CouplingUnknown),
        (COUPLING_DIFFERS, MisfitCode::CouplingDiffers),
        (FLUID_UNKNOWN, MisfitCode::FluidUnknown),
        (FLUID_DIFFERS, MisfitCode::FluidDiffers),
        (PRESSURE_UNKNOWN, MisfitCode::PressureUnknown),
        (PRESSURE_BELOW, MisfitCode::PressureBelow),
    ]
    .into_iter()
    .filter(|(bit, _)| bits & bit != 0)
    .map(|(_, code)| {
        let (has, needs) = match code {
            MisfitCode::CouplingUnknown | MisfitCode::CouplingDiffers => ends.clone(),
            MisfitCode::FluidUnknown | MisfitCode::FluidDiffers => fluids.clone(),
            // Sizes go as data, so that the reader's units decide how they are shown.
            MisfitCode::PressureUnknown | MisfitCode::PressureBelow => (None, None),
        };
        Misfit {
            joint,
            code,
            has,
            needs,
            pressures: both.filter(|_| code == MisfitCode::PressureBelow),
        }
    })
    .collect()
}
