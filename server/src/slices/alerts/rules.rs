//! What is told, and when it is tried again.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use fullset_calc::{capability::Level, ratings::Kind};

use super::{confirmed::Proof, feed::Stands};
use crate::slices::receivers::ChangeKind;

/// Seconds from one failed try to the next: at once, then after these. It ends a day after the first try.
///
/// Common practice, no source: close together while the call may still be running, then ever more seldom.
const WAITS: [i64; 10] = [5, 15, 60, 120, 300, 600, 1200, 1800, 3600, 7200];
/// By how many thousandths a wait may differ, from the shortest to the longest.
pub const SPREAD: i64 = 400;
/// How long a message is tried.
const TRIED_FOR: TimeDelta = TimeDelta::hours(24);
/// The longest wait that a receiver may ask for by `Retry-After`.
const MOST_ASKED: TimeDelta = TimeDelta::hours(2);

/// How a rig stands, as far as dispatch is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RigStands {
    /// Whether it may be used.
    pub in_service: bool,
    /// What it could do.
    pub level: Level,
    /// Whether it carries tools at all: a stripped reserve rig does not.
    pub carries: bool,
}

impl RigStands {
    /// In one word; none while nobody has judged it, or where it carries no tools.
    pub fn word(self) -> Option<Stands> {
        match (self.carries, self.in_service, self.level) {
            (false, ..) | (true, _, Level::NotJudged) => None,
            (true, false, _) => Some(Stands::OutOfService),
            (true, true, Level::None) => Some(Stands::None),
            (true, true, Level::Limited) => Some(Stands::Limited),
            (true, true, Level::Full) => Some(Stands::Full),
            (true, true, Level::Heavy) => Some(Stands::Heavy),
        }
    }
}

/// From how little to how much.
fn rank(stands: Stands) -> u8 {
    match stands {
        Stands::OutOfService | Stands::Short => 0,
        Stands::None | Stands::Enough => 1,
        Stands::Limited => 2,
        Stands::Full => 3,
        Stands::Heavy => 4,
    }
}

/// What has become of a rig. The first word about it is no change.
pub fn rig_change(before: RigStands, after: RigStands) -> Option<(ChangeKind, Stands, Stands)> {
    let (before, after) = (before.word()?, after.word()?);
    match rank(after).cmp(&rank(before)) {
        std::cmp::Ordering::Less => Some((ChangeKind::RigFalls, before, after)),
        std::cmp::Ordering::Greater => Some((ChangeKind::RigRises, before, after)),
        std::cmp::Ordering::Equal => None,
    }
}

/// Full rigs of a district, and how many it needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DistrictStands {
    /// Front-line rigs in service at full or heavy.
    pub full: u32,
    /// How many it needs.
    pub min_full: u32,
}

impl DistrictStands {
    fn word(self) -> Stands {
        if self.full < self.min_full { Stands::Short } else { Stands::Enough }
    }
}

/// What has become of a district.
pub fn district_change(before: DistrictStands, after: DistrictStands) -> Option<(ChangeKind, Stands, Stands)> {
    match (before.word(), after.word()) {
        (Stands::Enough, Stands::Short) => Some((ChangeKind::DistrictShort, Stands::Enough, Stands::Short)),
        (Stands::Short, Stands::Enough) => Some((ChangeKind::DistrictEnough, Stands::Short, Stands::Enough)),
        _ => None,
    }
}

/// Why a rig stands as it does, in a sentence or two: only the names of needs, which are the agency's grades, the tags of pieces, and nobody's
/// own words. What the records say is never told as if somebody had tried it: whether the level is confirmed stands beside it. `needs`: those
/// that are not met; `held`: whether something else holds the rig down.
pub fn rig_reason(after: Stands, needs: &[String], held: bool, proof: &Proof) -> String {
    if after == Stands::OutOfService {
        return "The rig was taken out of service.".to_owned();
    }
    let lacks = if needs.is_empty() {
        held.then(|| "No single need is unmet, but what is aboard does not meet all of them together.".to_owned())
    } else {
        let named: Vec<&str> = needs.iter().map(String::as_str).take(MOST_NAMED).collect();
        let more = needs.len().saturating_sub(MOST_NAMED);
        let rest = if more == 0 { String::new() } else { format!(" and {more} more") };
        Some(format!("Missing, or not to be used: {}{rest}.", named.join(", ")))
    };
    let said: Vec<String> = [lacks, proof.words(after)].into_iter().flatten().collect();
    if said.is_empty() {
        "By the records it meets no grade.".to_owned()
    } else {
        said.join(" ")
    }
}

