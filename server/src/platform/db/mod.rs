//! The only folder that knows which database is behind a connection.
//!
//! A query is written once and compiled for each database by [`on!`](crate::on): each arm is a plain diesel query on
//! its own backend, so upserts, batches and `RETURNING` work as diesel documents them.

mod fixed;
pub mod schema;
pub mod types;

pub use fixed::fixed;

use std::path::PathBuf;

use diesel::{
    Connection as _, PgConnection, QueryResult, SqliteConnection,
    backend::Backend,
    connection::{AnsiTransactionManager, SimpleConnection as _, TransactionManager as _},
    migration::MigrationSource,
    r2d2::{ManageConnection, R2D2Connection as _},
};
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

const SQLITE_MIGRATIONS: EmbeddedMigrations = embed_migrations!("../migrations/sqlite");
const POSTGRES_MIGRATIONS: EmbeddedMigrations = embed_migrations!("../migrations/postgres");

/// Runs one diesel expression on whichever database the connection is of.
#[macro_export]
macro_rules! on {
    ($db:expr, $conn:ident => $query:expr) => {
        match $db {
            $crate::platform::db::Db::Sqlite($conn) => $query,
            $crate::platform::db::Db::Postgres($conn) => $query,
        }
    };
}

/// Where the data is: `sqlite:PATH` or `postgres://...`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Location {
    /// A SQLite file.
    Sqlite(PathBuf),
    /// A PostgreSQL connection string.
    Postgres(String),
}

impl std::str::FromStr for Location {
    type Err = String;

    fn from_str(url: &str) -> Result<Self, String> {
        if let Some(path) = url.strip_prefix("sqlite:") {
            let path = path.strip_prefix("//").unwrap_or(path);
            if path.is_empty() || path == ":memory:" {
                return Err("name a file after sqlite:, for example sqlite:fullset.sqlite (memory is lost at a restart)".into());
            }
            return Ok(Self::Sqlite(path.into()));
        }
        if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            return Ok(Self::Postgres(url.to_owned()));
        }
        Err(format!("'{url}' names no database: use sqlite:PATH or postgres://USER@HOST/NAME"))
    }
}

/// One connection to either database.
#[allow(missing_debug_implementations)]
pub enum Db {
    /// SQLite.
    Sqlite(SqliteConnection),
    /// PostgreSQL.
    Postgres(PgConnection),
}

/// Whether a connection may write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// The one writer.
    Write,
    /// One of the readers: SQLite refuses any write on it.
    Read,
}

impl Db {
    /// Opens a connection and sets what this service relies on: WAL and full synchronisation on SQLite.
    pub fn open(location: &Location, access: Access) -> anyhow::Result<Self> {
        match location {
            Location::Sqlite(path) => {
                let mut conn = SqliteConnection::establish(&path.to_string_lossy())?;
                conn.batch_execute(
                    "PRAGMA busy_timeout = 5000; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
                     PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY; PRAGMA wal_autocheckpoint = 8000;",
                )?;
                // There is one writer and there are many readers, which share what the system keeps of the file.
                conn.batch_execute(match access {
                    Access::Write => "PRAGMA cache_size = -16384;",
                    Access::Read => "PRAGMA cache_size = -2048; PRAGMA query_only = ON;",
                })?;
                Ok(Self::Sqlite(conn))
            }
            Location::Postgres(url) => {
                let mut conn = PgConnection::establish(url)?;
                conn.batch_execute("SET TIME ZONE 'UTC'; SET synchronous_commit = on;")?;
                Ok(Self::Postgres(conn))
            }
        }
    }

    /// Brings the tables up to this version; returns the names of the migrations that ran. A database that holds a migration
    /// which this version does not know is left as it is, and refused.
    pub fn migrate(&mut self) -> anyhow::Result<Vec<String>> {
        match self {
            Self::Sqlite(conn) => brought_up(conn, SQLITE_MIGRATIONS),
            Self::Postgres(conn) => {
                // Two servers may start at once: the second waits here, then finds nothing left to do.
                conn.batch_execute("SELECT pg_advisory_lock(7263518)")?;
                let ran = brought_up(conn, POSTGRES_MIGRATIONS);
                conn.batch_execute("SELECT pg_advisory_unlock(7263518)")?;
                ran
            }
        }
    }

