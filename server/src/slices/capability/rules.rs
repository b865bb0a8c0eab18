//! From what the register says of a piece to what capability is judged by. Dates become instants here: a day begins and
//! ends in the agency's time zone.

use std::sync::Arc;

use chrono::{DateTime, Datelike as _, Days, NaiveDate, NaiveTime, TimeZone as _, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{self as calc, DueCheck, Life, State},
    ratings::Kind,
};

use crate::slices::{
    agencies::Policy,
    models::Model,
    pieces::{Piece, PieceState},
};

/// A model's part that many pieces share.
#[derive(Debug, Clone)]
pub struct SharedModel {
    pub kind: Kind,
    pub hookup: Arc<fullset_calc::hookup::Hookup>,
    pub ratings: Arc<fullset_calc::ratings::Ratings>,
}

impl From<Model> for SharedModel {
    fn from(model: Model) -> Self {
        Self {
            kind: model.kind,
            hookup: Arc::new(model.hookup),
            ratings: Arc::new(model.ratings),
        }
    }
}

/// A due day beyond this year is a slip of the pen; it never falls due.
const LAST_YEAR: i32 = 9000;

/// The first instant of a day in a zone; where a clock change skips midnight, the first that there is.
pub fn day_begins(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    let midnight = day.and_time(NaiveTime::MIN);
    (0..4)
        .find_map(|hours| zone.from_local_datetime(&(midnight + chrono::TimeDelta::hours(hours))).earliest())
        .map_or_else(|| midnight.and_utc(), |at| at.to_utc())
}

/// The piece as capability sees it.
pub fn judged(piece: &Piece, model: &SharedModel, policy: &Policy, zone: Tz) -> calc::Piece {
    let state = match piece.state {
        PieceState::InService => State::InService,
        PieceState::OutOfService | PieceState::Retired => State::OutOfService {
            since: piece.state_since,
            reason: piece.state_reason.clone().unwrap_or_default(),
        },
    };
    let life = if model.kind == Kind::Hose {
        calc::life_ends(piece.made_on, piece.in_service_since, policy.hose_life_years, policy.unknown_age).map_or(Life::Unknown, |day| {
            if day.year() > LAST_YEAR {
                Life::None
            } else {
                Life::Ends(day_begins(day, zone))
            }
        })
    } else {
        Life::None
    };
    calc::Piece {
        id: piece.id.0,
        tag: piece.tag.clone(),
        kind: model.kind,
        hookup: Arc::clone(&model.hookup),
        ratings: Arc::clone(&model.ratings),
        state,
        stop_use: None,
        life,
        checks: annual(piece, model.kind, policy, zone).into_iter().collect(),
    }
}

/// When a piece is due for its annual service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnnualService {
    /// It has none: not for its kind, or not in any year that means something.
    None,
    /// Nobody knows: neither a last service nor a first day of service is on record.
    Unknown,
    /// On this day.
    DueOn(NaiveDate),
}

/// The annual service counts from the last one, or from the first day of service where none is recorded.
pub fn annual_service(piece: &Piece, kind: Kind, policy: &Policy) -> AnnualService {
    if matches!(kind, Kind::Battery | Kind::Charger | Kind::Accessory) {
        return AnnualService::None;
    }
    let Some(from) = piece.last_service_on.or(piece.in_service_since) else {
        return AnnualService::Unknown;
    };
    from.checked_add_days(Days::new(u64::from(policy.annual_check_days)))
        .filter(|due| due.year() <= LAST_YEAR)
        .map_or(AnnualService::None, AnnualService::DueOn)
}

fn annual(piece: &Piece, kind: Kind, policy: &Policy, zone: Tz) -> Option<DueCheck> {
    match annual_service(piece, kind, policy) {
        AnnualService::DueOn(due) => Some(DueCheck {
            name: "annual service".into(),
            due: day_begins(due, zone),
        }),
        AnnualService::None | AnnualService::Unknown => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_begins_at_local_midnight_on_both_sides_of_a_clock_change() {
        let zone = chrono_tz::America::Denver;
        let begins = |y, m, d| day_begins(NaiveDate::from_ymd_opt(y, m, d).unwrap(), zone).to_rfc3339();
        assert_eq!(begins(2026, 3, 8), "2026-03-08T07:00:00+00:00");
        assert_eq!(begins(2026, 3, 9), "2026-03-09T06:00:00+00:00");
    }

    #[test]
    fn a_day_without_midnight_begins_at_its_first_instant() {
        // Beirut skipped from 00:00 to 01:00 on 28 March 2021 (tz database).
        let begins = day_begins(NaiveDate::from_ymd_opt(2021, 3, 28).unwrap(), chrono_tz::Asia::Beirut);
        assert_eq!(begins.to_rfc3339(), "2021-03-27T22:00:00+00:00");
    }
}
