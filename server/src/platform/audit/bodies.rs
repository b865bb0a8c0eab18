//! Each record's body against the columns that it is found by.

use std::collections::BTreeMap;

use diesel::prelude::*;
use serde::Deserialize;
use uuid::Uuid;

use super::{Finding, PUT_BACK, Report, about};
use crate::{
    on,
    platform::{
        bodies::{self, Shape},
        db::{Db, schema::record, types::Uid},
        door::{Registry, agencies},
        error::Fault,
        ids::AgencyId,
        record::Row,
    },
};

/// Records that are read at once.
const STEP: i64 = 500;

/// What each body says of itself.
#[derive(Deserialize)]
struct Own {
    id: Uuid,
    rev: i64,
}

/// Reads every record's body, and holds it against its row; answers how many those were.
pub fn bodies(db: &mut Db, registry: &Registry, report: &mut Report) -> Result<u64, Fault> {
    let shapes: BTreeMap<&str, Shape> = registry.shapes().collect();
    let (mut findings, mut read) = (Vec::new(), 0);
    for agency in agencies(db)? {
        let mut after: Option<(String, Uid)> = None;
        loop {
            let rows: Vec<Row> = on!(&mut *db, conn => {
                let query = record::table.filter(record::agency.eq(Uid::from(agency))).order((record::kind, record::id)).limit(STEP).into_boxed();
                let query = match &after {
                    Some((kind, id)) => query.filter(record::kind.gt(kind.clone()).or(record::kind.eq(kind.clone()).and(record::id.gt(*id)))),
                    None => query,
                };
                query.select(Row::as_select()).load(conn)
            })?;
            let Some(last) = rows.last() else { break };
            after = Some((last.kind.clone(), last.id));
            for row in &rows {
                read += 1;
                if let Some(what) = fault(row, shapes.get(row.kind.as_str())) {
                    findings.push(finding(agency, row, what));
                }
            }
        }
    }
    report.add(findings);
    Ok(read)
}

fn finding(agency: AgencyId, row: &Row, what: String) -> Finding {
    about(agency, &row.kind, row.id.0, what, PUT_BACK)
}

/// What is wrong with a row, if anything.
fn fault(row: &Row, shape: Option<&Shape>) -> Option<String> {
    let Some(shape) = shape else {
        return Some("this version knows no record of this kind".to_owned());
    };
    let Ok(own) = serde_json::from_str::<Own>(&row.body.0) else {
        return Some("its body cannot be read".to_owned());
    };
    // What was taken away keeps the body that it had.
    let same = if row.gone { own.rev < row.rev } else { own.rev == row.rev };
    if own.id != row.id.0 || !same {
        return Some("its body has another id or revision than its row".to_owned());
    }
    let current = bodies::current(&row.body.0, shape.upcasts).ok()?;
    let Ok(index) = (shape.index)(&current) else {
        return Some("its body is none of its kind".to_owned());
    };
    // Who is gone holds no name.
    let (uniq, mark) = if row.gone { (None, None) } else { (index.uniq, index.mark) };
    let columns = [
        ("label", row.label == index.label),
        ("uniq", row.uniq == uniq),
        ("mark", row.mark == mark),
        ("state", row.state == index.state),
        ("parent", row.parent.map(|id| id.0) == index.parent),
    ];
    let wrong: Vec<&str> = columns.iter().filter(|(_, same)| !same).map(|(name, _)| *name).collect();
    (!wrong.is_empty()).then(|| format!("it is not found by what its body says: {}", wrong.join(", ")))
}
