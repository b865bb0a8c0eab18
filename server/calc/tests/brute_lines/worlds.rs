//! Random lists of pieces.

use super::*;

fn name() -> impl Strategy<Value = String> {
    prop_oneof![12 => Just("Mono"), 1 => Just(" mo-no "), 4 => Just("Twin"), 2 => Just("Core")].prop_map(str::to_owned)
}

fn coupling() -> impl Strategy<Value = Option<String>> {
    prop_oneof![14 => name().prop_map(Some), 1 => Just(None), 1 => Just(Some(" - ".to_owned()))]
}

fn fluid() -> impl Strategy<Value = Option<Fluid>> {
    prop_oneof![14 => Just(Some(Fluid::MineralOil)), 1 => Just(Some(Fluid::PhosphateEster)), 1 => Just(None)]
}

fn some_pressure() -> impl Strategy<Value = Quantity> {
    prop_oneof![
        4 => Just(Quantity::new(720.0, Unit::Bar)), 3 => Just(Quantity::new(10_500.0, Unit::Psi)), 1 => Just(Quantity::new(72.0, Unit::Megapascal)),
        2 => Just(Quantity::new(350.0, Unit::Bar)), 1 => Just(Quantity::new(5_000.0, Unit::Psi)), 1 => Just(Quantity::new(700.0, Unit::Bar)),
    ]
}

fn pressure() -> impl Strategy<Value = Option<Quantity>> {
    prop_oneof![12 => some_pressure().prop_map(Some), 1 => Just(None)]
}

fn kind() -> impl Strategy<Value = Kind> {
    prop_oneof![
        4 => Just(Kind::PowerUnit), 1 => Just(Kind::HandPump), 2 => Just(Kind::Cutter), 2 => Just(Kind::Spreader), 1 => Just(Kind::CombinationTool),
        1 => Just(Kind::Ram), 7 => Just(Kind::Hose), 3 => Just(Kind::Adapter), 1 => Just(Kind::Battery), 1 => Just(Kind::Charger),
    ]
}

fn circuits() -> impl Strategy<Value = Option<u32>> {
    prop_oneof![2 => Just(None), 1 => Just(Some(0)), 3 => Just(Some(1)), 4 => Just(Some(2)), 1 => Just(Some(5))]
}

fn battery() -> impl Strategy<Value = Option<String>> {
    prop_oneof![3 => Just(Some("28V family")), 1 => Just(Some("28-v FAMILY")), 1 => Just(Some("18V")), 1 => Just(None)].prop_map(|b| b.map(str::to_owned))
}

fn outlets() -> impl Strategy<Value = Vec<Outlet>> {
    let outlet = (name(), some_pressure(), circuits()).prop_map(|(coupling, pressure, circuits)| Outlet { coupling, pressure, circuits });
    prop::collection::vec(outlet, 0..=3).prop_map(|all| if all.len() == 3 { Vec::new() } else { all })
}

fn tool_pressures() -> impl Strategy<Value = (Option<Quantity>, Option<Quantity>)> {
    (pressure(), prop::option::weighted(0.3, some_pressure()))
}

/// One piece; what it is fixed to is a number that [`world`] turns into a place in the list.
fn thing() -> impl Strategy<Value = (Thing, usize)> {
    let length = prop_oneof![1 => Just(None), 2 => Just(Some(5_000.0)), 2 => Just(Some(10_000.0)), 1 => Just(Some(12_000.0)), 1 => Just(Some(3_000.0))];
    let names = (coupling(), prop::option::weighted(0.4, coupling()), battery(), prop::bool::weighted(0.2));
    (kind(), names, fluid(), tool_pressures(), (outlets(), circuits(), length), 0..30_usize).prop_map(
        |(kind, (coupling, second, battery, driven_by_battery), fluid, (pressure, allowable_pressure), (outlets, circuits, length), fixed)| {
            let tool = [Kind::Cutter, Kind::Spreader, Kind::CombinationTool, Kind::Ram].contains(&kind);
            let conduit = kind == Kind::Hose || kind == Kind::Adapter;
            let hookup = Hookup {
                coupling,
                tool_coupling: second.flatten().filter(|_| conduit),
                fluid,
                pressure,
                allowable_pressure: allowable_pressure.filter(|_| tool),
                outlets: if kind == Kind::PowerUnit { outlets } else { Vec::new() },
                circuits: circuits.filter(|_| kind == Kind::PowerUnit),
                battery: battery.filter(|_| kind == Kind::Battery || kind == Kind::Charger || tool && driven_by_battery),
            };
            let thing = Thing {
                kind,
                hookup,
                length: length.filter(|_| kind == Kind::Hose),
                fixed_to: None,
            };
            (thing, fixed)
        },
    )
}

