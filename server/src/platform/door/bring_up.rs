//! What stands now, brought to the versions of now where an earlier version of the service wrote it.

use std::borrow::Cow;

use diesel::prelude::*;

use super::{
    Registry,
    journal::{agencies, take_head},
};
use crate::{
    on,
    platform::{
        bodies::{self, Shape},
        db::{
            Access, Db,
            schema::record,
            types::{Doc, Uid},
        },
        error::Fault,
        ids::AgencyId,
        record::Row,
    },
};

/// Rows of one transaction.
const STEP: usize = 500;

/// Brings what stands now to the versions of now; answers how many bodies that were. No revision is made: what a record says
/// has not changed, only how. Kinds whose body never changed cost nothing.
pub fn bring_up(db: &mut Db, registry: &Registry) -> Result<usize, Fault> {
    let mut done = 0;
    for (kind, shape) in registry.shapes().filter(|(_, shape)| !shape.upcasts.is_empty()) {
        for agency in agencies(db)? {
            let ids: Vec<Uid> = on!(&mut *db, conn => record::table
                .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(kind)))
                .select(record::id)
                .load(conn))?;
            for ids in ids.chunks(STEP) {
                done += db.transaction(Access::Write, |db| {
                    take_head(db, agency)?;
                    ids.iter()
                        .try_fold(0, |done, id| Ok::<_, Fault>(done + usize::from(bring_up_one(db, agency, kind, *id, shape)?)))
                })?;
            }
        }
    }
    Ok(done)
}

fn bring_up_one(db: &mut Db, agency: AgencyId, kind: &str, id: Uid, shape: Shape) -> Result<bool, Fault> {
    let at = record::table.find((Uid::from(agency), kind, id));
    let row: Option<Row> = on!(&mut *db, conn => at.select(Row::as_select()).first(conn).optional())?;
    let Some(row) = row else { return Ok(false) };
    let Cow::Owned(body) = bodies::current(&row.body.0, shape.upcasts)? else {
        return Ok(false);
    };
    let index = (shape.index)(&body)?;
    // Who is gone holds no name.
    let (uniq, mark) = if row.gone { (None, None) } else { (index.uniq, index.mark) };
    let columns = (
        record::body.eq(Doc(body)),
        record::label.eq(index.label),
        record::uniq.eq(uniq),
        record::mark.eq(mark),
        record::state.eq(index.state),
        record::parent.eq(index.parent.map(Uid)),
    );
    on!(db, conn => diesel::update(at).set(columns).execute(conn))?;
    Ok(true)
}
