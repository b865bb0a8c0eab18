//! The command line: `fullset serve`, `setup`, `member add`, `import register`, `export register`, `verify`, `backup`, `restore`,
//! `doctor`, `keys`, `migrate`, `compact`, `settings`, `openapi`, `sync-check`, `demo`. What it writes goes through the door like
//! everything else.

mod backup;
mod check;
mod compact;
mod demo;
mod doctor;
mod keep;
mod keys;
mod register;
mod restore;
mod serve;
mod settings;
mod verify;

pub use keep::found;

use std::io::Read as _;

use anyhow::{Context as _, bail};
use clap::{Args, Parser, Subcommand};

use crate::{platform::db::Location, slices::photos::PhotoPlace};

/// Which rigs can do a full extrication now, and what is missing on the others.
#[derive(Debug, Parser)]
#[command(name = "fullset", version, arg_required_else_help = true)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// A file of settings, as lines such as FULLSET_LISTEN=127.0.0.1:8080; the command line and the environment count before it
    #[arg(long, global = true, env = "FULLSET_SETTINGS", value_name = "FILE")]
    settings: Option<std::path::PathBuf>,
}

/// Where the data is.
#[derive(Debug, Clone, Args)]
pub struct Database {
    /// sqlite:PATH or postgres://USER@HOST/NAME; where HOST is another machine, with ?sslmode=verify-full&sslrootcert=FILE
    #[arg(long, env = "FULLSET_DATABASE", hide_env_values = true, default_value = DEFAULT_DATABASE)]
    database: Location,
}

const DEFAULT_DATABASE: &str = "sqlite:fullset.sqlite";

impl Database {
    /// Whether it is the one that is used where none is named.
    fn is_default(&self) -> bool {
        DEFAULT_DATABASE.parse().is_ok_and(|default: Location| default == self.database)
    }
}

/// Where the photos are.
#[derive(Debug, Clone, Args)]
pub struct Photographs {
    /// Where photos are kept: a folder, or s3://BUCKET/PREFIX with the usual AWS_ variables (AWS_ENDPOINT for a store of your
    /// own); FILE.photos beside a SQLite file and the folder photos otherwise
    #[arg(long, env = "FULLSET_PHOTOS")]
    photos: Option<PhotoPlace>,
}

impl Photographs {
    /// The place that was named, or the usual one for a database.
    fn place(self, location: &Location) -> PhotoPlace {
        self.photos.unwrap_or_else(|| PhotoPlace::beside(location))
    }
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Answer HTTP
    Serve(Box<serve::Serve>),
    /// Start with an invented county on a fresh SQLite file, and print its sign-ins
    Demo(demo::Demo),
    /// Found the first agency and its admin
    Setup(keep::Setup),
    /// Keep members
    #[command(subcommand)]
    Member(keep::Member),
    /// Read a file into the register
    #[command(subcommand)]
    Import(register::ImportKind),
    /// Write the register as a file
    #[command(subcommand)]
    Export(register::Export),
    /// Look whether the journal holds and the rest agrees with it, and name what is not as it must be
    Verify(verify::Verify),
    /// Copy everything that is kept into a folder, also while the service runs
    Backup(backup::Backup),
    /// Put a backup into an empty database of either kind
    Restore(restore::Restore),
    /// Say what is wrong with this installation, and what to do
    Doctor(doctor::Doctor),
    /// Keep the keys that sign access tokens
    #[command(subcommand)]
    Keys(keys::Keys),
    /// Bring the tables up to this version
    Migrate(keep::Migrate),
    /// Forget deleted records and, if told to, old states
    Compact(compact::Compact),
    /// Print all settings as a table
    Settings(settings::Settings),
    /// Print the OpenAPI document
    Openapi,
    /// Put the hard cases of the sync protocol to a server, and print which of them hold
    SyncCheck(check::SyncCheck),
}

impl Arguments {
    /// Runs the command.
    pub fn run(self) -> anyhow::Result<()> {
        match self.command {
            Command::Serve(serve) => serve.run(),
            Command::Demo(demo) => demo.run(),
            Command::Setup(setup) => setup.run(),
            Command::Member(member) => member.run(),
            Command::Import(import) => import.run(),
            Command::Export(export) => export.run(),
            Command::Verify(verify) => verify.run(),
            Command::Backup(backup) => backup.run(),
            Command::Restore(restore) => restore.run(),
            Command::Doctor(doctor) => doctor.run(),
            Command::Keys(keys) => keys.run(),
            Command::Migrate(migrate) => migrate.run(),
            Command::Compact(compact) => compact.run(),
            Command::SyncCheck(check) => check.run(),
            Command::Settings(settings) => settings.run(),
            Command::Openapi => {
                println!("{}", serde_json::to_string_pretty(&crate::app::document()?)?);
                Ok(())
            }
        }
    }
}

fn runtime() -> anyhow::Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("no threads could be started")
}

/// Asks for a password, or reads it from standard input, or makes one and prints it once.
fn password(from_stdin: bool, generate: bool) -> anyhow::Result<String> {
    if from_stdin {
        let mut text = String::new();
        std::io::stdin().read_to_string(&mut text)?;
        let text = text.trim_end_matches(['\r', '\n']).to_owned();
        if text.is_empty() {
            bail!("standard input held no password: write it there, for example printf '%s' \"$PASSWORD\" | fullset ...");
        }
        return Ok(text);
    }
    if generate || !std::io::IsTerminal::is_terminal(&std::io::stdin()) {
        use base64::Engine as _;
        let secret: [u8; 15] = rand::random();
        let text = base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(secret);
        println!("password (shown this once): {text}");
        return Ok(text);
    }
    let first = rpassword::prompt_password("Password, 10 characters or more: ")?;
    if first != rpassword::prompt_password("Once more: ")? {
        bail!("the two passwords differ; nothing was changed");
    }
    Ok(first)
}
