//! How many tools run at once: circuits, hoses, batteries and tools, each used once.
//!
//! It is a flow source -> hose -> tool, but not a plain one: when a hose mates with sources of different pressure, a
//! tool behind it may stand the one and not the other. So the hoses of each type are shared out among the source
//! classes in every way that the circuits allow; for each way the rest is a matching of fed hoses (and battery packs)
//! to tools. Types and classes are few on a rig, the ways are few, and the best way is exact.

use super::{Hookup, Plug, Plugs};
use crate::matching::Matching;
use crate::ratings::Kind;
use crate::sets::{self, Set};
use std::cell::Cell;

/// So many shares are tried at most. No rig comes near; a register full of nonsense must not hold up the others. What is
/// found until then can only be too low.
const STEPS: usize = 1_000;

/// Who can drive whom on a rig, as sets over its pieces.
#[derive(Debug, Clone, Default)]
pub(crate) struct Network {
    pub sources: Set,
    pub hoses: Set,
    pub tools: Set,
    pub batteries: Set,
    /// Circuits of each source.
    pub circuits: Vec<usize>,
    /// Of a source: the hoses that it feeds. Of a hose: the tools that its other end mates with. Of a battery: its tools.
    pub onward: Vec<Set>,
    /// Of a source: the tools that stand its fluid and pressure.
    pub drives: Vec<Set>,
    /// Tools that carry their own pack: they need nothing else.
    pub own_power: Set,
    /// Steps of work done so far, so that callers can bound theirs.
    pub work: Cell<usize>,
}

/// Sources that feed the same hoses and drive the same tools are one, with their circuits added.
struct SourceClass {
    hoses: Set,
    tools: Set,
    circuits: usize,
}

/// Hoses that the same classes feed and that reach the same tools.
struct HoseType {
    classes: Set,
    tools: Set,
    /// The tools that it could run from one class or another.
    any: Set,
    count: usize,
}

impl Network {
    /// Works out who fits whom. `own_pack` tells that battery tools carry their pack and need no battery piece.
    pub(crate) fn new(pieces: &[(Kind, Plug)], tolerance: f64, own_pack: bool) -> Self {
        let mut net = Self {
            circuits: vec![0; pieces.len()],
            onward: vec![0; pieces.len()],
            drives: vec![0; pieces.len()],
            ..Self::default()
        };
        for (i, (kind, plug)) in pieces.iter().enumerate() {
            let bit = sets::one(i);
            match kind {
                kind if kind.is_source() => net.sources |= bit,
                Kind::Hose => net.hoses |= bit,
                Kind::Battery => net.batteries |= bit,
                kind if kind.is_tool() => {
                    net.tools |= bit;
                    if own_pack && plug.battery != 0 {
                        net.own_power |= bit;
                    }
                }
                _ => {}
            }
        }
        for (i, (kind, plug)) in pieces.iter().enumerate() {
            let fits = |among: Set, test: &dyn Fn(&Plug) -> bool| {
                sets::each(among)
                    .filter(|j| pieces.get(*j).is_some_and(|(_, p)| test(p)))
                    .fold(0, |set, j| set | sets::one(j))
            };
            let (onward, drives) = if kind.is_source() {
                if let Some(n) = net.circuits.get_mut(i) {
                    *n = plug.circuits;
                }
                (
                    fits(net.hoses, &|p| plug.feeds(p, tolerance) == 0),
                    fits(net.tools, &|p| plug.drives(p, tolerance) == 0),
                )
            } else if *kind == Kind::Hose {
                (fits(net.tools, &|p| plug.mouths(p) == 0), 0)
            } else if *kind == Kind::Battery && !own_pack && plug.battery != 0 {
                (fits(net.tools, &|p| p.battery == plug.battery), 0)
            } else {
                continue;
            };
            if let (Some(o), Some(d)) = (net.onward.get_mut(i), net.drives.get_mut(i)) {
                (*o, *d) = (onward, drives);
            }
        }
        net
    }

    /// The tools that this source can feed through the hoses there are.
    pub(crate) fn fed_by(&self, source: usize, alive: Set) -> Set {
        let hoses = sets::pick(&self.onward, source) & alive;
        sets::each(hoses).fold(0, |set, hose| set | sets::pick(&self.onward, hose)) & sets::pick(&self.drives, source)
    }

    /// The tools that need neither source nor hose with the packs there are.
    pub(crate) fn on_battery(&self, alive: Set) -> Set {
        sets::each(self.batteries & alive).fold(self.own_power, |set, pack| set | sets::pick(&self.onward, pack))
    }

    /// The largest number of tools that run at once with the pieces in `alive`.
    pub(crate) fn at_once(&self, alive: Set) -> usize {
        let own = self.own_power & alive;
        let tools = self.tools & alive & !own;
        sets::count(own) + self.driven(alive, tools)
    }

