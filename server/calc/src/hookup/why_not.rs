//! Why no line of a rig drives a tool: the fewest things that are wrong, against the outlet that comes nearest.

use super::lines::{LineRules, Lines, Part};
use super::plug::{self, FIXED_ELSEWHERE, Joint, Misfit, Side, told};
use crate::ratings::Kind;
use crate::sets::{self, Set};

/// What stands between a tool and the power to run.
#[derive(Debug, Clone, PartialEq)]
pub enum Obstacle {
    /// No usable source, or none with a circuit.
    NoSource,
    /// No usable hose.
    NoHose,
    /// How the tool is driven is unknown: neither a coupling nor a battery family is written down.
    HookupUnknown,
    /// No usable pack of its family.
    NoPack,
    /// A source and a hose that come nearest, and what is wrong between them and the tool.
    Misfit {
        /// The source, by its place in the list.
        source: usize,
        /// The hose, likewise.
        hose: usize,
        /// What is wrong.
        misfit: Misfit,
    },
    /// Lines lead to it, but the longest is too short.
    TooShort {
        /// The longest line in mm; 0 when no length is known.
        longest_mm: f64,
    },
}

/// One pair of outlet and hose, judged.
struct Pair<'a> {
    source: usize,
    hose: usize,
    bits: [plug::Misfits; 3],
    outlet: Side<'a>,
}

fn side<'a>(part: &Part<'a>) -> Side<'a> {
    Side {
        coupling: part.hookup.source_end(),
        fluid: part.hookup.fluid,
        pressure: part.hookup.pressure,
    }
}

impl Lines {
    /// Why no line of at least `least_mm` drives the tool at its rated pressure with the pieces in `alive`; empty when one does.
    /// `parts` and `rules` as they were given to [`Lines::new`].
    pub(crate) fn why_not(&self, tool: usize, alive: Set, least_mm: f64, parts: &[Part<'_>], rules: &LineRules<'_>) -> Vec<Obstacle> {
        let Some(part) = parts.get(tool).filter(|part| part.kind.is_tool()) else {
            return Vec::new();
        };
        let reach = self.reach(alive | sets::one(tool));
        let rated = reach.rated(tool);
        if rated != 0 {
            if least_mm <= 0.0 {
                return Vec::new();
            }
            let longest_mm = super::lines::each_outlet(rated).map(|o| self.longest_mm(&reach, tool, o)).fold(0.0, f64::max);
            let short = !super::line::long_enough(longest_mm, least_mm);
            return if short { vec![Obstacle::TooShort { longest_mm }] } else { Vec::new() };
        }
        let battery = self.piece(tool).battery != 0;
        let no_pack = battery && self.packs_of(tool) & alive == 0;
        let mut all = if no_pack { vec![Obstacle::NoPack] } else { Vec::new() };
        if self.piece(tool).coupling == 0 {
            if !battery {
                all.push(Obstacle::HookupUnknown);
            }
            return all;
        }
        let kinds = |test: fn(Kind) -> bool| {
            let usable = parts.iter().enumerate().filter(|(i, p)| alive & sets::one(*i) != 0 && test(p.kind));
            usable.map(|(i, _)| i).collect::<Vec<usize>>()
        };
        let (sources, hoses) = (kinds(Kind::is_source), kinds(|kind| kind == Kind::Hose));
        if sources.is_empty() {
            all.push(Obstacle::NoSource);
        }
        if hoses.is_empty() {
            all.push(Obstacle::NoHose);
        }
        all.extend(self.nearest(tool, part, alive, &sources, &hoses, parts, rules));
        all
    }

    #[expect(clippy::too_many_arguments, reason = "one caller, which has just made them")]
    fn nearest(
        &self,
        tool: usize,
        part: &Part<'_>,
        alive: Set,
        sources: &[usize],
        hoses: &[usize],
        parts: &[Part<'_>],
        rules: &LineRules<'_>,
    ) -> Vec<Obstacle> {
        let tolerance = plug::tolerance(rules.tolerance);
        let plug_of = |i: usize| self.plugs.get(i).copied().flatten();
        let Some(own) = plug_of(tool) else { return Vec::new() };
        let mut best: Option<(u32, Pair<'_>)> = None;
        for source in sources.iter().copied() {
            let Some(from) = parts.get(source) else { continue };
            let taps = self.taps.iter().filter(|(of, _)| *of == source).map(|(_, tap)| tap);
            let outlets = taps.zip(plug::outlets(from.kind, from.hookup));
            for (tap, (coupling, pressure, _)) in outlets.filter(|(tap, _)| tap.circuits > 0) {
                // Nothing but this source: what is served then is served by it.
                let alone = alive & (sets::one(source) | self.hoses | self.adapters);
                let served = self.outlet_kind(from.kind, tap).map_or(0, |outlet| self.served_from(outlet, alone));
                self.count(hoses.len());
                for hose in hoses.iter().copied() {
                    let (Some(with), Some(plug)) = (parts.get(hose), plug_of(hose)) else {
                        continue;
                    };
                    let fixed = with.fixed_to.is_some_and(|s| s != Some(source));
                    let entry = if served & sets::one(hose) == 0 {
                        plug::couplings(tap.coupling, plug.near, &self.joints) | if fixed { FIXED_ELSEWHERE } else { 0 }
                    } else {
                        0
                    };
                    let drives = own.stands(tap, tolerance) | own.at_rated(tap, tolerance);
                    let bits = [
                        entry | plug.stands(tap, tolerance),
                        plug::couplings(plug.far, own.near, &self.joints) | plug::fluids(plug.fluid, own.fluid),
                        drives,
                    ];
                    let wrong = bits.iter().map(|b| b.count_ones()).sum();
                    if best.as_ref().is_none_or(|(least, _)| wrong < *least) {
                        let outlet = Side {
                            coupling,
                            fluid: from.hookup.fluid,
                            pressure,
                        };
                        best = Some((wrong, Pair { source, hose, bits, outlet }));
                    }
                }
            }
        }
        let Some((_, pair)) = best else {
            let no_circuit = !sources.is_empty() && !hoses.is_empty();
            return if no_circuit { vec![Obstacle::NoSource] } else { Vec::new() };
        };
        let Some(with) = parts.get(pair.hose) else { return Vec::new() };
        self.tell(tool, part, with, &pair)
    }

    fn tell(&self, tool: usize, part: &Part<'_>, with: &Part<'_>, pair: &Pair<'_>) -> Vec<Obstacle> {
        let [entry, mouth, drives] = pair.bits;
        let far_end = Side {
            coupling: with.hookup.tool_end(),
            ..side(with)
        };
        let rated = side(part);
        let allowed = Side {
            pressure: part.hookup.allowable_pressure.or(part.hookup.pressure),
            ..rated
        };
        let low = drives & plug::SOURCE_TOO_LOW;
        let mut misfits = told(Joint::SourceToHose, entry, pair.outlet, side(with));
        misfits.extend(told(Joint::HoseToTool, mouth, far_end, rated));
        misfits.extend(told(Joint::SourceToTool, drives & !low, pair.outlet, allowed));
        misfits.extend(told(Joint::SourceToTool, low, pair.outlet, rated));
        debug_assert!(self.tools & sets::one(tool) != 0);
        let at = |misfit| Obstacle::Misfit {
            source: pair.source,
            hose: pair.hose,
            misfit,
        };
        misfits.into_iter().map(at).collect()
    }
}
