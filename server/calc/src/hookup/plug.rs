//! The rules of a joint: coupling, fluid, pressure; and what is said when one is broken.

use super::names::{Family, Joints, Names};
use super::{Fluid, Hookup};
use crate::ratings::Kind;
use crate::units::{Dimension, Quantity, Units};
use serde::Serialize;

/// A round trip through another unit may not turn a pressure down.
pub(crate) const ROUND_TRIP: f64 = 1e-9;

/// The largest share by which pressures may differ and still count as equal (design 4.2).
pub const MOST_TOLERANCE: f64 = 0.02;

/// What keeps a line from running, as bits; 0 when nothing does.
pub(crate) type Misfits = u8;

const COUPLING_UNKNOWN: Misfits = 1;
const COUPLING_DIFFERS: Misfits = 2;
const FLUID_UNKNOWN: Misfits = 4;
const FLUID_DIFFERS: Misfits = 8;
const PRESSURE_UNKNOWN: Misfits = 16;
const PRESSURE_BELOW: Misfits = 32;
pub(crate) const SOURCE_TOO_LOW: Misfits = 64;
pub(crate) const FIXED_ELSEWHERE: Misfits = 128;

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
    /// Allowed for less than the source's operating pressure, beyond the policy's tolerance.
    PressureBelow,
    /// The source's pressure is below the one that the tool is rated at.
    PressureTooLow,
    /// Fixed to another source, or to one that is not here.
    FixedElsewhere,
}

/// One reason why two pieces do not fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfit {
    /// Which two of source, hose and tool do not fit.
    pub joint: Joint,
    /// Why they do not fit, for programs.
    pub code: MisfitCode,
    /// What the further piece (hose or tool) has, as words; `None` when unknown.
    pub has: Option<String>,
    /// What the nearer piece (source or hose) asks; `None` when unknown.
    pub needs: Option<String>,
    /// The two pressures, where they are the reason: of the further piece, of the source.
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
                Some((has, needs)) => format!("allowed for {}, the source runs at {}", has.show(units), needs.show(units)),
                None => "allowed for less than the source's pressure".into(),
            },
            MisfitCode::PressureTooLow => match self.pressures {
                Some((has, needs)) => format!("rated at {}, the source gives {}", has.show(units), needs.show(units)),
                None => "rated at more than the source's pressure".into(),
            },
            MisfitCode::FixedElsewhere => "fixed to another source".into(),
        }
    }
}

/// The tolerance that is used: from 0 to [`MOST_TOLERANCE`]; what is no number counts as 0.
pub(crate) fn tolerance(stated: f64) -> f64 {
    if stated > 0.0 { stated.min(MOST_TOLERANCE) } else { 0.0 }
}

/// A pressure in kPa; not a number when unknown, so that every comparison with it fails.
pub(crate) fn kpa(pressure: Option<Quantity>) -> f64 {
    pressure
        .filter(|q| q.dimension() == Dimension::Pressure && q.value > 0.0 && q.value.is_finite())
        .map_or(f64::NAN, Quantity::si)
}

/// Whether two pressures are the same one, written in two units.
pub(crate) fn same_pressure(a: f64, b: f64) -> bool {
    (a - b).abs() <= a * ROUND_TRIP
}

/// One outlet of a source with its names as numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tap {
    pub coupling: Family,
    pub fluid: Option<Fluid>,
    /// Operating pressure in kPa; not a number when unknown.
    pub kpa: f64,
    /// How many tools run at once from this outlet; one where nobody said.
    pub circuits: u32,
}

/// The outlets of a source, its first one first: coupling, pressure, circuits as written. A hand pump has one, with one circuit.
pub(crate) fn outlets(kind: Kind, source: &Hookup) -> impl Iterator<Item = (Option<&str>, Option<Quantity>, u32)> {
    let hand = kind == Kind::HandPump;
    let circuits = move |stated: Option<u32>| if hand { 1 } else { stated.unwrap_or(1) };
    let more: &[super::Outlet] = if hand { &[] } else { &source.outlets };
    std::iter::once((source.coupling.as_deref(), source.pressure, circuits(source.circuits)))
        .chain(more.iter().map(move |o| (Some(o.coupling.as_str()), Some(o.pressure), circuits(o.circuits))))
}

/// The outlets of a source in numbers.
pub(crate) fn taps<'n, 'a>(kind: Kind, source: &'a Hookup, names: &'n mut Names<'a>) -> impl Iterator<Item = Tap> + use<'n, 'a> {
    outlets(kind, source).map(move |(coupling, pressure, circuits)| Tap {
        coupling: names.number(coupling),
        fluid: source.fluid,
        kpa: kpa(pressure),
        circuits,
    })
}

/// A hose, adapter or tool with its names as numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plug {
    /// Coupling family, as a number, of the end towards the source; 0: unknown.
    pub near: Family,
    /// Coupling family, as a number, of the end towards the tool; 0: unknown.
    pub far: Family,
    pub fluid: Option<Fluid>,
    /// The most that it may be fed with, in kPa; not a number when unknown.
    pub allowable: f64,
    /// Of a tool: what it is rated at, in kPa; not a number when unknown.
    pub rated: f64,
}

