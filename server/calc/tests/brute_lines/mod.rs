//! Lines by trying every order of every part, written from the rules (design 4.2) on the plain values, and random worlds.

use fullset_calc::hookup::{Demand, Fluid, Hookup, LineRules, Mates, Outlet, Part};
use fullset_calc::ratings::Kind;
use fullset_calc::units::{Quantity, Unit};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Clone, Debug)]
pub struct Thing {
    pub kind: Kind,
    pub hookup: Hookup,
    pub length: Option<f64>,
    pub fixed_to: Option<Option<usize>>,
}

#[derive(Clone, Debug)]
pub struct World {
    pub things: Vec<Thing>,
    pub tolerance: f64,
    pub adapters: bool,
    pub joined: Vec<(String, String)>,
}

impl World {
    pub fn mates(&self) -> Mates {
        Mates::new(self.joined.iter().map(|(a, b)| (a.as_str(), b.as_str())), [])
    }

    pub fn parts(&self) -> Vec<Part<'_>> {
        self.things
            .iter()
            .map(|t| Part {
                kind: t.kind,
                hookup: &t.hookup,
                length_mm: t.length.unwrap_or(f64::NAN),
                fixed_to: t.fixed_to,
            })
            .collect()
    }

    pub fn rules<'m>(&self, mates: &'m Mates) -> LineRules<'m> {
        LineRules {
            tolerance: self.tolerance,
            adapters: self.adapters,
            mates,
        }
    }
}

/// A line found by trial: source, number of its outlet, parts in order.
#[derive(Clone, Debug, PartialEq)]
pub struct TriedLine {
    pub source: usize,
    pub outlet: usize,
    pub parts: Vec<usize>,
    pub tool: usize,
    pub at_rated: bool,
    pub length: Option<f64>,
}

#[derive(Clone, Debug)]
pub struct Opening {
    pub coupling: String,
    pub fluid: Fluid,
    pub kpa: f64,
    pub circuits: u32,
}

fn plain(name: &str) -> String {
    name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
}

fn family(name: Option<&String>) -> Option<String> {
    name.map(|n| plain(n)).filter(|n| !n.is_empty())
}

fn kpa(q: Option<Quantity>) -> Option<f64> {
    q.map(|q| {
        q.value
            * match q.unit {
                Unit::Psi => 6.894_757_293_168,
                Unit::Bar => 100.0,
                Unit::Kilopascal => 1.0,
                Unit::Megapascal => 1000.0,
                other => panic!("no pressure: {other:?}"),
            }
    })
}

pub fn openings(thing: &Thing) -> Vec<Option<Opening>> {
    let h = &thing.hookup;
    let opening = |coupling: Option<&String>, pressure, circuits: Option<u32>| {
        Some(Opening {
            coupling: family(coupling)?,
            fluid: h.fluid?,
            kpa: kpa(pressure)?,
            circuits: if thing.kind == Kind::HandPump { 1 } else { circuits.unwrap_or(1) },
        })
    };
    match thing.kind {
        Kind::PowerUnit => std::iter::once(opening(h.coupling.as_ref(), h.pressure, h.circuits))
            .chain(h.outlets.iter().map(|o| opening(Some(&o.coupling), Some(o.pressure), o.circuits)))
            .collect(),
        Kind::HandPump => vec![opening(h.coupling.as_ref(), h.pressure, None)],
        _ => Vec::new(),
    }
}

const HAIR: f64 = 1.000_000_01;

impl World {
    fn mate(&self, a: Option<&String>, b: Option<&String>) -> bool {
        let (Some(a), Some(b)) = (a, b) else { return false };
        a == b
            || self
                .joined
                .iter()
                .any(|(x, y)| (plain(x), plain(y)) == (a.clone(), b.clone()) || (plain(y), plain(x)) == (a.clone(), b.clone()))
    }

    fn ends(&self, i: usize) -> (Option<String>, Option<String>) {
        let h = &self.things[i].hookup;
        let near = family(h.coupling.as_ref());
        (near.clone(), if h.tool_coupling.is_some() { family(h.tool_coupling.as_ref()) } else { near })
    }

    fn sound(&self, i: usize, opening: &Opening) -> bool {
        let h = &self.things[i].hookup;
        let allowed = kpa(h.allowable_pressure.or(h.pressure));
        h.fluid == Some(opening.fluid) && allowed.is_some_and(|p| p * HAIR >= opening.kpa * (1.0 - self.tolerance))
    }

    /// Every start of a line that has a hose: source, outlet, parts.
    pub fn starts(&self) -> Vec<(usize, usize, Vec<usize>)> {
        let mut all = Vec::new();
        for (s, thing) in self.things.iter().enumerate() {
            for (o, opening) in openings(thing).iter().enumerate() {
                let Some(opening) = opening.as_ref().filter(|o| o.circuits > 0) else {
                    continue;
                };
                let mut parts = Vec::new();
                self.extend(s, opening, Some(&opening.coupling), &mut parts, &mut |parts| all.push((s, o, parts.to_vec())));
            }
        }
        all
    }

