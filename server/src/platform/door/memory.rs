//! What the writer remembers of the records from one transaction to the next, so that a rig that is judged again is not read
//! again. It is true of an agency for as long as nobody else has written to it, which its revision tells; it is forgotten
//! whenever a transaction is undone.

use std::mem;

use super::unit_of_work::{UnitOfWork, Waits};
use crate::platform::ids::AgencyId;

/// The most records that are remembered, some 3 kB each. Past them everything is forgotten and read again as it is needed.
const MOST: usize = 4_000;

impl UnitOfWork {
    /// Forgets what an agency's records were: somebody else may have written.
    pub(super) fn forget(&mut self, agency: AgencyId) {
        self.slots.retain(|key, _| key.0 != agency);
        self.lapses.retain(|key, _| key.0 != agency);
        self.looked_up.retain(|key, _| key.0 != agency);
        self.rigs.retain(|key, _| key.0 != agency);
        self.applied.retain(|key, _| key.0 != agency);
    }

    /// What may be remembered of a transaction that was committed: live records as they are in their tables, and when their
    /// answers run out.
    pub(super) fn remembered(&mut self) -> Self {
        let mut held = mem::take(self);
        if !held.is_written() || held.slots.len().max(held.lapses.len()) > MOST {
            return Self::default();
        }
        held.slots
            .retain(|_, slot| slot.waits == Waits::No && slot.row.as_ref().is_some_and(|row| !row.gone));
        let slots = &held.slots;
        held.rigs.retain(|_, keys| keys.iter().all(|key| slots.contains_key(key)));
        let mut kept = Self::default();
        (kept.slots, kept.lapses, kept.rigs) = (held.slots, held.lapses, held.rigs);
        kept
    }
}
