//! Two sets of gear side by side: which joint of the one mates with which of the other by accident, and what is wrong with it.
//!
//! Only what somebody could join by hand is looked at: two ends whose coupling families mate, by themselves or with one adapter between
//! them. What is not written down is never taken to be apart: an end without a coupling is told as unknown.

use super::lines::LineRules;
use super::names::Names;
use super::plug::{self, Joint, Misfit, Plug, Side, told};
use super::{Fluid, Hookup};
use crate::ratings::Kind;
use crate::units::Quantity;
use serde::{Deserialize, Serialize};

/// A piece or model of a set.
#[derive(Debug, Clone, Copy)]
pub struct SetPart<'a> {
    /// What it is.
    pub kind: Kind,
    /// How it is hooked up.
    pub hookup: &'a Hookup,
}

impl SetPart<'_> {
    /// Whether a hose is, or may be, joined to it. A tool with a battery and no coupling takes none; one of which nothing is known may.
    #[must_use]
    pub fn is_hosed(&self) -> bool {
        let tool = self.kind.is_tool() && (self.hookup.coupling.is_some() || self.hookup.battery.is_none());
        self.kind.is_source() || self.kind.is_conduit() || tool
    }
}

/// What is known of a joint between two sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum CrossVerdict {
    /// It mates, or may mate, and something on record is wrong with it: another fluid, a pressure that a part is not allowed, or too little.
    Wrong,
    /// Whether it mates, or what comes of it, is not on record.
    Unknown,
    /// It mates, and nothing on record speaks against it. That is no word that the two may be joined.
    Alike,
}

/// A joint between two sets that somebody could make.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossJoint {
    /// What stands nearer to the source, by its place in the list.
    pub near: usize,
    /// What would be joined to it, by its place in the other list.
    pub far: usize,
    /// The adapter between them, by its place in the list of adapters; `None`: the two mate by themselves.
    pub adapter: Option<usize>,
    /// The coupling of the nearer end; `None`: not on record.
    pub near_coupling: Option<String>,
    /// The coupling of the further end; `None`: not on record.
    pub far_coupling: Option<String>,
    /// What is known of it.
    pub verdict: CrossVerdict,
    /// What is wrong or unknown.
    pub misfits: Vec<Misfit>,
}

/// An end towards a tool.
struct Outlet<'a> {
    part: usize,
    joint: Joint,
    coupling: Option<&'a str>,
    fluid: Option<Fluid>,
    pressure: Option<Quantity>,
}

/// An end towards a source.
struct Inlet<'a> {
    part: usize,
    kind: Kind,
    hookup: &'a Hookup,
}

/// The joints by which something of `near` would feed something of `far`: wrong ones first, then unknown ones, each by its place.
/// Both orders of the two sets are two questions.
#[must_use]
pub fn cross_joints(near: &[SetPart<'_>], far: &[SetPart<'_>], adapters: &[SetPart<'_>], rules: &LineRules<'_>) -> Vec<CrossJoint> {
    let (outlets, inlets) = (outlets(near), inlets(far));
    let mut names = Names::new(rules.mates);
    // Numbered before they are compared: a family met later joins those met before.
    let ends: Vec<_> = outlets.iter().map(|one| names.number(one.coupling)).collect();
    let plugs: Vec<Plug> = inlets.iter().map(|one| Plug::read(one.hookup, &mut names)).collect();
    let bridges: Vec<Plug> = adapters.iter().map(|one| Plug::read(one.hookup, &mut names)).collect();
    let mut all = Vec::new();
    for (outlet, end) in outlets.iter().zip(&ends) {
        for (inlet, plug) in inlets.iter().zip(&plugs) {
            let direct = plug::couplings(*end, plug.near, &names.joints);
            if !plug::differs(direct) {
                all.push(judged(outlet, inlet, None, direct, plug, rules.tolerance));
                continue;
            }
            for (at, bridge) in bridges.iter().enumerate() {
                if names.mate(*end, bridge.near) && names.mate(bridge.far, plug.near) {
                    all.push(judged(outlet, inlet, Some(at), 0, plug, rules.tolerance));
                }
            }
        }
    }
    all.sort_by_key(|one| (one.verdict, one.adapter.is_some(), one.near, one.far));
    all
}

fn outlets<'a>(set: &[SetPart<'a>]) -> Vec<Outlet<'a>> {
    let highest = highest_pressure(set);
    let mut all = Vec::new();
    for (part, one) in set.iter().enumerate() {
        let hookup = one.hookup;
        if one.kind.is_source() {
            all.extend(plug::outlets(one.kind, hookup).map(|(coupling, pressure, _)| Outlet {
                part,
                joint: Joint::SourceToHose,
                coupling,
                fluid: hookup.fluid,
                pressure,
            }));
        } else if one.kind.is_conduit() {
            all.push(Outlet {
                part,
                joint: Joint::HoseToTool,
                coupling: hookup.tool_end(),
                fluid: hookup.fluid,
                pressure: highest,
            });
        }
    }
    all
}

