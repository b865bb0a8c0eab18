//! Lines and tools at once: tables of cases by hand, and random worlds against trying everything (`FULLSET_CASES` times).
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::cast_possible_truncation, clippy::cast_precision_loss)]

mod brute_lines;
#[path = "brute_lines/by_hand.rs"]
mod by_hand;

use brute_lines::{Thing, World, busy_world, demands, world};
use fullset_calc::hookup::{Demand, Driven, Fluid, Hookup, MisfitCode, Obstacle, Outlet, lines_that_drive, obstacles, pieces_served, simultaneous_tools};
use fullset_calc::ratings::Kind;
use fullset_calc::units::{Quantity, Unit};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn cases(n: u32) -> ProptestConfig {
    let times = std::env::var("FULLSET_CASES").ok().and_then(|t| t.parse::<u32>().ok()).unwrap_or(1);
    ProptestConfig {
        cases: n * times,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn driven(world: &World) -> Vec<Driven> {
    let mates = world.mates();
    lines_that_drive(&world.parts(), &world.rules(&mates))
}

fn at_once(world: &World, demands: &[Demand]) -> usize {
    let mates = world.mates();
    let answer = simultaneous_tools(&world.parts(), &world.rules(&mates), demands);
    assert!(answer.exact, "{world:?}");
    answer.count
}

type Summary = BTreeMap<usize, Vec<(String, i64, bool, i64)>>;

fn summary(driven: &[Driven]) -> Summary {
    let mut all = Summary::new();
    for d in driven {
        let entry = (
            format!("{:?}", d.drive),
            (d.kpa * 1000.0).round() as i64,
            d.at_rated,
            d.longest_mm.round() as i64,
        );
        all.entry(d.tool).or_default().push(entry);
    }
    all.values_mut().for_each(|v| v.sort());
    all
}

fn brute_summary(world: &World) -> Summary {
    let mut longest: BTreeMap<_, f64> = BTreeMap::new();
    for line in world.lines() {
        let known = longest
            .entry((line.tool, world.outlet_name(line.source, line.outlet), line.at_rated))
            .or_default();
        *known = known.max(line.length.unwrap_or(0.0));
    }
    let mut all = Summary::new();
    for ((tool, (drive, _, _, pa), at_rated), length) in longest {
        all.entry(tool).or_default().push((drive, pa, at_rated, length.round() as i64));
    }
    all.values_mut().for_each(|v| v.sort());
    all
}

proptest! {
    #![proptest_config(cases(10_000))]

    #[test]
    fn lines_lead_where_trying_every_order_leads_and_are_as_long(world in prop_oneof![world(9), busy_world(9)]) {
        let driven = driven(&world);
        prop_assert_eq!(summary(&driven), brute_summary(&world));
        let all = world.lines();
        for d in &driven {
            let of = |l: &&brute_lines::TriedLine| l.tool == d.tool && l.at_rated == d.at_rated;
            let shown = all.iter().filter(of).find(|l| l.source == d.line.source && l.parts == d.line.parts).cloned();
            prop_assert!(shown.is_some(), "no such line: {:?}", d);
            let outlet = world.outlet_name(d.line.source, shown.unwrap().outlet);
            let same = all.iter().filter(of).filter(|l| world.outlet_name(l.source, l.outlet) == outlet);
            let first = same.map(|l| (l.parts.len(), l.parts.clone(), l.source)).min().unwrap();
            // An outlet of the same pressure in another family may lead to it in another way.
            prop_assert!(first.0 <= d.line.parts.len());
            if first.0 == d.line.parts.len() {
                prop_assert!(first.1 <= d.line.parts);
            }
        }
    }

    #[test]
    fn pieces_served_are_those_of_every_line_start(world in prop_oneof![world(9), busy_world(9)]) {
        let mates = world.mates();
        prop_assert_eq!(pieces_served(&world.parts(), &world.rules(&mates)), world.served());
    }
}

proptest! {
    #![proptest_config(cases(3000))]

    #[test]
    fn tools_at_once_are_as_many_as_any_way_of_joining_runs(
        world in prop_oneof![world(9), busy_world(11)],
        dice in prop::collection::vec(any::<u8>(), 9),
    ) {
        let demands = demands(&world, &dice);
        prop_assert_eq!(at_once(&world, &demands), world.at_once(&demands));
        let plain: Vec<Demand> = (0..world.things.len()).map(Demand::any).collect();
        prop_assert_eq!(at_once(&world, &plain), world.at_once(&plain));
    }
}

proptest! {
    #![proptest_config(cases(1500))]

    #[test]
    fn a_piece_more_lowers_nothing(world in world(14), dice in prop::collection::vec(any::<u8>(), 14)) {
        let mut fewer = world.clone();
        let last = fewer.things.pop().unwrap();
        for thing in &mut fewer.things {
            if thing.fixed_to == Some(Some(world.things.len() - 1)) {
                thing.fixed_to = Some(None);
            }
        }
        prop_assert!(at_once(&fewer, &demands(&fewer, &dice)) <= at_once(&world, &demands(&world, &dice)), "{:?}", last);
        let (before, after) = (summary(&driven(&fewer)), summary(&driven(&world)));
        for (tool, ways) in before {
            for (drive, pa, rated, length) in ways {
                prop_assert!(after[&tool].iter().any(|w| w.0 == drive && w.1 == pa && w.2 == rated && w.3 >= length));
            }
        }
    }

    #[test]
    fn neither_order_nor_unit_matters(world in world(12), dice in prop::collection::vec(any::<u8>(), 12)) {
        let n = world.things.len();
        let turned = |q: Quantity| {
            if q.unit == Unit::Psi {
                Quantity::new(q.si() / 100.0, Unit::Bar)
            } else {
                Quantity::new(q.si() / Unit::Psi.factor(), Unit::Psi)
            }
        };
        let mut other = world.clone();
        other.things.reverse();
        for thing in &mut other.things {
            thing.fixed_to = thing.fixed_to.map(|to| to.map(|s| n - 1 - s));
            thing.hookup.pressure = thing.hookup.pressure.map(turned);
            thing.hookup.allowable_pressure = thing.hookup.allowable_pressure.map(turned);
            for outlet in &mut thing.hookup.outlets {
                outlet.pressure = turned(outlet.pressure);
            }
        }
        let asked = demands(&world, &dice);
        let turned_round: Vec<Demand> = asked.iter().rev().map(|d| Demand { tool: n - 1 - d.tool, ..*d }).collect();
        prop_assert_eq!(at_once(&world, &asked), at_once(&other, &turned_round));
        let back: Summary = summary(&driven(&other)).into_iter().map(|(tool, ways)| (n - 1 - tool, ways)).collect();
        prop_assert_eq!(summary(&driven(&world)), back);
    }

    #[test]
    fn a_tool_that_nothing_drives_says_why(world in world(9)) {
        let mates = world.mates();
        let rated: Vec<usize> = world.lines().iter().filter(|l| l.at_rated).map(|l| l.tool).collect();
        for (tool, _) in world.things.iter().enumerate().filter(|(_, t)| t.kind.is_tool() && t.hookup.battery.is_none()) {
            let why = obstacles(&world.parts(), &world.rules(&mates), tool, 0.0);
            prop_assert_eq!(why.is_empty(), rated.contains(&tool), "{:?}", why);
        }
    }
}
