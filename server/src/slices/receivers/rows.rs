//! What each receiver's messages are signed with. It stands in no record.

use diesel::prelude::*;
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{Db, schema::receiver_secret, types::Uid},
        error::Fault,
        ids::AgencyId,
    },
};

/// Keeps a receiver's secret in the place of the one before.
pub fn put(db: &mut Db, agency: AgencyId, receiver: Uuid, secret: &[u8]) -> Result<(), Fault> {
    on!(db, conn => diesel::insert_into(receiver_secret::table)
        .values((receiver_secret::agency.eq(Uid::from(agency)), receiver_secret::receiver.eq(Uid(receiver)), receiver_secret::secret.eq(secret)))
        .on_conflict((receiver_secret::agency, receiver_secret::receiver))
        .do_update()
        .set(receiver_secret::secret.eq(secret))
        .execute(conn))?;
    Ok(())
}

/// A receiver's secret.
pub fn find(db: &mut Db, agency: AgencyId, receiver: Uuid) -> Result<Option<Vec<u8>>, Fault> {
    Ok(on!(db, conn => receiver_secret::table
        .find((Uid::from(agency), Uid(receiver)))
        .select(receiver_secret::secret)
        .first(conn)
        .optional())?)
}

/// Forgets a receiver's secret.
pub fn forget(db: &mut Db, agency: AgencyId, receiver: Uuid) -> Result<(), Fault> {
    on!(db, conn => diesel::delete(receiver_secret::table.find((Uid::from(agency), Uid(receiver)))).execute(conn))?;
    Ok(())
}
