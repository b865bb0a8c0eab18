//! Which pieces can stand in a line together: outlet kinds, sorts of hoses and adapters, tools, packs.
//!
//! Worked out once for a list of pieces, then asked as often as needed with this or that piece left out. Hoses and adapters
//! that are alike in couplings, fixing and the outlets that they stand are one *sort*, so that a line is sought over sorts.

use super::names::{Family, Joints, Names};
use super::plug::{self, Plug, Tap};
use super::reach::Feed;
use super::sorts::{Circuits, OutletKind, Piece, Role, Sort, UNKNOWN};
use super::{Hookup, Mates};
use crate::ratings::Kind;
use crate::sets::{self, CAPACITY, Set};
use std::cell::{Cell, RefCell};
use std::rc::Rc;

/// The most hoses of one line (design 4.2).
pub const MOST_HOSES: u8 = 3;
/// The most adapters of one line (design 4.2).
pub const MOST_ADAPTERS: u8 = 2;
/// The most parts of one line between source and tool.
pub(crate) const MOST_LINE_PARTS: usize = 5;
/// The most kinds of outlet that are looked at; what is beyond drives nothing.
pub const MOST_OUTLET_KINDS: usize = 32;

/// The rules of the agency that lines follow.
#[derive(Debug, Clone, Copy)]
pub struct LineRules<'a> {
    /// Share by which pressures may differ and still count as equal: 0 to 0.02, more counts as 0.02.
    pub tolerance: f64,
    /// Whether an adapter may stand in a line.
    pub adapters: bool,
    /// Which coupling families mate.
    pub mates: &'a Mates,
}

/// A piece as lines see it.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// What it is.
    pub kind: Kind,
    /// How it is hooked up.
    pub hookup: &'a Hookup,
    /// Of a hose: its length in mm; not a number when unknown. Of nothing else.
    pub length_mm: f64,
    /// Of a hose that is fixed to a source: where that source stands in the list; `Some(None)`: it is not in the list.
    pub fixed_to: Option<Option<usize>>,
}

/// What a list of pieces can be joined to.
#[derive(Debug, Clone)]
pub(crate) struct Lines {
    /// Sources with at least one outlet of which all is known.
    pub sources: Set,
    /// All hoses, usable in a line or not.
    pub hoses: Set,
    /// All adapters, allowed or not.
    pub adapters: Set,
    pub tools: Set,
    pub packs: Set,
    pub(super) pieces: Vec<Piece>,
    pub(super) sorts: Vec<Sort>,
    /// Those of hoses.
    pub(super) hose_sorts: Set,
    pub(super) circuits: Vec<Circuits>,
    pub(super) by_length: Vec<u8>,
    outlets: Vec<OutletKind>,
    /// All outlets as they are written, each with its source.
    pub(super) taps: Vec<(usize, Tap)>,
    /// How hoses and tools are hooked up.
    pub(super) plugs: Vec<Option<Plug>>,
    pub(super) joints: Joints,
    /// Nobody asks for a line longer than this, in mm.
    pub asked_mm: f64,
    /// Steps of work done so far, so that callers can bound theirs.
    pub work: Cell<usize>,
    /// Of these, those spent on lines to be shown.
    pub(super) shown: Cell<usize>,
    /// Whether some line was given up at a bound.
    pub cut: Cell<bool>,
    /// What was worked out already (`reach`).
    pub(super) feeds: RefCell<Vec<Rc<Feed>>>,
    pub(super) served_alone: RefCell<Vec<(usize, Set, Set)>>,
}

const fn bit(outlet: usize) -> u32 {
    1 << outlet
}

/// The outlet kinds of a mask.
pub(crate) fn each_outlet(mask: u32) -> impl Iterator<Item = usize> + Clone {
    sets::each(Set::from(mask))
}