    /// Starts a transaction: `Write` takes the write lock at once on SQLite, `Read` sees one state throughout.
    pub fn begin(&mut self, access: Access) -> QueryResult<()> {
        match (self, access) {
            (Self::Sqlite(conn), Access::Write) => AnsiTransactionManager::begin_transaction_sql(conn, "BEGIN IMMEDIATE"),
            (Self::Sqlite(conn), Access::Read) => AnsiTransactionManager::begin_transaction_sql(conn, "BEGIN DEFERRED"),
            (Self::Postgres(conn), Access::Write) => AnsiTransactionManager::begin_transaction_sql(conn, "BEGIN"),
            (Self::Postgres(conn), Access::Read) => AnsiTransactionManager::begin_transaction_sql(conn, "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"),
        }
    }

    /// Makes the transaction durable.
    pub fn commit(&mut self) -> QueryResult<()> {
        on!(self, conn => AnsiTransactionManager::commit_transaction(conn))
    }

    /// Forgets the transaction. A broken connection has nothing to forget, so its error is dropped.
    pub fn rollback(&mut self) {
        let _ = on!(self, conn => AnsiTransactionManager::rollback_transaction(conn));
    }

    /// Marks a point inside a transaction, to which [`Db::undo_to_mark`] goes back.
    pub fn mark(&mut self) -> QueryResult<()> {
        on!(self, conn => AnsiTransactionManager::begin_transaction(conn))
    }

    /// Keeps what was written since the mark; the transaction goes on.
    pub fn keep_since_mark(&mut self) -> QueryResult<()> {
        on!(self, conn => AnsiTransactionManager::commit_transaction(conn))
    }

    /// Forgets what was written since the mark; the transaction goes on. An error says that the transaction is lost.
    pub fn undo_to_mark(&mut self) -> QueryResult<()> {
        on!(self, conn => AnsiTransactionManager::rollback_transaction(conn))
    }

    /// Runs `work` inside a transaction, committed when it answers `Ok`.
    pub fn transaction<T, E: From<diesel::result::Error>>(&mut self, access: Access, work: impl FnOnce(&mut Self) -> Result<T, E>) -> Result<T, E> {
        self.begin(access)?;
        match work(self) {
            Ok(value) => {
                self.commit()?;
                Ok(value)
            }
            Err(error) => {
                self.rollback();
                Err(error)
            }
        }
    }
}

fn brought_up<D: Backend>(conn: &mut impl MigrationHarness<D>, ours: impl MigrationSource<D>) -> anyhow::Result<Vec<String>> {
    let failed = |error| anyhow::anyhow!("migration failed: {error}");
    let known: Vec<String> = ours.migrations().map_err(failed)?.iter().map(|one| one.name().version().to_string()).collect();
    let there = conn.applied_migrations().map_err(failed)?;
    if let Some(foreign) = there.iter().map(ToString::to_string).find(|one| !known.contains(one)) {
        anyhow::bail!(
            "this database was made by another version of Fullset (it has the migration {foreign}, which this one does not know): start that version, or name another file"
        );
    }
    let ran = conn.run_pending_migrations(ours).map_err(failed)?;
    Ok(ran.iter().map(ToString::to_string).collect())
}

/// Hands connections to the pool.
#[derive(Debug)]
pub struct Manager {
    location: Location,
    access: Access,
}

impl ManageConnection for Manager {
    type Connection = Db;
    type Error = diesel::r2d2::Error;

    fn connect(&self) -> Result<Db, Self::Error> {
        Db::open(&self.location, self.access)
            .map_err(|error| diesel::r2d2::Error::ConnectionError(diesel::ConnectionError::BadConnection(format!("{error:#}"))))
    }

    fn is_valid(&self, db: &mut Db) -> Result<(), Self::Error> {
        on!(db, conn => conn.ping()).map_err(diesel::r2d2::Error::QueryError)
    }

    fn has_broken(&self, db: &mut Db) -> bool {
        on!(db, conn => AnsiTransactionManager::is_broken_transaction_manager(conn))
    }
}

/// A pool of connections of one kind.
pub type Pool = diesel::r2d2::Pool<Manager>;

/// Opens a pool of `size` connections.
pub fn pool(location: &Location, access: Access, size: u32) -> anyhow::Result<Pool> {
    let manager = Manager {
        location: location.clone(),
        access,
    };
    Ok(diesel::r2d2::Pool::builder()
        .max_size(size)
        .min_idle(Some(1))
        .test_on_check_out(false)
        .connection_timeout(std::time::Duration::from_secs(10))
        .build(manager)?)
}
