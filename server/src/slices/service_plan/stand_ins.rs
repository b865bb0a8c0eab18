//! Which reserve sets restore which rigs while a rig's own set is away, week by week: judged as every rig is, with the reserve set aboard in place
//! of what is away.
//!
//! - The reserve set lies on a shelf of the rig's district. What of it is out of service, past its life or overdue then does not count.
//! - Its annual service counts against it, grace included, until the week by which the plan has served it at the latest. Other checks that fall
//!   due later are taken to be done; one that stops a piece now does.
//! - It is never aboard beside something that it would mix fluids with.
//! - The rig goes without the other sets that may be away at the same time, so what is counted holds whenever they go.

use std::collections::HashSet;

use chrono::{DateTime, Days, NaiveDate, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{self as judge, Rules, Wet},
    service_plan::StandIn,
};

use super::{
    due::{DueReserve, DueYear, count, size},
    facts::Facts,
    feed::PlanAsk,
};
use crate::slices::{
    agencies::{Policy, day_begins},
    capability::{Aboard, AnnualService, Fleet, FleetPiece, annual_service},
    pieces::{PieceId, ToolSetId},
};

/// A reserve set of a district.
pub struct Reserve<'f> {
    pub set: ToolSetId,
    pub name: String,
    /// What of it lies on a shelf of its district.
    pub pieces: Vec<&'f FleetPiece>,
    /// Its place among the sets due, if it is due.
    pub due: Option<usize>,
    /// By which period the plan has served it, if it is due.
    pub served_by: Option<u32>,
}

/// A set of a full rig that may be away.
pub struct AwaySet<'f> {
    /// Its place among the sets due.
    pub at: usize,
    pub rig: &'f Aboard,
    /// The periods in which it may be.
    pub periods: std::ops::RangeInclusive<u32>,
    /// What is away then: its own pieces, and those of the rig's other sets that may be.
    pub pieces: HashSet<PieceId>,
}

/// What everything is judged by.
pub struct Judge<'f> {
    pub rules: Rules,
    pub policy: &'f Policy,
    pub now: DateTime<Utc>,
    pub zone: Tz,
}

impl<'f> Judge<'f> {
    pub fn new(fleet: &'f Fleet, policy: &'f Policy, now: DateTime<Utc>, zone: Tz) -> Self {
        Self {
            rules: fleet.rules(),
            policy,
            now,
            zone,
        }
    }

    /// Which of these sets the reserve set can stand in for, and in which periods.
    pub fn stand_in(&self, ask: &PlanAsk, reserve: &Reserve<'_>, gone: &[AwaySet<'_>]) -> StandIn {
        let serves = |away: &AwaySet<'_>| {
            let (mut last, mut periods) = (None, Vec::new());
            for period in away.periods.clone() {
                let aboard = self.aboard(ask, reserve, away, period);
                let ids: Vec<uuid::Uuid> = aboard.iter().map(|piece| piece.id).collect();
                // Most periods are like the one before.
                let restores = match &last {
                    Some((known, restores)) if *known == ids => *restores,
                    _ => self.is_full(away, &aboard, reserve, self.ends(ask, period)),
                };
                last = Some((ids, restores));
                if restores {
                    periods.push(size(period));
                }
            }
            (!periods.is_empty()).then_some((away.at, periods))
        };
        StandIn {
            id: reserve.set.0,
            name: reserve.name.clone(),
            due: reserve.due,
            restores: gone.iter().filter_map(serves).collect(),
        }
    }

    /// The last instant of a period: what holds then held all through it.
    fn ends(&self, ask: &PlanAsk, period: u32) -> DateTime<Utc> {
        day_begins(ask.day(period + 1), self.zone) - chrono::TimeDelta::seconds(1)
    }

    /// What is aboard in a period and usable then, the reserve set in place of what is away.
    fn aboard(&self, ask: &PlanAsk, reserve: &Reserve<'_>, away: &AwaySet<'_>, period: u32) -> Vec<judge::Piece> {
        let at = self.ends(ask, period);
        let stays = away.rig.pieces.iter().filter(|piece| !away.pieces.contains(&PieceId(piece.id)));
        let last_day = ask.day(period + 1).pred_opt().unwrap_or(NaiveDate::MAX);
        let open = reserve.served_by.is_none_or(|by| period <= by);
        // What is kept for a changeover goes aboard no rig before it.
        let free = reserve.pieces.iter().filter(|held| held.piece.kept_for.is_none());
        let comes = free.filter(|held| !(open && self.is_overdue(held, last_day)));
        stays
            .chain(comes.map(|held| &held.judged))
            .filter(|piece| piece.is_usable(&self.rules.policy, self.now))
            .map(|piece| judge::Piece {
                checks: Vec::new(),
                ..piece.clone()
            })
            .filter(|piece| piece.is_usable(&self.rules.policy, at))
            .collect()
    }

    /// Whether the annual service of a piece counts against it on a day, nobody having done it.
    fn is_overdue(&self, held: &FleetPiece, day: NaiveDate) -> bool {
        let AnnualService::DueOn(due) = annual_service(&held.piece, held.judged.kind, self.policy) else {
            return false;
        };
        let counts = self.policy.overdue_grace_days.and_then(|days| due.checked_add_days(Days::new(u64::from(days))));
        counts.is_some_and(|from| from <= day)
    }

    fn is_full(&self, away: &AwaySet<'_>, aboard: &[judge::Piece], reserve: &Reserve<'_>, at: DateTime<Utc>) -> bool {
        let new: HashSet<uuid::Uuid> = reserve.pieces.iter().map(|held| held.piece.id.0).collect();
        let (comes, stays): (Vec<&judge::Piece>, Vec<&judge::Piece>) = aboard.iter().partition(|piece| new.contains(&piece.id));
        let mixes = comes
            .iter()
            .any(|one| stays.iter().any(|other| judge::would_mix(wet(one), wet(other), &self.rules.mates)));
        let rig = judge::Rig {
            pieces: aboard,
            ..away.rig.view()
        };
        !comes.is_empty() && !mixes && judge::level(&rig, &self.rules, at).level.is_full()
    }
}

