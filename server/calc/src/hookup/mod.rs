//! Which power source, hose and tool fit each other, and how many tools run at once.
//!
//! A hose-fed tool works only as source -> hose -> tool: the hose's one end mates with the source and its other end
//! with the tool, the fluid is the same in all three, and hose and tool are rated for at least the source's operating
//! pressure. What is not known does not fit, and is said as unknown. This module never asks where a piece is, in
//! what state it is or what it is rated to lift or cut.

mod couplings;
mod names;
mod plug;
mod simultaneous;

pub(crate) use plug::{Plug, Plugs, told};
pub(crate) use simultaneous::Network;

pub use couplings::{CouplingFamily, Couplings, UnderPressure};
pub use names::{fold, same_name};
pub use plug::{Joint, Misfit, MisfitCode};
pub use simultaneous::simultaneous_tools;

use crate::ratings::{Kind, LOOK_AGAIN, PRESSURE};
use crate::units::{Dimension, Quantity, UnitFault};
use serde::{Deserialize, Serialize};

/// The fluid families in use. They never mix; a mixed system is out of service until the shop says otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Fluid {
    /// Mineral oil.
    #[serde(rename = "mineral oil")]
    MineralOil,
    /// Phosphate ester.
    #[serde(rename = "phosphate ester")]
    PhosphateEster,
    /// Polyalphaolefin.
    #[serde(rename = "polyalphaolefin")]
    Polyalphaolefin,
}

impl Fluid {
    /// Every fluid, in a fixed order.
    pub const ALL: &'static [Self] = &[Self::MineralOil, Self::PhosphateEster, Self::Polyalphaolefin];

    /// The name on the wire and on the screen.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::MineralOil => "mineral oil",
            Self::PhosphateEster => "phosphate ester",
            Self::Polyalphaolefin => "polyalphaolefin",
        }
    }

    /// The fluid of a name as people type it.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        match name.trim().to_lowercase().replace(['-', '_'], " ").as_str() {
            "mineral oil" | "mineral" | "mineral hydraulic oil" => Some(Self::MineralOil),
            "phosphate ester" | "phosphate" | "ester" => Some(Self::PhosphateEster),
            "polyalphaolefin" | "poly alpha olefin" | "pao" => Some(Self::Polyalphaolefin),
            _ => None,
        }
    }
}

/// How a model is hooked up. What is `None` is not known, or does not apply to the kind.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Hookup {
    /// Coupling family; of a hose, that of its source end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(example = "flat-face single"))]
    pub coupling: Option<String>,
    /// Coupling family of a hose's tool end, where it differs: the hose is then an adapter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool_coupling: Option<String>,
    /// Fluid that the piece is filled with or made for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluid: Option<Fluid>,
    /// Operating pressure of a source; allowable pressure of a hose or tool.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure: Option<Quantity>,
    /// How many tools a source runs at once. Not stated: one, which is certain. A hand pump always has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuits: Option<u32>,
    /// Battery family of a battery tool, a battery or a charger.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(example = "28V family"))]
    pub battery: Option<String>,
}

/// More circuits are a slip of the pen (common practice, no source).
const MOST_CIRCUITS: u32 = 16;

/// What is wrong with a hook-up entry, or unusual about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct HookupFault {
    /// The field at fault.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub field: &'static str,
    /// `wrong-dimension`, `torque-unit`, `not-positive`, `not-possible`, `does-not-apply` or `blank`; of a warning `unusual`.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub code: &'static str,
    /// What is wrong.
    pub reason: String,
    /// What to write instead, where that is known.
    pub hint: Option<String>,
}

impl Hookup {
    /// The coupling that meets the source.
    #[must_use]
    pub fn source_end(&self) -> Option<&str> {
        self.coupling.as_deref()
    }

    /// The coupling that meets the tool.
    #[must_use]
    pub fn tool_end(&self) -> Option<&str> {
        self.tool_coupling.as_deref().or(self.coupling.as_deref())
    }

    /// Whether a hose has two different ends.
    #[must_use]
    pub fn is_adapter(&self) -> bool {
        match (self.source_end(), self.tool_end()) {
            (Some(a), Some(b)) => !same_name(a, b),
            _ => false,
        }
    }

