use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use fullset_calc::capability;
use uuid::Uuid;

use super::{
    Capability,
    load::{Aboard, Catalogue},
    rows,
};
use crate::{
    platform::{
        door::{Stored, Write},
        error::Fault,
        record::Record as _,
    },
    slices::rigs::{Rig, RigId},
};

/// Works out the rigs that a command touched, inside its transaction. What has not changed is not written.
pub fn follow(write: &mut Write<'_>, rigs: &BTreeSet<Uuid>) -> Result<(), Fault> {
    let now = write.now();
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    for rig in rigs {
        settle_rig(write, &mut catalogue, RigId(*rig), now)?;
    }
    write.keep(catalogue);
    Ok(())
}

/// Works out a rig whose answer ran out, as of the instant at which it did.
pub fn settle(write: &mut Write<'_>, rig: Uuid, at: DateTime<Utc>) -> Result<(), Fault> {
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    settle_rig(write, &mut catalogue, RigId(rig), at)?;
    write.keep(catalogue);
    Ok(())
}

/// Works out one rig as of an instant, dates what has changed at it, and says when the new answer runs out.
fn settle_rig(write: &mut Write<'_>, catalogue: &mut Catalogue, rig: RigId, at: DateTime<Utc>) -> Result<(), Fault> {
    let (agency, rev) = (write.agency, write.rev);
    let before = write.look::<Capability>(rig)?;
    // What is settled after another change cannot reach behind it.
    let changed_at = before.as_ref().map_or(at, |before| at.max(before.record.since));
    let Some(aboard) = Aboard::load(write.reading(), catalogue, rig)? else {
        if before.is_some() {
            rows::close(write.writing(), agency, rig.0, changed_at)?;
            write.remove::<Capability>(rig)?;
        }
        return write.lapse(Rig::KIND, rig.0, None);
    };
    let policy = catalogue.policy.for_capability();
    let answer = catalogue.speak(|voice| capability::assess(&aboard.view(), &policy, at, voice));
    let (level, holds_until) = (answer.level, answer.holds_until);
    write.lapse(Rig::KIND, rig.0, holds_until)?;
    let planned = aboard.is_planned(write.reading(), catalogue, level, at)?;
    let rig_name = aboard.rig.name.clone();
    let stretch = rows::Stretch { level, planned, holds_until };
    let since = match &before {
        Some(Stored { record: known, .. }) if known.answer.level == level && known.planned == planned => {
            if known.answer == answer && known.rig_name == rig_name && before.as_ref().is_some_and(|before| before.scope == aboard.scope) {
                return Ok(());
            }
            if known.answer.holds_until != holds_until {
                rows::hold(write.writing(), agency, rig.0, holds_until)?;
            }
            known.since
        }
        _ => {
            let turned_at = rows::turn(write.writing(), agency, rig.0, rev, changed_at, stretch)?;
            // The level is as old as it was when only the reason for it has become another.
            before
                .filter(|before| before.record.answer.level == level)
                .map_or(turned_at, |before| before.record.since)
        }
    };
    let record = Capability {
        id: rig,
        rig_name,
        since,
        planned,
        known: true,
        pending: false,
        answer,
        rev,
    };
    write.save(record, aboard.scope)
}
