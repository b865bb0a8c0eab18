//! What evaluators have answered. It is no record, so that no feed, list, history or state of the past holds it.

use std::collections::HashMap;

use diesel::prelude::*;
use uuid::Uuid;

use super::rules::GivenAnswer;
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::trial_sheet,
            types::{Doc, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

#[derive(Debug, Insertable)]
#[diesel(table_name = trial_sheet)]
struct Sheet {
    agency: Uid,
    answer: Uid,
    trial: Uid,
    body: Doc,
}

/// Keeps the answers of a sheet that was handed in.
pub fn keep(db: &mut Db, agency: AgencyId, trial: Uuid, answer: Uuid, given: &[GivenAnswer]) -> Result<(), Fault> {
    let row = Sheet {
        agency: agency.into(),
        answer: Uid(answer),
        trial: Uid(trial),
        body: Doc(serde_json::to_string(given)?),
    };
    on!(db, conn => diesel::insert_into(trial_sheet::table).values(&row).execute(conn))?;
    Ok(())
}

/// The answers of all sheets of a trial, by what says that each was handed in.
pub fn sheets(db: &mut Db, agency: AgencyId, trial: Uuid) -> Result<HashMap<Uuid, Vec<GivenAnswer>>, Fault> {
    let rows: Vec<(Uid, Doc)> = on!(db, conn => trial_sheet::table
        .filter(trial_sheet::agency.eq(Uid::from(agency)).and(trial_sheet::trial.eq(Uid(trial))))
        .select((trial_sheet::answer, trial_sheet::body))
        .load(conn))?;
    rows.into_iter().map(|(answer, body)| Ok((answer.0, serde_json::from_str(&body.0)?))).collect()
}
