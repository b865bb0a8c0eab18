//! Cutter, spreader, combination tool and ram. On a battery tool what needs a pump's gauge is not asked for.

use super::{Back, COMMON, ELECTRIC, EVENT, NO_LIMIT, SPREADER, TIGHT, never, officer};
use crate::release::{
    DefectClass, Measure,
    rule::{
        RepairWithin::{TenDays, ThreeDays},
        Ruling,
    },
};

/// Tight and moving: after a small repair, and once a year.
pub(in crate::release) const TIGHT_TEST: &[Measure] = &[
    Measure::SoundToLook,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
    Measure::FunctionFullStroke,
];
const FLUSHED_TEST: &[Measure] = &[
    Measure::Flushed,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
    Measure::FunctionFullStroke,
];
const ELECTRIC_TEST: &[Measure] = &[Measure::SoundToLook, Measure::Insulation, Measure::FunctionFullStroke];
const SPREADER_TEST: &[Measure] = &[
    Measure::SoundToLook,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
    Measure::FunctionFullStroke,
    Measure::SpreadingForce,
    Measure::PullingForce,
    Measure::OpeningTime,
    Measure::ClosingTime,
];
const CUTTER_TEST: &[Measure] = &[
    Measure::SoundToLook,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
    Measure::FunctionFullStroke,
    Measure::OpeningTime,
    Measure::ClosingTime,
    Measure::TestPieceCut,
];
const COMBINATION_TEST: &[Measure] = &[
    Measure::SoundToLook,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
    Measure::FunctionFullStroke,
    Measure::SpreadingForce,
    Measure::PullingForce,
    Measure::OpeningTime,
    Measure::ClosingTime,
    Measure::TestPieceCut,
];
const RAM_TEST: &[Measure] = &[
    Measure::SoundToLook,
    Measure::PressureReached,
    Measure::HoldSeconds,
    Measure::LeakAtEndStop,
    Measure::FunctionFullStroke,
    Measure::PushForce,
];

const SEEP: &str = "Only a film that a card picks up: never feel for it with a hand. Wipe it and look again before and after each use. If it drips, sprays or \
                    grows, stop, dump the pressure and take it out of service.";
const NICK: &str = "Only small nicks, no crack, and the blades do not spread apart. Do not cut hard or thick parts with it: use another cutter for them. If the \
                    nick grows or a blade cracks, take it out of service.";
const RIDGE: &str = "Only worn ridges or a dented housing: arms straight and meeting, no crack. Do not lift or pull with worn tips; use another tool. If a tip \
                     slips, stop and take it out of service.";
const WORN: &str = "Only worn tips or a dented housing: arms straight, no crack. Cut and spread light parts only, and take another tool for the rest. If a tip \
                    slips or a blade cracks, take it out of service.";
const FOOT: &str = "Only a worn foot or a dented housing: the piston is straight and clean. Do not use it where it can slip: set another ram. If it slips or moves \
                    by jerks, stop and take it out of service.";
const CONTACT: &str = "Only what does not drive the tool, a lamp or a display. Do not use it if it starts or stops by itself: take the pack out and take it out of \
                       service.";
const WATCH: &str = "Use it only with an officer watching. If it gets worse, or anything else is odd, stop and take it out of service.";