impl Lines {
    /// Works out who fits whom; the first 128 pieces are looked at.
    pub(crate) fn new(parts: &[Part<'_>], rules: &LineRules<'_>) -> Self {
        let parts = parts.get(..CAPACITY).unwrap_or(parts);
        let tolerance = plug::tolerance(rules.tolerance);
        let mut names = Names::new(rules.mates);
        let mut lines = Self {
            sources: 0,
            hoses: 0,
            adapters: 0,
            tools: 0,
            packs: 0,
            pieces: Vec::with_capacity(parts.len()),
            sorts: Vec::new(),
            hose_sorts: 0,
            circuits: Vec::new(),
            by_length: Vec::new(),
            outlets: Vec::new(),
            taps: Vec::new(),
            plugs: vec![None; parts.len()],
            joints: Joints::default(),
            asked_mm: f64::INFINITY,
            work: Cell::new(0),
            shown: Cell::new(0),
            cut: Cell::new(false),
            feeds: RefCell::default(),
            served_alone: RefCell::default(),
        };
        for (i, part) in parts.iter().enumerate().filter(|(_, part)| part.kind.is_source()) {
            for tap in plug::taps(part.kind, part.hookup, &mut names) {
                lines.taps.push((i, tap));
                lines.add_outlet(i, part.kind, tap);
            }
        }
        for (i, part) in parts.iter().enumerate() {
            let piece = lines.read(i, part, rules, tolerance, &mut names);
            lines.pieces.push(piece);
        }
        lines.join(&names);
        lines.joints = names.joints;
        lines
    }

    fn add_outlet(&mut self, source: usize, drive: Kind, tap: Tap) {
        if tap.coupling == 0 || tap.fluid.is_none() || tap.kpa.is_nan() || tap.circuits == 0 {
            return;
        }
        let outlet = self.outlet_kind(drive, &tap).unwrap_or(self.outlets.len());
        if outlet >= MOST_OUTLET_KINDS {
            return;
        }
        self.sources |= sets::one(source);
        match self.outlets.get_mut(outlet) {
            Some(known) => known.sources |= sets::one(source),
            None => self.outlets.push(OutletKind {
                drive,
                kpa: tap.kpa,
                sources: sets::one(source),
                tap,
            }),
        }
        match self.circuits.iter_mut().find(|c| c.outlet == outlet && c.source == source) {
            Some(same) => same.count = same.count.saturating_add(tap.circuits),
            None => self.circuits.push(Circuits {
                outlet,
                source,
                count: tap.circuits,
            }),
        }
    }

    /// The kind that an outlet belongs to.
    pub(super) fn outlet_kind(&self, drive: Kind, tap: &Tap) -> Option<usize> {
        let alike = |o: &OutletKind| o.drive == drive && o.tap.coupling == tap.coupling && o.tap.fluid == tap.fluid && plug::same_pressure(o.kpa, tap.kpa);
        self.outlets.iter().position(alike)
    }

    fn read<'a>(&mut self, i: usize, part: &Part<'a>, rules: &LineRules<'_>, tolerance: f64, names: &mut Names<'a>) -> Piece {
        let piece = Piece::default();
        match part.kind {
            kind if kind.is_source() => Piece { role: Role::Source, ..piece },
            kind if kind.is_conduit() => {
                let hose = kind == Kind::Hose;
                *(if hose { &mut self.hoses } else { &mut self.adapters }) |= sets::one(i);
                if !hose && !rules.adapters {
                    return piece;
                }
                let length = if hose && part.length_mm > 0.0 && part.length_mm.is_finite() {
                    part.length_mm
                } else {
                    UNKNOWN
                };
                let plug = self.plug(i, part.hookup, names);
                let ok = self.outlet_mask(|tap| plug.stands(tap, tolerance) == 0);
                let Some(sort) = self.sort(i, hose, &plug, part.fixed_to, ok, names) else {
                    return piece;
                };
                if let (true, Ok(i)) = (hose, u8::try_from(i)) {
                    let at = self
                        .by_length
                        .partition_point(|other| self.pieces.get(usize::from(*other)).is_some_and(|p| p.length >= length));
                    self.by_length.insert(at, i);
                }
                Piece {
                    role: Role::Conduit(sort),
                    length,
                    ..piece
                }
            }
            kind if kind.is_tool() => {
                self.tools |= sets::one(i);
                let plug = self.plug(i, part.hookup, names);
                let known = |tap: &Tap| plug.stands(tap, tolerance) == 0 && !plug.rated.is_nan();
                let stands = self.outlet_mask(known);
                Piece {
                    role: Role::Tool,
                    coupling: plug.near,
                    stands,
                    rated: stands & self.outlet_mask(|tap| plug.at_rated(tap, tolerance) == 0),
                    battery: names.number(part.hookup.battery.as_deref()),
                    packs: 0,
                    length: UNKNOWN,
                }
            }
            Kind::Battery => {
                self.packs |= sets::one(i);
                Piece {
                    role: Role::Pack,
                    battery: names.number(part.hookup.battery.as_deref()),
                    ..piece
                }
            }
            _ => piece,
        }
    }

