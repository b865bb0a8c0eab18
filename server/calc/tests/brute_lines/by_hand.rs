//! Lines by hand: pumps, hoses, adapters and tools as they are found on rigs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

use super::*;

// By hand.

fn piece(kind: Kind, coupling: &str, pressure: f64) -> Thing {
    Thing {
        kind,
        hookup: Hookup {
            coupling: Some(coupling.into()),
            fluid: Some(Fluid::MineralOil),
            pressure: Some(Quantity::new(pressure, Unit::Psi)),
            ..Hookup::default()
        },
        length: None,
        fixed_to: None,
    }
}

fn pump(coupling: &str, circuits: u32) -> Thing {
    let mut pump = piece(Kind::PowerUnit, coupling, 10_500.0);
    pump.hookup.circuits = Some(circuits);
    pump
}

fn hose(coupling: &str, feet: f64) -> Thing {
    Thing {
        length: Some(feet * 304.8),
        ..piece(Kind::Hose, coupling, 10_500.0)
    }
}

fn adapter(near: &str, far: &str) -> Thing {
    let mut adapter = piece(Kind::Adapter, near, 10_500.0);
    adapter.hookup.tool_coupling = Some(far.into());
    adapter
}

fn tool(coupling: &str) -> Thing {
    piece(Kind::Cutter, coupling, 10_500.0)
}

fn rig(things: Vec<Thing>) -> World {
    World {
        things,
        tolerance: 0.01,
        adapters: true,
        joined: Vec::new(),
    }
}

fn any_at_once(world: &World) -> usize {
    at_once(world, &(0..world.things.len()).map(Demand::any).collect::<Vec<_>>())
}

fn asked_at_once(world: &World, least_mm: f64) -> usize {
    let demand = |tool| Demand { least_mm, ..Demand::any(tool) };
    at_once(world, &(0..world.things.len()).map(demand).collect::<Vec<_>>())
}

fn why(world: &World, tool: usize, least_mm: f64) -> Vec<Obstacle> {
    let mates = world.mates();
    obstacles(&world.parts(), &world.rules(&mates), tool, least_mm)
}

fn codes(world: &World, tool: usize) -> Vec<MisfitCode> {
    let code = |o: Obstacle| match o {
        Obstacle::Misfit { misfit, .. } => misfit.code,
        other => panic!("{other:?}"),
    };
    why(world, tool, 0.0).into_iter().map(code).collect()
}

#[test]
fn a_pump_an_adapter_and_a_hose_drive_a_tool() {
    let world = rig(vec![pump("Twin", 1), adapter("Twin", "Mono"), hose("Mono", 30.0), tool("Mono")]);
    let [d] = driven(&world).try_into().unwrap();
    assert_eq!((d.tool, d.at_rated, d.line.source, d.line.parts.as_slice()), (3, true, 0, [1, 2].as_slice()));
    assert!((d.longest_mm - 9_144.0).abs() < 1e-9);
    assert_eq!(any_at_once(&world), 1);
    assert_eq!(asked_at_once(&world, 9_144.0), 1);
    assert_eq!(asked_at_once(&world, 10_000.0), 0);
    assert!(matches!(why(&world, 3, 10_000.0).as_slice(), [Obstacle::TooShort { longest_mm }] if (longest_mm - 9_144.0).abs() < 1e-9));
    let forbidden = World { adapters: false, ..world };
    assert_eq!(any_at_once(&forbidden), 0);
    assert_eq!(codes(&forbidden, 3), [MisfitCode::CouplingDiffers]);
    let turned = rig(vec![pump("Twin", 1), adapter("Mono", "Twin"), hose("Mono", 30.0), tool("Mono")]);
    assert_eq!(any_at_once(&turned), 0, "an adapter has a source end and a tool end");
}

#[test]
fn an_adapter_alone_feeds_nothing() {
    let mut entered = adapter("Twin", "Mono");
    entered.length = Some(914.4);
    let world = rig(vec![pump("Twin", 1), entered, tool("Mono")]);
    assert_eq!(driven(&world), []);
    assert_eq!(any_at_once(&world), 0);
    assert_eq!(why(&world, 2, 0.0), [Obstacle::NoHose]);
    let mates = world.mates();
    assert_eq!(pieces_served(&world.parts(), &world.rules(&mates)), Vec::<usize>::new());
}