fn wet(piece: &judge::Piece) -> Wet<'_> {
    Wet {
        kind: piece.kind,
        hookup: &piece.hookup,
    }
}

/// Works out which reserve sets restore which rigs, and says so on the districts and the sets.
pub fn stand_in(facts: &Facts, ask: &PlanAsk, year: &mut DueYear) {
    let judge = facts.judge();
    for at in 0..year.districts.len() {
        let Some(id) = year.districts.get(at).map(|district| district.id) else {
            continue;
        };
        let gone = facts.gone(year, id);
        let mut reserves = Vec::new();
        let mut stand_ins = Vec::new();
        for reserve in facts.reserves(year, id) {
            let mut restores = judge.stand_in(ask, &reserve, &gone);
            for (_, periods) in &mut restores.restores {
                // Where a person says how many may be away, that is all there is to it.
                periods.retain(|period| ask.said(id, count(*period)).is_none());
            }
            restores.restores.retain(|(_, periods)| !periods.is_empty());
            let words = restores_in_words(year, &restores);
            if let Some(set) = reserve.due.and_then(|due| year.sets.get_mut(due)) {
                set.takes_place = !restores.restores.is_empty();
                set.words.push_str(&format!(" {words}"));
            }
            reserves.push(DueReserve {
                set: reserve.set,
                name: reserve.name,
                for_sets: restores.restores.iter().filter_map(|(set, _)| year.sets.get(*set)).map(|set| set.set).collect(),
                words,
            });
            if !restores.restores.is_empty() {
                stand_ins.push(restores);
            }
        }
        if let Some(district) = year.districts.get_mut(at) {
            district.stand_ins = count(stand_ins.len());
            district.most_away = match ask.caps.iter().find(|cap| cap.district == id).and_then(|cap| cap.most_away) {
                Some(said) => said,
                None => district.most_away.saturating_add(district.stand_ins),
            };
            district.reserves = reserves;
        }
        year.stand_ins.insert(id, stand_ins);
    }
}

fn restores_in_words(year: &DueYear, stand_in: &StandIn) -> String {
    let rigs: Vec<&str> = stand_in
        .restores
        .iter()
        .filter_map(|(set, _)| year.sets.get(*set))
        .map(|set| set.home_words.split(',').next().unwrap_or(&set.name))
        .collect();
    match rigs.as_slice() {
        [] => "A reserve set that makes no rig of its district full whose own set is away: it counts for nothing, and goes at any time.".into(),
        [one] => format!("A reserve set: {one} is full with it while its own set is away. While it is away itself it cannot stand in."),
        [first, .., last] => format!(
            "A reserve set: {} rigs, {first} to {last}, are full with it, one at a time, while their own sets are away. While it is away \
             itself it cannot stand in.",
            rigs.len()
        ),
    }
}
