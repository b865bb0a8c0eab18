//! Every set of acts, by size, until one makes the rig full.

use super::{Thing, at_once, is_source, is_tool, level, subsets};
use chrono::{DateTime, Utc};
use fullset_calc::capability::{Batteries, Complement, Level, Life, Policy, Rig, State};
use fullset_calc::ratings::Kind;

/// An act: what it costs beyond being one, and the thing that is usable through it (in the place of an old one, or new).
#[derive(Clone, Debug)]
pub struct Mend {
    pub rank: usize,
    pub mends: Option<usize>,
    pub thing: Thing,
}

/// The smallest number of acts, and the least sum of ranks among sets of that size; `None` beyond `most`.
pub fn smallest(rig: &Rig<'_>, all: &[Thing], complement: &Complement, policy: &Policy, at: DateTime<Utc>, most: usize) -> Option<(usize, usize)> {
    let acts = universe(rig, all, complement, policy, at);
    for size in 0..=most {
        let mut best: Option<usize> = None;
        for set in subsets(acts.len(), size) {
            let rank = set.iter().map(|i| acts[*i].rank).sum();
            if best.is_some_and(|b| b <= rank) {
                continue;
            }
            let mut then = all.to_vec();
            for i in set {
                match acts[i].mends {
                    Some(old) => then[old] = acts[i].thing.clone(),
                    None => then.push(acts[i].thing.clone()),
                }
            }
            if level(&then, complement, policy) == Level::Full {
                best = Some(rank);
            }
        }
        if let Some(rank) = best {
            return Some((size, rank));
        }
    }
    None
}

pub fn universe(rig: &Rig<'_>, all: &[Thing], complement: &Complement, policy: &Policy, at: DateTime<Utc>) -> Vec<Mend> {
    let mut acts = Vec::new();
    for (i, (piece, thing)) in rig.pieces.iter().zip(all).enumerate() {
        let too_old = piece.life == Life::Unknown || matches!(piece.life, Life::Ends(end) if end <= at);
        if thing.usable || too_old {
            continue;
        }
        let only_checks = piece.state == State::InService && piece.stop_use.is_none();
        acts.push(Mend {
            rank: if only_checks { 0 } else { 2 },
            mends: Some(i),
            thing: Thing { usable: true, ..thing.clone() },
        });
    }
    let slots = &complement.slots;
    let blank = Thing {
        kind: Kind::Accessory,
        usable: true,
        coupling: None,
        tool_coupling: None,
        fluid: None,
        bar: None,
        circuits: complement.simultaneous_min.max(1),
        battery: None,
        suits: vec![false; slots.len()],
    };
    // Families: those of sources; those of hoses and tools that no source shares, at the least of their pressures.
    let mut families: Vec<(String, String, f64)> = Vec::new();
    let known = |t: &Thing| Some((t.coupling.clone()?, t.fluid.clone()?, t.bar?));
    for family in all.iter().filter(|t| is_source(t.kind)).filter_map(known) {
        if !families.contains(&family) {
            families.push(family);
        }
    }
    let sourced = families.clone();
    for (coupling, fluid, bar) in all.iter().filter(|t| t.kind == Kind::Hose || is_tool(t.kind)).filter_map(known) {
        if sourced.iter().any(|f| f.0 == coupling && f.1 == fluid) {
            continue;
        }
        match families.iter_mut().find(|f| f.0 == coupling && f.1 == fluid) {
            Some(family) => family.2 = family.2.min(bar),
            None => families.push((coupling, fluid, bar)),
        }
    }
    if families.is_empty() {
        families.push(("to be chosen".into(), "mineral oil".into(), 1.0));
    }
    let hydraulic: Vec<Thing> = families
        .iter()
        .map(|(c, f, bar)| Thing {
            coupling: Some(c.clone()),
            tool_coupling: Some(c.clone()),
            fluid: Some(f.clone()),
            bar: Some(*bar),
            ..blank.clone()
        })
        .collect();
    let mut packs: Vec<String> = all
        .iter()
        .filter(|t| is_tool(t.kind) || t.kind == Kind::Battery)
        .filter_map(|t| t.battery.clone())
        .collect();
    packs.sort();
    packs.dedup();
    let packs: Vec<Thing> = packs
        .into_iter()
        .map(|b| Thing {
            battery: Some(b),
            ..blank.clone()
        })
        .collect();
    let mut adapters: Vec<Thing> = Vec::new();
    for t in all
        .iter()
        .filter(|t| t.kind == Kind::Hose && t.coupling != t.tool_coupling && known(t).is_some() && t.tool_coupling.is_some())
    {
        if !adapters
            .iter()
            .any(|a| (&a.coupling, &a.tool_coupling, &a.fluid, a.bar) == (&t.coupling, &t.tool_coupling, &t.fluid, t.bar))
        {
            adapters.push(Thing {
                usable: true,
                suits: blank.suits.clone(),
                ..t.clone()
            });
        }
    }
    let hoses: Vec<Thing> = hydraulic.iter().chain(&adapters).cloned().collect();
    let tools: Vec<Thing> = hydraulic.iter().chain(&packs).cloned().collect();
    let mut new = |kind: Kind, like: &Thing, slot: Option<usize>| {
        let mut thing = Thing { kind, ..like.clone() };
        if let Some(slot) = slot {
            thing.suits[slot] = true;
        }
        acts.push(Mend { rank: 1, mends: None, thing });
    };
    for (i, slot) in slots.iter().enumerate() {
        let has = |kind: Kind| slot.kinds.contains(&kind);
        if has(Kind::PowerUnit) {
            hydraulic.iter().for_each(|t| new(Kind::PowerUnit, t, Some(i)));
        } else if has(Kind::HandPump) {
            hydraulic.iter().for_each(|t| new(Kind::HandPump, &Thing { circuits: 1, ..t.clone() }, Some(i)));
        }
        if has(Kind::Hose) {
            hoses.iter().for_each(|t| new(Kind::Hose, t, Some(i)));
        }
        if let Some(kind) = slot.kinds.iter().copied().find(|k| is_tool(*k)) {
            tools.iter().for_each(|t| new(kind, t, Some(i)));
        }
        if has(Kind::Battery) {
            packs.iter().for_each(|t| new(Kind::Battery, t, Some(i)));
            if packs.is_empty() {
                new(Kind::Battery, &blank, Some(i));
            }
        }
        if has(Kind::Accessory) {
            new(Kind::Accessory, &blank, Some(i));
        }
    }
    for _ in 0..complement.simultaneous_min.max(1) {
        hoses.iter().for_each(|t| new(Kind::Hose, t, None));
        if policy.batteries == Batteries::AsPieces {
            packs.iter().for_each(|t| new(Kind::Battery, t, None));
        }
        if at_once(all, policy) < complement.simultaneous_min {
            tools.iter().for_each(|t| new(Kind::CombinationTool, t, None));
        }
    }
    hydraulic.iter().for_each(|t| new(Kind::PowerUnit, t, None));
    acts
}
