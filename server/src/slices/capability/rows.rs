//! The intervals of how each rig stood.

use chrono::{DateTime, Utc};
use diesel::{dsl::sql, prelude::*, sql_types::Bool};
use fullset_calc::{capability::Level, ratings::Kind};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db, body_fields, fixed,
            schema::{record as table, standing},
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        models::Model,
        pieces::{Piece, PieceState},
    },
};

/// The rule that rigs are judged by: 1 was by the class's list, 2 is by the agency's grades.
const RULE: i64 = 2;

#[derive(Debug, Insertable)]
#[diesel(table_name = standing, treat_none_as_default_value = false)]
struct Row {
    agency: Uid,
    rig: Uid,
    from_rev: i64,
    from_at: Moment,
    until_at: Option<Moment>,
    level: String,
    holds_until: Option<Moment>,
    planned: bool,
    rule: i64,
}

/// How a rig stands from an instant on.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    /// The level.
    pub level: Level,
    /// Below full for planned service alone.
    pub planned: bool,
    /// Until when the answer holds.
    pub holds_until: Option<DateTime<Utc>>,
}

/// Closes the open interval of a rig.
pub fn close(db: &mut Db, agency: AgencyId, rig: Uuid, at: DateTime<Utc>) -> Result<(), Fault> {
    struct Close;
    let open = standing::table.filter(
        standing::agency
            .eq(Uid::from(agency))
            .and(standing::rig.eq(Uid(rig)))
            .and(standing::until_at.is_null()),
    );
    let close = diesel::update(open).set(standing::until_at.eq(Moment(at)));
    Ok(on!(db, conn => fixed::<Close, _>(close).execute(conn))?)
}

/// Closes the open interval of a rig, where there is one, and opens the next. A turn that is heard of late cannot reach behind
/// the one before it: answers when the new interval begins.
pub fn turn(db: &mut Db, agency: AgencyId, rig: Uuid, rev: i64, at: DateTime<Utc>, stretch: Stretch) -> Result<DateTime<Utc>, Fault> {
    let open: Option<Moment> = on!(&mut *db, conn => standing::table
        .filter(standing::agency.eq(Uid::from(agency)).and(standing::rig.eq(Uid(rig))).and(standing::until_at.is_null()))
        .select(standing::from_at)
        .first(conn)
        .optional())?;
    let at = open.map_or(at, |open| at.max(open.0));
    if open.is_some() {
        close(db, agency, rig, at)?;
    }
    let row = Row {
        agency: agency.into(),
        rig: Uid(rig),
        from_rev: rev,
        from_at: Moment(at),
        until_at: None,
        level: stretch.level.name().to_owned(),
        holds_until: stretch.holds_until.map(Moment),
        planned: stretch.planned,
        rule: RULE,
    };
    struct Turn;
    on!(db, conn => fixed::<Turn, _>(diesel::insert_into(standing::table).values(&row)).execute(conn))?;
    Ok(at)
}

/// The pieces that are out for planned service. The words are those of the index, so that each database finds them by it.
pub fn out_for_service(db: &mut Db, agency: AgencyId) -> QueryResult<Vec<record::Row>> {
    const OUT: &str = "kind = 'piece' AND state = 'out_of_service' AND ";
    let planned = body_fields::is_true(db, "planned");
    struct OutForService;
    on!(db, conn => fixed::<OutForService, _>(table::table
        .filter(table::agency.eq(Uid::from(agency)).and(table::gone.eq(false)))
        .filter(sql::<Bool>(OUT).sql(&planned))
        .select(record::Row::as_select()))
        .load(conn))
}

/// The battery families of which the agency has a pack on record, in the order of their models.
pub fn battery_families(db: &mut Db, agency: AgencyId) -> Result<Vec<String>, Fault> {
    let models: Vec<record::Row> = on!(&mut *db, conn => table::table
        .filter(table::agency.eq(Uid::from(agency)).and(table::kind.eq(Model::KIND)).and(table::gone.eq(false)))
        .filter(table::state.eq(Kind::Battery.name()))
        .order(table::label)
        .select(record::Row::as_select())
        .load(conn))?;
    let mut families = Vec::new();
    for row in models {
        let on_record: bool = on!(&mut *db, conn => diesel::select(diesel::dsl::exists(table::table
            .filter(table::agency.eq(Uid::from(agency)).and(table::parent.eq(row.id)).and(table::kind.eq(Piece::KIND)))
            .filter(table::gone.eq(false).and(table::state.ne(PieceState::Retired.word())))))
            .get_result(conn))?;
        if on_record && let Some(family) = row.read::<Model>()?.hookup.battery {
            families.push(family);
        }
    }
    Ok(families)
}

/// Sets until when the open interval's answer holds.
pub fn hold(db: &mut Db, agency: AgencyId, rig: Uuid, holds_until: Option<DateTime<Utc>>) -> Result<(), Fault> {
    struct Hold;
    let open = standing::table.filter(
        standing::agency
            .eq(Uid::from(agency))
            .and(standing::rig.eq(Uid(rig)))
            .and(standing::until_at.is_null()),
    );
    let hold = diesel::update(open).set(standing::holds_until.eq(holds_until.map(Moment)));
    Ok(on!(db, conn => fixed::<Hold, _>(hold).execute(conn))?)
}
