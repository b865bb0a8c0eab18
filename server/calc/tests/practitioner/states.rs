//! State, life, checks, defects: on both sides of every bound (design 4.3, 2-trade.md 10).

use super::kit::*;
use super::scene::*;
use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{Level, Life, NearCode, Piece, ReasonCode};
use fullset_calc::ratings::Term;

const USABLE: &str = "2-trade.md 10.2: in service, in date, checked, compatible";
const HOSE_LIFE: &str = "CHECKS A4: hose replaced at 10 years from date of make (DGUV 305-002, 13.2.5)";
const YEARLY: &str = "CHECKS A4: every 12 months; the agency's grace";
const CONFIRMED: &str = "design 4.3, confirmed";
const REPAIR_BY: &str = "CHECKS A4b, design 4.3b: past it the piece is not usable, by the clock";

fn instant_before(at: DateTime<Utc>) -> DateTime<Utc> {
    at - Duration::microseconds(1)
}

/// The set whose only hose has its life's end at an instant.
fn hose_ends(at: DateTime<Utc>) -> Vec<Piece> {
    but(on_one_hose(), "HO-1", |p| p.ends(at))
}

fn ram_due(at: DateTime<Utc>) -> Vec<Piece> {
    but(set(), "RA-1", |p| p.due(at))
}

fn days(n: i64) -> Duration {
    Duration::days(n)
}