    /// What cannot be so for a piece of this kind. What is merely unknown is no fault.
    #[must_use]
    pub fn faults(&self, kind: Kind) -> Vec<HookupFault> {
        let mut faults = Vec::new();
        let mut fault = |field, code, reason: &str, hint: Option<String>| {
            faults.push(HookupFault {
                field,
                code,
                reason: reason.into(),
                hint,
            })
        };
        for (field, text) in [("coupling", &self.coupling), ("tool_coupling", &self.tool_coupling), ("battery", &self.battery)] {
            if text.as_deref().is_some_and(|t| fold(t).is_empty()) {
                fault(
                    field,
                    "blank",
                    "the name holds no letter or digit",
                    Some("leave the field out when it is not known".into()),
                );
            }
        }
        if let Some(q) = self.pressure {
            if q.dimension() != Dimension::Pressure {
                let UnitFault { code, reason, hint } = UnitFault::wrong_dimension(q.unit, Dimension::Pressure, Some(q.value));
                fault("pressure", code, &reason, hint);
            } else if q.value <= 0.0 {
                fault(
                    "pressure",
                    "not-positive",
                    "a pressure must be above zero",
                    Some("leave it out when it is not known".into()),
                );
            } else if let Some(reason) = PRESSURE.impossible(kind, "pressure", q) {
                fault("pressure", "not-possible", &reason, Some(LOOK_AGAIN.into()));
            }
        }
        if self.circuits == Some(0) {
            fault("circuits", "not-positive", "a source has at least one circuit", None);
        }
        if self.circuits.is_some() && !kind.is_source() {
            fault("circuits", "does-not-apply", "only a power unit or hand pump has circuits", None);
        }
        if kind == Kind::HandPump && self.circuits.is_some_and(|n| n > 1) {
            fault("circuits", "does-not-apply", "a hand pump has one circuit", None);
        }
        if self.tool_coupling.is_some() && kind != Kind::Hose {
            fault("tool_coupling", "does-not-apply", "only a hose has a second end", None);
        }
        if let Some(count) = self.circuits.filter(|n| *n > MOST_CIRCUITS) {
            fault(
                "circuits",
                "not-possible",
                &format!("{count} circuits are more than the {MOST_CIRCUITS} that a source can have"),
                None,
            );
        }
        faults
    }

    /// What is possible but so unusual that somebody should look at the plate again. Only of what has no fault.
    #[must_use]
    pub fn warnings(&self, kind: Kind) -> Vec<HookupFault> {
        let pressure = self.pressure.filter(|q| q.dimension() == Dimension::Pressure);
        let unusual = pressure.and_then(|q| PRESSURE.unusual(kind, "pressure", q)).map(|reason| HookupFault {
            field: "pressure",
            code: "unusual",
            reason,
            hint: Some(LOOK_AGAIN.into()),
        });
        unusual.into_iter().collect()
    }
}

/// Whether a source feeds a hose: coupling at the source end, fluid, pressure. Empty when it does.
#[must_use]
pub fn source_to_hose(source: &Hookup, hose: &Hookup, tolerance: f64) -> Vec<Misfit> {
    let mut plugs = Plugs::default();
    let (s, h) = (plugs.read(Kind::PowerUnit, source), plugs.read(Kind::Hose, hose));
    plug::told(Joint::SourceToHose, s.feeds(&h, tolerance), source, hose)
}

/// Whether a hose feeds a tool: coupling at the tool end, fluid. Empty when it does.
#[must_use]
pub fn hose_to_tool(hose: &Hookup, tool: &Hookup) -> Vec<Misfit> {
    let mut plugs = Plugs::default();
    let (h, t) = (plugs.read(Kind::Hose, hose), plugs.read(Kind::Cutter, tool));
    plug::told(Joint::HoseToTool, h.mouths(&t), hose, tool)
}

/// Whether a tool stands a source: fluid and pressure. Empty when it does.
#[must_use]
pub fn source_to_tool(source: &Hookup, tool: &Hookup, tolerance: f64) -> Vec<Misfit> {
    let mut plugs = Plugs::default();
    let (s, t) = (plugs.read(Kind::PowerUnit, source), plugs.read(Kind::Cutter, tool));
    plug::told(Joint::SourceToTool, s.drives(&t, tolerance), source, tool)
}

/// Everything that keeps source, hose and tool from working together; empty when they do.
///
/// `tolerance` is the share by which a rated pressure may lie below the source's (policy, usually 0.01: makers print
/// 10,500 psi and 720 bar for the same thing).
#[must_use]
pub fn misfits(source: &Hookup, hose: &Hookup, tool: &Hookup, tolerance: f64) -> Vec<Misfit> {
    let mut all = source_to_hose(source, hose, tolerance);
    all.extend(hose_to_tool(hose, tool));
    all.extend(source_to_tool(source, tool, tolerance));
    all
}
