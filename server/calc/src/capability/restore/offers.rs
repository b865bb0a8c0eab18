//! The acts to choose from: every piece that could be mended, and every piece that could be put aboard.
//!
//! A piece put aboard is thought of as one that just does: for a slot, it meets that slot's minimums and no other's;
//! on a family, it hooks up to that family. Which model that is, this module refuses to know.

use super::super::board::Board;
use super::super::input::{Batteries, Policy, Slot};
use super::super::wire::{Act, ActKind};
use super::super::words::{self, Voice};
use super::mendable;
use crate::hookup::{Fluid, Network, Plug};
use crate::ratings::{Better, Kind};
use crate::sets::{self, CAPACITY, Set};
use crate::units::{Quantity, Unit};
use chrono::{DateTime, Utc};

/// One act, whatever its kind, outweighs any preference between kinds.
pub(super) const ACT: u32 = 1000;

/// Further pieces of one sort that take no slot, at most.
const COPIES: usize = 8;

/// A coupling and fluid at the operating pressure of a source.
#[derive(Clone, Copy, PartialEq)]
struct Family {
    coupling: u16,
    fluid: Fluid,
    kpa: f64,
}

/// The family that stands in where none is known; no piece aboard has this number.
const TO_BE_CHOSEN: u16 = u16::MAX;

struct Offer {
    slot: Option<usize>,
    kind: Kind,
    plug: Plug,
}

/// A rig with everything that could be mended or put aboard, and what each costs.
pub(super) struct Offers<'a> {
    /// The rig's own pieces come first, with the same numbers, then the offers.
    pub board: Board<'a>,
    /// Everything usable after its act; the rest stays out.
    pub pool: Set,
    pub checks: Set,
    pub rights: Set,
    /// Whether all offers found room.
    pub complete: bool,
    offers: Vec<Offer>,
    own: usize,
}

impl<'a> Offers<'a> {
    pub(super) fn new(rig: &Board<'a>, policy: &Policy, at: DateTime<Utc>) -> Self {
        let (checks, rights) = mendable(rig, at);
        let own = rig.pieces.len();
        let mut offers = Vec::with_capacity(rig.slots.len() * 2 + 4);
        list(rig, policy, &mut offers);
        let complete = own + offers.len() <= CAPACITY;
        offers.truncate(CAPACITY - own);
        let mut plug = rig.plug.clone();
        plug.extend(offers.iter().map(|offer| (offer.kind, offer.plug)));
        let net = Network::new(&plug, policy.pressure_tolerance, policy.batteries == Batteries::WithTool);
        let mut suits = rig.suits.clone();
        let mut pool = rig.usable | checks | rights;
        for (n, offer) in offers.iter().enumerate() {
            pool |= sets::one(own + n);
            if let Some(set) = offer.slot.and_then(|slot| suits.get_mut(slot)) {
                *set |= sets::one(own + n);
            }
        }
        let board = rig.extended(plug, net, suits);
        Self {
            board,
            pool,
            checks,
            rights,
            complete,
            offers,
            own,
        }
    }

    /// What it costs to have a piece: nothing when it is usable, else one act.
    pub(super) fn weight(&self, i: usize) -> u32 {
        let bit = sets::one(i);
        if self.board.usable & bit != 0 {
            0
        } else if self.checks & bit != 0 {
            ACT
        } else if self.rights & bit != 0 {
            ACT + 2
        } else {
            ACT + 1
        }
    }

    /// The act of putting an offer aboard.
    pub(super) fn put_aboard(&self, rig: &Board<'_>, i: usize, voice: &Voice<'_>) -> Option<Act> {
        let offer = self.offers.get(i.checked_sub(self.own)?)?;
        let slot = offer.slot.and_then(|slot| rig.slot(slot));
        let family = family_name(rig, offer);
        let mut text = match slot {
            Some(slot) => format!("put aboard {} for {}", words::one(offer.kind.word()), slot.name),
            None => format!("put aboard a further {}", offer.kind.word()),
        };
        if let Some(family) = &family {
            text.push_str(&format!(" on {family}"));
        }
        if offer.plug.kpa.is_finite() && offer.plug.coupling != TO_BE_CHOSEN {
            let size = Quantity::new(offer.plug.kpa, Unit::Kilopascal).show(voice.units);
            text.push_str(&if offer.kind.is_source() {
                format!(", running at {size}")
            } else {
                format!(", rated {size} or more")
            });
        }
        if offer.kind.is_source() && offer.plug.circuits > 1 {
            text.push_str(&format!(", at least {} circuits", offer.plug.circuits));
        }
        if let Some(slot) = slot {
            text.push_str(&minimums(slot, voice));
        }
        Some(Act {
            act: ActKind::PutAboard,
            piece: None,
            slot: slot.map(|s| s.id.clone()),
            kind: Some(offer.kind),
            family,
            words: text,
        })
    }
}

fn minimums(slot: &Slot, voice: &Voice<'_>) -> String {
    slot.minimums
        .iter()
        .map(|(term, rating)| {
            let bound = if term.better() == Better::Lower { "at most" } else { "at least" };
            format!(", {} {bound} {}", term.label(), rating.figure.show(voice.units))
        })
        .collect()
}

