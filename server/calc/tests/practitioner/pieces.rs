//! "May I use it?" of one piece, on a shelf or aboard, in the order of design 4.3a.

use super::kit::*;
use super::row::{Row, aboard, shelf};
use super::scene::PRACTICE;
use chrono::Duration;
use fullset_calc::capability::{Batteries, Life, Piece, ReasonCode, Rules, Verdict};
use fullset_calc::hookup::Fluid;
use fullset_calc::ratings::Gear;
use std::sync::Arc;

const ORDER: &str = "design 4.3a";
const WRONG: &str = "seen answered wrong once; common practice, no source";

pub fn rows() -> Vec<Row> {
    use ReasonCode::*;
    use Verdict::{CannotBeConfirmed, No, NotOnThisRig, Yes};
    let end = now();
    let before = end - Duration::microseconds(1);
    let due = now() + Duration::days(90);
    let life = |life: Life| hose("HO-9", 10.0).but(|p| p.life = life);
    let stopped = |p: Piece| p.but(|p| p.stop_use = Some(notice("notice 12")));
    let held = |p: Piece| p.but(|p| p.quarantine = Some(notice("fluids mixed")));
    let overdue = now() - Duration::days(31);
    let in_grace = now() - Duration::days(29);
    let on_record = |families: &[&str]| {
        let families = families.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
        move |r: &mut Rules| {
            r.policy.batteries = Batteries::WhereOnRecord;
            r.packs_on_record = Arc::new(families);
        }
    };
    let battery_cutter = || cutter("CU-9").on_battery("28V");
    let unknown_hookup = |p: Piece| p.wired(|h| *h = Default::default());
    vec![
        // Yes.
        shelf("a checked cutter on the shelf: yes, until its service is due", ORDER, cutter("CU-9"), Yes, None).until(due),
        aboard("a checked cutter aboard its rig", ORDER, cutter("CU-1"), without(set(), "CU-1"), Yes, None),
        aboard("chains aboard need no hook-up", PRACTICE, gear("AC-1", Some(Gear::Chains)), set(), Yes, None),
        aboard(
            "a ram out of service beside it is not the cutter's matter",
            ORDER,
            cutter("CU-1"),
            but(without(set(), "CU-1"), "RA-1", Said::out),
            Yes,
            None,
        ),
        shelf("a checked pack on the shelf", ORDER, pack("BA-9"), Yes, None),
        // No, the first reason first.
        shelf("a cutter out of service", ORDER, cutter("CU-9").out(), No, OutOfService).until(None),
        shelf("a cutter that nobody can find", ORDER, cutter("CU-9").missing(), No, Missing),
        shelf("a cutter under a stop-use notice", ORDER, stopped(cutter("CU-9")), No, StopUse),
        shelf(
            "a hose on a shelf whose life ended years ago",
            WRONG,
            hose("HO-9", 10.0).ends(t("2021-03-01T00:00:00")),
            No,
            LifeEnded,
        ),
        aboard(
            "the same hose on a rig",
            WRONG,
            hose("HO-9", 10.0).ends(t("2021-03-01T00:00:00")),
            set(),
            No,
            LifeEnded,
        ),
        shelf(
            "a hose at the instant at which its life ends",
            ORDER,
            hose("HO-9", 10.0).ends(end),
            No,
            LifeEnded,
        )
        .when(end),
        shelf("a hose an instant earlier", ORDER, hose("HO-9", 10.0).ends(end), Yes, None)
            .when(before)
            .until(end),
        shelf("a pump held apart after a mix of fluids", "design 4.2", held(pump("PU-9", 2)), No, Quarantined),
        shelf(
            "a ram 38 days overdue with a grace of 30",
            WRONG,
            ram("RA-9", 650.0, 1500.0).due(now() - Duration::days(38)),
            No,
            CheckOverdue,
        ),
        shelf(
            "a ram at the end of its grace",
            ORDER,
            ram("RA-9", 650.0, 1500.0).due(end - Duration::days(30)),
            No,
            CheckOverdue,
        )
        .when(end),
        shelf(
            "a cutter whose repair-by date is past",
            "design 4.3b",
            cutter("CU-9").limited(Some(end), &[]),
            No,
            RepairByPast,
        )
        .when(end),
        shelf(
            "out of service comes before missing papers and an ended life",
            ORDER,
            hose("HO-9", 10.0).ends(t("2021-03-01T00:00:00")).unplanned().out(),
            No,
            OutOfService,
        ),
        shelf(
            "a stop-use notice comes before an ended life",
            ORDER,
            stopped(hose("HO-9", 10.0).ends(t("2021-03-01T00:00:00"))),
            No,
            StopUse,
        ),
        shelf(
            "an ended life comes before quarantine",
            ORDER,
            held(hose("HO-9", 10.0).ends(t("2021-03-01T00:00:00"))),
            No,
            LifeEnded,
        ),
        shelf(
            "quarantine comes before an overdue check",
            ORDER,
            held(pump("PU-9", 2).due(overdue)),
            No,
            Quarantined,
        ),
        shelf(
            "an overdue check comes before a repair-by date",
            ORDER,
            cutter("CU-9").due(overdue).limited(Some(end), &[]),
            No,
            CheckOverdue,
        ),
        shelf("missing comes before a stop-use notice", ORDER, stopped(cutter("CU-9").missing()), No, Missing),
        // No on this rig.
        aboard(
            "a mineral oil cutter aboard a phosphate ester rig",
            WRONG,
            cutter("CU-9"),
            set_where(|p| p.filled_with(Some(Fluid::PhosphateEster))),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a cutter that does not mate",
            "2-trade.md 2",
            cutter("CU-9").coupled("Twin"),
            set(),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a cutter whose rig has a dead pump",
            ORDER,
            cutter("CU-1"),
            but(without(set(), "CU-1"), "PU-1", Said::out),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a cutter on a pump of half its pressure",
            "seen answered wrong once; common practice, no source",
            cutter("CU-1"),
            but(without(set(), "CU-1"), "PU-1", |p| p.at(bar(350.0))),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a cutter on a rig whose only hose is out of life",
            ORDER,
            cutter("CU-1"),
            but(without(on_one_hose(), "CU-1"), "HO-1", |p| p.ends(t("2021-03-01T00:00:00"))),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a hose that fits nothing aboard",
            ORDER,
            hose("HO-9", 10.0).coupled("Twin"),
            set(),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a second pump that no hose aboard fits",
            "seen answered wrong once; common practice, no source",
            pump("PU-9", 1).coupled("Twin"),
            set(),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "an adapter that fits nothing aboard",
            ORDER,
            adapter("AD-9", "Twin", "Screw"),
            set(),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a pack for no tool aboard",
            "seen answered wrong once; common practice, no source",
            pack("BA-9").on_battery("60V"),
            and(set(), [battery_cutter(), pack("BA-1")]),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard(
            "a battery tool whose rig carries no pack of its family",
            "seen answered wrong once; common practice, no source",
            battery_cutter(),
            and(set(), [pack("BA-9").on_battery("60V")]),
            NotOnThisRig,
            CannotRunHere,
        ),
        aboard("a battery tool with its pack", ORDER, battery_cutter(), vec![pack("BA-1")], Yes, None),
        aboard(
            "out of service comes before a rig where it cannot run",
            ORDER,
            cutter("CU-9").coupled("Twin").out(),
            set(),
            No,
            OutOfService,
        ),
        aboard(
            "a rig where it cannot run comes before a use without a check",
            ORDER,
            cutter("CU-9").coupled("Twin").used(),
            set(),
            NotOnThisRig,
            CannotRunHere,
        ),
        shelf(
            "on a shelf it is no matter that no rig fits it",
            ORDER,
            cutter("CU-9").coupled("Twin"),
            Yes,
            None,
        ),
        // Cannot be confirmed.
        shelf("a hose of unknown age", WRONG, life(Life::Unknown), CannotBeConfirmed, AgeUnknown),
        shelf(
            "a hose of unknown age that the coordinator allows",
            "design 4.3",
            life(Life::AllowedUntil(now() + Duration::days(9), "one lot".into())),
            CannotBeConfirmed,
            AgeAllowed,
        )
        .until(now() + Duration::days(9)),
        shelf(
            "a cutter with a plan and no date",
            ORDER,
            cutter("CU-9").undated(),
            CannotBeConfirmed,
            CheckDateUnknown,
        ),
        shelf("a cutter without ratings", ORDER, cutter("CU-9").unrated(), CannotBeConfirmed, RatingUnknown),
        shelf("a hose needs no ratings to be used", PRACTICE, hose("HO-9", 10.0).unrated(), Yes, None),
        shelf(
            "a cutter of which nobody wrote down how it is hooked up",
            ORDER,
            unknown_hookup(cutter("CU-9")),
            CannotBeConfirmed,
            HookupUnknown,
        ),
        shelf(
            "a hose of unknown coupling",
            ORDER,
            hose("HO-9", 10.0).wired(|h| h.coupling = None),
            CannotBeConfirmed,
            HookupUnknown,
        ),
        shelf(
            "a pack of unknown family",
            ORDER,
            pack("BA-9").wired(|h| h.battery = None),
            CannotBeConfirmed,
            HookupUnknown,
        ),
        shelf(
            "a cutter used and not checked since",
            ORDER,
            cutter("CU-9").used(),
            CannotBeConfirmed,
            UsedUnchecked,
        ),
        aboard(
            "the same aboard",
            ORDER,
            cutter("CU-1").used(),
            without(set(), "CU-1"),
            CannotBeConfirmed,
            UsedUnchecked,
        ),
        aboard(
            "a stand-in cutter that nobody has tried on this rig",
            "design 4.3, confirmed; 2-trade.md 3, swap",
            cutter("CU-1").untried(),
            without(set(), "CU-1"),
            CannotBeConfirmed,
            NotTried,
        ),
        aboard(
            "a use without a check comes before a trial that is owed",
            ORDER,
            cutter("CU-1").used().untried(),
            without(set(), "CU-1"),
            CannotBeConfirmed,
            UsedUnchecked,
        ),
        shelf(
            "a ram overdue inside the grace, until the grace ends",
            "seen answered wrong once; common practice, no source",
            ram("RA-9", 650.0, 1500.0).due(in_grace),
            CannotBeConfirmed,
            OverdueInGrace,
        )
        .until(in_grace + Duration::days(30)),
        shelf(
            "a ram in the instant in which it is due",
            ORDER,
            ram("RA-9", 650.0, 1500.0).due(end),
            CannotBeConfirmed,
            OverdueInGrace,
        )
        .when(end),
        shelf(
            "where overdue never counts it is still no yes",
            "2-trade.md 10.4",
            ram("RA-9", 650.0, 1500.0).due(overdue),
            CannotBeConfirmed,
            OverdueInGrace,
        )
        .rules(|r| r.policy.overdue_grace_days = None)
        .until(None),
        shelf(
            "a cutter without any plan",
            "design 4.3: no plan is never a pass",
            cutter("CU-9").unplanned(),
            CannotBeConfirmed,
            NoPlan,
        )
        .until(None),
        shelf(
            "a battery cutter whose packs are not on record",
            ORDER,
            battery_cutter(),
            CannotBeConfirmed,
            PackNotOnRecord,
        )
        .rules(on_record(&["60V"])),
        shelf("a battery cutter whose packs are", ORDER, battery_cutter(), Yes, None).rules(on_record(&["28 v"])),
    ]
}
