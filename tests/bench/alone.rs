//! What a database alone takes for the rows that the batches left: into the same tables with the same indexes, by statements that copy
//! them, and nothing else on the machine. No service can be faster on it.

use std::{path::Path, time::Instant};

use diesel::{
    Connection as _, PgConnection, QueryableByName, RunQueryDsl as _, SqliteConnection,
    connection::SimpleConnection,
    sql_query,
    sql_types::{BigInt, Text},
};

use super::{Line, cluster};

/// Commands that are copied.
const COMMANDS: i64 = 10_000;
const TABLES: [&str; 2] = ["record", "journal"];

/// A database that holds what the batches left, and empty tables beside it.
struct Copy<C> {
    name: &'static str,
    conn: C,
    from: &'static str,
    to: &'static str,
    /// Before each measurement, so that none begins with what another has left to write.
    checkpoint: &'static str,
}

pub fn sqlite(folder: &Path) {
    let (full, copy) = (folder.join("writes.sqlite"), folder.join("alone.sqlite"));
    let mut conn = SqliteConnection::establish(&copy.to_string_lossy()).expect("a new file");
    let attach = format!("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; ATTACH '{}' AS full_one;", full.display());
    conn.batch_execute(&attach).expect("the database is there");
    let tables: Vec<Statement> = sql_query(
        "SELECT sql FROM full_one.sqlite_master
         WHERE tbl_name IN ('agency', 'record', 'journal') AND type IN ('table', 'index') AND sql IS NOT NULL ORDER BY type DESC",
    )
    .load(&mut conn)
    .expect("its tables");
    for table in &tables {
        conn.batch_execute(&table.sql).expect("the same table");
    }
    conn.batch_execute("INSERT INTO main.agency SELECT * FROM full_one.agency").expect("the agency");
    let mut copy = Copy {
        name: "SQLite",
        conn,
        from: "full_one",
        to: "main",
        checkpoint: "PRAGMA wal_checkpoint(TRUNCATE)",
    };
    copy.measure(|conn, query| sql_query(query).get_result::<Number>(conn).expect(query).number);
}

pub fn postgres() {
    let mut conn = PgConnection::establish(&cluster::url("writes")).expect("the database is there");
    let tables = TABLES
        .map(|table| format!("CREATE TABLE alone.{table} (LIKE public.{table} INCLUDING ALL);"))
        .concat();
    conn.batch_execute(&format!("ANALYZE; CREATE SCHEMA alone; {tables}")).expect("the same tables");
    let mut copy = Copy {
        name: "PostgreSQL",
        conn,
        from: "public",
        to: "alone",
        checkpoint: "CHECKPOINT",
    };
    copy.measure(|conn, query| sql_query(query).get_result::<Number>(conn).expect(query).number);
    copy.conn.batch_execute("DROP SCHEMA alone CASCADE").expect("taken away");
}

impl<C: SimpleConnection> Copy<C> {
    fn measure(&mut self, number: impl Fn(&mut C, &str) -> i64) {
        let Self { from, to, .. } = *self;
        let last = number(&mut self.conn, &format!("SELECT MAX(rev) AS number FROM {from}.journal"));
        let first = last - COMMANDS;
        let own = format!("agency = (SELECT id FROM {from}.agency)");
        let counted = format!("SELECT COUNT(*) AS number FROM {from}.record WHERE {own} AND rev > {first} AND rev <= {last}");
        let records = number(&mut self.conn, &counted) as f64;
        for at_once in [50, 8, 1] {
            // One command a commit takes long: a part of them tells it as well.
            let commands = COMMANDS.min(at_once * 1_000);
            let emptied = TABLES.map(|table| format!("DELETE FROM {to}.{table};")).concat();
            self.conn.batch_execute(&emptied).expect("emptied");
            self.conn.batch_execute(self.checkpoint).expect("a checkpoint");
            let begun = Instant::now();
            for at in (first..first + commands).step_by(at_once as usize) {
                let rows = TABLES.map(|table| {
                    format!(
                        "INSERT INTO {to}.{table} SELECT * FROM {from}.{table} WHERE {own} AND rev > {at} AND rev <= {};",
                        at + at_once
                    )
                });
                self.conn.batch_execute(&format!("BEGIN; {} COMMIT;", rows.concat())).expect("the rows fit");
            }
            let seconds = begun.elapsed().as_secs_f64();
            Line::new(
                format!("{} alone, the same rows, {at_once} commands a commit, records", self.name),
                records * commands as f64 / COMMANDS as f64 / seconds,
            )
            .say();
        }
    }
}

#[derive(QueryableByName)]
struct Statement {
    #[diesel(sql_type = Text)]
    sql: String,
}

#[derive(QueryableByName)]
struct Number {
    #[diesel(sql_type = BigInt)]
    number: i64,
}
