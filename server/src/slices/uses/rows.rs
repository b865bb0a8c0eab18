//! What each piece ran: uses, and what its hour meter showed. One row for each piece of a use, so that a count is one query for all that
//! are counted, and right whatever was sent late or corrected.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use fullset_care::due::{MeterReading, Run};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::piece_run,
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = piece_run, treat_none_as_default_value = false)]
struct Row {
    agency: Uid,
    piece: Uid,
    at: Moment,
    source: Uid,
    meter: bool,
    minutes: Option<i64>,
}

/// What a piece ran since an instant.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ran {
    /// Its uses.
    pub uses: Vec<Run>,
    /// What its hour meter showed.
    pub meter: Vec<MeterReading>,
}

/// What several pieces ran, by their ids.
pub type RanOf = HashMap<Uuid, Ran>;

/// How many pieces are asked for by one query.
const MOST_IDS: usize = 1_000;

/// Keeps the use of some pieces.
pub fn note_use(db: &mut Db, agency: AgencyId, of: Uuid, pieces: &[Uuid], run: Run) -> Result<(), Fault> {
    for piece in pieces {
        let row = Row {
            agency: agency.into(),
            piece: Uid(*piece),
            at: Moment(run.at),
            source: Uid(of),
            meter: false,
            minutes: run.minutes.map(i64::from),
        };
        on!(&mut *db, conn => diesel::insert_into(piece_run::table).values(&row).execute(conn))?;
    }
    Ok(())
}

/// Keeps what the hour meter of a piece showed.
pub fn note_meter(db: &mut Db, agency: AgencyId, by: Uuid, piece: Uuid, shown: MeterReading) -> Result<(), Fault> {
    let row = Row {
        agency: agency.into(),
        piece: Uid(piece),
        at: Moment(shown.at),
        source: Uid(by),
        meter: true,
        minutes: Some(i64::try_from(shown.minutes).unwrap_or(i64::MAX)),
    };
    on!(db, conn => diesel::insert_into(piece_run::table).values(&row).execute(conn))?;
    Ok(())
}

/// Forgets what was kept of a use.
pub fn forget(db: &mut Db, agency: AgencyId, source: Uuid) -> Result<(), Fault> {
    let of = piece_run::table.filter(piece_run::agency.eq(Uid::from(agency)).and(piece_run::source.eq(Uid(source))));
    on!(db, conn => diesel::delete(of).execute(conn))?;
    Ok(())
}

/// What some pieces ran from an instant on: one query for each thousand of them.
pub fn ran_since(db: &mut Db, agency: AgencyId, pieces: &[Uuid], from: DateTime<Utc>) -> Result<RanOf, Fault> {
    let mut found = RanOf::new();
    for ids in pieces.chunks(MOST_IDS) {
        let ids: Vec<Uid> = ids.iter().copied().map(Uid).collect();
        let rows: Vec<(Uid, Moment, bool, Option<i64>)> = on!(&mut *db, conn => piece_run::table
            .filter(piece_run::agency.eq(Uid::from(agency)).and(piece_run::piece.eq_any(&ids)).and(piece_run::at.ge(Moment(from))))
            .select((piece_run::piece, piece_run::at, piece_run::meter, piece_run::minutes))
            .order((piece_run::piece, piece_run::at, piece_run::source))
            .load(conn))?;
        for (piece, at, meter, minutes) in rows {
            let ran = found.entry(piece.0).or_default();
            match minutes.and_then(|minutes| u64::try_from(minutes).ok()) {
                Some(minutes) if meter => ran.meter.push(MeterReading { at: at.0, minutes }),
                minutes => ran.uses.push(Run {
                    at: at.0,
                    minutes: minutes.and_then(|minutes| u32::try_from(minutes).ok()),
                }),
            }
        }
    }
    Ok(found)
}

/// When a piece was last used.
pub fn last_use(db: &mut Db, agency: AgencyId, piece: Uuid) -> Result<Option<DateTime<Utc>>, Fault> {
    let at: Option<Moment> = on!(db, conn => piece_run::table
        .filter(piece_run::agency.eq(Uid::from(agency)).and(piece_run::piece.eq(Uid(piece))).and(piece_run::meter.eq(false)))
        .order(piece_run::at.desc())
        .select(piece_run::at)
        .first(conn)
        .optional())?;
    Ok(at.map(|at| at.0))
}
