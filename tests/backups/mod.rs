//! Backups: taken while the service runs and is written to, restored into either kind of database, and how clients go on.

mod clients;
mod drill;
mod refused;
mod rewritten;
mod verified;

use std::{
    path::{Path, PathBuf},
    process::Output,
};

use fullset::platform::db::Location;
use uuid::Uuid;

pub use crate::world::process::fullset;
use crate::world::{Engine, World, cluster, ground, run};
pub use drill::send_photo;

/// A database that does not exist yet, or holds nothing; taken away at the end.
pub struct Empty(pub Location);

impl Empty {
    pub fn on(engine: Engine) -> Self {
        let name = format!("r{}", Uuid::new_v4().simple());
        Self(match engine {
            Engine::Sqlite => Location::Sqlite(run::dir().join(format!("{name}.sqlite"))),
            Engine::Postgres => {
                cluster::command(&format!("CREATE DATABASE {name}"));
                Location::Postgres(cluster::url(&name))
            }
        })
    }
}

impl Drop for Empty {
    fn drop(&mut self) {
        ground::forget(&self.0);
    }
}

/// What a command that went well said.
#[track_caller]
pub fn done(said: &Output) -> String {
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    String::from_utf8_lossy(&said.stdout).into_owned()
}

/// Why a command failed.
#[track_caller]
pub fn failed(said: &Output) -> String {
    assert!(!said.status.success(), "{}", String::from_utf8_lossy(&said.stdout));
    String::from_utf8_lossy(&said.stderr).into_owned()
}

/// A folder that holds the backups of a test.
pub fn shelf() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("backup");
    (folder, place)
}

/// Backs a world up.
#[track_caller]
pub fn back_up(world: &World, place: &Path) {
    done(&fullset(&world.location, "backup", &[&place.display().to_string()]));
}

/// Restores a backup.
#[track_caller]
pub fn restore(location: &Location, place: &Path) -> String {
    done(&fullset(location, "restore", &[&place.display().to_string()]))
}