/// The most needs that a reason names.
const MOST_NAMED: usize = 8;

/// Why a district stands as it does, in a sentence: "6 of 6 full by the records, 4 of them confirmed."
pub fn district_reason(now: DistrictStands, confirmed: u32) -> String {
    let DistrictStands { full, min_full } = now;
    let proof = match (full, confirmed) {
        (0, _) => String::new(),
        (1, 1) => ", and confirmed".to_owned(),
        (1, _) => ", not confirmed".to_owned(),
        (_, 0) => ", none of them confirmed".to_owned(),
        (full, confirmed) if confirmed >= full => ", all of them confirmed".to_owned(),
        (_, confirmed) => format!(", {confirmed} of them confirmed"),
    };
    if full > min_full {
        let rigs = if full == 1 { "rig" } else { "rigs" };
        let needed = if min_full == 0 { "none".to_owned() } else { min_full.to_string() };
        return format!("{full} {rigs} full by the records{proof}; {needed} needed.");
    }
    format!("{full} of {min_full} full by the records{proof}.")
}

/// When a rig may do again what the next grade asks for: the day on which the shops expect the last of what its needs lack. None where a need
/// lacks something for which no shop has named a day, or one that is past. `needs`: the kinds that would meet each need that is not met;
/// `out`: the pieces of the rig that are out of service, each with its shop's day.
pub fn expected_back(needs: &[&[Kind]], out: &[(Kind, Option<NaiveDate>)], today: NaiveDate) -> Option<NaiveDate> {
    let of_need = |kinds: &&[Kind]| {
        let serving = out.iter().filter(|(kind, _)| kinds.contains(kind));
        serving.filter_map(|(_, day)| day.filter(|day| *day >= today)).min()
    };
    let days: Option<Vec<NaiveDate>> = needs.iter().map(of_need).collect();
    days?.into_iter().max()
}

/// What is asked of the next try.
#[derive(Debug, Clone, Copy)]
pub struct Tried {
    /// How many tries have failed, the last among them.
    pub tries: i64,
    /// When the first was due.
    pub began_at: DateTime<Utc>,
    /// Now.
    pub now: DateTime<Utc>,
    /// What the receiver asked for.
    pub retry_after: Option<TimeDelta>,
    /// From 0 to [`SPREAD`], by chance.
    pub chance: i64,
}

/// When a message is tried again; none: it is given up. The wait is cut or drawn out by up to a fifth, so that not all come at once; it is
/// never shorter than the receiver asked for, up to two hours.
pub fn next_try(tried: Tried) -> Option<DateTime<Utc>> {
    let step = usize::try_from(tried.tries.saturating_sub(1)).unwrap_or(usize::MAX);
    let seconds = WAITS.get(step).or(WAITS.last()).copied().unwrap_or_default();
    let own = TimeDelta::milliseconds(seconds * (1000 - SPREAD / 2 + tried.chance.clamp(0, SPREAD)));
    let wait = own.max(tried.retry_after.unwrap_or_default().min(MOST_ASKED));
    let at = tried.now + wait;
    (at - tried.began_at <= TRIED_FOR).then_some(at)
}

/// What `Retry-After` asks for: seconds, or an instant (RFC 9110, 10.2.3).
pub fn retry_after(header: &str, now: DateTime<Utc>) -> Option<TimeDelta> {
    let header = header.trim();
    match header.parse::<u32>() {
        Ok(seconds) => Some(TimeDelta::seconds(seconds.into())),
        Err(_) => {
            let at = DateTime::parse_from_rfc2822(header).ok()?;
            Some((at.with_timezone(&Utc) - now).max(TimeDelta::zero()))
        }
    }
}