    fn extend(&self, source: usize, opening: &Opening, end: Option<&String>, parts: &mut Vec<usize>, tell: &mut dyn FnMut(&[usize])) {
        let many = |parts: &[usize], kind| parts.iter().filter(|i| self.things[**i].kind == kind).count();
        for (i, thing) in self.things.iter().enumerate() {
            let conduit = thing.kind == Kind::Hose || thing.kind == Kind::Adapter && self.adapters;
            let placed = match thing.fixed_to {
                None => true,
                Some(to) => to == Some(source) && parts.is_empty(),
            };
            let (near, far) = self.ends(i);
            if !conduit || parts.contains(&i) || !placed || !self.mate(end, near.as_ref()) || !self.sound(i, opening) {
                continue;
            }
            parts.push(i);
            if many(parts, Kind::Hose) <= 3 && many(parts, Kind::Adapter) <= 2 {
                if many(parts, Kind::Hose) > 0 {
                    tell(parts);
                }
                self.extend(source, opening, far.as_ref(), parts, tell);
            }
            parts.pop();
        }
    }

    /// Every line to every tool.
    pub fn lines(&self) -> Vec<TriedLine> {
        let mut all = Vec::new();
        for (source, outlet, parts) in self.starts() {
            let opening = openings(&self.things[source])[outlet].clone().unwrap();
            let (_, far) = self.ends(*parts.last().unwrap());
            let hoses = || parts.iter().map(|i| &self.things[*i]).filter(|t| t.kind == Kind::Hose);
            let length = hoses().map(|t| t.length).sum::<Option<f64>>();
            for (tool, thing) in self.things.iter().enumerate() {
                let tools = [Kind::Cutter, Kind::Spreader, Kind::CombinationTool, Kind::Ram];
                let Some(rated) = kpa(thing.hookup.pressure).filter(|_| tools.contains(&thing.kind)) else {
                    continue;
                };
                if self.mate(far.as_ref(), self.ends(tool).0.as_ref()) && self.sound(tool, &opening) {
                    all.push(TriedLine {
                        source,
                        outlet,
                        parts: parts.clone(),
                        tool,
                        at_rated: rated <= opening.kpa * (1.0 + self.tolerance) * HAIR,
                        length,
                    });
                }
            }
        }
        all
    }

    pub fn served(&self) -> Vec<usize> {
        let mut all = BTreeSet::new();
        for (source, _, parts) in self.starts() {
            all.insert(source);
            all.extend(parts);
        }
        all.into_iter().collect()
    }

    /// What is alike in outlets: drive, coupling, fluid, pressure in whole Pa.
    pub fn outlet_name(&self, source: usize, outlet: usize) -> (String, String, &'static str, i64) {
        let opening = openings(&self.things[source])[outlet].clone().unwrap();
        let drive = format!("{:?}", self.things[source].kind);
        (drive, opening.coupling, opening.fluid.name(), (opening.kpa * 1000.0).round() as i64)
    }

    fn serves(&self, line: &TriedLine, demand: &Demand) -> bool {
        let drive = if self.things[line.source].kind == Kind::HandPump {
            demand.hand_pump
        } else {
            demand.power_unit
        };
        let long = demand.least_mm <= 0.0 || line.length.is_some_and(|l| l >= demand.least_mm);
        line.tool == demand.tool && drive && (line.at_rated || demand.below_rated) && long
    }

    /// The most tools at once, by trying every line and every pack for each.
    pub fn at_once(&self, demands: &[Demand]) -> usize {
        let lines = self.lines();
        let mut ways: Vec<Vec<Way>> = Vec::new();
        let mut own = 0;
        let mut seen = BTreeSet::new();
        for demand in demands {
            let tool = &self.things[demand.tool];
            if ![Kind::Cutter, Kind::Spreader, Kind::CombinationTool, Kind::Ram].contains(&tool.kind) || !seen.insert(demand.tool) {
                continue;
            }
            if demand.own_pack {
                own += 1;
                continue;
            }
            let mut all = BTreeSet::new();
            for line in lines.iter().filter(|line| self.serves(line, demand)) {
                all.insert((Some((line.source, line.outlet)), line.parts.iter().fold(0_u64, |set, i| set | 1 << i)));
            }
            for (p, pack) in self.things.iter().enumerate().filter(|(_, t)| t.kind == Kind::Battery) {
                let own = family(tool.hookup.battery.as_ref());
                if demand.pack && own.is_some() && own == family(pack.hookup.battery.as_ref()) {
                    all.insert((None, 1 << p));
                }
            }
            // A way whose parts hold those of another from the same outlet is never needed.
            let needed = |w: &&(Option<(usize, usize)>, u64)| !all.iter().any(|v| v != *w && v.0 == w.0 && v.1 & w.1 == v.1);
            ways.push(all.iter().filter(needed).copied().collect());
        }
        let mut circuits = BTreeMap::new();
        for (s, thing) in self.things.iter().enumerate() {
            for (o, opening) in openings(thing).iter().enumerate() {
                circuits.insert((s, o), opening.as_ref().map_or(0, |o| o.circuits));
            }
        }
        own + most(&ways, 0, &mut circuits)
    }
}

/// The outlet that it takes a circuit of, if it takes one, and the pieces that it uses.
type Way = (Option<(usize, usize)>, u64);

fn most(ways: &[Vec<Way>], used: u64, circuits: &mut BTreeMap<(usize, usize), u32>) -> usize {
    let Some((first, rest)) = ways.split_first() else { return 0 };
    let mut best = most(rest, used, circuits);
    for (outlet, parts) in first {
        if best > rest.len() {
            break;
        }
        if used & parts != 0 {
            continue;
        }
        if let Some(outlet) = outlet {
            if circuits[outlet] == 0 {
                continue;
            }
            *circuits.get_mut(outlet).unwrap() -= 1;
        }
        best = best.max(1 + most(rest, used | parts, circuits));
        if let Some(outlet) = outlet {
            *circuits.get_mut(outlet).unwrap() += 1;
        }
    }
    best
}

mod worlds;
pub use worlds::*;
