//! What stands against a piece in itself, wherever it is: the order of the verdict, in words and as data.

use super::input::{DueCheck, Life, Overdue, Piece, Rules, State};
use super::reason::{Reason, ReasonCode};
use super::words::{Voice, listed, taken_away};
use chrono::{DateTime, Utc};

/// "cutter CU-104".
pub(super) fn named(piece: &Piece) -> String {
    format!("{} {}", piece.kind.word(), piece.tag)
}

fn reason(piece: &Piece, code: ReasonCode, since: Option<DateTime<Utc>>, text: &str) -> Reason {
    Reason {
        piece: Some(piece.id),
        code,
        words: format!("{}: {text}", named(piece)),
        since,
    }
}

/// Everything for which the piece must not be used, in the order of the verdict.
pub(super) fn stops(piece: &Piece, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<Reason> {
    let mut all = Vec::new();
    match &piece.state {
        State::InService => {}
        State::OutOfService { since, reason: why } => {
            let why = if why.is_empty() { String::new() } else { format!(", {why}") };
            all.push(reason(
                piece,
                ReasonCode::OutOfService,
                Some(*since),
                &format!("out of service since {}{why}", voice.at(*since)),
            ));
        }
        State::Missing { since } => all.push(reason(piece, ReasonCode::Missing, Some(*since), &format!("missing since {}", voice.at(*since)))),
    }
    if let Some(used) = piece.used_while_out.filter(|_| piece.state != State::InService) {
        all.push(reason(piece, ReasonCode::UsedUnchecked, Some(used), &used_out(used, voice)));
    }
    if let Some(notice) = &piece.stop_use {
        let text = format!("stop use since {}, {}", voice.at(notice.since), notice.words);
        all.push(reason(piece, ReasonCode::StopUse, Some(notice.since), &text));
    }
    match &piece.life {
        Life::Ends(end) if at >= *end => all.push(reason(
            piece,
            ReasonCode::LifeEnded,
            Some(*end),
            &format!("{} {}", piece.life_of.ended(), voice.at(*end)),
        )),
        Life::AllowedUntil(end, _) if at >= *end => {
            let text = format!("age unknown; it was allowed until {}", voice.at(*end));
            all.push(reason(piece, ReasonCode::LifeEnded, Some(*end), &text));
        }
        _ => {}
    }
    if let Some(notice) = &piece.quarantine {
        let text = format!("quarantined since {}, {}", voice.at(notice.since), notice.words);
        all.push(reason(piece, ReasonCode::Quarantined, Some(notice.since), &text));
    }
    for check in &piece.checks {
        if let Some(due) = check.due
            && check.counts_from(&rules.policy).is_some_and(|t| at >= t)
        {
            let text = format!("{} {}{}", check.name, overdue(due, voice), grace(check, rules, ", beyond"));
            all.push(reason(piece, ReasonCode::CheckOverdue, Some(due), &text));
        }
    }
    for limit in &piece.limits {
        if let Some(by) = limit.repair_by
            && at >= by
        {
            let text = format!("had to be repaired by {}: {}", voice.at(by), limit.found());
            all.push(reason(piece, ReasonCode::RepairByPast, Some(by), &text));
        }
    }
    all
}

/// Everything for which records do not say that a usable piece may be used, in the order of the verdict.
pub(super) fn doubts(piece: &Piece, own_pack: bool, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<Reason> {
    let mut all = Vec::new();
    let mut doubt = |code, since, text: &str| all.push(reason(piece, code, since, text));
    if piece.life == Life::Unknown {
        doubt(ReasonCode::AgeUnknown, None, &piece.life_of.unknown());
    }
    for check in piece.checks.iter().filter(|check| check.due.is_none()) {
        doubt(ReasonCode::CheckDateUnknown, None, &format!("no date of its last {} on record", check.name));
    }
    if piece.kind.is_tool() && piece.ratings.is_empty() {
        doubt(ReasonCode::RatingUnknown, None, "ratings not on record");
    }
    if lacks_hookup(piece) {
        doubt(ReasonCode::HookupUnknown, None, "how it is hooked up is not on record");
    }
    if let Some(used) = piece.used_while_out {
        doubt(ReasonCode::UsedUnchecked, Some(used), &used_out(used, voice));
    }
    if let Some(used) = piece.used_unchecked.filter(|used| piece.used_while_out.is_none_or(|out| out < *used)) {
        doubt(ReasonCode::UsedUnchecked, Some(used), &format!("used {}, not checked since", voice.at(used)));
    }
    if let Some(since) = piece.untried_since {
        doubt(
            ReasonCode::NotTried,
            Some(since),
            &format!("came aboard {}, not tried on this rig since", voice.at(since)),
        );
    }
    for check in &piece.checks {
        if let Some(due) = check.due.filter(|due| at >= *due)
            && check.counts_from(&rules.policy).is_none_or(|t| at < t)
        {
            let text = format!("{} {}{}", check.name, overdue(due, voice), grace(check, rules, ", inside"));
            doubt(ReasonCode::OverdueInGrace, Some(due), &text);
        }
    }
    if let Some(released) = &piece.released
        && !released.without_limit.is_empty()
    {
        let labels: Vec<&str> = released.without_limit.iter().map(|measure| measure.label()).collect();
        let manual = released.manual.as_ref().map_or_else(String::new, |manual| format!(" by the manual, {manual}"));
        let text = format!("limit not on record for {}; returned {}{manual}", listed(&labels, "and"), voice.at(released.at));
        doubt(ReasonCode::LimitNotOnRecord, Some(released.at), &text);
    }
    if let Some(released) = &piece.released {
        for why in &released.own_rule {
            doubt(ReasonCode::OwnRule, Some(released.at), &format!("returned under the agency's own rule: {why}"));
        }
    }
    if piece.checks.is_empty() {
        doubt(ReasonCode::NoPlan, None, "no check is planned for it");
    }
    if own_pack {
        doubt(ReasonCode::PackNotOnRecord, None, "its battery packs are not on record");
    }
    if let Life::AllowedUntil(end, why) = &piece.life
        && at < *end
    {
        doubt(ReasonCode::AgeAllowed, None, &format!("age unknown, allowed until {}: {why}", voice.at(*end)));
    }
    all
}

/// The open defects that leave it usable.
pub(super) fn limits(piece: &Piece, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<Reason> {
    let open = piece.limits.iter().filter(|limit| limit.repair_by.is_none_or(|by| at < by));
    open.map(|limit| {
        let by = limit.repair_by.map(|by| format!("to be repaired by {}", voice.at(by)));
        let gone = Some(taken_away(&limit.without)).filter(|gone| !gone.is_empty());
        let own = limit
            .own_rule
            .as_ref()
            .map(|why| format!("kept in use under the agency's own rule: {}", why.trim_end_matches('.')));
        let text: Vec<String> = [Some(limit.said()), gone, own, by].into_iter().flatten().collect();
        reason(piece, ReasonCode::OpenDefect, Some(limit.since), &text.join("; "))
    })
    .collect()
}

/// What only a rule that the agency has made looser lets count, with the agency's reason. It lowers nothing.
pub(super) fn looser_rules(piece: &Piece, at: DateTime<Utc>) -> Vec<Reason> {
    let now = piece
        .looser_rules
        .iter()
        .filter(|own| own.from <= at && own.until.is_none_or(|until| at < until));
    now.map(|own| {
        let text = format!("counts by the agency's own rule ({})", own.words);
        reason(piece, ReasonCode::LooserRule, Some(own.from), &text)
    })
    .collect()
}

fn used_out(used: DateTime<Utc>, voice: &Voice<'_>) -> String {
    format!("used on {} while out of service", voice.at(used))
}

fn lacks_hookup(piece: &Piece) -> bool {
    let hookup = &piece.hookup;
    let line = hookup.coupling.is_some() && hookup.fluid.is_some() && hookup.pressure.is_some();
    if piece.kind.is_tool() {
        !line && hookup.battery.is_none()
    } else if piece.kind.is_source() || piece.kind.is_conduit() {
        !line
    } else {
        matches!(piece.kind, crate::ratings::Kind::Battery) && hookup.battery.is_none()
    }
}

/// "overdue since ...": an instant, not a number of days, for the words are stored and read later.
fn overdue(due: DateTime<Utc>, voice: &Voice<'_>) -> String {
    format!("overdue since {}", voice.at(due))
}

fn grace(check: &DueCheck, rules: &Rules, link: &str) -> String {
    let (whose, days) = match check.overdue {
        Overdue::AgencyGrace => ("the agency's", rules.policy.overdue_grace_days),
        Overdue::Grace(days) => ("its", Some(days)),
        Overdue::SaidOnly => return ", which by its plan never lowers a level".to_owned(),
    };
    match days {
        Some(0) => String::new(),
        Some(1) => format!("{link} {whose} grace of 1 day"),
        Some(days) => format!("{link} {whose} grace of {days} days"),
        None => ", which by the agency's policy never lowers a level".to_owned(),
    }
}
