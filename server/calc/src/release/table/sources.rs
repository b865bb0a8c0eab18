//! Power unit and hand pump.

use super::{Back, COMMON, ELECTRIC, EVENT, PUMP, crew, never, officer};
use crate::release::{
    DefectClass, Measure,
    rule::{
        RepairWithin::{TenDays, ThreeDays},
        Ruling,
    },
};

/// The whole test of a pump.
pub(in crate::release) const PUMP_TEST: &[Measure] = &[
    Measure::SoundToLook,
    Measure::ReliefOpensAt,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
];
/// The same after fluids were mixed.
const PUMP_FLUSHED: &[Measure] = &[
    Measure::Flushed,
    Measure::ReliefOpensAt,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
];
/// The same with what drives it.
const PUMP_DRIVEN: &[Measure] = &[
    Measure::SoundToLook,
    Measure::Insulation,
    Measure::ReliefOpensAt,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
];

const SEEP: &str = "Only a film that a card picks up: never feel for it with a hand. Wipe it and look again before and after each use. If it drips, sprays or \
                    grows, or if it is fuel, stop and take it out of service.";
const DENT: &str = "Only housing, frame or handle: not the tank, a guard or a coupling. Do not run it if a part rubs, rattles or gets hot; then take it out of \
                    service.";
const LAMP: &str = "Only what does not drive the pump, a lamp or a gauge light. Do not use it with a damaged cable, plug or switch; take it out of service.";
const WATCH: &str = "Use it only with an officer watching. If it gets worse, or anything else is odd, stop and take it out of service.";

pub(super) const fn power_unit(class: DefectClass) -> Ruling {
    match class {
        // A cable, a fixed hose or a fuel line.
        DefectClass::CutOrBlister => never(Back::test(PUMP_DRIVEN), ELECTRIC),
        DefectClass::Leak => officer(SEEP, ThreeDays, Back::test(PUMP_TEST), PUMP),
        // A hose or cable that is fixed to it.
        DefectClass::Kink => never(Back::test(PUMP_TEST), PUMP),
        DefectClass::Deformation => crew(DENT, TenDays, Back::LOOK, COMMON),
        DefectClass::DropOrOverload => never(Back::test(PUMP_TEST), EVENT),
        DefectClass::Fire => never(Back::after_manual(PUMP_DRIVEN), EVENT),
        DefectClass::Flood => never(Back::after_manual(PUMP_DRIVEN).on_battery_by_maker(), EVENT),
        DefectClass::Electrical => officer(LAMP, TenDays, Back::test(PUMP_DRIVEN), ELECTRIC),
        DefectClass::FluidMix => never(Back::after_manual(PUMP_FLUSHED), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(PUMP_TEST), EVENT),
        // Dump valve or throttle.
        DefectClass::ControlDoesNotReturn => never(Back::test(PUMP_TEST), PUMP),
        DefectClass::Pressure => never(Back::test(PUMP_TEST), PUMP),
        // What nobody has named may be the pressure: a look does not show it.
        DefectClass::Other => officer(WATCH, TenDays, Back::test(PUMP_TEST), COMMON),
    }
}

pub(super) const fn hand_pump(class: DefectClass) -> Ruling {
    match class {
        // A fixed hose.
        DefectClass::CutOrBlister => never(Back::test(PUMP_TEST), PUMP),
        DefectClass::Leak => officer(SEEP, ThreeDays, Back::test(PUMP_TEST), PUMP),
        DefectClass::Kink => never(Back::test(PUMP_TEST), PUMP),
        DefectClass::Deformation => crew(DENT, TenDays, Back::LOOK, COMMON),
        DefectClass::DropOrOverload => never(Back::test(PUMP_TEST), EVENT),
        DefectClass::Fire => never(Back::after_manual(PUMP_TEST), EVENT),
        DefectClass::Flood => never(Back::test(PUMP_TEST), EVENT),
        DefectClass::Electrical => Ruling::NotApplicable,
        DefectClass::FluidMix => never(Back::after_manual(PUMP_FLUSHED), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(PUMP_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => never(Back::test(PUMP_TEST), PUMP),
        DefectClass::Pressure => never(Back::test(PUMP_TEST), PUMP),
        // What nobody has named may be the pressure: a look does not show it.
        DefectClass::Other => officer(WATCH, TenDays, Back::test(PUMP_TEST), COMMON),
    }
}