#[test]
fn one_adapter_serves_one_tool_at_a_time() {
    let mut things = vec![
        pump("Twin", 2),
        adapter("Twin", "Mono"),
        hose("Mono", 30.0),
        hose("Mono", 30.0),
        tool("Mono"),
        tool("Mono"),
    ];
    assert_eq!(driven(&rig(things.clone())).len(), 2);
    assert_eq!(any_at_once(&rig(things.clone())), 1);
    things.push(adapter("Twin", "Mono"));
    assert_eq!(any_at_once(&rig(things)), 2);
}

#[test]
fn a_pump_of_half_the_pressure_drives_no_tool_at_its_rated_one() {
    let mut weak = pump("Mono", 1);
    weak.hookup.pressure = Some(Quantity::new(5_000.0, Unit::Psi));
    let mut cutter = tool("Mono");
    cutter.hookup.pressure = Some(Quantity::new(10_400.0, Unit::Psi));
    let world = rig(vec![weak, hose("Mono", 30.0), cutter]);
    let [d] = driven(&world).try_into().unwrap();
    assert!(!d.at_rated);
    assert_eq!(any_at_once(&world), 0);
    assert_eq!(codes(&world, 2), [MisfitCode::PressureTooLow]);
    let below = Demand {
        below_rated: true,
        ..Demand::any(2)
    };
    assert_eq!(at_once(&world, &[below]), 1);
}

#[test]
fn pressures_count_as_equal_within_two_per_cent_at_most() {
    // Pump in bar, tool in bar, tolerance, driven at all.
    for (source, rated, tolerance, runs) in [
        (720.0, 700.0, 0.02, false),
        (714.0, 700.0, 0.02, true),
        (707.0, 700.0, 0.01, true),
        (720.0, 700.0, 0.0, false),
        (720.0, 700.0, 0.03, false),
        (720.0, 700.0, f64::NAN, false),
        (720.0, 720.0, 0.0, true),
        (700.0, 714.0, 0.02, true),
    ] {
        let mut world = rig(vec![pump("Mono", 1), hose("Mono", 30.0), tool("Mono")]);
        world.tolerance = tolerance;
        world.things[0].hookup.pressure = Some(Quantity::new(source, Unit::Bar));
        world.things[2].hookup.pressure = Some(Quantity::new(rated, Unit::Bar));
        assert_eq!(any_at_once(&world), usize::from(runs), "{source} on {rated} at {tolerance}");
        world.things[2].hookup.allowable_pressure = Some(Quantity::new(720.0, Unit::Bar));
        assert_eq!(any_at_once(&world), 1, "allowed for 720 bar: {source} on {rated} at {tolerance}");
    }
    // 10,500 psi is 723.95 bar: a good 720 bar tool is not refused for that (CHECKS 12).
    let mut world = rig(vec![pump("Mono", 1), hose("Mono", 30.0), tool("Mono")]);
    world.things[2].hookup.pressure = Some(Quantity::new(720.0, Unit::Bar));
    assert_eq!(any_at_once(&world), 1);
}

#[test]
fn hoses_in_series_add_up_and_an_unknown_one_makes_the_sum_unknown() {
    let mut things = vec![
        pump("Mono", 2),
        hose("Mono", 16.5),
        hose("Mono", 16.5),
        hose("Mono", 16.5),
        hose("Mono", 16.5),
        tool("Mono"),
        tool("Mono"),
    ];
    // EN: 10 m between source and tool (CHECKS A3).
    assert_eq!(asked_at_once(&rig(things.clone()), 10_000.0), 2);
    assert_eq!(asked_at_once(&rig(things.clone()), 15_000.0), 1);
    assert_eq!(asked_at_once(&rig(things.clone()), 15_100.0), 0, "three hoses in series at most");
    things[4].length = None;
    assert_eq!(asked_at_once(&rig(things.clone()), 10_000.0), 1);
    assert_eq!(asked_at_once(&rig(things), 0.0), 2);
}