    fn plug<'a>(&mut self, i: usize, hookup: &'a Hookup, names: &mut Names<'a>) -> Plug {
        let plug = Plug::read(hookup, names);
        if let Some(place) = self.plugs.get_mut(i) {
            *place = Some(plug);
        }
        plug
    }

    fn outlet_mask(&self, test: impl Fn(&Tap) -> bool) -> u32 {
        self.outlets
            .iter()
            .enumerate()
            .filter(|(_, o)| test(&o.tap))
            .fold(0, |mask, (o, _)| mask | bit(o))
    }

    /// The sort of a hose or adapter; none when it can stand in no line.
    fn sort(&mut self, i: usize, hose: bool, plug: &Plug, fixed_to: Option<Option<usize>>, ok: u32, names: &Names<'_>) -> Option<u8> {
        let fixed = match fixed_to {
            None => None,
            Some(source) => Some(source?),
        };
        if ok == 0 || fixed.is_some_and(|s| self.sources & sets::one(s) == 0) {
            return None;
        }
        let alike = |s: &Sort| s.hose == hose && s.near == plug.near && s.far == plug.far && s.fixed == fixed && s.ok == ok;
        let at = self.sorts.iter().position(alike).unwrap_or_else(|| {
            let fits = |o: &OutletKind| fixed.is_none_or(|s| o.sources & sets::one(s) != 0) && names.mate(o.tap.coupling, plug.near);
            let first = self.outlets.iter().enumerate().filter(|(_, o)| fits(o)).fold(0, |mask, (o, _)| mask | bit(o)) & ok;
            self.sorts.push(Sort {
                hose,
                near: plug.near,
                far: plug.far,
                fixed,
                ok,
                first,
                members: 0,
                next: 0,
                mouth: 0,
            });
            if hose {
                self.hose_sorts |= sets::one(self.sorts.len() - 1);
            }
            self.sorts.len() - 1
        });
        self.sorts.get_mut(at)?.members |= sets::one(i);
        u8::try_from(at).ok()
    }

    /// Which sort leads on to which, and to which tools.
    fn join(&mut self, names: &Names<'_>) {
        self.give_packs();
        for at in 0..self.sorts.len() {
            let Some((far, ok)) = self.sorts.get(at).map(|sort| (sort.far, sort.ok)) else {
                continue;
            };
            let next = self
                .sorts
                .iter()
                .enumerate()
                .filter(|(_, s)| s.fixed.is_none() && s.ok & ok != 0 && names.mate(far, s.near));
            let next = next.fold(0, |set, (i, _)| set | sets::one(i));
            let mouth = sets::each(self.tools).filter(|t| self.pieces.get(*t).is_some_and(|p| p.stands & ok != 0 && names.mate(far, p.coupling)));
            let mouth = mouth.fold(0, |set, t| set | sets::one(t));
            if let Some(sort) = self.sorts.get_mut(at) {
                (sort.next, sort.mouth) = (next, mouth);
            }
        }
    }

    /// Which packs drive which tools.
    fn give_packs(&mut self) {
        let packs = sets::each(self.packs).map(|pack| (self.piece(pack).battery, sets::one(pack)));
        let packs: Vec<(Family, Set)> = packs.collect();
        for tool in sets::each(if packs.is_empty() { 0 } else { self.tools }) {
            if let Some(tool) = self.pieces.get_mut(tool).filter(|tool| tool.battery != 0) {
                let own = packs.iter().filter(|(battery, _)| *battery == tool.battery);
                tool.packs = own.fold(0, |set, (_, pack)| set | pack);
            }
        }
    }

    /// Counts steps of work.
    pub(super) fn count(&self, steps: usize) {
        self.work.set(self.work.get().saturating_add(steps));
    }

    /// The kinds of outlet of which all is known, at most 32.
    pub(crate) fn outlets(&self) -> &[OutletKind] {
        &self.outlets
    }

    pub(super) fn piece(&self, i: usize) -> Piece {
        self.pieces.get(i).copied().unwrap_or_default()
    }

    /// The sort of a hose or adapter that can stand in a line.
    pub(super) fn sort_of(&self, i: usize) -> Option<(usize, &Sort)> {
        match self.pieces.get(i)?.role {
            Role::Conduit(sort) => self.sorts.get(usize::from(sort)).map(|s| (usize::from(sort), s)),
            _ => None,
        }
    }

    /// The packs that drive a tool; empty when its battery family is not known.
    pub(crate) fn packs_of(&self, tool: usize) -> Set {
        self.pieces.get(tool).map_or(0, |piece| piece.packs)
    }

    /// Whether two pieces are the same in everything that matters for lines.
    pub(crate) fn alike(&self, a: usize, b: usize) -> bool {
        if a == b {
            return true;
        }
        let (one, other) = (self.piece(a), self.piece(b));
        if one != other {
            return false;
        }
        if one.role != Role::Source {
            return true;
        }
        let own = |s: usize| self.circuits.iter().filter(move |c| c.source == s).map(|c| (c.outlet, c.count));
        let hose = |s: usize| self.sorts.iter().any(|sort| sort.fixed == Some(s));
        !hose(a) && !hose(b) && own(a).all(|c| own(b).any(|d| c == d)) && own(b).count() == own(a).count()
    }
}
