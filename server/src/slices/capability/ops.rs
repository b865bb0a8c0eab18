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
        door::{Act, Permission, Write},
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
    let holds_until = answer.holds_until;
    let level = answer.level;
    let rig_name = aboard.rig.name.clone();
    match before {
        Some(before) if before.record.answer == answer && before.record.rig_name == rig_name && before.scope == aboard.scope => Ok(()),
        Some(before) if before.record.answer.level == level => {
            if before.record.answer.holds_until != holds_until {
                rows::hold(write.writing(), agency, rig.0, holds_until)?;
            }
            write.save(
                Capability {
                    id: rig,
                    rig_name,
                    since: before.record.since,
                    answer,
                    rev,
                },
                aboard.scope,
            )
        }
        _ => {
            rows::close(write.writing(), agency, rig.0, changed_at)?;
            rows::open(write.writing(), agency, rig.0, rev, changed_at, level.name(), holds_until)?;
            write.save(
                Capability {
                    id: rig,
                    rig_name,
                    since: changed_at,
                    answer,
                    rev,
                },
                aboard.scope,
            )
        }
    }
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
