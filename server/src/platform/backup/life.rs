//! A database that was put back to an earlier state begins a new life. Clients have seen more than it knows, so four things must
//! never be mistaken for those of the life before: revisions, which go on far behind those that were lost; tokens of the feed, which
//! are sealed with the journal's hash and fit no more; and sign-ins and keys of programs, of which nobody knows which were ended since.

use chrono::{DateTime, Utc};
use fullset_calc::instant::Written;
use serde_json::json;

use crate::platform::{auth, db::Db, door, error::Fault};

/// What a new life began with.
#[derive(Debug, Default)]
pub struct NewLife {
    /// Sign-ins that were ended.
    pub ended: usize,
    /// Keys of programs that answer no more.
    pub keys: usize,
    /// Agencies.
    pub agencies: usize,
}

/// Begins it, inside the transaction that put the tables back or in one of its own. `keep_sign_ins`: nothing has been written since
/// the copy, so nobody was let go and nothing was ended.
pub fn begin_new_life(db: &mut Db, now: DateTime<Utc>, taken_at: Option<DateTime<Utc>>, keep_sign_ins: bool) -> Result<NewLife, Fault> {
    let mut life = NewLife::default();
    for agency in door::agencies(db)? {
        let body = json!({ "taken_at": taken_at.map(|at| Written(at).to_string()) });
        door::begin_again(db, agency, now, &body.to_string())?;
        life.agencies += 1;
    }
    if !keep_sign_ins {
        life.ended = auth::end_every(db, now)?;
        // One that was used or taken back since the copy would serve again.
        auth::void_links(db)?;
        // One that was revoked since would answer again.
        life.keys = auth::drop_keys(db)?;
    }
    Ok(life)
}
