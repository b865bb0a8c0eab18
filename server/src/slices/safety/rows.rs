//! What is read of many states: only the fields that are asked for, since a season of checks is long. Whoever changes the names of those
//! fields in the bodies of pieces or checks changes these queries.

use chrono::{DateTime, Utc};
use diesel::{
    dsl::sql,
    prelude::*,
    sql_types::{Bool, Nullable, Text},
};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{Db, body_fields, schema::state, types::Uid},
        error::Fault,
        ids::{AgencyId, MemberId},
        past,
        person::Person,
        record::Record as _,
    },
    slices::{
        checks::{Check, CheckWalk},
        pieces::Piece,
    },
};

fn instant(text: &str) -> Result<DateTime<Utc>, Fault> {
    let read = text.parse::<DateTime<Utc>>();
    Ok(read.map_err(|error| anyhow::anyhow!("'{text}' is kept as an instant, and is none: {error}"))?)
}

/// Which pieces were used while they were out of service, as their states of since an instant say, each use once.
pub fn used_while_out(db: &mut Db, agency: AgencyId, from: DateTime<Utc>) -> Result<Vec<(Uuid, DateTime<Utc>)>, Fault> {
    let after = past::revision_before(db, agency, from)?;
    let used = body_fields::text(db, &["used_while_out"]);
    let known = format!("{used} IS NOT NULL");
    let rows: Vec<(Uid, String)> = on!(&mut *db, conn => state::table
        .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(Piece::KIND)).and(state::rev.gt(after)))
        .filter(sql::<Bool>(&known))
        .select((state::id, sql::<Text>(&used)))
        .distinct()
        .load(conn))?;
    let mut found = Vec::new();
    for (id, used) in rows {
        let used = instant(&used)?;
        if used >= from {
            found.push((id.0, used));
        }
    }
    Ok(found)
}

/// A check as far as it is looked at here.
pub struct CheckSeen {
    pub piece: Uuid,
    pub tag: String,
    pub plan: String,
    pub rig: Option<Uuid>,
    pub done_at: DateTime<Utc>,
    pub done_by: Person,
    /// Whether nothing was found.
    pub passed: bool,
    pub walk: Option<CheckWalk>,
}

/// The checks that were recorded since an instant.
pub fn checks(db: &mut Db, agency: AgencyId, from: DateTime<Utc>) -> Result<Vec<CheckSeen>, Fault> {
    let after = past::revision_before(db, agency, from)?;
    let of = |path: &[&str]| body_fields::text(db, path);
    let [piece, tag, plan, rig, done_at] = [["piece"], ["tag"], ["name"], ["rig"], ["done_at"]].map(|path| of(&path));
    let [id, name, outcome] = [of(&["done_by", "id"]), of(&["done_by", "name"]), of(&["outcome"])];
    let [began, ended, answers] = [["walk", "began_at"], ["walk", "ended_at"], ["walk", "answers"]].map(|path| of(&path));
    let rows: Vec<(What, Who, Took)> = on!(&mut *db, conn => state::table
        .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(Check::KIND)).and(state::rev.gt(after)))
        .select((
            (sql::<Text>(&piece), sql::<Text>(&tag), sql::<Text>(&plan), sql::<Nullable<Text>>(&rig), sql::<Text>(&done_at)),
            (sql::<Nullable<Text>>(&id), sql::<Text>(&name), sql::<Text>(&outcome)),
            (sql::<Nullable<Text>>(&began), sql::<Nullable<Text>>(&ended), sql::<Nullable<Text>>(&answers)),
        ))
        .load(conn))?;
    rows.into_iter()
        .map(seen)
        .filter(|seen| seen.as_ref().map_or(true, |seen| seen.done_at >= from))
        .collect()
}

/// Piece, tag, plan, rig, when.
type What = (String, String, String, Option<String>, String);
/// Member, name, what it shows.
type Who = (Option<String>, String, String);
/// When its round began and ended, with how many answers.
type Took = (Option<String>, Option<String>, Option<String>);

fn seen(((piece, tag, plan, rig, done_at), (member, name, outcome), (began, ended, answers)): (What, Who, Took)) -> Result<CheckSeen, Fault> {
    let walk = match (began, ended, answers.and_then(|answers| answers.parse().ok())) {
        (Some(began), Some(ended), Some(answers)) => Some(CheckWalk {
            began_at: instant(&began)?,
            ended_at: instant(&ended)?,
            answers,
        }),
        _ => None,
    };
    Ok(CheckSeen {
        piece: piece
            .parse()
            .map_err(|error| anyhow::anyhow!("a check is of the piece '{piece}', which is no id: {error}"))?,
        tag,
        plan,
        rig: rig.and_then(|rig| rig.parse().ok()),
        done_at: instant(&done_at)?,
        done_by: Person {
            id: member.and_then(|id| id.parse().ok()).map(MemberId),
            name,
        },
        passed: outcome == "passed",
        walk,
    })
}