#[test]
fn a_fixed_hose_serves_its_source_alone() {
    let mut reel = hose("Mono", 50.0);
    reel.fixed_to = Some(Some(1));
    let mut things = vec![
        pump("Mono", 2),
        pump("Mono", 1),
        reel,
        hose("Mono", 30.0),
        tool("Mono"),
        tool("Mono"),
        tool("Mono"),
    ];
    assert_eq!(any_at_once(&rig(things.clone())), 2);
    things[2].fixed_to = Some(None);
    assert_eq!(any_at_once(&rig(things.clone())), 1);
    things.remove(3);
    assert_eq!(codes(&rig(things), 3), [MisfitCode::FixedElsewhere]);
}

#[test]
fn a_pump_of_two_pressures_has_two_kinds_of_outlet() {
    let mut two = pump("Mono", 1);
    two.hookup.outlets = vec![Outlet {
        coupling: "Low".into(),
        pressure: Quantity::new(5_000.0, Unit::Psi),
        circuits: None,
    }];
    let low = |mut thing: Thing| {
        thing.hookup.pressure = Some(Quantity::new(5_000.0, Unit::Psi));
        thing
    };
    let world = rig(vec![
        two,
        hose("Mono", 30.0),
        low(hose("Low", 30.0)),
        tool("Mono"),
        low(tool("Low")),
        low(tool("Mono")),
    ]);
    assert_eq!(any_at_once(&world), 2);
    assert_eq!(codes(&world, 5), [MisfitCode::PressureBelow]);
}

#[test]
fn a_battery_tool_takes_a_pack_that_no_other_counts() {
    let mut combi = tool("x");
    combi.kind = Kind::CombinationTool;
    combi.hookup = Hookup {
        battery: Some("28V family".into()),
        ..Hookup::default()
    };
    let pack = Thing {
        kind: Kind::Battery,
        ..combi.clone()
    };
    let things = vec![combi.clone(), combi.clone(), pack];
    assert_eq!(any_at_once(&rig(things.clone())), 1);
    let own = Demand {
        own_pack: true,
        ..Demand::any(0)
    };
    assert_eq!(at_once(&rig(things), &[own, Demand::any(1)]), 2);
    assert_eq!(why(&rig(vec![combi]), 0, 0.0), [Obstacle::NoPack]);
}

#[test]
fn large_rigs_of_few_sorts_are_counted_exactly() {
    let many = |n: usize, thing: &Thing| std::iter::repeat_n(thing.clone(), n).collect::<Vec<_>>();
    let one_family = [many(30, &pump("Mono", 1)), many(30, &hose("Mono", 30.0)), many(30, &tool("Mono"))].concat();
    assert_eq!(any_at_once(&rig(one_family.clone())), 30);
    assert_eq!(asked_at_once(&rig(one_family), 10_000.0), 15);
    // Different lengths, all long enough.
    let lengths = (0_u32..40).map(|i| hose("Mono", 40.0 + f64::from(i)));
    let long = many(4, &pump("Mono", 9)).into_iter().chain(lengths).chain(many(40, &tool("Mono"))).collect();
    assert_eq!(asked_at_once(&rig(long), 10_000.0), 36);
    // Two families, and adapters between them.
    let two = [
        many(10, &pump("Mono", 2)),
        many(20, &hose("Twin", 30.0)),
        many(12, &hose("Mono", 30.0)),
        many(9, &adapter("Mono", "Twin")),
        many(30, &tool("Twin")),
        many(20, &tool("Mono")),
    ];
    assert_eq!(any_at_once(&rig(two.concat())), 20);
}

/// An adapter, a hose that leads back to the first family, and an adapter of that sort again: the one case in which it matters to
/// where a line leads how many adapters there are.
#[test]
fn an_adapter_that_stands_in_a_line_is_not_there_again() {
    let mut back = hose("twin", 30.0);
    back.hookup.tool_coupling = Some("mono".into());
    let one = vec![pump("mono", 2), adapter("mono", "twin"), back, tool("twin")];
    let mut two = one.clone();
    two.push(adapter("mono", "twin"));
    assert_eq!(any_at_once(&rig(one.clone())), 0);
    assert_eq!(any_at_once(&rig(two.clone())), 1);
    assert!(driven(&rig(one.clone())).is_empty());
    assert_eq!(driven(&rig(two))[0].line.parts, [1, 2, 4]);
    // With a way round it.
    let mut round = one;
    round.push(hose("mono", 30.0));
    assert_eq!(driven(&rig(round))[0].line.parts, [4, 1]);
}
