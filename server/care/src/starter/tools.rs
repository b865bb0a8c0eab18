//! Cutter, spreader, combination tool and ram, on a hose or a battery.

use super::{
    ByRhythm,
    cautions::{BLOOD, CLEAR, DUMP_FIRST, NO_CARRY, NO_HAND, PACK, RATED, UNDER_LOAD},
    gauges::end_stop,
    sources,
    steps::{most_of, number, stroke_time, yes},
};
use crate::plan::{Drive, Limit, RatedFigure, Step};
use fullset_calc::release::{
    DefectClass::{ControlDoesNotReturn, CutOrBlister, Deformation, Electrical, Leak, Other, Pressure},
    Measure,
};

const HOSE: &[Drive] = &[Drive::Hose, Drive::Hand];
const PACKS: &[Drive] = &[Drive::Battery];

fn clean() -> Step {
    yes(
        "clean",
        "Wiped down, nothing cut, bent or cracked",
        "All sides, handle and guard too.",
        Deformation,
    )
    .mind(BLOOD)
    .from(sources::AFTER_USE)
}

fn dry() -> Step {
    yes("dry", "Dry at hoses, glands and valve", "Wipe it, look again after a minute.", Leak)
        .mind(NO_HAND)
        .from(sources::AFTER_USE)
}

fn hose_end() -> Step {
    yes(
        "hose-ends",
        "Hose ends and couplings whole, caps joined",
        "No cut, blister or kink at the tool. Couplings clean and easy, caps joined.",
        CutOrBlister,
    )
    .mind(DUMP_FIRST)
    .only(HOSE)
    .from(sources::CAPS)
}

fn full_stroke() -> Step {
    yes(
        "full-stroke",
        "Full open and full closed, no jerk",
        "On its own hose or pack. All the way both ways, evenly.",
        Pressure,
    )
    .mind(CLEAR)
    .running()
    .from(sources::RHYTHM)
}

fn end_stops() -> Step {
    yes(
        "end-stops",
        "Ten seconds at each end stop: no leak",
        "Hold the control ten seconds open, ten seconds closed. Look with a card.",
        Leak,
    )
    .mind(NO_HAND)
    .running()
    .from(sources::PUMP)
}

fn control() -> Step {
    yes(
        "control",
        "Control springs back, and the tool holds",
        "Let go half way, both ways: the control goes to neutral at once and the tool stays.",
        ControlDoesNotReturn,
    )
    .mind(CLEAR)
    .running()
}

fn pack() -> Step {
    yes(
        "pack",
        "Pack sits, contacts clean, charge shown",
        "Click it in. Contacts dry and bright. Press the gauge.",
        Electrical,
    )
    .mind(PACK)
    .only(PACKS)
    .from(sources::ELECTRIC)
}

fn lights() -> Step {
    yes(
        "labels",
        "Labels and tag can be read",
        "Maker's plate, arrows at the control, asset tag.",
        Other,
    )
    .from(sources::PUMP)
}

fn stowed() -> Step {
    yes(
        "stowed",
        "Stowed as on the card",
        "Nearly closed, not jammed shut, held fast, no weight on its hose.",
        Other,
    )
    .mind(NO_CARRY)
}

fn screws() -> Step {
    yes(
        "screws",
        "Screws, pins and locks tight",
        "Valve block, pivot and handle. Marks in line, nothing turns by hand.",
        Deformation,
    )
    .from(sources::SCREWS)
}

fn blades() -> Step {
    yes(
        "blades",
        "Blades: no crack, no nick, close in line",
        "Look along the edge and at the root. They pass each other and do not spread apart.",
        Deformation,
    )
    .mind(CLEAR)
}

fn tips() -> Step {
    yes(
        "tips",
        "Tips and arms whole, pinned, meeting",
        "Arms straight and meeting when closed. Ridges sharp, no crack, pins and locks in.",
        Deformation,
    )
    .mind(CLEAR)
    .from(sources::SPREADER)
}

fn feet() -> Step {
    yes(
        "heads",
        "Heads and piston straight and clean",
        "Claws sharp, heads turn and are pinned. Piston without score, dent or rust.",
        Deformation,
    )
}

fn chains() -> Step {
    yes(
        "chain-points",
        "Chain points and pins whole",
        "Where the chain hooks in: no crack, pin with its clip.",
        Deformation,
    )
    .mind(RATED)
}

fn sound(how: &str) -> Step {
    yes("sound", "Looked over as a whole: nothing wrong", how, Other).reads(Measure::SoundToLook)
}

