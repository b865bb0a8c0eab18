//! Every line of a rig, and every way in which a tool runs.

use super::{Judge, LOST_IN_UNITS, is_source, is_tool, same};
use fullset_calc::capability::{Batteries, Drive, Piece};
use fullset_calc::ratings::{Kind, Ratings, Term};
use fullset_calc::units::{Dimension, Quantity};

/// The most hoses and adapters of one line (design 4.2).
const MOST_HOSES: usize = 3;
const MOST_ADAPTERS: usize = 2;

/// Outlets of one kind on a source.
pub struct Outlet {
    pub coupling: String,
    pub kpa: f64,
    pub circuits: u32,
}

/// Source, outlet, hoses and adapters in order, tool.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub source: usize,
    pub outlet: usize,
    pub conduits: Vec<usize>,
    pub tool: usize,
    pub kpa: f64,
    pub length_mm: f64,
}

/// How a tool runs.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    Line(Line),
    /// On any tracked pack of its family: packs of one family are alike.
    Pack(String),
    /// On its own pack, which is not tracked.
    OwnPack,
}

impl Way {
    pub fn drive(&self, pieces: &[&Piece]) -> Drive {
        match self {
            Self::Line(line) if pieces[line.source].kind == Kind::HandPump => Drive::HandPump,
            Self::Line(_) => Drive::PowerUnit,
            Self::Pack(_) | Self::OwnPack => Drive::Battery,
        }
    }
}

/// A pressure in kPa that somebody wrote down.
pub fn kpa(pressure: Option<Quantity>) -> Option<f64> {
    pressure.filter(|p| p.dimension() == Dimension::Pressure && p.value > 0.0).map(Quantity::si)
}

/// `a` is at least `b`, or counts as equal: the tolerance is a share of the larger one.
pub fn pressure_at_least(a: f64, b: f64, tolerance: f64) -> bool {
    a >= b * (1.0 - tolerance) * (1.0 - LOST_IN_UNITS)
}

fn pressures_equal(a: f64, b: f64, tolerance: f64) -> bool {
    pressure_at_least(a, b, tolerance) && pressure_at_least(b, a, tolerance)
}

/// The outlets of a source of which coupling and pressure are known. A hand pump has one circuit.
pub fn outlets(source: &Piece) -> Vec<Outlet> {
    let hookup = &source.hookup;
    let mut all = Vec::new();
    if let (Some(coupling), Some(kpa)) = (&hookup.coupling, kpa(hookup.pressure)) {
        let circuits = if source.kind == Kind::HandPump { 1 } else { hookup.circuits.unwrap_or(1) };
        all.push(Outlet {
            coupling: coupling.clone(),
            kpa,
            circuits,
        });
    }
    for further in &hookup.outlets {
        if let Some(kpa) = kpa(Some(further.pressure)) {
            all.push(Outlet {
                coupling: further.coupling.clone(),
                kpa,
                circuits: further.circuits.unwrap_or(1),
            });
        }
    }
    all
}

