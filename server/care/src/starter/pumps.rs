//! Power unit and hand pump.

use super::{
    ByRhythm,
    cautions::{DUMP_FIRST, EXHAUST, NO_HAND, ONE_FLUID},
    gauges::{loaded, serviced},
    sources,
    steps::{choice, yes},
};
use crate::plan::{Drive, Step};
use fullset_calc::release::{
    DefectClass::{ControlDoesNotReturn, CutOrBlister, Deformation, Electrical, FluidMix, Leak, Other, Pressure},
    Measure,
};

const ENGINE: &[Drive] = &[Drive::Engine];
const MOTOR: &[Drive] = &[Drive::Cable, Drive::Battery];

pub(super) fn tight() -> Step {
    yes("tight", "Tank, fittings and ports dry", "Wipe them, look again after a minute.", Leak)
        .mind(NO_HAND)
        .from(sources::PUMP)
}

fn fluid() -> Step {
    choice(
        "fluid-level",
        "Fluid level",
        "Stand it level, tools closed. Read the glass or the stick.",
        &["between the marks"],
        &["too low", "too high", "cannot be read"],
        Leak,
    )
    .mind(ONE_FLUID)
}

pub(super) fn colour() -> Step {
    choice(
        "fluid-colour",
        "Fluid colour",
        "Look at it against the light.",
        &["clear, its own colour"],
        &["milky", "dark", "another colour", "with metal in it"],
        FluidMix,
    )
    .mind(ONE_FLUID)
}

fn fuel() -> Step {
    choice(
        "fuel",
        "Fuel: kind and level",
        "The kind on the cap, filled up.",
        &["right kind, full"],
        &["right kind, not full", "wrong kind", "unknown kind"],
        Other,
    )
    .mind(EXHAUST)
    .only(ENGINE)
}

fn fuel_age() -> Step {
    choice(
        "fuel-date",
        "Fuel date",
        "Read the date on the tank or can.",
        &["in date"],
        &["too old", "no date on it"],
        Other,
    )
    .only(ENGINE)
}

fn oil() -> Step {
    choice(
        "engine-oil",
        "Engine oil",
        "Engine off and level. Wipe the stick, dip it, read it.",
        &["between the marks"],
        &["too low", "too high", "milky or with fuel in it"],
        Other,
    )
    .only(ENGINE)
    .from(sources::ELECTRIC)
}

fn start() -> Step {
    choice(
        "start",
        "Starts at the first or second try",
        "Cold, with the dump valve open. Write down the third try: it is a fault even if it runs then.",
        &["first try", "second try"],
        &["third try or later", "does not start"],
        Other,
    )
    .mind(EXHAUST)
    .running()
    .from(sources::RHYTHM)
}

fn warm_up() -> Step {
    yes(
        "warm-up",
        "Runs smoothly until warm",
        "Let it run to working temperature, then at full speed. No smoke, no hunting.",
        Other,
    )
    .mind(EXHAUST)
    .running()
    .only(ENGINE)
    .from(sources::RHYTHM)
}

pub(super) fn dump() -> Step {
    yes(
        "dump-valve",
        "Dump valve relieves each outlet",
        "Put it to dump: a tool on the outlet must not move. Put it back: it moves.",
        ControlDoesNotReturn,
    )
    .mind(DUMP_FIRST)
    .running()
    .from(sources::PUMP_LOAD)
}

fn motor() -> Step {
    yes(
        "electrics",
        "Cable, plug, switch and housing whole",
        "Look along the whole cable. No cut, no bare wire, the switch clicks.",
        Electrical,
    )
    .only(MOTOR)
    .from(sources::ELECTRIC)
}

fn frame() -> Step {
    yes(
        "frame",
        "Frame, guards, handle and starter whole",
        "Guards on hot parts sit tight, nothing rattles, the rope runs back.",
        Deformation,
    )
    .from(sources::ELECTRIC)
}

fn ports() -> Step {
    yes(
        "couplings",
        "Couplings and caps clean, easy, joined",
        "Wipe both halves. Lock turns and springs back. Caps joined while it is coupled.",
        Other,
    )
    .mind(DUMP_FIRST)
    .from(sources::CAPS)
}

