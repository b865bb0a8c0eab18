//! Hand-made pieces and rigs.
#![allow(dead_code)]

use chrono::{DateTime, Utc};
use fullset_calc::capability::*;
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit, Units};
use std::sync::Arc;
use uuid::Uuid;

pub fn t(text: &str) -> DateTime<Utc> {
    format!("2026-{text}Z").parse().unwrap()
}

pub fn now() -> DateTime<Utc> {
    t("11-26T12:00:00")
}

pub fn on(coupling: &str) -> Hookup {
    Hookup {
        coupling: Some(coupling.into()),
        fluid: Some(Fluid::MineralOil),
        pressure: Some(Quantity::new(720.0, Unit::Bar)),
        ..Hookup::default()
    }
}

pub fn piece(tag: &str, kind: Kind, hookup: Hookup) -> Piece {
    Piece {
        id: Uuid::from_u128(tag.bytes().fold(7, |n, b| n * 31 + u128::from(b))),
        tag: tag.into(),
        kind,
        hookup: Arc::new(hookup),
        ratings: Arc::default(),
        state: State::InService,
        stop_use: None,
        life: Life::None,
        checks: Vec::new(),
    }
}

pub fn hydraulic(tag: &str, kind: Kind, coupling: &str) -> Piece {
    piece(
        tag,
        kind,
        Hookup {
            circuits: (kind == Kind::PowerUnit).then_some(2),
            ..on(coupling)
        },
    )
}

pub fn battery_tool(tag: &str, kind: Kind) -> Piece {
    piece(
        tag,
        kind,
        Hookup {
            battery: Some("28V family".into()),
            ..Hookup::default()
        },
    )
}

pub fn out(mut piece: Piece, since: &str, reason: &str) -> Piece {
    piece.state = State::OutOfService {
        since: t(since),
        reason: reason.into(),
    };
    piece
}

pub fn rated(mut piece: Piece, ratings: impl IntoIterator<Item = (Term, Rating)>) -> Piece {
    piece.ratings = Arc::new(ratings.into_iter().collect());
    piece
}

pub fn slot(id: &str, kinds: &[Kind], need: Need) -> Slot {
    Slot {
        id: id.to_lowercase(),
        name: id.into(),
        kinds: kinds.to_vec(),
        need,
        minimums: Ratings::new(),
    }
}

/// Power, two hoses, cutter and spreader at the core, a ram for full.
pub fn complement() -> Complement {
    Complement {
        simultaneous_min: 2,
        slots: vec![
            slot("Power", &[Kind::PowerUnit], Need::Core),
            slot("Hose 1", &[Kind::Hose], Need::Core),
            slot("Hose 2", &[Kind::Hose], Need::Required),
            slot("Cutter", &[Kind::Cutter], Need::Core),
            slot("Spreader", &[Kind::Spreader, Kind::CombinationTool], Need::Core),
            slot("Ram", &[Kind::Ram], Need::Required),
        ],
    }
}

pub fn set(coupling: &str, n: u32) -> Vec<Piece> {
    let one = |what: &str, kind| hydraulic(&format!("{what}-{n}"), kind, coupling);
    vec![
        one("PU", Kind::PowerUnit),
        one("HA", Kind::Hose),
        one("HB", Kind::Hose),
        one("CU", Kind::Cutter),
        one("SP", Kind::Spreader),
        one("RA", Kind::Ram),
    ]
}

pub fn asked(complement: &Complement, pieces: &[Piece]) -> Assessment {
    assess(
        &Rig {
            out_of_service: None,
            complement: Some(complement),
            pieces,
        },
        &Policy::default(),
        now(),
        &Voice::utc(Units::Us),
    )
}

pub fn codes(gap: &Gap) -> Vec<NearCode> {
    gap.near.iter().map(|n| n.code).collect()
}
