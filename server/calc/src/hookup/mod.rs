//! Which sources, hoses, adapters and tools can be joined to a line, and how many tools run at once.
//!
//! A hose-fed tool works only through a line: one outlet of a source, one to three hoses and at most two adapters, end to
//! end, the tool. Every joint mates, the fluid is one and known, every part is allowed the outlet's pressure. What is not
//! known does not fit, and is said as unknown. This module never asks where a piece is, in what state it is or what it is
//! rated to lift or cut.
//!
//! | file | answers |
//! | --- | --- |
//! | `plug` | the rules of one joint, and their words |
//! | `lines` | which pieces can be joined, worked out once for a list of pieces |
//! | `sorts` | outlets, hoses and adapters that are alike |
//! | `feed` | which sorts of hoses and adapters some outlet feeds |
//! | `longest` | how long the longest line to a tool is |
//! | `reach` | which tools some line leads to, which pieces have a place in a line |
//! | `line` | one line to be laid |
//! | `at_once` | the largest number of tools at once; `packing` counts them |
//! | `cross` | which joints of two sets somebody could make by accident, and what is wrong with them |
//! | `why_not` | what is wrong where no line leads to a tool |

mod ask;
mod at_once;
mod couplings;
mod cross;
mod feed;
mod line;
mod lines;
mod longest;
mod mates;
mod names;
mod packing;
mod packing_search;
mod plug;
mod reach;
mod sorts;
mod spelling;
mod why_not;

pub(crate) use self::{
    at_once::Way,
    lines::{Lines, each_outlet},
    reach::Reach,
    sorts::OutletKind,
    spelling::is_name,
};

pub use ask::{Demand, Driven, line_to, lines_that_drive, obstacles, pieces_served, simultaneous_tools};
pub use at_once::AtOnce;
pub use couplings::{CouplingFamily, Couplings, UnderPressure};
pub use cross::{CrossJoint, CrossVerdict, SetPart, cross_joints};
pub use line::Line;
pub use lines::{LineRules, MOST_ADAPTERS, MOST_HOSES, MOST_OUTLET_KINDS, Part};
pub use mates::Mates;
pub use plug::{Joint, MOST_TOLERANCE, Misfit, MisfitCode};
pub use spelling::{fold, same_name};
pub use why_not::Obstacle;

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
    /// Coupling family of the tool end of a hose or adapter, where it differs from the source end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool_coupling: Option<String>,
    /// Fluid that the piece is filled with or made for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluid: Option<Fluid>,
    /// Operating pressure of a source's outlets; allowable pressure of a hose or adapter; of a tool the pressure that it is
    /// rated at: at a lower one it meets nothing, unless ratings are stated for that pressure too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure: Option<Quantity>,
    /// Of a tool: the highest pressure that it may be fed with; unless stated, the one that it is rated at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowable_pressure: Option<Quantity>,
    /// Of a source: its outlets of another kind than those that `coupling`, `pressure` and `circuits` describe; 3 at most.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(max_items = 3))]
    pub outlets: Vec<Outlet>,
    /// How many tools a source runs at once from the outlets described here. Not stated: one, which is certain. A hand pump
    /// always has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuits: Option<u32>,
    /// Battery family of a battery tool, a battery or a charger.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(example = "28V family"))]
    pub battery: Option<String>,
}

/// Outlets of a source that differ from its first ones: a pump of two pressures has two kinds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Outlet {
    /// Coupling family of these outlets, by a name on the agency's list.
    pub coupling: String,
    /// Pressure at which these outlets run, above zero.
    pub pressure: Quantity,
    /// How many tools run at once from these outlets; not stated: one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuits: Option<u32>,
}

/// The most kinds of outlet beside the first.
pub const MOST_OUTLETS: usize = 3;

/// More circuits are a slip of the pen (common practice, no source).
const MOST_CIRCUITS: u32 = 16;

/// What is wrong with a hook-up entry, or unusual about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct HookupFault {
    /// The field at fault.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub field: &'static str,
    /// `wrong-dimension`, `torque-unit`, `not-positive`, `not-possible`, `too-many`, `does-not-apply` or `blank`; of a warning `unusual`.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub code: &'static str,
    /// What is wrong or unusual, in words for people.
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

    /// Whether the two ends of a hose or adapter differ.
    #[must_use]
    pub fn joins_two_families(&self) -> bool {
        match (self.source_end(), self.tool_end()) {
            (Some(a), Some(b)) => fold(a) != fold(b),
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
        let outlets = self.outlets.iter().map(|outlet| ("outlets", Some(outlet.pressure)));
        let pressures = [("pressure", self.pressure), ("allowable_pressure", self.allowable_pressure)]
            .into_iter()
            .chain(outlets);
        for (field, q) in pressures.filter_map(|(field, q)| q.map(|q| (field, q))) {
            if q.dimension() != Dimension::Pressure {
                let UnitFault { code, reason, hint } = UnitFault::wrong_dimension(q.unit, Dimension::Pressure, Some(q.value));
                fault(field, code, &reason, hint);
            } else if q.value <= 0.0 {
                fault(
                    field,
                    "not-positive",
                    "a pressure must be above zero",
                    Some("leave it out when it is not known".into()),
                );
            } else if let Some(reason) = PRESSURE.impossible(kind, "pressure", q) {
                fault(field, "not-possible", &reason, Some(LOOK_AGAIN.into()));
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
        if self.tool_coupling.is_some() && !kind.is_conduit() {
            fault("tool_coupling", "does-not-apply", "only a hose or an adapter has a second end", None);
        }
        if self.allowable_pressure.is_some() && !kind.is_tool() {
            fault(
                "allowable_pressure",
                "does-not-apply",
                "only a tool has a pressure that it may be fed with beside its rated one",
                None,
            );
        }
        if !self.outlets.is_empty() && kind != Kind::PowerUnit {
            fault("outlets", "does-not-apply", "only a power unit has outlets of several kinds", None);
        }
        if self.outlets.len() > MOST_OUTLETS {
            fault("outlets", "too-many", "a source has at most 3 kinds of outlet beside the first", None);
        }
        let circuits = self.outlets.iter().filter_map(|outlet| outlet.circuits).chain(self.circuits);
        if let Some(count) = circuits.into_iter().find(|n| *n > MOST_CIRCUITS) {
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