fn family_name(rig: &Board<'_>, offer: &Offer) -> Option<String> {
    let plug = &offer.plug;
    if plug.coupling == TO_BE_CHOSEN {
        return Some("one coupling family and fluid".into());
    }
    if plug.coupling == 0 {
        return rig.plugs.name(plug.battery).map(str::to_owned);
    }
    let (near, far) = (rig.plugs.name(plug.coupling)?, rig.plugs.name(plug.tool_coupling)?);
    let ends = if plug.coupling == plug.tool_coupling {
        near.to_owned()
    } else {
        format!("{near} to {far}")
    };
    Some(plug.fluid.map_or(ends.clone(), |fluid| format!("{ends}, {}", fluid.name())))
}

/// The hydraulic families aboard: those of sources, then those that hoses and tools have without a source, at the
/// pressure that all of these stand.
fn families(rig: &Board<'_>) -> Vec<Family> {
    let known = rig.plug.iter().filter_map(|(kind, plug)| {
        let family = Family {
            coupling: plug.coupling,
            fluid: plug.fluid?,
            kpa: plug.kpa,
        };
        (plug.coupling != 0 && !plug.kpa.is_nan()).then_some((*kind, family))
    });
    let mut all: Vec<Family> = Vec::new();
    for (_, family) in known.clone().filter(|(kind, _)| kind.is_source()) {
        if !all.contains(&family) {
            all.push(family);
        }
    }
    let sourced = all.len();
    for (_, family) in known.filter(|(kind, _)| kind.is_tool() || *kind == Kind::Hose) {
        let same = |f: &Family| (f.coupling, f.fluid) == (family.coupling, family.fluid);
        match all.iter().position(same) {
            Some(at) if at < sourced => {}
            Some(at) => {
                if let Some(derived) = all.get_mut(at) {
                    derived.kpa = derived.kpa.min(family.kpa);
                }
            }
            None => all.push(family),
        }
    }
    if all.is_empty() {
        all.push(Family {
            coupling: TO_BE_CHOSEN,
            fluid: Fluid::MineralOil,
            kpa: 1.0,
        });
    }
    all
}

fn distinct(plugs: impl Iterator<Item = Plug>, same: impl Fn(&Plug, &Plug) -> bool) -> Vec<Plug> {
    let mut all: Vec<Plug> = Vec::new();
    for plug in plugs {
        if !all.iter().any(|known| same(known, &plug)) {
            all.push(plug);
        }
    }
    all
}

fn list(rig: &Board<'_>, policy: &Policy, offers: &mut Vec<Offer>) {
    let families = families(rig);
    let on = |family: &Family, circuits| Plug {
        coupling: family.coupling,
        tool_coupling: family.coupling,
        fluid: Some(family.fluid),
        kpa: family.kpa,
        circuits,
        battery: 0,
    };
    let packed = rig
        .plug
        .iter()
        .filter(|(kind, plug)| (kind.is_tool() || *kind == Kind::Battery) && plug.battery != 0)
        .map(|(_, plug)| *plug);
    let batteries: Vec<Plug> = distinct(packed, |a, b| a.battery == b.battery)
        .iter()
        .map(|p| Plug {
            battery: p.battery,
            ..Plug::default()
        })
        .collect();
    let two_ended = rig
        .plug
        .iter()
        .filter(|(kind, plug)| *kind == Kind::Hose && plug.coupling != plug.tool_coupling)
        .map(|(_, plug)| *plug);
    let adapters = distinct(
        two_ended.filter(|p| p.coupling != 0 && p.tool_coupling != 0 && p.fluid.is_some() && !p.kpa.is_nan()),
        |a, b| a == b,
    );
    let circuits = rig.simultaneous_min.max(1);
    let hoses: Vec<Plug> = families.iter().map(|f| on(f, 0)).chain(adapters.iter().copied()).collect();
    let tools: Vec<Plug> = families.iter().map(|f| on(f, 0)).chain(batteries.iter().copied()).collect();
    for (i, slot) in rig.slots.iter().enumerate() {
        let mut offer = |kind, plug| offers.push(Offer { slot: Some(i), kind, plug });
        let has = |kind: Kind| slot.kinds.contains(&kind);
        if has(Kind::PowerUnit) {
            families.iter().for_each(|f| offer(Kind::PowerUnit, on(f, circuits)));
        } else if has(Kind::HandPump) {
            families.iter().for_each(|f| offer(Kind::HandPump, on(f, 1)));
        }
        if has(Kind::Hose) {
            hoses.iter().for_each(|plug| offer(Kind::Hose, *plug));
        }
        if let Some(kind) = slot.kinds.iter().copied().find(|kind| kind.is_tool()) {
            tools.iter().for_each(|plug| offer(kind, *plug));
        }
        if has(Kind::Battery) {
            batteries.iter().for_each(|plug| offer(Kind::Battery, *plug));
            if batteries.is_empty() {
                offer(Kind::Battery, Plug::default());
            }
        }
        if let Some(kind) = slot.kinds.iter().copied().find(|kind| matches!(kind, Kind::Charger | Kind::Accessory)) {
            offer(kind, Plug::default());
        }
    }
    let copies = rig.simultaneous_min.clamp(1, COPIES);
    let mut further = |kind, plug: &Plug, n| offers.extend((0..n).map(|_| Offer { slot: None, kind, plug: *plug }));
    hoses.iter().for_each(|plug| further(Kind::Hose, plug, copies));
    families.iter().for_each(|f| further(Kind::PowerUnit, &on(f, circuits), 1));
    if policy.batteries == Batteries::AsPieces {
        batteries.iter().for_each(|plug| further(Kind::Battery, plug, copies));
    }
    if rig.net.at_once(rig.usable) < rig.simultaneous_min {
        tools.iter().for_each(|plug| further(Kind::CombinationTool, plug, copies));
    }
}
