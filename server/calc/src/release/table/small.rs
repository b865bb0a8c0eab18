//! Hose, adapter, battery, charger and accessory.

use super::{Back, COMMON, ELECTRIC, EVENT, HOSE_REJECT, LOAD_GEAR, PACK, crew, never, officer};
use crate::release::{
    DefectClass, Measure,
    rule::{
        RepairWithin::{HundredTwentyDays, TenDays, ThreeDays},
        Ruling,
    },
};

/// The test of a hose.
pub(in crate::release) const HOSE_TEST: &[Measure] = &[Measure::SoundToLook, Measure::PressureReached, Measure::HoldSeconds, Measure::LeakAtEndStop];
const HOSE_FLUSHED: &[Measure] = &[Measure::Flushed, Measure::PressureReached, Measure::HoldSeconds, Measure::LeakAtEndStop];
const PACK_TEST: &[Measure] = &[Measure::SoundToLook, Measure::Charge];
const CHARGER_TEST: &[Measure] = &[Measure::SoundToLook, Measure::Insulation, Measure::Charge];
const LOOKED_OVER: &[Measure] = &[Measure::SoundToLook];

const COUPLING: &str = "Only a dust cap, a label or a grip that is missing or worn: the hose itself is sound over its whole length and does not leak. If it is \
                        cut, blistered, kinked or wet, take it out of service.";
const ADAPTER: &str = "Only a dust cap or a label that is missing or worn: both couplings are sound, clean and dry. If it leaks, sticks or is bent, take it \
                       out of service.";
const PACK_WATCH: &str = "Do not count on its run time: keep a second charged pack with it. If it gets hot, swells or smells, put it outside, away from \
                          everything, and take it out of service.";
const CHARGER_DENT: &str = "Only the housing: cable, plug and contacts are sound. Do not leave it charging alone. If it gets hot or smells, pull the plug and take \
                            it out of service.";
const COVER: &str = "Only covers and bags: nothing that carries or holds a load. Double it or use another one. If it carries or holds a load, take it out of \
                     service.";
const WATCH: &str = "Use it only with an officer watching, and never to carry a load. If it gets worse, stop and take it out of service.";

