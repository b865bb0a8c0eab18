//! Packs, hand pumps, kinds of drive and spare packs (design 4.2 and 4.3, CHECKS A3).

use super::kit::*;
use super::scene::*;
use fullset_calc::capability::{Batteries, Drive, Grade, Level, NearCode, Piece, ReasonCode, Rules};
use fullset_calc::ratings::{Gear, Kind};
use std::sync::Arc;

const PACK: &str = "design 4.2: a matching pack that no other tool counts";
const SPARE: &str = "CHECKS A3, battery tools: one battery per tool and one spare";
const RECORD: &str = "issue, defaults: packs are tracked for each battery family that has one on record";
const HAND: &str = "design 4.2: a hand pump reaches limited at most unless the grade names it";

fn packs(n: usize) -> Vec<Piece> {
    (1..=n).map(|n| pack(&format!("BA-{n}"))).collect()
}

fn combi_with(packs: impl IntoIterator<Item = Piece>) -> Vec<Piece> {
    and(vec![combi("CT-1").on_battery("28V")], packs)
}

/// Cutter, spreader and ram on batteries, with so many packs.
fn on_packs(n: usize) -> Vec<Piece> {
    let tools = [cutter("CU-1"), spreader("SP-1"), ram("RA-1", 650.0, 1500.0)].map(|p| p.on_battery("28V"));
    and(tools.to_vec(), packs(n))
}

fn where_on_record(families: &[&str]) -> impl FnOnce(&mut Rules) {
    let families = families.iter().map(|name| (*name).to_owned()).collect();
    |r| {
        r.policy.batteries = Batteries::WhereOnRecord;
        r.packs_on_record = Arc::new(families);
    }
}

fn by_hand() -> Vec<Piece> {
    but(set(), "PU-1", |_| hand_pump("HP-1"))
}