impl Judge<'_> {
    /// Every line from a usable source over usable hoses and adapters to a usable tool.
    pub fn lines(&self) -> Vec<Line> {
        let mut found = Vec::new();
        for source in self.of(is_source) {
            for (outlet, here) in outlets(self.pieces[source]).iter().enumerate() {
                self.extend((source, outlet), here, &here.coupling, &mut Vec::new(), &mut found);
            }
        }
        found
    }

    fn extend(&self, from: (usize, usize), outlet: &Outlet, end: &str, so_far: &mut Vec<usize>, found: &mut Vec<Line>) {
        let count = |kind| so_far.iter().filter(|i| self.pieces[**i].kind == kind).count();
        let (hoses, adapters) = (count(Kind::Hose), count(Kind::Adapter));
        if hoses > MOST_HOSES || adapters > MOST_ADAPTERS || (adapters > 0 && !self.rules.policy.adapters) {
            return;
        }
        if hoses > 0 {
            for tool in self.of(is_tool).into_iter().filter(|tool| self.takes(*tool, from.0, outlet, end)) {
                found.push(Line {
                    source: from.0,
                    outlet: from.1,
                    conduits: so_far.clone(),
                    tool,
                    kpa: outlet.kpa,
                    length_mm: self.length(so_far),
                });
            }
        }
        for next in self.of(Kind::is_conduit) {
            if so_far.contains(&next) || !self.carries(next, from.0, outlet, end, so_far.is_empty()) {
                continue;
            }
            let hookup = &self.pieces[next].hookup;
            let Some(far) = hookup.tool_coupling.as_ref().or(hookup.coupling.as_ref()) else {
                continue;
            };
            so_far.push(next);
            self.extend(from, outlet, &far.clone(), so_far, found);
            so_far.pop();
        }
    }

    /// The length of a line: of its hoses in series. One of unknown length makes the whole unknown, which meets nothing (design 4.3).
    fn length(&self, conduits: &[usize]) -> f64 {
        let hoses = conduits.iter().filter(|i| self.pieces[**i].kind == Kind::Hose);
        let lengths: Vec<f64> = hoses.map(|i| self.hose_length(*i)).collect();
        if lengths.contains(&0.0) { 0.0 } else { lengths.iter().sum() }
    }

    /// The length of a hose; 0 when it is unknown or taken away.
    fn hose_length(&self, piece: usize) -> f64 {
        let piece = self.pieces[piece];
        let taken_away = piece.limits.iter().any(|limit| limit.without.contains(&Term::HoseLength));
        let length = piece.ratings.get(Term::HoseLength).and_then(|rating| rating.quantity());
        match length {
            Some(length) if piece.kind == Kind::Hose && !taken_away && length.dimension() == Dimension::Length => length.si(),
            _ => 0.0,
        }
    }

    fn mates(&self, a: &str, b: &str) -> bool {
        self.rules.mates.mate(a, b)
    }

    fn same_fluid(&self, source: usize, other: usize) -> bool {
        let fluid = |i: usize| self.pieces[i].hookup.fluid;
        fluid(source).is_some() && fluid(source) == fluid(other)
    }

    /// Whether a hose or adapter may be joined there. A hose that is fixed to its source begins that source's line.
    fn carries(&self, conduit: usize, source: usize, outlet: &Outlet, end: &str, first: bool) -> bool {
        let piece = self.pieces[conduit];
        let free = piece.fixed_to.is_none_or(|fixed| first && fixed == self.pieces[source].id);
        let joins = piece.hookup.coupling.as_ref().is_some_and(|near| self.mates(end, near));
        let stands = kpa(piece.hookup.pressure).is_some_and(|most| pressure_at_least(most, outlet.kpa, self.rules.policy.pressure_tolerance));
        free && joins && stands && self.same_fluid(source, conduit)
    }

    /// Whether a tool may be joined there. One whose rated pressure is unknown meets nothing.
    fn takes(&self, tool: usize, source: usize, outlet: &Outlet, end: &str) -> bool {
        let hookup = &self.pieces[tool].hookup;
        let joins = hookup.coupling.as_ref().is_some_and(|near| self.mates(end, near));
        let (Some(rated), tolerance) = (kpa(hookup.pressure), self.rules.policy.pressure_tolerance) else {
            return false;
        };
        let most = kpa(hookup.allowable_pressure).unwrap_or(rated);
        joins && pressure_at_least(most, outlet.kpa, tolerance) && self.same_fluid(source, tool)
    }

    /// Whether the packs of a tool are pieces.
    fn tracked(&self, family: &str) -> bool {
        match self.rules.policy.batteries {
            Batteries::WithTool => false,
            Batteries::AsPieces => true,
            Batteries::WhereOnRecord => {
                self.rules.packs_on_record.iter().any(|known| same(known, family)) || self.pieces.iter().any(|p| p.kind == Kind::Battery)
            }
        }
    }

    /// How many usable packs of a family are aboard.
    pub fn packs(&self, family: &str) -> usize {
        let fits = |i: &usize| self.pieces[*i].hookup.battery.as_ref().is_some_and(|has| same(has, family));
        self.of(|kind| kind == Kind::Battery).iter().filter(|i| fits(i)).count()
    }

    /// Every way in which the tools of the rig run, by tool.
    pub fn ways(&self) -> Vec<(usize, Way)> {
        let mut all: Vec<(usize, Way)> = self.lines().into_iter().map(|line| (line.tool, Way::Line(line))).collect();
        for tool in self.of(is_tool) {
            if let Some(family) = self.pieces[tool].hookup.battery.as_ref().filter(|name| same(name, name)) {
                match self.tracked(family) {
                    true if self.packs(family) > 0 => all.push((tool, Way::Pack(family.clone()))),
                    false if self.own_packs_run => all.push((tool, Way::OwnPack)),
                    _ => {}
                }
            }
        }
        all
    }

    /// What a tool is rated for as it is driven; `None`: it meets nothing, not even a part that asks for its kind alone.
    pub fn ratings_by(&self, tool: usize, way: &Way) -> Option<Ratings> {
        let piece = self.pieces[tool];
        let Way::Line(line) = way else { return Some((*piece.ratings).clone()) };
        let (rated, tolerance) = (kpa(piece.hookup.pressure)?, self.rules.policy.pressure_tolerance);
        if pressure_at_least(line.kpa, rated, tolerance) {
            return Some((*piece.ratings).clone());
        }
        let stated = piece
            .rated_at
            .iter()
            .find(|at| kpa(Some(at.pressure)).is_some_and(|at| pressures_equal(at, line.kpa, tolerance)));
        stated.map(|at| at.ratings.clone())
    }
}
