//! The class's list: complete is the second answer and never the level (design 4.3).

use super::kit::*;
use super::scene::*;
use fullset_calc::capability::{Completeness, Level, NearCode, Piece, ReasonCode, Slot};
use fullset_calc::hookup::Fluid;
use fullset_calc::ratings::{Gear, Kind, Rating, Term};
use fullset_calc::units::Unit;

const LIST: &str = "design 4.3, complete";
const GEAR: &str = "design 4.3: an accessory slot names which accessory; seen answered wrong once; common practice, no source";

const ABOARD: &str = "design 4.3: complete is whether everything is aboard; the level says what runs";
const POWER: &[Kind] = &[Kind::PowerUnit];
const HOSE: &[Kind] = &[Kind::Hose];
const POWER_AND_HOSE: &[Kind] = &[Kind::PowerUnit, Kind::Hose];

fn tools() -> Vec<Piece> {
    set().into_iter().filter(|piece| piece.kind.is_tool()).collect()
}

fn slots() -> Vec<Slot> {
    vec![
        slot("l-pump", Kind::PowerUnit),
        slot("l-hose-1", Kind::Hose),
        slot("l-hose-2", Kind::Hose),
        slot("l-cutter", Kind::Cutter),
        slot("l-spreader", Kind::Spreader),
        slot("l-ram", Kind::Ram),
    ]
}

fn and_slot(more: Slot) -> Vec<Slot> {
    slots().into_iter().chain([more]).collect()
}

fn asks_for(which: Gear) -> Vec<Slot> {
    and_slot(gear_slot("l-gear", which))
}