pub fn scenes() -> Vec<Scene> {
    use Level::{Full, Limited, None};
    use NearCode as Near;
    let end = t("2026-11-26T07:00:00");
    let allowed = |until| {
        but(on_one_hose(), "HO-1", |p| {
            p.but(|p| p.life = Life::AllowedUntil(until, "bought in one lot with HO-2".into()))
        })
    };
    vec![
        scene("a hose is good until the instant at which its ten years end", HOSE_LIFE, hose_ends(end), Full).when(instant_before(end)),
        scene(
            "from that instant on it is not, and nothing else feeds the tools",
            HOSE_LIFE,
            hose_ends(end),
            None,
        )
        .when(end)
        .near("cut", Near::LifeEnded),
        scene(
            "a hose whose life ended years ago feeds nothing",
            HOSE_LIFE,
            hose_ends(t("2021-03-01T00:00:00")),
            None,
        )
        .near("cut", Near::LifeEnded),
        scene(
            "a hose of unknown age feeds nothing",
            "2-trade.md 5.4: unknown is not young",
            but(on_one_hose(), "HO-1", |p| p.but(|p| p.life = Life::Unknown)),
            None,
        )
        .near("cut", Near::LifeUnknown),
        scene(
            "a hose of unknown age that the coordinator allows feeds, unconfirmed",
            "design 4.3: the coordinator may allow it, with a reason that shows",
            allowed(end + days(9)),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::AgeAllowed])
        .remarked(),
        scene("until the instant at which the allowance ends", "design 4.3: until a date", allowed(end), None).when(end),
        scene(
            "a ram whose annual service is due this second is not yet beyond anything, but no longer confirmed",
            YEARLY,
            ram_due(end),
            Full,
        )
        .when(end)
        .confirmed_only(Limited, &[ReasonCode::OverdueInGrace])
        .remarked(),
        scene("an instant earlier it is confirmed", YEARLY, ram_due(end), Full).when(instant_before(end)),
        scene(
            "a ram 29 days overdue counts inside a grace of 30, and is said to be overdue",
            YEARLY,
            ram_due(end - days(29)),
            Full,
        )
        .confirmed_only(Limited, &[ReasonCode::OverdueInGrace])
        .remarked(),
        scene("an instant before 30 whole days are over it still does", YEARLY, ram_due(end - days(30)), Full)
            .when(instant_before(end))
            .confirmed_only(Limited, &[ReasonCode::OverdueInGrace]),
        scene("at 30 whole days it does not", YEARLY, ram_due(end - days(30)), Limited)
            .when(end)
            .near("push", Near::CheckOverdue),
        scene(
            "a ram 38 days overdue is not counted",
            "seen answered wrong once; common practice, no source",
            ram_due(end - days(38)),
            Limited,
        )
        .near("push", Near::CheckOverdue),
        scene("without any grace it is out the instant it is due", YEARLY, ram_due(end), Limited)
            .when(end)
            .rules(|r| r.policy.overdue_grace_days = Some(0))
            .near("push", Near::CheckOverdue),
        scene(
            "where overdue never counts against a piece it is still said, and not confirmed",
            "2-trade.md 10.4",
            ram_due(end - days(400)),
            Full,
        )
        .rules(|r| r.policy.overdue_grace_days = Option::None)
        .confirmed_only(Limited, &[ReasonCode::OverdueInGrace])
        .remarked(),
        scene(
            "an unknown check date takes the confirmation away and nothing else",
            "design 4.3: an unknown check date only takes the confirmation away",
            but(set(), "RA-1", Said::undated),
            Full,
        )
        .confirmed_only(Limited, &[ReasonCode::CheckDateUnknown]),
        scene(
            "a rig of pieces without any date is full and says that nothing is confirmed",
            "seen answered wrong once; common practice, no source",
            set_where(Said::undated),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::CheckDateUnknown]),
        scene(
            "no plan is never a pass",
            "design 4.3: no plan and no date are never a pass",
            set_where(Said::unplanned),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::NoPlan]),
        scene(
            "one of two plans without a date is enough to doubt",
            CONFIRMED,
            but(set(), "RA-1", |p| {
                p.but(|p| {
                    let more = piece("X", p.kind, wet()).undated().checks;
                    p.checks.extend(more);
                })
            }),
            Full,
        )
        .confirmed_only(Limited, &[ReasonCode::CheckDateUnknown]),
        scene(
            "a ram with one check in date and one beyond grace is out",
            USABLE,
            but(set(), "RA-1", |p| {
                p.but(|p| {
                    let more = piece("X", p.kind, wet()).due(now() - days(31)).checks;
                    p.checks.extend(more);
                })
            }),
            Limited,
        )
        .near("push", Near::CheckOverdue),
        scene("a cutter out of service leaves the spreader alone", USABLE, but(set(), "CU-1", Said::out), None)
            .near("cut", Near::OutOfService)
            .still_runs("SP-1"),
        scene("a pump out of service stops all", USABLE, but(set(), "PU-1", Said::out), None).near("cut", Near::NoSource),
        scene(
            "a ram that nobody can find is not counted",
            "seen answered wrong once; common practice, no source",
            but(set(), "RA-1", Said::missing),
            Limited,
        )
        .near("push", Near::Missing),
        scene(
            "a ram under a stop-use notice is not counted",
            USABLE,
            but(set(), "RA-1", |p| p.but(|p| p.stop_use = Some(notice("notice 12")))),
            Limited,
        )
        .near("push", Near::StopUse),
        scene(
            "after a mix of fluids every wet piece is held apart",
            "design 4.2; CHECKS A5",
            set_where(|p| p.but(|p| p.quarantine = Some(notice("fluids mixed")))),
            None,
        )
        .near("cut", Near::Quarantined)
        .near("push", Near::Quarantined),
        scene(
            "the shop has cleared all but the ram",
            "design 4.2: piece by piece",
            but(set(), "RA-1", |p| p.but(|p| p.quarantine = Some(notice("fluids mixed")))),
            Limited,
        )
        .near("push", Near::Quarantined),
        scene(
            "a cutter with a defect and a limit counts, and is not confirmed",
            "design 4.3a",
            but(set(), "CU-1", |p| p.limited(Option::None, &[])),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::OpenDefect])
        .remarked(),
        scene(
            "a limit that takes the opening away leaves a cutter for limited",
            "design 4.3a: the ratings that the limit takes away meet nothing",
            but(set(), "CU-1", |p| p.limited(Option::None, &[Term::CutterOpening])),
            Limited,
        )
        .near("cut", Near::Limited)
        .confirmed_only(None, &[ReasonCode::OpenDefect]),
        scene(
            "a limit on a ram's extended length leaves a gap in the range",
            "design 4.3a",
            but(set(), "RA-1", |p| p.limited(Option::None, &[Term::ExtendedLength])),
            Limited,
        ),
        scene(
            "a limit that takes a rating away which nothing asks for changes no level",
            "design 4.3a",
            but(set(), "SP-1", |p| p.limited(Option::None, &[Term::PullingDistance])),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::OpenDefect]),
        scene(
            "a cutter to be repaired by this instant counted until it",
            REPAIR_BY,
            but(set(), "CU-1", |p| p.limited(Some(end), &[])),
            Full,
        )
        .when(instant_before(end))
        .confirmed_only(None, &[ReasonCode::OpenDefect]),
        scene("from it on it does not", REPAIR_BY, but(set(), "CU-1", |p| p.limited(Some(end), &[])), None)
            .when(end)
            .near("cut", Near::RepairByPast),
        scene(
            "a ram used at 02:00 and not checked since counts, unconfirmed",
            "CHECKS A4: after each use (DGUV Vorschrift 49, 11)",
            but(set(), "RA-1", Said::used),
            Full,
        )
        .confirmed_only(Limited, &[ReasonCode::UsedUnchecked]),
        scene(
            "a ram that came aboard last night counts, unconfirmed until somebody says that it was tried on this rig",
            "design 4.3, confirmed; 2-trade.md 3, swap: tried on this pump",
            but(set(), "RA-1", Said::untried),
            Full,
        )
        .confirmed_only(Limited, &[ReasonCode::NotTried]),
        scene(
            "a stand-in pump that nobody has run here: full, nothing confirmed",
            "design 4.3, confirmed",
            but(set(), "PU-1", Said::untried),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::NotTried]),
        scene(
            "all tools used at a crash and not checked since: full, nothing confirmed",
            "2-trade.md 5.11",
            set_where(|p| if p.kind.is_tool() { p.used() } else { p }),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::UsedUnchecked]),
        scene(
            "an unconfirmed hose beside a confirmed one takes nothing away",
            CONFIRMED,
            but(set(), "HO-2", Said::unplanned),
            Full,
        ),
        scene(
            "the only hose without a plan takes the whole confirmation away",
            CONFIRMED,
            but(on_one_hose(), "HO-1", Said::unplanned),
            Full,
        )
        .confirmed_only(None, &[ReasonCode::NoPlan]),
        scene("an unconfirmed pump takes it away", CONFIRMED, but(set(), "PU-1", Said::undated), Full).confirmed_only(None, &[ReasonCode::CheckDateUnknown]),
    ]
}