/// What a hose of the set carries: the highest pressure of its sources; `None` where one of them is not on record, or there is none.
fn highest_pressure(set: &[SetPart<'_>]) -> Option<Quantity> {
    let sources = set.iter().filter(|one| one.kind.is_source());
    let mut highest: Option<Quantity> = None;
    for (_, pressure, _) in sources.flat_map(|one| plug::outlets(one.kind, one.hookup)) {
        let pressure = pressure.filter(|_| !plug::kpa(pressure).is_nan())?;
        if highest.is_none_or(|known| known.si() < pressure.si()) {
            highest = Some(pressure);
        }
    }
    highest
}

fn inlets<'a>(set: &[SetPart<'a>]) -> Vec<Inlet<'a>> {
    let all = set.iter().enumerate().filter(|(_, one)| !one.kind.is_source() && one.is_hosed());
    all.map(|(part, one)| Inlet {
        part,
        kind: one.kind,
        hookup: one.hookup,
    })
    .collect()
}

fn judged(outlet: &Outlet<'_>, inlet: &Inlet<'_>, adapter: Option<usize>, couplings: plug::Misfits, plug: &Plug, tolerance: f64) -> CrossJoint {
    let (hookup, tolerance) = (inlet.hookup, plug::tolerance(tolerance));
    let near = Side {
        coupling: outlet.coupling,
        fluid: outlet.fluid,
        pressure: outlet.pressure,
    };
    let far = |pressure| Side {
        coupling: hookup.source_end(),
        fluid: hookup.fluid,
        pressure,
    };
    let tap = plug::Tap {
        coupling: 0,
        fluid: outlet.fluid,
        kpa: plug::kpa(outlet.pressure),
        circuits: 1,
    };
    let holds = couplings | plug.stands(&tap, tolerance);
    let mut misfits = told(outlet.joint, holds, near, far(hookup.allowable_pressure.or(hookup.pressure)));
    let mut bits = holds;
    if inlet.kind.is_tool() {
        let rated = plug.at_rated(&tap, tolerance) & !holds;
        misfits.extend(told(outlet.joint, rated, near, far(hookup.pressure)));
        bits |= rated;
    }
    CrossJoint {
        near: outlet.part,
        far: inlet.part,
        adapter,
        near_coupling: outlet.coupling.map(str::to_owned),
        far_coupling: hookup.source_end().map(str::to_owned),
        verdict: if bits == 0 {
            CrossVerdict::Alike
        } else if plug::speaks_against(bits) {
            CrossVerdict::Wrong
        } else {
            CrossVerdict::Unknown
        },
        misfits,
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Mates, MisfitCode};
    use super::*;
    use crate::units::Unit;

    fn psi(value: f64) -> Option<Quantity> {
        Some(Quantity { value, unit: Unit::Psi })
    }

    fn hookup(coupling: Option<&str>, fluid: Option<Fluid>, pressure: Option<f64>) -> Hookup {
        Hookup {
            coupling: coupling.map(str::to_owned),
            fluid,
            pressure: pressure.and_then(psi),
            ..Hookup::default()
        }
    }

    fn oil(coupling: &str, pressure: f64) -> Hookup {
        hookup(Some(coupling), Some(Fluid::MineralOil), Some(pressure))
    }

    /// Near, far, adapter, what is known, what is wrong.
    type Joined = (usize, usize, Option<usize>, CrossVerdict, Vec<MisfitCode>);

    fn cross(near: &[(Kind, Hookup)], far: &[(Kind, Hookup)], adapters: &[Hookup]) -> Vec<Joined> {
        let mates = Mates::new([("flat", "coax")], []);
        let rules = LineRules {
            tolerance: 0.01,
            adapters: true,
            mates: &mates,
        };
        fn part((kind, hookup): &(Kind, Hookup)) -> SetPart<'_> {
            SetPart { kind: *kind, hookup }
        }
        let near: Vec<_> = near.iter().map(part).collect();
        let far: Vec<_> = far.iter().map(part).collect();
        let adapters: Vec<_> = adapters.iter().map(|hookup| SetPart { kind: Kind::Adapter, hookup }).collect();
        let found = cross_joints(&near, &far, &adapters, &rules).into_iter();
        found
            .map(|one| {
                let codes = one.misfits.iter().map(|misfit| misfit.code).collect();
                (one.near, one.far, one.adapter, one.verdict, codes)
            })
            .collect()
    }

    use CrossVerdict::{Alike, Unknown, Wrong};

    #[test]
    fn what_does_not_mate_is_no_joint_and_what_mates_is_never_passed_over() {
        let pump = [(Kind::PowerUnit, oil("flat", 10_000.0))];
        assert_eq!(cross(&pump, &[(Kind::Hose, oil("twin", 10_000.0))], &[]), []);
        assert_eq!(
            cross(&pump, &[(Kind::Hose, oil("FLAT", 10_000.0))], &[]),
            [(0, 0, None, Alike, vec![])],
            "nothing on record speaks against it, which is told as such"
        );
        // The agency's list joins the two families, said on either side.
        assert_eq!(cross(&pump, &[(Kind::Hose, oil("coax", 10_000.0))], &[]), [(0, 0, None, Alike, vec![])]);
    }

    #[test]
    fn another_fluid_and_a_pressure_that_a_part_is_not_allowed_are_wrong() {
        let pump = [(Kind::PowerUnit, oil("flat", 10_500.0))];
        let ester = hookup(Some("flat"), Some(Fluid::PhosphateEster), Some(10_500.0));
        assert_eq!(cross(&pump, &[(Kind::Hose, ester)], &[]), [(0, 0, None, Wrong, vec![MisfitCode::FluidDiffers])]);
        assert_eq!(
            cross(&pump, &[(Kind::Hose, oil("flat", 5_000.0))], &[]),
            [(0, 0, None, Wrong, vec![MisfitCode::PressureBelow])]
        );
        // A tool that is rated at more gets too little; it may hold it all the same.
        assert_eq!(
            cross(&[(Kind::PowerUnit, oil("flat", 5_000.0))], &[(Kind::Cutter, oil("flat", 10_500.0))], &[]),
            [(0, 0, None, Wrong, vec![MisfitCode::PressureTooLow])]
        );
    }

    #[test]
    fn a_hose_carries_the_highest_pressure_of_its_own_set() {
        let low = (Kind::PowerUnit, oil("twin", 5_000.0));
        let high = (Kind::PowerUnit, oil("twin", 10_500.0));
        let hose = (Kind::Hose, oil("flat", 10_500.0));
        let tool = [(Kind::Spreader, oil("flat", 5_000.0))];
        assert_eq!(
            cross(&[low.clone(), high, hose.clone()], &tool, &[]),
            [(2, 0, None, Wrong, vec![MisfitCode::PressureBelow])]
        );
        assert_eq!(cross(&[low.clone(), hose.clone()], &tool, &[]), [(1, 0, None, Alike, vec![])]);
        // A source whose pressure nobody has written down may give anything; so may no source at all.
        let silent = (Kind::HandPump, hookup(Some("twin"), Some(Fluid::MineralOil), None));
        for set in [vec![low, silent, hose.clone()], vec![hose]] {
            let found = cross(&set, &tool, &[]);
            assert_eq!(found.len(), 1);
            assert_eq!((found[0].3, found[0].4.as_slice()), (Unknown, &[MisfitCode::PressureUnknown][..]));
        }
    }

    #[test]
    fn what_is_not_on_record_is_unknown_and_never_apart() {
        let pump = [(Kind::PowerUnit, oil("flat", 10_000.0))];
        let bare = hookup(None, Some(Fluid::MineralOil), Some(10_000.0));
        assert_eq!(
            cross(&pump, &[(Kind::Hose, bare)], &[]),
            [(0, 0, None, Unknown, vec![MisfitCode::CouplingUnknown])]
        );
        let no_fluid = hookup(Some("flat"), None, Some(10_000.0));
        assert_eq!(
            cross(&pump, &[(Kind::Hose, no_fluid)], &[]),
            [(0, 0, None, Unknown, vec![MisfitCode::FluidUnknown])]
        );
        // A coupling that nobody knows, on something of another fluid: what is known counts.
        let worst = hookup(None, Some(Fluid::PhosphateEster), Some(10_000.0));
        assert_eq!(
            cross(&pump, &[(Kind::Hose, worst)], &[]),
            [(0, 0, None, Wrong, vec![MisfitCode::CouplingUnknown, MisfitCode::FluidDiffers])]
        );
        // A battery tool takes no hose; one of which nothing is known may.
        let battery = Hookup {
            battery: Some("28V".into()),
            ..Hookup::default()
        };
        assert_eq!(cross(&pump, &[(Kind::Cutter, battery)], &[]), []);
        assert_eq!(cross(&pump, &[(Kind::Cutter, Hookup::default())], &[]).len(), 1);
    }

    #[test]
    fn an_adapter_makes_a_joint_of_what_does_not_mate() {
        let pump = [(Kind::PowerUnit, oil("flat", 10_000.0))];
        let hose = [(Kind::Hose, hookup(Some("twin"), Some(Fluid::PhosphateEster), Some(10_000.0)))];
        let adapter = |near: &str, far: &str| Hookup {
            tool_coupling: Some(far.into()),
            ..hookup(Some(near), None, None)
        };
        let adapters = [adapter("twin", "flat"), adapter("coax", "twin"), adapter("flat", "bayonet")];
        assert_eq!(cross(&pump, &hose, &adapters), [(0, 0, Some(1), Wrong, vec![MisfitCode::FluidDiffers])]);
        // Where the two mate by themselves no adapter is named.
        assert_eq!(cross(&pump, &[(Kind::Hose, oil("flat", 10_000.0))], &adapters).len(), 1);
    }

    #[test]
    fn each_outlet_of_a_pump_of_two_pressures_is_a_joint_of_its_own() {
        let mut two = oil("flat", 5_000.0);
        two.outlets = vec![super::super::Outlet {
            coupling: "flat".into(),
            pressure: psi(10_500.0).unwrap(),
            circuits: None,
        }];
        let found = cross(&[(Kind::PowerUnit, two)], &[(Kind::Hose, oil("flat", 6_000.0))], &[]);
        let verdicts: Vec<_> = found.iter().map(|one| one.3).collect();
        assert_eq!(verdicts, [Wrong, Alike], "the worse first");
    }
}
