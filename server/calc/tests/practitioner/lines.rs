//! Source, hoses, adapters and tool: what runs and what does not (design 4.2).

use super::fittings::*;
use super::kit::*;
use super::scene::*;
use fullset_calc::capability::{Level, NearCode};
use fullset_calc::hookup::{Fluid, Mates, Outlet};
use fullset_calc::ratings::{Rating, Term};
use fullset_calc::units::Unit;
use std::sync::Arc;

const LINE: &str = "design 4.2, line";
const HOSE: &str = "CHECKS A3: 10 m of usable hose per connection";
const EQUAL: &str = "CHECKS trap 12: pressures within the owner's tolerance count as equal";
const PASCAL: &str = "CHECKS A4, force below rated pressure: F = p x A";

pub fn scenes() -> Vec<Scene> {
    use Level::{Full, Limited, None};
    use NearCode::*;
    vec![
        scene(
            "two half-systems are no set: pump and hose of one family, tools of another",
            "2-trade.md 2",
            tools_on("Twin", set()),
            None,
        )
        .near("cut", CouplingDiffers)
        .near("spread", CouplingDiffers),
        scene(
            "pump and spreader run, and the cutter alone does not mate: below limited, and the spreader is said to run",
            "design 4.3, level",
            but(set(), "CU-1", |p| p.coupled("Twin")),
            None,
        )
        .near("cut", CouplingDiffers)
        .still_runs("SP-1"),
        scene("two families that mate by the agency's list are a set", LINE, tools_on("Twin", set()), Full)
            .rules(|r| r.mates = Arc::new(Mates::new([("Twin", "Mono")], []))),
        scene(
            "two spellings are one family",
            "seen answered wrong once; common practice, no source",
            but(tools_on("one push coax", set_where(|p| p.coupled("one-push coax"))), "HO-1", |p| {
                p.coupled("One Push Coax")
            }),
            Full,
        ),
        scene(
            "a pump of unknown coupling feeds nothing",
            "design 4.3: unknown meets nothing",
            but(set(), "PU-1", |p| p.wired(|h| h.coupling = Option::None)),
            None,
        )
        .near("cut", CouplingUnknown),
        scene(
            "a cutter for phosphate ester on a mineral oil rig is a paperweight",
            "CHECKS A5, fluids are not mixed",
            but(set(), "CU-1", |p| p.filled_with(Some(Fluid::PhosphateEster))),
            None,
        )
        .near("cut", FluidDiffers),
        scene(
            "a hose of unknown fluid carries nothing",
            "design 4.3: unknown meets nothing",
            but(on_one_hose(), "HO-1", |p| p.filled_with(Option::None)),
            None,
        )
        .near("cut", FluidUnknown),
        scene(
            "a pump of unknown pressure drives nothing",
            "design 4.3: unknown meets nothing",
            but(set(), "PU-1", |p| p.wired(|h| h.pressure = Option::None)),
            None,
        )
        .near("cut", PressureUnknown),
        scene(
            "a hose of unknown allowable pressure carries nothing",
            "design 4.3: unknown meets nothing",
            but(on_one_hose(), "HO-1", |p| p.wired(|h| h.pressure = Option::None)),
            None,
        )
        .near("cut", PressureUnknown),
        scene(
            "a 713 bar hose stands a 720 bar pump within one percent",
            EQUAL,
            but(on_one_hose(), "HO-1", |p| p.at(bar(713.0))),
            Full,
        ),
        scene("a 712 bar hose does not", EQUAL, but(on_one_hose(), "HO-1", |p| p.at(bar(712.0))), None).near("cut", PressureBelow),
        scene(
            "a 10,500 psi pump and 720 bar hoses and tools are one system",
            EQUAL,
            but(set(), "PU-1", |p| p.at(psi(10_500.0))),
            Full,
        ),
        scene("without any tolerance they are not", EQUAL, but(set(), "PU-1", |p| p.at(psi(10_500.0))), None)
            .rules(|r| r.policy.pressure_tolerance = 0.0)
            .near("cut", PressureBelow),
        scene(
            "at two percent a 706 bar hose stands 720 bar",
            EQUAL,
            but(on_one_hose(), "HO-1", |p| p.at(bar(706.0))),
            Full,
        )
        .rules(|r| r.policy.pressure_tolerance = 0.02),
        scene(
            "at two percent a 705 bar hose does not",
            EQUAL,
            but(on_one_hose(), "HO-1", |p| p.at(bar(705.0))),
            None,
        )
        .rules(|r| r.policy.pressure_tolerance = 0.02),
        scene(
            "a 5,000 psi pump drives no tool that is rated at 10,400 psi",
            PASCAL,
            but(tools_at(psi(10_400.0), set()), "PU-1", |p| p.at(psi(5000.0))),
            None,
        )
        .near("cut", PressureTooLow)
        .near("spread", PressureTooLow),
        scene(
            "nor for an agency that asks for kinds alone",
            PASCAL,
            but(tools_at(psi(10_400.0), set()), "PU-1", |p| p.at(psi(5000.0))),
            None,
        )
        .nfpa()
        .near("cut", PressureTooLow),
        scene(
            "unless their maker states ratings at 5,000 psi that suffice",
            PASCAL,
            but(as_rated(tools_at(psi(10_400.0), set()), psi(5000.0)), "PU-1", |p| p.at(psi(5000.0))),
            Full,
        ),
        scene(
            "ratings stated at another pressure than the pump's are of no use",
            PASCAL,
            but(as_rated(tools_at(psi(10_400.0), set()), psi(6000.0)), "PU-1", |p| p.at(psi(5000.0))),
            None,
        ),
        scene(
            "a cutter that opens less at the pump's pressure counts with that",
            PASCAL,
            but(
                but(as_rated(tools_at(psi(10_400.0), set()), psi(5000.0)), "PU-1", |p| p.at(psi(5000.0))),
                "CU-1",
                |p| p.rated_at(psi(5000.0), [(Term::CutterOpening, en(170.0, Unit::Millimetre))].into_iter().collect()),
            ),
            Limited,
        )
        .near("cut", MinimumNotMet),
        scene("tools for 350 bar are not put on a 720 bar pump", LINE, tools_at(bar(350.0), set()), None).near("cut", PressureBelow),
        scene(
            "tools rated at 350 bar that may be fed with 720 bar are",
            LINE,
            tools_at(bar(350.0), set())
                .into_iter()
                .map(|p| {
                    if p.kind.is_tool() {
                        p.wired(|h| h.allowable_pressure = Some(bar(720.0)))
                    } else {
                        p
                    }
                })
                .collect(),
            Full,
        ),
        scene(
            "a two-pressure pump drives them from its second outlets",
            LINE,
            but(set(), "PU-1", |p| {
                p.at(bar(350.0)).wired(|h| {
                    h.outlets.push(Outlet {
                        coupling: "Mono".into(),
                        pressure: bar(720.0),
                        circuits: Option::None,
                    })
                })
            }),
            Full,
        ),
        scene(
            "second outlets that no hose aboard fits drive nothing",
            LINE,
            but(set(), "PU-1", |p| {
                p.at(bar(350.0)).wired(|h| {
                    h.outlets.push(Outlet {
                        coupling: "Twin".into(),
                        pressure: bar(720.0),
                        circuits: Option::None,
                    })
                })
            }),
            None,
        ),
        scene(
            "pump, adapter, hose of 30 ft and tool is a line",
            "design 4.2; seen answered wrong once; common practice, no source",
            tools_on(
                "Mono",
                and(
                    conduits(vec![ends("HO-1", "Twin", "Mono").rated(Term::HoseLength, Rating::plain(30.0, Unit::Foot))]),
                    [adapter("AD-1", "Mono", "Twin")],
                ),
            ),
            Full,
        )
        .nfpa(),
        scene(
            "but 30 ft are no 10 m",
            HOSE,
            and(
                conduits(vec![ends("HO-1", "Twin", "Mono").rated(Term::HoseLength, Rating::plain(30.0, Unit::Foot))]),
                [adapter("AD-1", "Mono", "Twin")],
            ),
            None,
        )
        .near("cut", LineTooShort),
        scene(
            "33 ft are",
            HOSE,
            but(on_one_hose(), "HO-1", |p| p.rated(Term::HoseLength, Rating::plain(33.0, Unit::Foot))),
            Full,
        ),
        scene(
            "an adapter alone is no hose",
            "design 4.2; seen answered wrong once; common practice, no source",
            tools_on("Twin", conduits(vec![adapter("AD-1", "Mono", "Twin")])),
            None,
        )
        .nfpa()
        .near("cut", NoHose),
        scene(
            "an adapter behind the hose serves as well",
            LINE,
            tools_on("Twin", conduits(vec![hose("HO-1", 10.0), adapter("AD-1", "Mono", "Twin")])),
            Full,
        ),
        scene(
            "an adapter the wrong way round does not",
            "design 4.2: coupling of the source end and of the tool end",
            tools_on("Twin", conduits(vec![hose("HO-1", 10.0), adapter("AD-1", "Twin", "Mono")])),
            None,
        ),
        scene(
            "where the agency forbids adapters it does not",
            "design 4.2: the agency may forbid adapters",
            tools_on("Twin", conduits(vec![hose("HO-1", 10.0), adapter("AD-1", "Mono", "Twin")])),
            None,
        )
        .rules(|r| r.policy.adapters = false),
        scene(
            "two adapters may stand in a line",
            "design 4.2: at most two adapters",
            tools_on("C", conduits(vec![hose("HO-1", 10.0), adapter("AD-1", "Mono", "B"), adapter("AD-2", "B", "C")])),
            Full,
        ),
        scene(
            "three may not",
            "design 4.2: at most two adapters",
            tools_on(
                "D",
                conduits(vec![
                    hose("HO-1", 10.0),
                    adapter("AD-1", "Mono", "B"),
                    adapter("AD-2", "B", "C"),
                    adapter("AD-3", "C", "D"),
                ]),
            ),
            None,
        ),
        scene(
            "an adapter adds nothing to 9.9 m of hose",
            "design 4.2: it has no length",
            tools_on(
                "Twin",
                conduits(vec![
                    hose("HO-1", 9.9),
                    adapter("AD-1", "Mono", "Twin").rated(Term::HoseLength, Rating::plain(1.0, Unit::Metre)),
                ]),
            ),
            None,
        )
        .near("cut", LineTooShort),
        scene("a hose of 9.9 m is too short", HOSE, conduits(vec![hose("HO-1", 9.9)]), None).near("cut", LineTooShort),
        scene(
            "two of 5 m in series are 10 m",
            "design 4.2: hoses in series add their lengths",
            conduits(vec![hose("HO-1", 5.0), hose("HO-2", 5.0)]),
            Full,
        ),
        scene("one of 5 m is not", HOSE, conduits(vec![hose("HO-1", 5.0)]), None).near("cut", LineTooShort),
        scene(
            "three of 3.4 m are long enough",
            "design 4.2: one to three hoses",
            conduits((1..=3).map(|n| hose(&format!("HO-{n}"), 3.4)).collect()),
            Full,
        ),
        scene(
            "four of 2.6 m are not joined",
            "design 4.2: one to three hoses",
            conduits((1..=4).map(|n| hose(&format!("HO-{n}"), 2.6)).collect()),
            None,
        )
        .near("cut", LineTooShort),
        scene(
            "a hose of unknown length is not 10 m long",
            "design 4.3: unknown rating meets nothing",
            but(on_one_hose(), "HO-1", Said::unrated),
            None,
        ),
        scene(
            "a hose of unknown length serves where no length is asked",
            LINE,
            but(on_one_hose(), "HO-1", Said::unrated),
            Full,
        )
        .nfpa(),
        scene(
            "one line serves tools in turn",
            "design 4.2: one line may serve tools in turn",
            but(on_one_hose(), "PU-1", |_| pump("PU-1", 1)),
            Full,
        ),
        scene("one hose does not run two tools at once", "design 4.2, tools at once", on_one_hose(), Limited)
            .by(two_at_once())
            .held_down(),
        scene(
            "one circuit does not either",
            "design 4.2, tools at once",
            but(set(), "PU-1", |_| pump("PU-1", 1)),
            Limited,
        )
        .by(two_at_once())
        .held_down(),
        scene(
            "circuits that nobody wrote down are one",
            "hook-up: not stated is one, which is certain",
            but(set(), "PU-1", |p| p.wired(|h| h.circuits = Option::None)),
            Limited,
        )
        .by(two_at_once()),
        scene("two circuits and two hoses run two tools", "design 4.2, tools at once", set(), Full).by(two_at_once()),
        scene(
            "a second pump that no hose aboard fits adds no tool",
            "seen answered wrong once; common practice, no source",
            and(but(set(), "PU-1", |_| pump("PU-1", 1)), [pump("PU-2", 2).coupled("Twin")]),
            Limited,
        )
        .by(two_at_once())
        .held_down(),
        scene(
            "a second pump that fits does",
            "design 4.2, tools at once",
            and(but(set(), "PU-1", |_| pump("PU-1", 1)), [pump("PU-2", 1)]),
            Full,
        )
        .by(two_at_once()),
        scene(
            "a reel that is fixed to the pump serves it",
            "design 4.2, fixed hose",
            but(on_one_hose(), "HO-1", |p| p.but(|p| p.fixed_to = Some(id("PU-1")))),
            Full,
        ),
        scene(
            "a reel that is fixed to a dead pump serves no other",
            "design 4.2, fixed hose",
            foreign_reel(),
            None,
        )
        .near("cut", FixedElsewhere),
        scene("no pump aboard", PRACTICE, without(set(), "PU-1"), None).near("cut", NoSource),
        scene("no hose aboard", PRACTICE, without(on_one_hose(), "HO-1"), None).near("cut", NoHose),
        scene(
            "tools of which nobody wrote down how they are hooked up run on nothing",
            "design 4.3: unknown meets nothing",
            set_where(|p| if p.kind.is_tool() { p.wired(|h| *h = Default::default()) } else { p }),
            None,
        )
        .near("cut", HookupUnknown),
    ]
}
