use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use fullset_calc::capability;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Capability,
    load::{Aboard, Catalogue},
    rows,
};
use crate::{
    platform::{
        door::{Act, Permission, Stored, Write},
        error::Fault,
    },
    slices::rigs::RigId,
};

/// Works out the rigs that a command touched, inside its transaction. What has not changed is not written.
pub fn follow(write: &mut Write<'_>, rigs: &BTreeSet<Uuid>) -> Result<(), Fault> {
    let now = write.now();
    follow_at(write, rigs, now)
}

fn follow_at(write: &mut Write<'_>, rigs: &BTreeSet<Uuid>, changed_at: DateTime<Utc>) -> Result<(), Fault> {
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    for rig in rigs {
        settle(write, &mut catalogue, RigId(*rig), changed_at)?;
    }
    write.keep(catalogue);
    Ok(())
}

/// Works out one rig as of now; what has changed is dated `changed_at`.
fn settle(write: &mut Write<'_>, catalogue: &mut Catalogue, rig: RigId, changed_at: DateTime<Utc>) -> Result<(), Fault> {
    let (agency, now, rev) = (write.agency, write.now(), write.rev);
    let before = write.look::<Capability>(rig)?;
    // A refresh that comes after another change cannot reach behind it.
    let changed_at = before.as_ref().map_or(changed_at, |before| changed_at.max(before.record.since));
    let Some(aboard) = Aboard::load(write.reading(), catalogue, rig)? else {
        if before.is_some() {
            rows::close(write.writing(), agency, rig.0, changed_at)?;
            write.remove::<Capability>(rig)?;
        }
        return Ok(());
    };
    let policy = catalogue.policy.for_capability();
    let answer = catalogue.speak(|voice| capability::assess(&aboard.view(), &policy, now, voice));
    let (level, holds_until) = (answer.level, answer.holds_until);
    let planned = aboard.is_planned(write.reading(), catalogue, level, now)?;
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
        answer,
        rev,
    };
    write.save(record, aboard.scope)
}

/// The clock says that a rig's answer has run out.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RefreshCapability {
    /// The rig.
    pub rig: RigId,
    /// Until when its answer held.
    pub held_until: DateTime<Utc>,
}

impl Act for RefreshCapability {
    const KIND: &'static str = "capability.refresh";
    const SUMMARY: &'static str = "Work out a rig again because its answer has run out; sent by the clock alone";
    const NEEDS: &'static [Permission] = &[Permission::Service];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        if self.held_until > write.now() {
            return Err(Fault::field("body.held_until", "This answer still holds"));
        }
        // The level changed when its answer ran out, not when the clock came to look.
        follow_at(write, &BTreeSet::from([self.rig.0]), self.held_until)
    }
}
