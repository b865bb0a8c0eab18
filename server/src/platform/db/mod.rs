//! The only folder that knows which database is behind a connection.
//!
//! A query is written once and compiled for each database by [`on!`](crate::on): each arm is a plain diesel query on
//! its own backend, so upserts, batches and `RETURNING` work as diesel documents them.

pub mod body_fields;
mod fitting;
mod fixed;
mod location;
pub mod schema;
pub mod types;

pub use fitting::{MOST_ANSWER_BYTES, first};
pub use fixed::fixed;
pub use location::Location;

use std::os::unix::fs::OpenOptionsExt as _;

use diesel::{
    Connection as _, PgConnection, QueryResult, QueryableByName, RunQueryDsl as _, SqliteConnection,
    backend::Backend,
    connection::{AnsiTransactionManager, SimpleConnection as _, TransactionManager as _},
    migration::MigrationSource,
    r2d2::{ManageConnection, R2D2Connection as _},
    sql_query,
    sql_types::Text,
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
    /// Makes a SQLite file where there is none, which nobody but its owner reads, whatever the umask; what SQLite puts beside it
    /// takes its mode. Answers whether it was made. A PostgreSQL database is made by whoever keeps the server.
    pub fn make(location: &Location) -> anyhow::Result<bool> {
        let Location::Sqlite(path) = location else { return Ok(false) };
        let made = std::fs::OpenOptions::new().write(true).create_new(true).mode(0o600).open(path);
        match made {
            Ok(_) => Ok(true),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => Ok(false),
            Err(error) => Err(anyhow::Error::from(error).context(format!("the database {} cannot be made", path.display()))),
        }
    }

    /// Opens a connection to a database that is there, and sets what this service relies on: WAL and full synchronisation on SQLite.
    pub fn open(location: &Location, access: Access) -> anyhow::Result<Self> {
        match location {
            Location::Sqlite(path) => {
                anyhow::ensure!(path.exists(), "there is no database at {}: look at --database for a slip", path.display());
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
                if let Some(words) = location.may_be_plain() {
                    anyhow::bail!(words);
                }
                let mut conn = PgConnection::establish(&patient(url))?;
                // A query that never ends would hold its connection, and a writer that hangs the agency's row, for ever.
                conn.batch_execute(match access {
                    Access::Read => "SET TIME ZONE 'UTC'; SET statement_timeout = '60s'; SET idle_in_transaction_session_timeout = '5min';",
                    Access::Write => {
                        "SET TIME ZONE 'UTC'; SET synchronous_commit = on; SET statement_timeout = '5min'; SET lock_timeout = '30s';
                         SET idle_in_transaction_session_timeout = '5min';"
                    }
                })?;
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
                conn.batch_execute("SET statement_timeout = 0; SET lock_timeout = 0; SELECT pg_advisory_lock(7263518)")?;
                let ran = brought_up(conn, POSTGRES_MIGRATIONS);
                conn.batch_execute("SELECT pg_advisory_unlock(7263518); SET statement_timeout = '5min'; SET lock_timeout = '30s'")?;
                ran
            }
        }
    }

    /// The migrations that the database has been through, in order; none where it has no tables yet.
    pub fn schema(&mut self) -> anyhow::Result<Vec<String>> {
        if !self.tables()?.iter().any(|table| table == "__diesel_schema_migrations") {
            return Ok(Vec::new());
        }
        Ok(self.words("SELECT version AS word FROM __diesel_schema_migrations ORDER BY version")?)
    }

    /// The tables that are there, whoever made them.
    pub fn tables(&mut self) -> QueryResult<Vec<String>> {
        let query = match self {
            Self::Sqlite(_) => "SELECT name AS word FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
            Self::Postgres(_) => "SELECT table_name::text AS word FROM information_schema.tables WHERE table_schema = 'public'",
        };
        self.words(query)
    }

    /// What a query answers as `word`.
    fn words(&mut self, query: &str) -> QueryResult<Vec<String>> {
        #[derive(QueryableByName)]
        struct Word {
            #[diesel(sql_type = Text)]
            word: String,
        }
        let words: Vec<Word> = on!(self, conn => sql_query(query).load(conn))?;
        Ok(words.into_iter().map(|row| row.word).collect())
    }

    /// The migrations of this version, in order.
    pub fn schema_of_now() -> anyhow::Result<Vec<String>> {
        let ours = MigrationSource::<diesel::sqlite::Sqlite>::migrations(&SQLITE_MIGRATIONS);
        let ours = ours.map_err(|error| anyhow::anyhow!("the migrations cannot be read: {error}"))?;
        let mut names: Vec<String> = ours.iter().map(|one| one.name().version().to_string()).collect();
        names.sort();
        Ok(names)
    }

    /// Refuses a database whose tables are not those of this version.
    pub fn has_this_schema(&mut self) -> anyhow::Result<Vec<String>> {
        let (there, ours) = (self.schema()?, Self::schema_of_now()?);
        anyhow::ensure!(
            there == ours,
            "the tables are of another version (migrations {there:?}, this version has {ours:?}): run fullset migrate, or use the version that made them"
        );
        Ok(there)
    }

    /// Lets this connection's statements take as long as they need: for work over everything that is kept.
    pub fn take_time(&mut self) -> QueryResult<()> {
        match self {
            Self::Sqlite(_) => Ok(()),
            Self::Postgres(conn) => conn.batch_execute("SET statement_timeout = 0; SET lock_timeout = 0; SET idle_in_transaction_session_timeout = 0"),
        }
    }

    /// The kind of database, in one word.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Sqlite(_) => "sqlite",
            Self::Postgres(_) => "postgres",
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
        self.finish(work)
    }

    /// Runs `work` inside the transaction that was begun, committed when it answers `Ok`.
    fn finish<T, E: From<diesel::result::Error>>(&mut self, work: impl FnOnce(&mut Self) -> Result<T, E>) -> Result<T, E> {
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

/// An address of PostgreSQL with an end to each wait that it does not set itself: for a connection, and for a server that is gone
/// without a word.
fn patient(url: &str) -> String {
    const WAITS: [(&str, &str); 5] = [
        ("connect_timeout", "10"),
        ("keepalives_idle", "30"),
        ("keepalives_interval", "10"),
        ("keepalives_count", "3"),
        ("tcp_user_timeout", "60000"),
    ];
    let said = url.split_once('?').map_or("", |(_, said)| said);
    let mut patient = url.to_owned();
    for (name, value) in WAITS {
        if !said.split('&').any(|pair| pair.split('=').next() == Some(name)) {
            let sign = if patient.contains('?') { '&' } else { '?' };
            patient.push_str(&format!("{sign}{name}={value}"));
        }
    }
    patient
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

/// Runs `work` inside a transaction on a connection of a pool. A connection that was lost while it rested is found out when the
/// transaction begins, and another takes its place: nothing was done on it yet.
pub fn transaction<T, E: From<diesel::result::Error> + From<anyhow::Error>>(
    pool: &Pool,
    access: Access,
    work: impl FnOnce(&mut Db) -> Result<T, E>,
) -> Result<T, E> {
    let mut lost = 0;
    let mut db = loop {
        let mut db = pool.get().map_err(anyhow::Error::from)?;
        match db.begin(access) {
            Ok(()) => break db,
            // All of the pool's may be lost at once, and then one new one.
            Err(error) if lost <= pool.max_size() => {
                tracing::warn!(%error, "a connection to the database was lost; another takes its place");
                lost += 1;
            }
            Err(error) => return Err(error.into()),
        }
    };
    db.finish(work)
}

/// Opens a pool of `size` connections.
pub fn pool(location: &Location, access: Access, size: u32) -> anyhow::Result<Pool> {
    let manager = Manager {
        location: location.clone(),
        access,
    };
    Ok(diesel::r2d2::Pool::builder()
        .max_size(size)
        .min_idle(Some(1))
        // Readers find a lost one out when they begin. What writes beside the door is seldom, and asks first.
        .test_on_check_out(access == Access::Write)
        .connection_timeout(std::time::Duration::from_secs(10))
        .build(manager)?)
}
