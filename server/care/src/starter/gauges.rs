//! What is measured on the gauge: of pumps once a year and under load, of everything under pressure at its end stop.

use super::{
    cautions::NO_HAND,
    pumps::{colour, dump, labels, tight},
    sources,
    steps::{choice, held, nominal, number, yes},
};
use crate::plan::Step;
use fullset_calc::release::{
    DefectClass::{self, Leak, Other, Pressure},
    Measure,
};

/// How long it holds at the end stop, and whether it leaks there.
pub(super) fn end_stop(title: &str, how: &str, fails_as: DefectClass, leak: &str, source: &str) -> [Step; 2] {
    [
        number("hold", title, how, Measure::HoldSeconds, held(), fails_as)
            .mind(NO_HAND)
            .running()
            .from(source),
        yes("leak", "Leak at the end stop", leak, Leak)
            .reads(Measure::LeakAtEndStop)
            .mind(NO_HAND)
            .running()
            .from(source),
    ]
}

pub(super) fn serviced() -> Vec<Step> {
    let mut all = vec![
        yes(
            "sound",
            "Looked over as a whole: nothing wrong",
            "Tank, frame, ports, hoses fixed to it, drive.",
            Other,
        )
        .reads(Measure::SoundToLook)
        .from(sources::PUMP),
        tight(),
        colour(),
        choice(
            "fluid-change",
            "Date of the last fluid change",
            "Read it on the label or in the book.",
            &["in the maker's time"],
            &["over it", "not known"],
            Other,
        )
        .from(sources::PUMP),
        labels(),
    ];
    all.extend(gauge());
    all.push(relief());
    all
}

fn relief() -> Step {
    number(
        "relief",
        "Relief valve opens at",
        "Gauge between pump and tool, tool at its end stop. Raise the pressure until the valve opens.",
        Measure::ReliefOpensAt,
        nominal(),
        Pressure,
    )
    .mind(NO_HAND)
    .loaded()
    .from(sources::PUMP_LOAD)
}

/// With a gauge in the line and a tool at its end: it needs no pump alone under pressure.
fn gauge() -> Vec<Step> {
    let [hold, leak] = end_stop(
        "How long it holds that pressure",
        "Keep the control open and count on a watch.",
        Pressure,
        "While it holds: pump, hose, couplings and tool, with a card.",
        sources::PUMP,
    );
    let with_tool = "Gauge between pump and tool, tool at its end stop, full speed. Read the gauge.";
    vec![
        number("pressure", "Pressure reached", with_tool, Measure::PressureReached, nominal(), Pressure)
            .mind(NO_HAND)
            .running(),
        hold,
        leak,
    ]
}

pub(super) fn loaded() -> Vec<Step> {
    let mut all = vec![
        yes(
            "sound",
            "Looked over as a whole: nothing wrong",
            "Tank, frame, ports, hoses fixed to it, drive.",
            Other,
        )
        .reads(Measure::SoundToLook)
        .from(sources::PUMP),
        tight(),
        dump(),
    ];
    all.push(relief());
    let alone = Step {
        optional: true,
        pump_alone: true,
        ..number(
            "relief-alone",
            "Relief valve opens at, pump alone",
            "Gauge on the outlet, no tool. Dump the pressure afterwards and see the gauge fall to nothing.",
            Measure::ReliefOpensAt,
            nominal(),
            Pressure,
        )
        .mind("Never where the pump has no dump valve: it stays under pressure.")
        .loaded()
        .from(sources::PUMP_LOAD)
    };
    all.push(alone);
    all
}
