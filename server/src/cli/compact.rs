use chrono::TimeDelta;
use clap::Args;

use super::Database;
use crate::platform::{
    clock::Clock,
    db::{Access, Db},
    door::{Keep, compact},
};

/// Forget deleted records, tokens that have run out and, if told to, old states; a running service does it once a day
#[derive(Debug, Args)]
pub struct Compact {
    #[command(flatten)]
    database: Database,
    #[command(flatten)]
    keep: KeepOptions,
}

/// How long things are kept
#[derive(Debug, Clone, Copy, Args)]
pub struct KeepOptions {
    /// Days that a deleted record is told of; a phone that was away for longer takes a new snapshot
    #[arg(long, env = "FULLSET_KEEP_DELETED_DAYS", default_value_t = 90)]
    keep_deleted_days: u32,
    /// Days that replaced states are kept, for history and the past; for ever unless said
    #[arg(long, env = "FULLSET_KEEP_PAST_DAYS")]
    keep_past_days: Option<u32>,
}

impl From<KeepOptions> for Keep {
    fn from(kept: KeepOptions) -> Self {
        Self {
            deleted: TimeDelta::days(kept.keep_deleted_days.into()),
            past: kept.keep_past_days.map(|days| TimeDelta::days(days.into())),
        }
    }
}

impl Compact {
    pub fn run(self) -> anyhow::Result<()> {
        let mut db = Db::open(&self.database.database, Access::Write)?;
        db.migrate()?;
        let forgotten = compact(&mut db, Clock::system().now(), self.keep.into())?;
        println!(
            "forgotten: {} deleted records, {} replaced states, {} refresh tokens",
            forgotten.deleted, forgotten.states, forgotten.tokens
        );
        Ok(())
    }
}
