//! A body's fields in SQL, for queries that ask by what no column declares. On PostgreSQL the bodies are `json`, not `jsonb`. An index by
//! such a field has these very words, so that each database finds it.

use super::Db;

/// A field as text, by its path.
pub fn text(db: &Db, path: &[&str]) -> String {
    match db {
        Db::Sqlite(_) => format!("CAST(json_extract(body, '$.{}') AS TEXT)", path.join(".")),
        Db::Postgres(_) => format!("body #>> '{{{}}}'", path.join(",")),
    }
}

/// Whether a field of the body itself is true.
pub fn is_true(db: &Db, name: &str) -> String {
    match db {
        Db::Sqlite(_) => format!("json_extract(body, '$.{name}')"),
        Db::Postgres(_) => format!("(body ->> '{name}') = 'true'"),
    }
}
