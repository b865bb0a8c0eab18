use std::{fs::File, path::PathBuf};

use anyhow::{Context as _, bail, ensure};
use chrono::{DateTime, Utc};
use clap::Args;

use super::{Database, Photographs, backup::tell, keep::explain, runtime, verify};
use crate::{
    platform::{
        backup::{Checked, NewLife, begin_new_life, is_empty, read_tables},
        clock::Clock,
        db::{Access, Db, Location},
    },
    slices::photos::{PhotoName, PhotoPlace, PhotoRow, PhotoStore},
};

/// Put a backup into an empty database of either kind
#[derive(Debug, Args)]
pub struct Restore {
    /// The backup
    #[arg(value_name = "DIR", required_unless_present = "in_place")]
    dir: Option<PathBuf>,
    #[command(flatten)]
    database: Database,
    #[command(flatten)]
    photos: Photographs,
    /// Nothing was written after the backup (the service was stopped for it): those who are signed in stay so
    #[arg(long, conflicts_with = "in_place")]
    keep_sign_ins: bool,
    /// The database was put back to an earlier state by other means (a copy of the file, WAL archiving): only begin its new life
    #[arg(long, conflicts_with = "dir")]
    in_place: bool,
}

impl Restore {
    pub fn run(self) -> anyhow::Result<()> {
        let (location, now) = (self.database.database, Clock::system().now());
        let photos = self.photos.place(&location);
        let Some(dir) = self.dir else {
            let mut db = Db::open(&location, Access::Write)?;
            db.has_this_schema()?;
            let life = db
                .transaction(Access::Write, |db| begin_new_life(db, now, None, false))
                .map_err(|fault| explain(&fault))?;
            say(&life, None);
            return verify::whole(&location, &photos);
        };
        let backup = Checked::open(&dir, &tell)?;
        let (taken_at, ours) = (backup.manifest.taken_at, Db::schema_of_now()?);
        ensure!(
            backup.manifest.schema == ours,
            "the backup was taken by version {} (migrations {:?}, this version has {ours:?}): restore it with that version, then start this one on the database",
            backup.manifest.version,
            backup.manifest.schema
        );
        let made = Db::make(&location)?;
        let restored = runtime()?.block_on(restore(&backup, (&location, &photos), now, self.keep_sign_ins));
        if let (Err(_), true, Location::Sqlite(path)) = (&restored, made, &location) {
            for beside in ["", "-wal", "-shm"] {
                // Half a database is none; what SQLite keeps beside it may be gone already.
                let _ = std::fs::remove_file(format!("{}{beside}", path.display()));
            }
        }
        say(&restored?, Some(taken_at));
        verify::whole(&location, &photos)
    }
}

fn say(life: &NewLife, taken_at: Option<DateTime<Utc>>) {
    match taken_at {
        Some(at) => println!("Restored {} agencies as they were at {}.", life.agencies, at.format("%Y-%m-%d %H:%M:%S UTC")),
        None => println!("{} agencies begin a new life.", life.agencies),
    }
    if life.ended > 0 {
        println!(
            "Everybody signs in anew, and shared tablets are enrolled again; what waits in their outboxes is sent then.\n\
             Look before you open it to all: who was let go, which devices and calendars were revoked and which passwords were changed\n\
             since then is as it was before. Do those again."
        );
    }
    if life.keys > 0 {
        println!(
            "{} keys of programs answer no more: some may have been revoked since. Make new ones.",
            life.keys
        );
    }
}

async fn restore(backup: &Checked, (location, photos): (&Location, &PhotoPlace), now: DateTime<Utc>, keep_sign_ins: bool) -> anyhow::Result<NewLife> {
    let mut db = Db::open(location, Access::Write)?;
    is_empty(&mut db)?;
    db.migrate()?;
    db.take_time()?;
    let store = PhotoStore::open(photos)?;
    // Pictures first: what a row names is there. Without rows nobody sees them.
    for photo in backup.photos()? {
        let (mark, file) = photo?;
        let Ok(sha256) = PhotoName::try_from(mark.name.clone()) else {
            bail!("the list of photos names '{}', which is no photo", mark.name)
        };
        let kept = PhotoRow {
            agency: mark.agency,
            sha256,
            kept_bytes: 0,
            kept_hash: None,
        };
        store
            .put(&kept, mark.thumbnail, File::open(&file)?)
            .await
            .context("a photo cannot be restored")?;
    }
    db.begin(Access::Write)?;
    let put = read_tables(&mut db, backup, &tell)
        .and_then(|()| begin_new_life(&mut db, now, Some(backup.manifest.taken_at), keep_sign_ins).map_err(|fault| explain(&fault)));
    match put {
        Ok(life) => {
            db.commit()?;
            Ok(life)
        }
        Err(error) => {
            db.rollback();
            Err(error)
        }
    }
}
