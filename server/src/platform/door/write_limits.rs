//! How much one member, tablet or program may write: nobody fills the disk, or keeps the one writer from the others.

use uuid::Uuid;

use super::Command;
use crate::platform::{
    auth::Actor,
    error::{self, Fault},
    rates::Rates,
};

/// How much each may write.
#[derive(Debug, Clone, Copy)]
pub struct WriteLimits {
    /// Commands that may come at once: what a phone gathers in days without a signal is less.
    pub commands_at_once: u32,
    /// Commands a minute after that.
    pub commands_a_minute: u32,
    /// Kilobytes of bodies that may come at once: several imports.
    pub kilobytes_at_once: u32,
    /// Kilobytes of bodies a minute after that.
    pub kilobytes_a_minute: u32,
}

impl WriteLimits {
    /// 5,000 commands and 64 MB of bodies at once; then so many commands a minute, each of 2 kB.
    pub fn of(commands_a_minute: u32) -> Self {
        Self {
            commands_at_once: 5_000,
            commands_a_minute,
            kilobytes_at_once: 64 * 1024,
            kilobytes_a_minute: commands_a_minute.saturating_mul(2),
        }
    }
}

/// What each has left.
pub(super) struct WriteRates {
    commands: Rates<Uuid>,
    kilobytes: Rates<Uuid>,
}

impl std::fmt::Debug for WriteRates {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("WriteRates").finish_non_exhaustive()
    }
}

impl WriteRates {
    pub fn new(limits: WriteLimits) -> Self {
        Self {
            commands: Rates::new(limits.commands_at_once, limits.commands_a_minute),
            kilobytes: Rates::new(limits.kilobytes_at_once, limits.kilobytes_a_minute),
        }
    }

    /// Counts a batch, which is taken whole or not at all. What the service does by itself is not counted.
    pub fn count(&self, actor: &Actor, commands: &[Command]) -> Result<(), Fault> {
        let Some(who) = actor.who() else {
            return Ok(());
        };
        let bytes: usize = commands.iter().map(|command| command.body.get().len()).sum();
        let counted = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let taken = self
            .commands
            .take(&who, counted(commands.len()))
            .and_then(|()| self.kilobytes.take(&who, counted(bytes / 1024 + 1)));
        taken.map_err(|seconds| {
            let words = "More was written under this sign-in than one member may; nothing of this was taken. Send it again under the same ids \
                         when the wait is over";
            Fault::new(error::SLOW_DOWN, words).again_in(seconds)
        })
    }
}
