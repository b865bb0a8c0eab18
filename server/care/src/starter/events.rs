//! Tests after something happened (common practice, no source; CHECKS A4). They ask for a competent person, however the piece looks.

use super::{
    Starter,
    cautions::{BLOOD, CLEAR, DUMP_FIRST, NO_HAND, ONE_FLUID, PACK},
    gauges::end_stop,
    sources,
    steps::{choice, held, number, yes},
};
use crate::plan::{CheckPlan, Covers, Event, Proof, Rhythm, Signer, Step};
use fullset_calc::{
    ratings::Kind,
    release::{
        DefectClass::{ControlDoesNotReturn, CutOrBlister, DropOrOverload, Fire, Flood, FluidMix, Leak, Other, StuckUnderPressure},
        Measure,
    },
};

const WET: &[Kind] = &[
    Kind::PowerUnit,
    Kind::HandPump,
    Kind::Cutter,
    Kind::Spreader,
    Kind::CombinationTool,
    Kind::Ram,
    Kind::Hose,
    Kind::Adapter,
];
const RUNS: &[Kind] = &[Kind::PowerUnit, Kind::HandPump, Kind::Cutter, Kind::Spreader, Kind::CombinationTool, Kind::Ram];
const HOSES: &[Kind] = &[Kind::Hose, Kind::Adapter];
const DRY: &[Kind] = &[Kind::Battery, Kind::Charger, Kind::Accessory];

fn plan(key: &str, name: &str, kinds: &[Kind], events: &[Event], signer: Signer, steps: Vec<Step>) -> Starter {
    Starter {
        key: key.to_owned(),
        plan: CheckPlan {
            name: name.to_owned(),
            version: 1,
            covers: Covers {
                kinds: kinds.to_vec(),
                models: Vec::new(),
            },
            rhythm: Rhythm::Event { events: events.to_vec() },
            steps,
            signer,
            grace_days: 0,
            proves: vec![Proof::Checked],
        },
    }
}

fn held_tight() -> Vec<Step> {
    let [hold, leak] = end_stop(
        "How long it holds at the end stop",
        "Keep the control open and count on a watch.",
        Leak,
        "While it holds, with a card.",
        sources::PUMP,
    );
    vec![
        yes(
            "stroke",
            "Full stroke both ways, stops when let go",
            "Without load. A pump: with a tool on it.",
            ControlDoesNotReturn,
        )
        .mind(CLEAR)
        .running()
        .reads(Measure::FunctionFullStroke),
        hold,
        leak,
    ]
}

fn sound(how: &str) -> Step {
    yes("sound", "Looked over as a whole: nothing wrong", how, Other)
        .reads(Measure::SoundToLook)
        .mind(BLOOD)
}

pub(super) fn plans() -> Vec<Starter> {
    let after_blow = [Event::Drop, Event::Overload, Event::RunOver];
    let with = |first: Vec<Step>, last: Vec<Step>| first.into_iter().chain(last).collect::<Vec<_>>();
    vec![
        plan(
            "event-blow",
            "After a drop, an overload or being run over",
            RUNS,
            &after_blow,
            Signer::Technician,
            with(
                vec![
                    sound("Arms, blades, piston, housing, guard, tank: straight, no crack."),
                    yes(
                        "cracks",
                        "No crack at pivot, arms or housing",
                        "Clean it, good light, a glass. In doubt: the maker's service.",
                        DropOrOverload,
                    ),
                ],
                held_tight(),
            ),
        ),
        plan(
            "event-blow-hose",
            "Hose run over, pulled or dropped on",
            HOSES,
            &after_blow,
            Signer::Technician,
            vec![
                yes(
                    "body",
                    "Body not flat, not cut, not kinked",
                    "Over its whole length. A damaged hose is retired and cut through.",
                    CutOrBlister,
                )
                .from(sources::HOSE_REJECT),
                yes(
                    "ends",
                    "Fittings straight, hose not creeping out",
                    "Both ends, and the couplings lock.",
                    CutOrBlister,
                )
                .from(sources::HOSE_REJECT),
                number(
                    "hold",
                    "How long it holds at the end stop",
                    "A tool at its end stop, standing clear.",
                    Measure::HoldSeconds,
                    held(),
                    Leak,
                )
                .mind(NO_HAND)
                .running()
                .from(sources::HOSE),
            ],
        ),
        plan(
            "event-blow-small",
            "Pack, charger or gear after a drop or overload",
            DRY,
            &after_blow,
            Signer::Officer,
            vec![sound("A pack that fell or was crushed does not pass: it goes outside and is retired.").mind(PACK)],
        ),
        plan(
            "event-fire",
            "After a fire or great heat",
            Kind::ALL,
            &[Event::Fire],
            Signer::MakersService,
            vec![
                sound("Seals, hoses, plastic, paint: nothing brown, soft or brittle."),
                yes(
                    "maker-fire",
                    "Returned by the maker's service",
                    "Its paper names this piece by its serial number.",
                    Fire,
                ),
            ],
        ),
        plan(
            "event-flood",
            "After being under water",
            Kind::ALL,
            &[Event::Flood],
            Signer::Technician,
            vec![
                sound("Opened and dried as the maker says. A pack that drowned does not pass.").mind(PACK),
                choice(
                    "water",
                    "Water in fluid, fuel, motor or contacts",
                    "Look at the fluid against the light; open covers that may be opened.",
                    &["none"],
                    &["some", "cannot be seen"],
                    Flood,
                ),
            ],
        ),
        plan(
            "event-fluid-mix",
            "After fluids were mixed",
            WET,
            &[Event::FluidMix],
            Signer::Technician,
            with(
                vec![
                    yes(
                        "flushed",
                        "Flushed and refilled as the maker says",
                        "Pump, hoses and every tool that was joined to it since.",
                        FluidMix,
                    )
                    .reads(Measure::Flushed)
                    .mind(ONE_FLUID),
                    yes(
                        "seals",
                        "Seals not soft, swollen or sticky",
                        "Couplings and glands. In doubt: the maker's service.",
                        FluidMix,
                    )
                    .mind(ONE_FLUID),
                ],
                vec![
                    yes("leak", "Leak at the end stop", "Ten seconds with a tool at its end stop, with a card.", Leak)
                        .reads(Measure::LeakAtEndStop)
                        .mind(NO_HAND)
                        .running()
                        .from(sources::PUMP),
                ],
            ),
        ),
        plan(
            "event-trapped-pressure",
            "After pressure was trapped",
            WET,
            &[Event::TrappedPressure],
            Signer::Technician,
            vec![
                yes(
                    "relieved",
                    "Relieved by the maker's method",
                    "Nothing forced, no coupling struck.",
                    StuckUnderPressure,
                )
                .mind(DUMP_FIRST),
                yes(
                    "couplings",
                    "Couplings join, lock and part by hand",
                    "Three times, without pressure; no scratch on the face.",
                    StuckUnderPressure,
                )
                .mind(DUMP_FIRST),
                yes("leak", "Leak at the end stop", "Ten seconds with a tool at its end stop, with a card.", Leak)
                    .reads(Measure::LeakAtEndStop)
                    .mind(NO_HAND)
                    .running()
                    .from(sources::PUMP),
            ],
        ),
    ]
}