/// Up to `most` pieces and the rules of an agency.
pub fn world(most: usize) -> impl Strategy<Value = World> {
    let joined = prop_oneof![3 => Just(Vec::new()), 1 => Just(vec![("Core", "TWIN ")]), 1 => Just(vec![("twin", "Mono"), ("Core", "Core")])];
    let tolerance = prop_oneof![Just(0.0), Just(0.01), Just(0.02)];
    (prop::collection::vec(thing(), 2..=most), tolerance, prop::bool::weighted(0.8), joined).prop_map(|(drawn, tolerance, adapters, joined)| {
        let n = drawn.len();
        let sources: Vec<usize> = (0..n).filter(|i| matches!(drawn[*i].0.kind, Kind::PowerUnit | Kind::HandPump)).collect();
        let things = drawn.into_iter().map(|(thing, fixed)| {
            let fixed_to = match fixed {
                0 => Some(None),
                1 => Some(Some(n - 1)),
                2..=7 => sources.get(fixed % sources.len().max(1)).map(|s| Some(*s)),
                _ => None,
            };
            let hose = thing.kind == Kind::Hose;
            Thing {
                fixed_to: fixed_to.filter(|_| hose),
                ..thing
            }
        });
        World {
            things: things.collect(),
            tolerance,
            adapters,
            joined: joined.into_iter().map(|(a, b)| (a.to_owned(), b.to_owned())).collect(),
        }
    })
}

/// Rigs on which nearly everything fits something: what runs at once is decided by what there is too little of.
pub fn busy_world(most: usize) -> impl Strategy<Value = World> {
    let family = || prop_oneof![3 => Just("Mono"), 2 => Just("Twin")].prop_map(str::to_owned);
    let pressure = || prop_oneof![4 => Just(720.0), 1 => Just(350.0)].prop_map(|bar| Quantity::new(bar, Unit::Bar));
    let kind = prop_oneof![3 => Just(Kind::PowerUnit), 1 => Just(Kind::HandPump), 8 => Just(Kind::Cutter), 8 => Just(Kind::Hose), 2 => Just(Kind::Adapter), 1 => Just(Kind::Battery)];
    let more = prop::option::weighted(0.3, (family(), pressure(), prop::option::of(1..3_u32)));
    let extras = (more, prop::option::of(1..4_u32), 0..10_usize, prop::bool::weighted(0.15));
    let thing =
        (kind, family(), prop::option::weighted(0.3, family()), pressure(), extras).prop_map(|(kind, near, far, pressure, (more, circuits, die, battery))| {
            let hookup = Hookup {
                coupling: Some(near),
                tool_coupling: far.filter(|_| kind == Kind::Hose || kind == Kind::Adapter),
                fluid: Some(Fluid::MineralOil),
                pressure: Some(pressure),
                // Half of the tools and some more may be fed with anything.
                allowable_pressure: (kind == Kind::Cutter && die % 3 != 0).then_some(Quantity::new(720.0, Unit::Bar)),
                outlets: more
                    .filter(|_| kind == Kind::PowerUnit)
                    .map(|(coupling, pressure, circuits)| Outlet { coupling, pressure, circuits })
                    .into_iter()
                    .collect(),
                circuits: circuits.filter(|_| kind == Kind::PowerUnit),
                battery: (kind == Kind::Battery || kind == Kind::Cutter && battery).then(|| "28V".to_owned()),
            };
            let thing = Thing {
                kind,
                hookup,
                length: (kind == Kind::Hose).then(|| [5_000.0, 10_000.0, 5_000.0, 7_000.0, 15_000.0][die % 5]),
                fixed_to: None,
            };
            (thing, die)
        });
    (prop::collection::vec(thing, 3..=most), prop::bool::weighted(0.2)).prop_map(|(drawn, joined)| {
        let source = |(t, _): &(Thing, usize)| matches!(t.kind, Kind::PowerUnit | Kind::HandPump);
        let first = drawn.iter().position(source);
        let things = drawn.into_iter().map(|(thing, die)| Thing {
            fixed_to: first.map(Some).filter(|_| thing.kind == Kind::Hose && die == 9),
            ..thing
        });
        World {
            things: things.collect(),
            tolerance: 0.01,
            adapters: true,
            joined: if joined { vec![("Mono".to_owned(), "Twin".to_owned())] } else { Vec::new() },
        }
    })
}

/// A demand for every piece of the world; those for other pieces than tools are passed over.
pub fn demands(world: &World, dice: &[u8]) -> Vec<Demand> {
    let demand = |i: usize| {
        let die = usize::from(dice[i % dice.len()]);
        Demand {
            tool: i,
            power_unit: die % 7 != 0,
            hand_pump: die % 3 != 0,
            below_rated: die % 4 == 1,
            least_mm: [0.0, 0.0, 5_000.0, 8_000.0, 10_000.0, 15_000.0][die % 6],
            pack: die % 5 != 0,
            own_pack: die % 11 == 0,
        }
    };
    (0..world.things.len()).map(demand).collect()
}