/// What every tool is measured for once a year. On a battery there is no line to put a gauge in.
fn serviced() -> Vec<Step> {
    let [hold, leak] = end_stop(
        "How long it holds at the end stop",
        "Keep the control open and count on a watch.",
        Leak,
        "While it holds, with a card.",
        sources::PUMP,
    );
    vec![
        number(
            "pressure",
            "Pressure at the end stop",
            "Gauge in the line, tool at its end stop.",
            Measure::PressureReached,
            super::steps::nominal(),
            Pressure,
        )
        .mind(NO_HAND)
        .running()
        .only(HOSE),
        hold,
        leak,
        yes(
            "stroke",
            "Full stroke both ways, stops when let go",
            "Three times, without load.",
            ControlDoesNotReturn,
        )
        .reads(Measure::FunctionFullStroke)
        .mind(CLEAR)
        .running()
        .from(sources::RHYTHM),
        number(
            "opening",
            "Opening time",
            "Closed to open, no load, full speed. On a watch.",
            Measure::OpeningTime,
            stroke_time(),
            Pressure,
        )
        .mind(CLEAR)
        .running()
        .from(sources::SPREADER_LOAD),
        number(
            "closing",
            "Closing time",
            "Open to closed, no load, full speed. On a watch.",
            Measure::ClosingTime,
            stroke_time(),
            Pressure,
        )
        .mind(CLEAR)
        .running()
        .from(sources::SPREADER_LOAD),
        lights(),
    ]
}

fn spreading() -> Step {
    number(
        "spreading-force",
        "Spreading force",
        "Test gear at the maker's measuring point. Write down the highest steady value.",
        Measure::SpreadingForce,
        most_of(RatedFigure::SpreadingForce),
        Pressure,
    )
    .mind(UNDER_LOAD)
    .loaded()
    .from(sources::SPREADER_LOAD)
}

fn pulling() -> Step {
    number(
        "pulling-force",
        "Pulling force",
        "Test gear at the maker's measuring point, rated chain.",
        Measure::PullingForce,
        most_of(RatedFigure::PullingForce),
        Pressure,
    )
    .mind(UNDER_LOAD)
    .loaded()
    .from(sources::SPREADER_LOAD)
}

fn test_cut() -> Step {
    yes(
        "test-piece",
        "Cuts the maker's test piece",
        "The bar or tube that the manual names, in one stroke. Look at the blades again.",
        Deformation,
    )
    .reads(Measure::TestPieceCut)
    .mind(UNDER_LOAD)
    .loaded()
}

fn pushing() -> Step {
    number(
        "push-force",
        "Pushing force",
        "In the maker's test frame, first stage, supported at both ends.",
        Measure::PushForce,
        vec![Limit::MakersBound],
        Pressure,
    )
    .mind(UNDER_LOAD)
    .loaded()
}

/// What all tools are asked, with the looks that are their own.
fn tool(own: &[fn() -> Step], load: Vec<Step>) -> ByRhythm {
    let looks = || own.iter().map(|step| step());
    let with = |first: Vec<Step>, last: Vec<Step>| first.into_iter().chain(looks()).chain(last).collect::<Vec<_>>();
    ByRhythm {
        after_use: with(vec![clean(), dry()], vec![hose_end(), pack(), stowed()]),
        weekly: with(vec![pack(), hose_end()], vec![full_stroke(), end_stops(), control(), stowed()]),
        monthly: with(Vec::new(), vec![screws(), lights()]),
        annual: with(vec![sound("Housing, handle, guard, pivot, hose ends.")], {
            let mut all = vec![screws()];
            all.extend(serviced());
            all.push(
                yes("insulation", "Insulation test passed", "As the maker says, pack out.", Electrical)
                    .reads(Measure::Insulation)
                    .only(PACKS)
                    .from(sources::ELECTRIC),
            );
            all
        }),
        load: with(vec![sound("Housing, handle, guard, pivot: a load test is made on a sound tool only.")], {
            let mut all = vec![full_stroke(), end_stops(), control()];
            all.extend(load);
            all
        }),
    }
}

pub(super) fn cutter() -> ByRhythm {
    tool(&[blades], vec![test_cut()])
}

pub(super) fn spreader() -> ByRhythm {
    tool(&[tips, chains], vec![spreading(), pulling()])
}

pub(super) fn combination_tool() -> ByRhythm {
    tool(&[blades, tips], vec![spreading(), pulling(), test_cut()])
}

pub(super) fn ram() -> ByRhythm {
    tool(&[feet], vec![pushing()])
}
