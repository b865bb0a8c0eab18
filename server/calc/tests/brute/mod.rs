//! The rules once more, written from the words of the design and as simply as can be: every possibility is tried.
//! Shares no code with the crate beyond the plain input types.
#![allow(dead_code)]

pub mod acts;
pub mod rigs;

use chrono::{DateTime, Utc};
use fullset_calc::capability::{Batteries, Complement, Level, Life, Need, Piece, Policy, Rig, Slot, State};
use fullset_calc::ratings::{Kind, Term};

/// A piece with only what the rules look at.
#[derive(Clone, Debug)]
pub struct Thing {
    pub kind: Kind,
    pub usable: bool,
    pub coupling: Option<String>,
    pub tool_coupling: Option<String>,
    pub fluid: Option<String>,
    pub bar: Option<f64>,
    pub circuits: u32,
    pub battery: Option<String>,
    /// The slots whose kinds and minimums it meets.
    pub suits: Vec<bool>,
}

pub fn is_source(kind: Kind) -> bool {
    kind == Kind::PowerUnit || kind == Kind::HandPump
}

pub fn is_tool(kind: Kind) -> bool {
    [Kind::Cutter, Kind::Spreader, Kind::CombinationTool, Kind::Ram].contains(&kind)
}

pub fn usable(piece: &Piece, policy: &Policy, at: DateTime<Utc>) -> bool {
    if piece.state != State::InService || piece.stop_use.is_some() || piece.life == Life::Unknown {
        return false;
    }
    if matches!(piece.life, Life::Ends(end) if end <= at) {
        return false;
    }
    match policy.overdue_grace_days {
        None => true,
        Some(days) => piece.checks.iter().all(|c| (at - c.due).num_milliseconds() < i64::from(days) * 86_400_000),
    }
}

fn suits(piece: &Piece, slot: &Slot) -> bool {
    slot.kinds.contains(&piece.kind)
        && slot.minimums.iter().all(|(term, minimum)| {
            let needs = minimum.quantity().unwrap().si();
            match piece.ratings.get(term).and_then(|r| r.quantity()) {
                None => false,
                Some(has) if term == Term::Mass => has.si() <= needs,
                Some(has) => has.si() >= needs,
            }
        })
}

pub fn things(rig: &Rig<'_>, policy: &Policy, at: DateTime<Utc>) -> Vec<Thing> {
    let slots: &[Slot] = rig.complement.map_or(&[], |c| &c.slots);
    let lower = |text: &Option<String>| text.as_ref().map(|t| t.trim().to_lowercase());
    rig.pieces
        .iter()
        .map(|p| Thing {
            kind: p.kind,
            usable: usable(p, policy, at),
            coupling: lower(&p.hookup.coupling),
            tool_coupling: lower(&p.hookup.tool_coupling).or(lower(&p.hookup.coupling)),
            fluid: p.hookup.fluid.map(|f| f.name().to_owned()),
            bar: p.hookup.pressure.map(|q| q.si() / 100.0),
            circuits: if p.kind == Kind::HandPump { 1 } else { p.hookup.circuits.unwrap_or(1) },
            battery: lower(&p.hookup.battery),
            suits: slots.iter().map(|s| suits(p, s)).collect(),
        })
        .collect()
}

fn equal(a: &Option<String>, b: &Option<String>) -> bool {
    a.is_some() && a == b
}

fn stands(thing: &Thing, source: &Thing, policy: &Policy) -> bool {
    match (thing.bar, source.bar) {
        (Some(has), Some(runs)) => has >= runs * (1.0 - policy.pressure_tolerance) - 1e-6,
        _ => false,
    }
}

pub fn feeds(source: &Thing, hose: &Thing, policy: &Policy) -> bool {
    equal(&source.coupling, &hose.coupling) && equal(&source.fluid, &hose.fluid) && stands(hose, source, policy)
}

pub fn works(source: &Thing, hose: &Thing, tool: &Thing, policy: &Policy) -> bool {
    feeds(source, hose, policy) && equal(&hose.tool_coupling, &tool.coupling) && equal(&hose.fluid, &tool.fluid) && stands(tool, source, policy)
}

/// Whether a thing in a slot is hooked up when these sources are the system.
pub fn hooked_up(thing: &Thing, system: &[&Thing], all: &[Thing], policy: &Policy) -> bool {
    if thing.kind == Kind::Hose {
        return system.iter().any(|s| feeds(s, thing, policy));
    }
    if !is_tool(thing.kind) {
        return true;
    }
    let packed = match policy.batteries {
        Batteries::WithTool => thing.battery.is_some(),
        Batteries::AsPieces => all.iter().any(|b| b.usable && b.kind == Kind::Battery && equal(&b.battery, &thing.battery)),
    };
    packed
        || system
            .iter()
            .any(|s| all.iter().any(|h| h.usable && h.kind == Kind::Hose && works(s, h, thing, policy)))
}

