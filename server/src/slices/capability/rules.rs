//! From what the register says of a piece to what capability is judged by. Dates become instants here: a day begins and
//! ends in the agency's time zone.

use std::sync::Arc;

use chrono::{Datelike as _, Days, NaiveDate};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{self as calc, DueCheck, Life, State},
    ratings::Kind,
};

use crate::slices::{
    agencies::{Policy, day_begins},
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

/// The piece as capability sees it.
pub fn judged(piece: &Piece, model: &SharedModel, policy: &Policy, zone: Tz) -> calc::Piece {
    let state = match piece.state {
        PieceState::InService => State::InService,
        PieceState::OutOfService | PieceState::Retired => State::OutOfService {
            since: piece.state_since,
            reason: piece.state_reason.clone().unwrap_or_default(),
        },
        PieceState::Missing => State::OutOfService {
            since: piece.state_since,
            reason: format!("missing: {}", piece.state_reason.as_deref().unwrap_or("nobody knows where it is")),
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