impl Plug {
    /// Turns the names of a hook-up into numbers.
    pub(crate) fn read<'a>(hookup: &'a Hookup, names: &mut Names<'a>) -> Self {
        let near = names.number(hookup.source_end());
        let rated = kpa(hookup.pressure);
        Self {
            near,
            far: if hookup.tool_coupling.is_some() {
                names.number(hookup.tool_end())
            } else {
                near
            },
            fluid: hookup.fluid,
            allowable: if hookup.allowable_pressure.is_some() {
                kpa(hookup.allowable_pressure)
            } else {
                rated
            },
            rated,
        }
    }

    /// Whether it may hold what comes out of that outlet: fluid and allowable pressure.
    pub(crate) fn stands(&self, tap: &Tap, tolerance: f64) -> Misfits {
        fluids(tap.fluid, self.fluid) | allowed(tap.kpa, self.allowable, tolerance)
    }

    /// Whether that outlet brings a tool to its rated pressure.
    pub(crate) fn at_rated(&self, tap: &Tap, tolerance: f64) -> Misfits {
        if self.rated.is_nan() || tap.kpa.is_nan() {
            PRESSURE_UNKNOWN
        } else if self.rated <= tap.kpa * (1.0 + tolerance) * (1.0 + ROUND_TRIP) {
            0
        } else {
            SOURCE_TOO_LOW
        }
    }
}

/// Whether two ends mate.
pub(crate) fn couplings(a: Family, b: Family, joints: &Joints) -> Misfits {
    if a == 0 || b == 0 {
        COUPLING_UNKNOWN
    } else if joints.mate(a, b) {
        0
    } else {
        COUPLING_DIFFERS
    }
}

/// Whether two known couplings do not mate.
pub(crate) const fn differs(bits: Misfits) -> bool {
    bits & COUPLING_DIFFERS != 0
}

/// Whether something that is on record speaks against a joint; what is merely unknown does not.
pub(crate) const fn speaks_against(bits: Misfits) -> bool {
    bits & (COUPLING_DIFFERS | FLUID_DIFFERS | PRESSURE_BELOW | SOURCE_TOO_LOW | FIXED_ELSEWHERE) != 0
}

/// Whether the fluid is one and known.
pub(crate) fn fluids(a: Option<Fluid>, b: Option<Fluid>) -> Misfits {
    match (a, b) {
        (None, _) | (_, None) => FLUID_UNKNOWN,
        (a, b) if a == b => 0,
        _ => FLUID_DIFFERS,
    }
}

fn allowed(source: f64, allowable: f64, tolerance: f64) -> Misfits {
    if source.is_nan() || allowable.is_nan() {
        PRESSURE_UNKNOWN
    } else if allowable >= source * (1.0 - tolerance) * (1.0 - ROUND_TRIP) {
        0
    } else {
        PRESSURE_BELOW
    }
}

/// One side of a joint as it was written down.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Side<'a> {
    pub coupling: Option<&'a str>,
    pub fluid: Option<Fluid>,
    pub pressure: Option<Quantity>,
}

/// The bits of a joint as reasons. `near` is the outlet or hose, `far` the hose or tool behind it.
pub(crate) fn told(joint: Joint, bits: Misfits, near: Side<'_>, far: Side<'_>) -> Vec<Misfit> {
    [
        (COUPLING_UNKNOWN, MisfitCode::CouplingUnknown),
        (COUPLING_DIFFERS, MisfitCode::CouplingDiffers),
        (FLUID_UNKNOWN, MisfitCode::FluidUnknown),
        (FLUID_DIFFERS, MisfitCode::FluidDiffers),
        (PRESSURE_UNKNOWN, MisfitCode::PressureUnknown),
        (PRESSURE_BELOW, MisfitCode::PressureBelow),
        (SOURCE_TOO_LOW, MisfitCode::PressureTooLow),
        (FIXED_ELSEWHERE, MisfitCode::FixedElsewhere),
    ]
    .into_iter()
    .filter(|(bit, _)| bits & bit != 0)
    .map(|(_, code)| {
        let (has, needs) = match code {
            MisfitCode::CouplingUnknown | MisfitCode::CouplingDiffers => (far.coupling.map(str::to_owned), near.coupling.map(str::to_owned)),
            MisfitCode::FluidUnknown | MisfitCode::FluidDiffers => (far.fluid.map(|f| f.name().to_owned()), near.fluid.map(|f| f.name().to_owned())),
            // Sizes go as data, so that the reader's units decide how they are shown.
            _ => (None, None),
        };
        Misfit {
            joint,
            code,
            has,
            needs,
            pressures: far
                .pressure
                .zip(near.pressure)
                .filter(|_| matches!(code, MisfitCode::PressureBelow | MisfitCode::PressureTooLow)),
        }
    })
    .collect()
}