fn end_stop() -> Step {
    yes(
        "end-stop",
        "Ten seconds at the end stop: no leak",
        "A tool at its end stop, hold the control for ten seconds. Look with a card.",
        Leak,
    )
    .mind(NO_HAND)
    .running()
    .from(sources::PUMP)
}

pub(super) fn labels() -> Step {
    yes(
        "labels",
        "Labels, signs and levers can be read",
        "Maker's plate, pressure, fluid, dump and run positions, asset tag.",
        Other,
    )
    .from(sources::PUMP)
}

fn stowed() -> Step {
    yes(
        "stowed",
        "Stowed as on the card",
        "In its compartment, held fast, caps on, dump valve open.",
        Other,
    )
}

pub(super) fn power_unit() -> ByRhythm {
    ByRhythm {
        after_use: vec![
            yes(
                "clean",
                "Wiped down, nothing cut, bent or burnt",
                "All sides, and what it stood on.",
                Deformation,
            )
            .mind(super::cautions::BLOOD)
            .from(sources::AFTER_USE),
            tight().from(sources::AFTER_USE),
            fluid(),
            fuel(),
            ports(),
            stowed(),
        ],
        weekly: vec![
            frame(),
            motor(),
            tight(),
            fluid(),
            fuel(),
            oil(),
            start(),
            warm_up(),
            dump(),
            end_stop(),
            ports(),
            labels(),
            stowed(),
        ],
        monthly: vec![
            frame(),
            motor(),
            colour(),
            fuel_age(),
            yes(
                "plug-filter",
                "Spark plug and air filter clean",
                "Plug dry and light brown, lead tight. Filter clean, lid closed.",
                Other,
            )
            .only(ENGINE),
            yes(
                "bolts",
                "Bolts and screws tight",
                "Frame, engine, valve block: by hand and by eye, marks in line.",
                Deformation,
            )
            .from(sources::SCREWS),
            labels(),
        ],
        annual: {
            let mut all = serviced();
            all.push(
                yes("insulation", "Insulation test passed", "As the maker says, unplugged.", Electrical)
                    .reads(Measure::Insulation)
                    .only(MOTOR)
                    .from(sources::ELECTRIC),
            );
            all.push(
                yes(
                    "engine-service",
                    "Engine serviced as its book says",
                    "Oil, plug, filter, valve play: dates in the book.",
                    Other,
                )
                .only(ENGINE)
                .from(sources::ELECTRIC),
            );
            all.push(dump());
            all
        },
        load: loaded(),
    }
}

pub(super) fn hand_pump() -> ByRhythm {
    let lever = || {
        yes(
            "lever",
            "Lever, foot and housing whole",
            "Lever locks and does not bend, foot stands flat.",
            Deformation,
        )
    };
    let pumps = || {
        yes(
            "builds-up",
            "Builds up pressure and holds it",
            "A tool on it: open and close it, ten seconds at the end stop, look with a card.",
            Pressure,
        )
        .mind(NO_HAND)
        .running()
        .from(sources::PUMP)
    };
    let release = || {
        yes(
            "release-valve",
            "Release valve lets the pressure off",
            "Open it: the tool can be moved by hand or goes back.",
            ControlDoesNotReturn,
        )
        .mind(DUMP_FIRST)
        .running()
    };
    ByRhythm {
        after_use: vec![lever().from(sources::AFTER_USE), tight().from(sources::AFTER_USE), fluid(), ports(), stowed()],
        weekly: vec![lever(), tight(), fluid(), pumps(), release(), ports(), stowed()],
        monthly: vec![
            colour(),
            yes(
                "fixed-hose",
                "Hose fixed to it: whole over its length",
                "Bend it gently. No cut, blister, kink or soft spot.",
                CutOrBlister,
            )
            .from(sources::HOSE),
            labels(),
        ],
        annual: {
            let mut all = serviced();
            all.push(release());
            all
        },
        load: loaded(),
    }
}
