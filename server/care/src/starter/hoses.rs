//! Hoses and adapters.

use super::{
    ByRhythm,
    cautions::{BLOOD, DUMP_FIRST, NO_CARRY, NO_HAND},
    gauges::end_stop,
    sources,
    steps::{choice, nominal, number, yes},
};
use crate::plan::Step;
use fullset_calc::release::{
    DefectClass::{CutOrBlister, Deformation, Kink, Leak, Other, Pressure},
    Measure,
};

fn cover() -> Step {
    yes(
        "cover",
        "Cover whole over its whole length",
        "Lay it out, look and bend it gently, both sides. No cut, blister, soft spot or crack.",
        CutOrBlister,
    )
    .mind("Without pressure in it. A hose that is cut to the braid, blistered or kinked is never used again.")
    .from(sources::HOSE_REJECT)
}

fn kinks() -> Step {
    yes(
        "kinks",
        "No kink, not flat, not crushed",
        "Along its whole length, at the bend guards above all.",
        Kink,
    )
    .from(sources::HOSE)
}

fn fittings() -> Step {
    yes(
        "fittings",
        "Fittings dry, straight, hose not creeping out",
        "Look at the sleeve at both ends: no gap, no rust, no bend.",
        Leak,
    )
    .mind(NO_HAND)
    .from(sources::HOSE_REJECT)
}

fn couplings() -> Step {
    yes(
        "couplings",
        "Couplings clean, easy, locked; caps joined",
        "Wipe both halves, join and lock once. Caps joined while it is coupled.",
        Other,
    )
    .mind(DUMP_FIRST)
    .from(sources::CAPS)
}

fn made() -> Step {
    choice(
        "date-of-make",
        "Date of make, and still in its life",
        "Read it on the hose and the sleeve. Ten years, or what the agency says.",
        &["can be read, in its life"],
        &["can be read, too old", "cannot be read"],
        Other,
    )
    .from(sources::HOSE_LIFE)
}

fn laid() -> Step {
    yes(
        "laid",
        "Laid without kink or twist, as on the card",
        "Wide bends, nothing on top, no sharp edge beside it.",
        Kink,
    )
    .mind(NO_CARRY)
}

/// On the gauge, in a line with a tool at its end stop.
fn in_line() -> [Step; 3] {
    let [hold, leak] = end_stop(
        "How long it holds that pressure",
        "On a watch, standing clear of it.",
        Leak,
        "While it holds, with a card.",
        sources::HOSE,
    );
    [
        number(
            "pressure",
            "Pressure in the line",
            "Gauge at the far end, tool at its end stop.",
            Measure::PressureReached,
            nominal(),
            Pressure,
        )
        .mind(NO_HAND)
        .running(),
        hold,
        leak,
    ]
}

pub(super) fn hose() -> ByRhythm {
    ByRhythm {
        after_use: vec![
            yes(
                "clean",
                "Wiped down, free of oil and glass",
                "Pull it through a cloth, gloves on.",
                CutOrBlister,
            )
            .mind(BLOOD)
            .from(sources::AFTER_USE),
            cover(),
            couplings(),
            laid(),
        ],
        weekly: vec![
            kinks(),
            fittings(),
            yes(
                "tight",
                "Tight under pressure at the tool's end stop",
                "Ten seconds with a tool at its end stop. Look along it with a card.",
                Leak,
            )
            .mind(NO_HAND)
            .running()
            .from(sources::HOSE),
            couplings(),
            laid(),
        ],
        monthly: vec![cover(), kinks(), fittings(), made()],
        annual: vec![
            yes(
                "sound",
                "Looked over as a whole: nothing wrong",
                "Laid out at full length in good light.",
                Other,
            )
            .reads(Measure::SoundToLook)
            .from(sources::HOSE),
            cover(),
            kinks(),
            fittings(),
            couplings(),
            made(),
        ]
        .into_iter()
        .chain(in_line())
        .collect(),
        load: Vec::new(),
    }
}

pub(super) fn adapter() -> ByRhythm {
    let whole = || yes("whole", "Body whole: no dent, no rust, no crack", "Both ends, threads and lock.", Deformation);
    ByRhythm {
        after_use: vec![whole().mind(BLOOD).from(sources::AFTER_USE), couplings()],
        weekly: vec![
            whole(),
            couplings(),
            yes("there", "In its place, tied to its mate", "Where the card says, with its tag.", Other),
        ],
        monthly: Vec::new(),
        annual: vec![
            yes("sound", "Looked over as a whole: nothing wrong", "Seals and lock too.", Other).reads(Measure::SoundToLook),
            couplings(),
        ]
        .into_iter()
        .chain(in_line())
        .collect(),
        load: Vec::new(),
    }
}