/// How a receiver answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answered {
    /// It took the message.
    Taken,
    /// It wants no more messages.
    Gone,
    /// It did not take it now.
    Failed,
    /// It takes nothing now, this message or another.
    Closed,
}

/// What a status means (Standard Webhooks: 2xx is success, 410 switches off, 429 and 503 ask for fewer).
pub fn answered(status: u16) -> Answered {
    match status {
        200..=299 => Answered::Taken,
        410 => Answered::Gone,
        429 | 502..=504 => Answered::Closed,
        _ => Answered::Failed,
    }
}

/// What a status is, in a sentence.
pub fn problem(status: u16) -> String {
    match status {
        300..=399 => format!("It answered {status}: it sends messages elsewhere, and they are not taken there. Enter the right address"),
        429 => "It answered 429: it wants fewer messages".to_owned(),
        _ => format!("It answered {status}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rig(in_service: bool, level: Level) -> RigStands {
        RigStands {
            in_service,
            level,
            carries: true,
        }
    }

    #[test]
    fn a_rig_falls_and_rises_and_its_first_word_is_no_change() {
        let full = rig(true, Level::Full);
        let table = [
            (full, rig(true, Level::Limited), Some((ChangeKind::RigFalls, Stands::Full, Stands::Limited))),
            (rig(true, Level::None), full, Some((ChangeKind::RigRises, Stands::None, Stands::Full))),
            (full, rig(false, Level::Full), Some((ChangeKind::RigFalls, Stands::Full, Stands::OutOfService))),
            (
                rig(false, Level::Full),
                rig(true, Level::None),
                Some((ChangeKind::RigRises, Stands::OutOfService, Stands::None)),
            ),
            (rig(false, Level::Full), rig(false, Level::None), None),
            (full, full, None),
            (rig(true, Level::NotJudged), full, None),
            (full, rig(true, Level::NotJudged), None),
            (RigStands { carries: false, ..full }, rig(true, Level::None), None),
        ];
        for (before, after, told) in table {
            assert_eq!(rig_change(before, after), told, "{before:?} {after:?}");
        }
    }

    #[test]
    fn a_district_is_short_when_the_last_rig_that_it_needs_falls() {
        let at = |full, min_full| DistrictStands { full, min_full };
        assert_eq!(district_change(at(2, 2), at(1, 2)).map(|told| told.0), Some(ChangeKind::DistrictShort));
        assert_eq!(district_change(at(1, 2), at(0, 2)), None);
        assert_eq!(district_change(at(1, 2), at(2, 2)).map(|told| told.0), Some(ChangeKind::DistrictEnough));
        assert_eq!(district_change(at(2, 2), at(2, 3)).map(|told| told.0), Some(ChangeKind::DistrictShort));
        assert_eq!(district_change(at(0, 0), at(0, 0)), None);
    }

    #[test]
    fn a_message_is_tried_ever_more_seldom_for_a_day_and_then_given_up() {
        let began_at = DateTime::UNIX_EPOCH;
        for (chance, share) in [(0, 800), (200, 1000), (400, 1200)] {
            let (mut now, mut waits) = (began_at, Vec::new());
            let mut tries = 1;
            while let Some(next) = next_try(Tried {
                tries,
                began_at,
                now,
                retry_after: None,
                chance,
            }) {
                waits.push((next - now).num_milliseconds());
                (now, tries) = (next, tries + 1);
                assert!(tries < 100);
            }
            assert_eq!(waits.first().copied(), Some(5 * share), "{chance}");
            assert!(waits.is_sorted() && waits.iter().all(|wait| *wait <= 7200 * share), "{waits:?}");
            assert!((15..=25).contains(&tries), "{tries} tries");
            assert!(now - began_at <= TRIED_FOR && now - began_at > TRIED_FOR - TimeDelta::seconds(8640), "{now}");
        }
    }

    #[test]
    fn what_the_receiver_asks_for_is_kept_and_not_without_end() {
        let now = DateTime::UNIX_EPOCH;
        let asked = |seconds| {
            let retry_after = Some(TimeDelta::seconds(seconds));
            next_try(Tried {
                tries: 1,
                began_at: now,
                now,
                retry_after,
                chance: 200,
            })
            .map(|at| (at - now).num_seconds())
        };
        assert_eq!([asked(0), asked(90), asked(1_000_000)], [Some(5), Some(90), Some(7200)]);
        assert_eq!(retry_after("120", now), Some(TimeDelta::seconds(120)));
        assert_eq!(retry_after("Thu, 01 Jan 1970 00:01:00 GMT", now), Some(TimeDelta::seconds(60)));
        assert_eq!(retry_after("Wed, 31 Dec 1969 23:59:00 GMT", now), Some(TimeDelta::zero()));
        for nothing in ["", "soon", "-5", "1.5"] {
            assert_eq!(retry_after(nothing, now), None, "{nothing}");
        }
    }

    #[test]
    fn a_rig_is_expected_back_when_the_last_of_its_needs_is_and_only_where_each_has_a_day() {
        let day = |day| NaiveDate::from_ymd_opt(2026, 12, day);
        let today = NaiveDate::from_ymd_opt(2026, 12, 3).expect("a day");
        let (ram, cut): (&[Kind], &[Kind]) = (&[Kind::Ram], &[Kind::Cutter, Kind::CombinationTool]);
        let out = [(Kind::Ram, day(9)), (Kind::Ram, day(7)), (Kind::Cutter, None), (Kind::CombinationTool, day(8))];
        assert_eq!(expected_back(&[ram], &out, today), day(7));
        assert_eq!(expected_back(&[ram, cut], &out, today), day(8));
        assert_eq!(expected_back(&[ram, &[Kind::Spreader]], &out, today), None, "nobody mends a spreader");
        assert_eq!(expected_back(&[&[Kind::Cutter]], &out, today), None, "no day");
        assert_eq!(expected_back(&[ram], &[(Kind::Ram, day(2))], today), None, "a day that is past");
        assert_eq!(expected_back(&[], &out, today), None);
    }

    #[test]
    fn a_reason_names_needs_and_not_all_of_them() {
        let needs: Vec<String> = (1..=10).map(|n| format!("Need {n}")).collect();
        assert!(rig_reason(Stands::None, &needs, false, &Proof::NoLevel).ends_with("Need 8 and 2 more."));
        assert_eq!(
            rig_reason(Stands::None, &needs[..1], true, &Proof::NoLevel),
            "Missing, or not to be used: Need 1."
        );
        assert_eq!(
            rig_reason(Stands::Limited, &needs[..1], false, &Proof::Confirmed),
            "Missing, or not to be used: Need 1. Limited by the records, and confirmed."
        );
    }

    #[test]
    fn what_records_say_is_not_told_as_tried() {
        let untried = Proof::Not(vec!["PU-111 was not tried on this rig".into()], 1);
        assert_eq!(
            rig_reason(Stands::Full, &[], false, &untried),
            "Full by the records, not confirmed: PU-111 was not tried on this rig."
        );
        assert_eq!(rig_reason(Stands::Full, &[], false, &Proof::Confirmed), "Full by the records, and confirmed.");
        assert!(rig_reason(Stands::Limited, &[], true, &Proof::Confirmed).starts_with("No single need is unmet, but"));
        assert!(!rig_reason(Stands::None, &[], false, &Proof::NoLevel).is_empty());
    }

    #[test]
    fn a_district_is_told_how_many_of_its_full_rigs_are_confirmed() {
        for (full, min_full, confirmed, words) in [
            (6, 6, 4, "6 of 6 full by the records, 4 of them confirmed."),
            (2, 2, 2, "2 of 2 full by the records, all of them confirmed."),
            (1, 2, 0, "1 of 2 full by the records, not confirmed."),
            (0, 2, 0, "0 of 2 full by the records."),
            (3, 2, 0, "3 rigs full by the records, none of them confirmed; 2 needed."),
            (1, 0, 1, "1 rig full by the records, and confirmed; none needed."),
        ] {
            assert_eq!(district_reason(DistrictStands { full, min_full }, confirmed), words);
        }
    }
}
