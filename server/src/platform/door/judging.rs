//! What a command has judged again: at once, or by the clock where it is much.

use uuid::Uuid;

use super::{Write, lapses, registry::Touched, settle::SLICE};
use crate::platform::{error::Fault, record};

/// The record kind of what a command has worked out again.
const RIG: &str = "rig";

impl Write<'_> {
    /// Has every rig judged again, and every record on no rig about which an answer of its own is kept: what all of them are
    /// judged by has changed. The first of them are worked out when the command is done, the others wait for the clock, which
    /// takes them up at once and a slice at a time.
    pub fn reconsider_all(&mut self) -> Result<(), Fault> {
        self.held.write(self.db)?;
        let mut rigs = record::rigs(self.db, self.agency)?;
        let rest = rigs.split_off(rigs.len().min(SLICE));
        let mut room = SLICE - rigs.len();
        self.follow.rigs.extend(rigs);
        self.later(RIG, &rest)?;
        for (kind, _) in self.judged_kinds {
            let mut loose = record::on_no_rig(self.db, self.agency, kind)?;
            let rest = loose.split_off(loose.len().min(room));
            room -= loose.len();
            self.follow.judged.extend(loose);
            self.later(kind, &rest)?;
        }
        Ok(())
    }

    /// Leaves what a command touched to the clock. Until it is judged, how it stands is not known.
    pub(super) fn judge_later(&mut self, touched: &Touched) -> Result<(), Fault> {
        let rigs: Vec<Uuid> = touched.rigs.iter().copied().collect();
        self.later(RIG, &rigs)?;
        let judged: Vec<Uuid> = touched.judged.iter().copied().collect();
        self.judged_kinds.iter().try_for_each(|(kind, _)| self.later(kind, &judged))
    }

    fn later(&mut self, kind: &str, ids: &[Uuid]) -> Result<(), Fault> {
        if !ids.is_empty() {
            self.waits = true;
            self.raises.unseen = true;
            let (agency, now) = (self.agency, self.now());
            lapses::set_pending(self.writing()?, agency, kind, ids, now)?;
            self.held.forget_read();
        }
        Ok(())
    }

    /// Has the rig's capability worked out again when the command is done.
    pub fn reconsider(&mut self, rig: impl Into<Uuid>) {
        self.follow.rigs.insert(rig.into());
    }

    /// Has the answer about a record worked out again when the command is done, though the record itself does not change.
    pub fn reconsider_one(&mut self, id: impl Into<Uuid>) {
        self.follow.judged.insert(id.into());
    }
}
