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
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    for rig in rigs {
        settle(write, &mut catalogue, RigId(*rig))?;
    }
    write.keep(catalogue);
    Ok(())
}

fn settle(write: &mut Write<'_>, catalogue: &mut Catalogue, rig: RigId) -> Result<(), Fault> {
    let (agency, now, rev) = (write.agency, write.now(), write.rev);
    let before = write.look::<Capability>(rig)?;
    let Some(aboard) = Aboard::load(write.reading(), catalogue, rig)? else {
        if before.is_some() {
            rows::close(write.writing(), agency, rig.0, now)?;
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
            rows::hold(write.writing(), agency, rig.0, holds_until)?;
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
            rows::close(write.writing(), agency, rig.0, now)?;
            rows::open(write.writing(), agency, rig.0, rev, now, level.name(), holds_until)?;
            write.save(
                Capability {
                    id: rig,
                    rig_name,
                    since: now,
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
        write.reconsider(self.rig);
        Ok(())
    }
}