pub(super) const fn cutter(class: DefectClass) -> Ruling {
    match class {
        // The fixed hose ends, the case of a battery tool.
        DefectClass::CutOrBlister => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Leak => officer(SEEP, ThreeDays, Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Kink => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Deformation => officer(NICK, TenDays, Back::after_manual(CUTTER_TEST), NO_LIMIT),
        DefectClass::DropOrOverload => never(Back::after_manual(CUTTER_TEST), EVENT),
        DefectClass::Fire => never(Back::after_manual(CUTTER_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Flood => never(Back::test(TIGHT_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Electrical => officer(CONTACT, TenDays, Back::test(ELECTRIC_TEST), ELECTRIC),
        DefectClass::FluidMix => never(Back::after_manual(FLUSHED_TEST), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(TIGHT_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => never(Back::test(TIGHT_TEST), COMMON),
        // Weak or slow.
        DefectClass::Pressure => never(Back::after_manual(CUTTER_TEST), NO_LIMIT),
        // What nobody has named may be inside: a look does not show it.
        DefectClass::Other => officer(WATCH, TenDays, Back::test(TIGHT_TEST), COMMON),
    }
}

pub(super) const fn spreader(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Leak => officer(SEEP, ThreeDays, Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Kink => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Deformation => officer(RIDGE, TenDays, Back::test(SPREADER_TEST), SPREADER),
        DefectClass::DropOrOverload => never(Back::test(SPREADER_TEST), EVENT),
        DefectClass::Fire => never(Back::after_manual(SPREADER_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Flood => never(Back::test(TIGHT_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Electrical => officer(CONTACT, TenDays, Back::test(ELECTRIC_TEST), ELECTRIC),
        DefectClass::FluidMix => never(Back::after_manual(FLUSHED_TEST), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(TIGHT_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => never(Back::test(TIGHT_TEST), COMMON),
        // Weak or slow.
        DefectClass::Pressure => never(Back::test(SPREADER_TEST), SPREADER),
        // What nobody has named may be inside: a look does not show it.
        DefectClass::Other => officer(WATCH, TenDays, Back::test(TIGHT_TEST), COMMON),
    }
}

pub(super) const fn combination_tool(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Leak => officer(SEEP, ThreeDays, Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Kink => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Deformation => officer(WORN, TenDays, Back::after_manual(COMBINATION_TEST), SPREADER),
        DefectClass::DropOrOverload => never(Back::after_manual(COMBINATION_TEST), EVENT),
        DefectClass::Fire => never(Back::after_manual(COMBINATION_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Flood => never(Back::test(TIGHT_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Electrical => officer(CONTACT, TenDays, Back::test(ELECTRIC_TEST), ELECTRIC),
        DefectClass::FluidMix => never(Back::after_manual(FLUSHED_TEST), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(TIGHT_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => never(Back::test(TIGHT_TEST), COMMON),
        // Weak or slow.
        DefectClass::Pressure => never(Back::after_manual(COMBINATION_TEST), SPREADER),
        // What nobody has named may be inside: a look does not show it.
        DefectClass::Other => officer(WATCH, TenDays, Back::test(TIGHT_TEST), COMMON),
    }
}

pub(super) const fn ram(class: DefectClass) -> Ruling {
    match class {
        DefectClass::CutOrBlister => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Leak => officer(SEEP, ThreeDays, Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Kink => never(Back::test(TIGHT_TEST), TIGHT),
        DefectClass::Deformation => officer(FOOT, TenDays, Back::after_manual(RAM_TEST), NO_LIMIT),
        DefectClass::DropOrOverload => never(Back::after_manual(RAM_TEST), EVENT),
        DefectClass::Fire => never(Back::after_manual(RAM_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Flood => never(Back::test(TIGHT_TEST).on_battery_by_maker(), EVENT),
        DefectClass::Electrical => officer(CONTACT, TenDays, Back::test(ELECTRIC_TEST), ELECTRIC),
        DefectClass::FluidMix => never(Back::after_manual(FLUSHED_TEST), EVENT),
        DefectClass::StuckUnderPressure => never(Back::test(TIGHT_TEST), EVENT),
        DefectClass::ControlDoesNotReturn => never(Back::test(TIGHT_TEST), COMMON),
        // Weak or slow.
        DefectClass::Pressure => never(Back::after_manual(RAM_TEST), NO_LIMIT),
        // What nobody has named may be inside: a look does not show it.
        DefectClass::Other => officer(WATCH, TenDays, Back::test(TIGHT_TEST), COMMON),
    }
}
