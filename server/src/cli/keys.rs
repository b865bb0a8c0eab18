use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail, ensure};
use clap::{Args, Subcommand};

use super::{Database, keep::explain};
use crate::platform::{
    auth::{SealingKey, kept_keys, revoke_keys, rotate_keys},
    clock::Clock,
    db::{Access, Db},
};

/// What the signing keys are sealed with. Besides the file, FULLSET_KEY may hold it; it is no argument, because anybody sees those.
#[derive(Debug, Clone, Args)]
pub struct Sealing {
    /// A file with the key that the signing keys are sealed with in the database: 32 random bytes as 64 hexadecimal digits or as
    /// base64. FULLSET_KEY may hold the key itself. All processes on one database need the same
    #[arg(long = "key-file", env = "FULLSET_KEY_FILE", value_name = "FILE")]
    file: Option<PathBuf>,
}

impl Sealing {
    /// The key's file, if one is named.
    pub fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// Reads the key, if one was given.
    pub fn read(&self) -> anyhow::Result<Option<SealingKey>> {
        let text = match std::env::var("FULLSET_KEY") {
            Ok(text) => Some(text),
            Err(std::env::VarError::NotPresent) => None,
            Err(error) => return Err(error).context("FULLSET_KEY cannot be read"),
        };
        match (text, &self.file) {
            (Some(_), Some(_)) => bail!("FULLSET_KEY and FULLSET_KEY_FILE are both given: give one"),
            (Some(text), None) => SealingKey::read(&text).map(Some),
            (None, Some(file)) => SealingKey::read_file(file).map(Some),
            (None, None) => Ok(None),
        }
    }
}

/// Keep the keys that sign access tokens
#[derive(Debug, Subcommand)]
pub enum Keys {
    /// Print the keys, the newest first
    List(ListKeys),
    /// Make a new key; those before still read what they signed
    Rotate(RotateKeys),
    /// Forget a key: what it signed opens nothing from then on, and whoever is signed in gets another token
    Revoke(RevokeKeys),
}

/// Print the keys
#[derive(Debug, Args)]
pub struct ListKeys {
    #[command(flatten)]
    database: Database,
}

/// Make a new key
#[derive(Debug, Args)]
pub struct RotateKeys {
    #[command(flatten)]
    database: Database,
    #[command(flatten)]
    sealing: Sealing,
}

/// Forget a key
#[derive(Debug, Args)]
pub struct RevokeKeys {
    #[command(flatten)]
    database: Database,
    /// The key, as keys list names it
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    kid: Option<String>,
    /// All of them, for example because the sealing key is lost
    #[arg(long)]
    all: bool,
}

fn open(database: &Database) -> anyhow::Result<Db> {
    let mut db = Db::open(&database.database, Access::Write)?;
    db.has_this_schema()?;
    Ok(db)
}

impl Keys {
    pub fn run(self) -> anyhow::Result<()> {
        match self {
            Self::List(list) => {
                for key in kept_keys(&mut open(&list.database)?).map_err(|fault| explain(&fault))? {
                    let how = if key.sealed { "sealed" } else { "in the clear" };
                    println!("{} {} {how}", key.kid, key.created_at.format("%Y-%m-%dT%H:%M:%SZ"));
                }
            }
            Self::Rotate(rotate) => {
                let key = rotate.sealing.read()?;
                let mut db = open(&rotate.database)?;
                let sealed = kept_keys(&mut db).map_err(|fault| explain(&fault))?.iter().any(|kept| kept.sealed);
                ensure!(
                    key.is_some() || !sealed,
                    "the signing keys of this database are sealed: give the sealing key in FULLSET_KEY or FULLSET_KEY_FILE"
                );
                rotate_keys(&mut db, Clock::system().now(), key.as_ref()).map_err(|fault| explain(&fault))?;
                println!("A new key was made; it signs a minute from now.");
            }
            Self::Revoke(revoke) => {
                let forgotten = revoke_keys(&mut open(&revoke.database)?, revoke.kid.as_deref()).map_err(|fault| explain(&fault))?;
                ensure!(
                    forgotten > 0,
                    "there is no such key; nothing was changed. fullset keys list names those there are"
                );
                println!("Forgotten: {forgotten}. A running service refuses what they signed within seconds, and makes a new key where none is left.");
            }
        }
        Ok(())
    }
}