pub(super) const fn hose(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => never(Back::unless_maker(HOSE_TEST), HOSE_REJECT),
        // Of a coupling; a body that leaks is damaged.
        DefectClass::Leak => never(Back::test(HOSE_TEST), HOSE_REJECT),
        DefectClass::Kink => never(Back::unless_maker(HOSE_TEST), HOSE_REJECT),
        DefectClass::Deformation => never(Back::unless_maker(HOSE_TEST), HOSE_REJECT),
        // Run over, or run at too high a pressure.
        DefectClass::DropOrOverload => never(Back::test(HOSE_TEST), EVENT),
        DefectClass::Fire => never(Back::unless_maker(HOSE_TEST), EVENT),
        DefectClass::Flood => never(Back::test(HOSE_TEST), EVENT),
        DefectClass::Electrical => Ruling::NotApplicable,
        DefectClass::FluidMix => never(Back::after_manual(HOSE_FLUSHED), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(HOSE_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => Ruling::NotApplicable,
        DefectClass::Pressure => Ruling::NotApplicable,
        // What nobody has named may be a cut that a look misses.
        DefectClass::Other => officer(COUPLING, TenDays, Back::test(HOSE_TEST), COMMON),
    }
}

/// An adapter is two couplings and what joins them: it is tested as a hose is, and has nothing to be cut or kinked.
pub(super) const fn adapter(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => Ruling::NotApplicable,
        DefectClass::Leak => never(Back::test(HOSE_TEST), HOSE_REJECT),
        DefectClass::Kink => Ruling::NotApplicable,
        DefectClass::Deformation => never(Back::unless_maker(HOSE_TEST), COMMON),
        DefectClass::DropOrOverload => never(Back::test(HOSE_TEST), EVENT),
        DefectClass::Fire => never(Back::unless_maker(HOSE_TEST), EVENT),
        DefectClass::Flood => never(Back::test(HOSE_TEST), EVENT),
        DefectClass::Electrical => Ruling::NotApplicable,
        DefectClass::FluidMix => never(Back::after_manual(HOSE_FLUSHED), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(HOSE_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => Ruling::NotApplicable,
        DefectClass::Pressure => Ruling::NotApplicable,
        DefectClass::Other => officer(ADAPTER, TenDays, Back::test(HOSE_TEST), COMMON),
    }
}

pub(super) const fn battery(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => never(Back::NEVER, PACK),
        DefectClass::Leak => never(Back::NEVER, PACK),
        DefectClass::Kink => Ruling::NotApplicable,
        DefectClass::Deformation => never(Back::unless_maker(PACK_TEST), PACK),
        DefectClass::DropOrOverload => never(Back::NEVER, PACK),
        DefectClass::Fire => never(Back::NEVER, PACK),
        DefectClass::Flood => never(Back::NEVER, PACK),
        DefectClass::Electrical => officer(PACK_WATCH, ThreeDays, Back::test(PACK_TEST), ELECTRIC),
        DefectClass::FluidMix => Ruling::NotApplicable,
        DefectClass::StuckUnderPressure => Ruling::NotApplicable,
        DefectClass::ControlDoesNotReturn => Ruling::NotApplicable,
        DefectClass::Pressure => Ruling::NotApplicable,
        DefectClass::Other => officer(PACK_WATCH, TenDays, Back::LOOK, COMMON),
    }
}

pub(super) const fn charger(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => never(Back::test(CHARGER_TEST), ELECTRIC),
        DefectClass::Leak => Ruling::NotApplicable,
        // Its cable.
        DefectClass::Kink => never(Back::test(CHARGER_TEST), ELECTRIC),
        DefectClass::Deformation => crew(CHARGER_DENT, TenDays, Back::LOOK, ELECTRIC),
        DefectClass::DropOrOverload => never(Back::test(CHARGER_TEST), EVENT),
        DefectClass::Fire => never(Back::unless_maker(CHARGER_TEST), EVENT),
        DefectClass::Flood => never(Back::unless_maker(CHARGER_TEST), EVENT),
        DefectClass::Electrical => never(Back::test(CHARGER_TEST), ELECTRIC),
        DefectClass::FluidMix => Ruling::NotApplicable,
        DefectClass::StuckUnderPressure => Ruling::NotApplicable,
        DefectClass::ControlDoesNotReturn => never(Back::test(CHARGER_TEST), ELECTRIC),
        DefectClass::Pressure => Ruling::NotApplicable,
        DefectClass::Other => officer(CHARGER_DENT, TenDays, Back::LOOK, COMMON),
    }
}

pub(super) const fn accessory(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => officer(COVER, TenDays, Back::after_manual(LOOKED_OVER), LOAD_GEAR),
        // Of a lifting bag or a ram support with fluid.
        DefectClass::Leak => never(Back::after_manual(LOOKED_OVER), LOAD_GEAR),
        DefectClass::Kink => never(Back::after_manual(LOOKED_OVER), LOAD_GEAR),
        // Bent load gear is not passed by eye.
        DefectClass::Deformation => never(Back::after_manual(LOOKED_OVER), LOAD_GEAR),
        DefectClass::DropOrOverload => never(Back::after_manual(LOOKED_OVER), EVENT),
        DefectClass::Fire => never(Back::after_manual(LOOKED_OVER), EVENT),
        DefectClass::Flood => never(Back::after_manual(LOOKED_OVER), EVENT),
        DefectClass::Electrical => officer(WATCH, HundredTwentyDays, Back::after_manual(LOOKED_OVER), ELECTRIC),
        DefectClass::FluidMix => never(Back::after_manual(LOOKED_OVER), EVENT),
        DefectClass::StuckUnderPressure => never(Back::after_manual(LOOKED_OVER), EVENT),
        DefectClass::ControlDoesNotReturn => never(Back::after_manual(LOOKED_OVER), COMMON),
        DefectClass::Pressure => Ruling::NotApplicable,
        DefectClass::Other => officer(WATCH, HundredTwentyDays, Back::LOOK, COMMON),
    }
}