    fn driven(&self, alive: Set, tools: Set) -> usize {
        let mut classes: Vec<SourceClass> = Vec::new();
        for source in sets::each(self.sources & alive) {
            let circuits = sets::pick(&self.circuits, source);
            let reach = self.fed_by(source, alive) & tools;
            if circuits == 0 || reach == 0 {
                continue;
            }
            let hoses = sets::pick(&self.onward, source) & alive;
            let drives = sets::pick(&self.drives, source) & tools;
            match classes.iter_mut().find(|class| class.hoses == hoses && class.tools == drives) {
                Some(class) => class.circuits = class.circuits.saturating_add(circuits),
                None => classes.push(SourceClass {
                    hoses,
                    tools: drives,
                    circuits,
                }),
            }
        }
        let packs: Vec<Set> = sets::each(self.batteries & alive)
            .map(|pack| sets::pick(&self.onward, pack) & tools)
            .filter(|t| *t != 0)
            .collect();
        // What drives most comes first: a good share is then found early.
        classes.sort_by_key(|class| std::cmp::Reverse(sets::count(class.tools)));
        self.work.set(self.work.get() + 1);
        match classes.as_slice() {
            [] => Matching::largest(&packs).size(),
            [only] if packs.is_empty() => {
                let ways: Vec<Set> = sets::each(only.hoses).map(|hose| sets::pick(&self.onward, hose) & only.tools).collect();
                Matching::largest(&ways).size().min(only.circuits)
            }
            _ => self.shared_out(&classes, packs, tools),
        }
    }

    fn shared_out(&self, classes: &[SourceClass], packs: Vec<Set>, tools: Set) -> usize {
        let all = classes.iter().fold(0, |set, class| set | class.hoses);
        let mut types: Vec<HoseType> = Vec::new();
        for hose in sets::each(all) {
            let reach = sets::pick(&self.onward, hose) & tools;
            let fed = classes
                .iter()
                .enumerate()
                .filter(|(_, c)| c.hoses & sets::one(hose) != 0 && c.tools & reach != 0);
            let (fed, any) = fed.fold((0, 0), |(set, any), (i, c)| (set | sets::one(i), any | (c.tools & reach)));
            if fed == 0 {
                continue;
            }
            match types.iter_mut().find(|t| t.classes == fed && t.tools == reach) {
                Some(known) => known.count += 1,
                None => types.push(HoseType {
                    classes: fed,
                    tools: reach,
                    any,
                    count: 1,
                }),
            }
        }
        let left: Vec<usize> = classes.iter().map(|class| class.circuits).collect();
        let hoses: usize = types.iter().map(|t| t.count).sum();
        let circuits = left.iter().fold(0_usize, |sum, n| sum.saturating_add(*n));
        let bound = (packs.len() + hoses.min(circuits)).min(sets::count(tools));
        let mut search = Search {
            classes,
            types: &types,
            bound,
            best: 0,
            steps: 0,
        };
        search.share(0, left, packs);
        self.work.set(self.work.get().saturating_add(search.steps));
        search.best
    }
}

struct Search<'a> {
    classes: &'a [SourceClass],
    types: &'a [HoseType],
    /// No way can do better than this.
    bound: usize,
    best: usize,
    steps: usize,
}

impl Search<'_> {
    /// Shares out the hoses of type `at` and on; `ways` are the tools that each fed hose or pack so far could run.
    fn share(&mut self, at: usize, left: Vec<usize>, ways: Vec<Set>) {
        if self.best >= self.bound || self.steps >= STEPS {
            return;
        }
        self.steps += 1;
        let Some(hose) = self.types.get(at) else {
            self.best = self.best.max(Matching::largest(&ways).size());
            return;
        };
        // As if every further hose could be fed by any class at any time.
        let mut hoped = ways.clone();
        hoped.extend(self.types.iter().skip(at).flat_map(|t| std::iter::repeat_n(t.any, t.count)));
        if Matching::largest(&hoped).size() <= self.best {
            return;
        }
        self.split(at, hose, 0, hose.count, left, ways);
    }

    /// Gives some of `spare` hoses to class `class`, the rest to later classes or to none.
    fn split(&mut self, at: usize, hose: &HoseType, class: usize, spare: usize, left: Vec<usize>, ways: Vec<Set>) {
        let Some(fed) = self.classes.get(class) else {
            self.share(at + 1, left, ways);
            return;
        };
        let most = if hose.classes & sets::one(class) == 0 {
            0
        } else {
            spare.min(sets::pick(&left, class))
        };
        for given in (0..=most).rev() {
            if self.steps >= STEPS {
                return;
            }
            let mut left = left.clone();
            if let Some(n) = left.get_mut(class) {
                *n -= given;
            }
            let mut ways = ways.clone();
            ways.extend(std::iter::repeat_n(hose.tools & fed.tools, given));
            self.split(at, hose, class + 1, spare - given, left, ways);
        }
    }
}

/// The largest number of hose-fed and battery tools that these pieces can run at once.
///
/// `tolerance` as in [`super::misfits`]; `own_pack` tells that a battery tool carries its pack, so that it needs no battery
/// piece. At most 128 pieces are looked at.
#[must_use]
pub fn simultaneous_tools(pieces: &[(Kind, &Hookup)], tolerance: f64, own_pack: bool) -> usize {
    let mut plugs = Plugs::default();
    let pieces: Vec<(Kind, Plug)> = pieces
        .iter()
        .take(sets::CAPACITY)
        .map(|(kind, hookup)| (*kind, plugs.read(*kind, hookup)))
        .collect();
    Network::new(&pieces, tolerance, own_pack).at_once(sets::Set::MAX)
}