pub fn scenes() -> Vec<Scene> {
    use Completeness::{Complete, Incomplete};
    use Level::{Full, Limited, None};
    use NearCode::*;
    let with_gear = |which| and(set(), [gear("AC-1", which)]);
    let chains_in_grade = || {
        let mut chains = part(&[Kind::Accessory]);
        chains.gear = Some(Gear::Chains);
        own(grade(vec![need("cut", vec![vec![part(&[Kind::Cutter]), chains]])]))
    };
    let battery_rig = |pack: Piece| and(set(), [cutter("CU-2").on_battery("28V"), pack]);
    let mut long_hose = slot("l-long", Kind::Hose);
    long_hose.minimums.set(Term::HoseLength, Rating::plain(20.0, Unit::Metre));
    let optional = Slot {
        required: false,
        ..slot("l-combi", Kind::CombinationTool)
    };
    vec![
        scene("everything that the class asks for is aboard", LIST, set(), Full)
            .list(slots(), Complete)
            .expects(Full),
        scene("a missing chain set makes it incomplete, not less than full", LIST, set(), Full)
            .list(asks_for(Gear::Chains), Incomplete)
            .near("l-gear", NoneAboard),
        scene("with its chains it is complete", LIST, with_gear(Some(Gear::Chains)), Full).list(asks_for(Gear::Chains), Complete),
        scene("edge covers are no struts", GEAR, with_gear(Some(Gear::EdgeCovers)), Full)
            .list(asks_for(Gear::Struts), Incomplete)
            .near("l-gear", AnotherAccessory),
        scene("chains are no lifting bag", GEAR, with_gear(Some(Gear::Chains)), Full)
            .list(asks_for(Gear::LiftingBag), Incomplete)
            .near("l-gear", AnotherAccessory),
        scene("gear of an unknown sort fills nothing", GEAR, with_gear(Option::None), Full).list(asks_for(Gear::Chains), Incomplete),
        scene("other gear fills nothing", GEAR, with_gear(Some(Gear::Other)), Full)
            .list(asks_for(Gear::Chains), Incomplete)
            .near("l-gear", AnotherAccessory),
        scene(
            "chains out of service fill nothing",
            "2-trade.md 10.2",
            and(set(), [gear("AC-1", Some(Gear::Chains)).out()]),
            Full,
        )
        .list(asks_for(Gear::Chains), Incomplete)
        .near("l-gear", OutOfService),
        scene(
            "a second pump that no hose aboard fits does not fill its slot",
            "seen answered wrong once; common practice, no source",
            and(set(), [pump("PU-2", 1).coupled("Twin")]),
            Full,
        )
        .list(and_slot(slot("l-second-pump", Kind::PowerUnit)), Incomplete),
        scene("a second pump that fits fills it", LIST, and(set(), [pump("PU-2", 1)]), Full).list(and_slot(slot("l-second-pump", Kind::PowerUnit)), Complete),
        scene(
            "an adapter does not fill a hose slot",
            "design 4.2; seen answered wrong once; common practice, no source",
            and(on_one_hose(), [adapter("AD-1", "Mono", "Mono")]),
            Full,
        )
        .list(slots(), Incomplete),
        scene(
            "a pack of another family does not fill the battery slot",
            "seen answered wrong once; common practice, no source",
            battery_rig(pack("BA-1").on_battery("60V")),
            Full,
        )
        .list(and_slot(slot("l-pack", Kind::Battery)), Incomplete),
        scene("a pack of the tool's family does", LIST, battery_rig(pack("BA-1")), Full).list(and_slot(slot("l-pack", Kind::Battery)), Complete),
        // Complete means aboard: whether it can run is the level's matter.
        scene(
            "everything but the pump is aboard: the pump alone is missing",
            ABOARD,
            without(set(), "PU-1"),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-pump"])
        .runs_again("cut", POWER)
        .runs_again("spread", POWER)
        .runs_again("push", POWER),
        scene(
            "the pump is aboard and out of service: its slot alone is open",
            ABOARD,
            but(set(), "PU-1", Said::out),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-pump"])
        .near("l-pump", OutOfService)
        .runs_again("cut", POWER),
        scene(
            "both hoses are at the shop: pump and tools are aboard all the same",
            ABOARD,
            without(without(set(), "HO-1"), "HO-2"),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-hose-1", "l-hose-2"])
        .runs_again("cut", HOSE),
        scene("pump and hoses are gone: the tools are aboard", ABOARD, tools(), None)
            .list(slots(), Incomplete)
            .open(&["l-pump", "l-hose-1", "l-hose-2"])
            .runs_again("cut", POWER_AND_HOSE),
        scene(
            "the pump is gone and the cutter is out of service: a pump alone does not bring the cut back",
            ABOARD,
            but(without(set(), "PU-1"), "CU-1", Said::out),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-pump", "l-cutter"])
        .runs_again("cut", Option::None)
        .runs_again("push", POWER),
        scene(
            "a list of tools alone is complete without a pump, and the rig has no level",
            ABOARD,
            tools(),
            None,
        )
        .list(slots().split_off(3), Complete),
        scene(
            "the pump is gone and a hand pump of another family is aboard: hoses and tools are aboard",
            ABOARD,
            and(without(set(), "PU-1"), [hand_pump("HP-1").coupled("Twin")]),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-pump"]),
        scene(
            "a cutter that mates with nothing aboard fills no slot, pump or no pump",
            "seen answered wrong once; common practice, no source",
            but(without(set(), "PU-1"), "CU-1", |p| p.coupled("Twin")),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-pump", "l-cutter"])
        .near("l-cutter", CouplingDiffers),
        scene(
            "a battery cutter whose packs are at the shop is aboard",
            ABOARD,
            and(set(), [cutter("CU-2").on_battery("28V")]),
            Full,
        )
        .list(and_slot(slot("l-cutter-2", Kind::Cutter)), Complete),
        scene(
            "a pack whose tool is out of service is aboard",
            ABOARD,
            and(set(), [cutter("CU-2").on_battery("28V").out(), pack("BA-1")]),
            Full,
        )
        .list(and_slot(slot("l-pack", Kind::Battery)), Complete),
        scene(
            "a cutter rated for less than the pump gives fills no slot",
            "CHECKS, complement_cases.json",
            but(set(), "CU-1", |p| p.at(bar(350.0))),
            None,
        )
        .list(slots(), Incomplete)
        .open(&["l-cutter"]),
        scene(
            "a hose that the pump would burst fills no slot",
            "design 4.2; common practice, no source",
            but(set(), "HO-2", |p| p.at(bar(350.0))),
            Full,
        )
        .list(slots(), Incomplete)
        .open(&["l-hose-2"]),
        scene("an optional slot may be empty", LIST, set(), Full).list(and_slot(optional), Complete),
        scene("one cutter does not fill two slots", "design 4.3: a slot asks for one piece", set(), Full)
            .list(and_slot(slot("l-cutter-2", Kind::Cutter)), Incomplete),
        scene("a hose of 10 m is none of 20 m", LIST, set(), Full)
            .list(slots().into_iter().filter(|s| s.id != "l-hose-2").chain([long_hose]).collect(), Incomplete)
            .near("l-long", MinimumNotMet),
        scene(
            "a ram out of service leaves its slot empty and the rig limited",
            LIST,
            but(set(), "RA-1", Said::out),
            Limited,
        )
        .list(slots(), Incomplete)
        .near("l-ram", OutOfService)
        .near("push", OutOfService),
        scene(
            "a cutter that does not mate fills no slot",
            "seen answered wrong once; common practice, no source",
            but(set(), "CU-1", |p| p.coupled("Twin")),
            None,
        )
        .list(slots(), Incomplete)
        .near("l-cutter", CouplingDiffers),
        scene(
            "a cutter for another fluid fills no slot",
            "seen answered wrong once; common practice, no source",
            but(set(), "CU-1", |p| p.filled_with(Some(Fluid::PhosphateEster))),
            None,
        )
        .list(slots(), Incomplete)
        .near("l-cutter", FluidDiffers)
        .runs_again("cut", Option::None),
        scene(
            "a hose whose life has ended fills no slot",
            "seen answered wrong once; common practice, no source",
            but(set(), "HO-2", |p| p.ends(t("2021-03-01T00:00:00"))),
            Full,
        )
        .list(slots(), Incomplete)
        .near("l-hose-2", LifeEnded),
        scene(
            "an unchecked piece fills its slot: complete and confirmed are two answers",
            LIST,
            but(set(), "RA-1", Said::unplanned),
            Full,
        )
        .list(slots(), Complete)
        .confirmed_only(Limited, &[ReasonCode::NoPlan]),
        scene("a pumper that is expected to be limited and is full is full", LIST, set(), Full).expects(Limited),
        scene(
            "a rig without a class has a level all the same",
            "design 4.3: judged for every rig, whatever its class",
            set(),
            Full,
        ),
        scene("an empty list is complete at once", LIST, set(), Full).list(Vec::new(), Complete),
        scene(
            "a complete list below its expected grade: the list asks for less than full",
            LIST,
            without(set(), "RA-1"),
            Limited,
        )
        .list(slots().into_iter().filter(|s| s.id != "l-ram").collect(), Complete)
        .expects(Full)
        .near("push", NoneAboard),
        scene(
            "a grade may ask for chains",
            "design 4.3: a part has kinds",
            with_gear(Some(Gear::Chains)),
            Full,
        )
        .by(chains_in_grade()),
        scene("ram support is none", GEAR, with_gear(Some(Gear::RamSupport)), Limited)
            .by(chains_in_grade())
            .near("cut", AnotherAccessory),
    ]
}