pub fn scenes() -> Vec<Scene> {
    use Level::{Full, Limited, None};
    use NearCode::*;
    let cut_and_spread = || {
        grade(vec![
            need("cut", vec![vec![part(&[Kind::Cutter])]]),
            need("spread", vec![vec![part(&[Kind::Spreader])]]),
        ])
    };
    let two_drives = || {
        own(Grade {
            kinds_of_drive: 2,
            ..cut_and_spread()
        })
    };
    let battery_cutter = || {
        let mut cut = part(&[Kind::Cutter]);
        cut.drives = vec![Drive::Battery];
        own(grade(vec![need("cut", vec![vec![cut]])]))
    };
    let hand = |hand_pump, tools_at_once| {
        own(Grade {
            hand_pump,
            tools_at_once,
            ..cut_and_spread()
        })
    };
    // By hand even limited needs the grade to name the pump; `own` grades do not.
    let named = |mut grades: fullset_calc::capability::Grades| {
        grades.limited.hand_pump = true;
        grades
    };
    vec![
        scene("a battery tool without a pack does nothing", PACK, combi_with([]), None)
            .nfpa()
            .expects(Limited)
            .near("open", NoBattery),
        scene(
            "a pack of another family is no pack",
            "seen answered wrong once; common practice, no source",
            combi_with([pack("BA-1").on_battery("60V")]),
            None,
        )
        .nfpa()
        .expects(Limited)
        .near("open", NoBattery),
        scene(
            "a pack of which nobody wrote down the family is none",
            "design 4.3: unknown meets nothing",
            combi_with([pack("BA-1").wired(|h| h.battery = Option::None)]),
            None,
        )
        .nfpa(),
        scene(
            "a mains adapter is no pack",
            "design 4.2: a mains adapter is no pack",
            combi_with([gear("MA-1", Some(Gear::MainsAdapter))]),
            None,
        )
        .nfpa(),
        scene(
            "a charger is no pack",
            PRACTICE,
            combi_with([piece("CH-1", Kind::Charger, Default::default()).on_battery("28V")]),
            None,
        )
        .nfpa(),
        scene(
            "a pack out of service is none",
            "2-trade.md 9, batteries",
            combi_with([pack("BA-1").out()]),
            None,
        )
        .nfpa()
        .expects(Limited)
        .near("open", NoBattery),
        scene("with a pack of its family it is limited", PACK, combi_with(packs(1)), Limited).nfpa(),
        scene(
            "the family's name in another spelling is the same family",
            PACK,
            combi_with([pack("BA-1").on_battery(" 28v")]),
            Limited,
        )
        .nfpa(),
        scene("one pack does not drive cutter and spreader", PACK, without(on_packs(1), "RA-1"), None).nfpa(),
        scene("two packs do", PACK, without(on_packs(2), "RA-1"), Limited).nfpa(),
        scene("three packs drive the set where no spare is asked", PACK, on_packs(3), Full).nfpa(),
        scene("a combination tool with one pack has no spare", SPARE, combi_with(packs(1)), None)
            .expects(Limited)
            .held_down(),
        scene("with two packs it has", SPARE, combi_with(packs(2)), Limited),
        scene(
            "three battery tools with three packs lack the spare: limited with two of them",
            SPARE,
            on_packs(3),
            Limited,
        )
        .held_down(),
        scene("with four packs they are full", SPARE, on_packs(4), Full),
        scene(
            "a spare of another family is no spare",
            SPARE,
            and(on_packs(3), [pack("BA-9").on_battery("60V")]),
            Limited,
        )
        .held_down(),
        scene("a spare out of service is no spare", SPARE, and(on_packs(3), [pack("BA-9").out()]), Limited),
        scene(
            "a spare is asked for the battery tools that are counted on alone: cutter and spreader on hoses",
            SPARE,
            and(
                without(set(), "RA-1"),
                [ram("RA-1", 650.0, 1500.0).on_battery("28V"), pack("BA-1"), pack("BA-2")],
            ),
            Full,
        ),
        scene(
            "a battery cutter beside a set on hoses asks for nothing",
            SPARE,
            and(set(), [cutter("CU-2").on_battery("28V"), pack("BA-1")]),
            Full,
        ),
        scene("a family that the agency has on record needs a pack aboard", RECORD, combi_with([]), None)
            .nfpa()
            .rules(where_on_record(&["28V"])),
        scene(
            "a family that it has not runs on its own pack, never confirmed",
            RECORD,
            combi_with([]),
            Limited,
        )
        .rules(where_on_record(&["60V"]))
        .confirmed_only(None, &[ReasonCode::PackNotOnRecord]),
        scene(
            "on a rig that carries any pack the tool needs one of its own",
            RECORD,
            combi_with([pack("BA-1").on_battery("60V")]),
            None,
        )
        .nfpa()
        .rules(where_on_record(&[])),
        scene(
            "packs aboard are counted also where the family was not on record",
            RECORD,
            combi_with(packs(2)),
            Limited,
        )
        .rules(where_on_record(&[])),
        scene("tools that carry their own packs run, never confirmed", RECORD, on_packs(0), Full)
            .rules(|r| r.policy.batteries = Batteries::WithTool)
            .confirmed_only(None, &[ReasonCode::PackNotOnRecord]),
        scene("a hand pump reaches limited", HAND, by_hand(), Limited)
            .near("push", DriveNotCounted)
            .near("cut", DriveNotCounted),
        scene("with a grade that names it, full", HAND, by_hand(), Full).full_asks(|full| full.hand_pump = true),
        scene("where limited does not name it, none", HAND, by_hand(), None)
            .by(hand(false, 0))
            .near("cut", DriveNotCounted),
        scene(
            "a hand pump has one circuit, whatever is written",
            "design 4.2: a source with one circuit",
            but(by_hand(), "HP-1", |p| p.wired(|h| h.circuits = Some(2))),
            Limited,
        )
        .by(named(hand(true, 2)))
        .held_down(),
        scene("one tool in turn on a hand pump is what it can", HAND, by_hand(), Full).by(named(hand(true, 1))),
        scene(
            "two kinds of drive are not met by hoses alone",
            "CHECKS A3, heavy: two drive types",
            set(),
            Limited,
        )
        .by(two_drives())
        .held_down(),
        scene(
            "a battery cutter with a pack is the second kind",
            "CHECKS A3, heavy: two drive types",
            and(set(), [cutter("CU-2").on_battery("28V"), pack("BA-1")]),
            Full,
        )
        .by(two_drives()),
        scene(
            "without its pack it is not",
            "CHECKS A3, heavy: two drive types",
            and(set(), [cutter("CU-2").on_battery("28V")]),
            Limited,
        )
        .by(two_drives())
        .held_down(),
        scene(
            "a battery ram that serves no need is no second kind",
            "CHECKS A3, heavy: two drive types",
            and(set(), [ram("RA-2", 650.0, 1500.0).on_battery("28V"), pack("BA-1")]),
            Limited,
        )
        .by(two_drives())
        .held_down(),
        scene(
            "a part that names battery is not met from a hose",
            "design 4.3: permitted sources",
            set(),
            Limited,
        )
        .by(battery_cutter())
        .near("cut", DriveNotCounted),
        scene(
            "it is met by a battery cutter",
            "design 4.3: permitted sources",
            and(set(), [cutter("CU-2").on_battery("28V"), pack("BA-1")]),
            Full,
        )
        .by(battery_cutter()),
        scene("a full set and a pack with nothing to drive is full", PRACTICE, and(set(), packs(1)), Full),
    ]
}