/// The largest number of tools at once: every tool is tried with every way to drive it, and without.
pub fn at_once(all: &[Thing], policy: &Policy) -> u32 {
    let mut circuits: Vec<u32> = all.iter().map(|t| if t.usable && is_source(t.kind) { t.circuits } else { 0 }).collect();
    let mut spent = vec![false; all.len()];
    let tools: Vec<usize> = (0..all.len()).filter(|i| all[*i].usable && is_tool(all[*i].kind)).collect();
    let own = |t: &usize| policy.batteries == Batteries::WithTool && all[*t].battery.is_some();
    let rest: Vec<usize> = tools.iter().copied().filter(|t| !own(t)).collect();
    (tools.len() - rest.len()) as u32 + run(&rest, all, policy, &mut circuits, &mut spent)
}

fn run(tools: &[usize], all: &[Thing], policy: &Policy, circuits: &mut [u32], spent: &mut [bool]) -> u32 {
    let Some((tool, rest)) = tools.split_first() else { return 0 };
    let mut best = run(rest, all, policy, circuits, spent);
    for feeder in 0..all.len() {
        if spent[feeder] || !all[feeder].usable {
            continue;
        }
        if all[feeder].kind == Kind::Battery && equal(&all[feeder].battery, &all[*tool].battery) {
            spent[feeder] = true;
            best = best.max(1 + run(rest, all, policy, circuits, spent));
            spent[feeder] = false;
        }
        if all[feeder].kind == Kind::Hose {
            for source in 0..all.len() {
                if circuits[source] > 0 && works(&all[source], &all[feeder], &all[*tool], policy) {
                    (spent[feeder], circuits[source]) = (true, circuits[source] - 1);
                    best = best.max(1 + run(rest, all, policy, circuits, spent));
                    (spent[feeder], circuits[source]) = (false, circuits[source] + 1);
                }
            }
        }
    }
    best
}

/// The best score (core, required, optional slots filled) over every way to put pieces into slots.
pub fn best_score(all: &[Thing], complement: &Complement, policy: &Policy) -> [usize; 3] {
    let mut best = [0; 3];
    place(all, complement, policy, &mut Vec::new(), &mut best);
    best
}

pub fn is_valid(all: &[Thing], complement: &Complement, policy: &Policy, into: &[Option<usize>]) -> bool {
    let power = complement.slots.iter().any(|s| s.kinds.iter().any(|k| is_source(*k)));
    let system: Vec<&Thing> = if power {
        into.iter().flatten().map(|i| &all[*i]).filter(|t| is_source(t.kind)).collect()
    } else {
        all.iter().filter(|t| t.usable && is_source(t.kind)).collect()
    };
    into.iter().flatten().all(|i| hooked_up(&all[*i], &system, all, policy))
}

pub fn score(complement: &Complement, into: &[Option<usize>]) -> [usize; 3] {
    let filled = |need: Need| complement.slots.iter().zip(into).filter(|(s, p)| s.need == need && p.is_some()).count();
    [filled(Need::Core), filled(Need::Required), filled(Need::Optional)]
}

fn place(all: &[Thing], complement: &Complement, policy: &Policy, into: &mut Vec<Option<usize>>, best: &mut [usize; 3]) {
    let at = into.len();
    if at == complement.slots.len() {
        let score = score(complement, into);
        if score > *best && is_valid(all, complement, policy, into) {
            *best = score;
        }
        return;
    }
    for i in 0..all.len() {
        if all[i].usable && all[i].suits[at] && !into.contains(&Some(i)) {
            into.push(Some(i));
            place(all, complement, policy, into, best);
            into.pop();
        }
    }
    into.push(None);
    place(all, complement, policy, into, best);
    into.pop();
}

pub fn level(all: &[Thing], complement: &Complement, policy: &Policy) -> Level {
    let wanted = |need: Need| complement.slots.iter().filter(|s| s.need == need).count();
    let [core, required, _] = best_score(all, complement, policy);
    let tools = at_once(all, policy);
    if core == wanted(Need::Core) && required == wanted(Need::Required) && tools >= complement.simultaneous_min {
        Level::Full
    } else if core == wanted(Need::Core) && tools >= 1 {
        Level::Limited
    } else {
        Level::None
    }
}

/// Every set of `size` numbers below `n`.
pub fn subsets(n: usize, size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for last in 0..n {
        for mut set in subsets(last, size - 1) {
            set.push(last);
            all.push(set);
        }
    }
    all
}

/// The smallest number of pieces whose loss drops the level; `None` when no loss does.
pub fn fewest_to_drop(all: &[Thing], complement: &Complement, policy: &Policy) -> Option<usize> {
    let now = level(all, complement, policy);
    (1..=all.len()).find(|size| {
        subsets(all.len(), *size).iter().any(|lost| {
            let left: Vec<Thing> = (0..all.len()).filter(|i| !lost.contains(i)).map(|i| all[i].clone()).collect();
            level(&left, complement, policy) < now
        })
    })
}
