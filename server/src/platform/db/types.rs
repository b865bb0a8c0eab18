//! How an id, an instant and a JSON document are kept in each database.
//!
//! | Rust | PostgreSQL | SQLite |
//! | --- | --- | --- |
//! | [`Uid`] | `uuid` | 16 bytes |
//! | [`Moment`] | `timestamptz` | microseconds since the start of 1970, UTC |
//! | [`Doc`] | `json` | text |

use std::io::Write as _;

use chrono::{DateTime, Utc};
use diesel::{
    deserialize::{self, FromSql, FromSqlRow},
    expression::AsExpression,
    pg::{Pg, PgValue},
    query_builder::QueryId,
    serialize::{self, IsNull, Output, ToSql},
    sql_types::{BigInt, Binary, SqlType, Text},
    sqlite::{Sqlite, SqliteValue},
};
use serde::{Deserialize, Serialize};

/// The SQL type of an id.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(postgres_type(oid = 2950, array_oid = 2951), sqlite_type(name = "Binary"))]
pub struct UidSql;

/// The SQL type of an instant.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(postgres_type(oid = 1184, array_oid = 1185), sqlite_type(name = "Long"))]
pub struct MomentSql;

/// The SQL type of a JSON document.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(postgres_type(oid = 114, array_oid = 199), sqlite_type(name = "Text"))]
pub struct DocSql;

/// An id as the databases see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, AsExpression, FromSqlRow, Serialize, Deserialize)]
#[diesel(sql_type = UidSql)]
#[serde(transparent)]
pub struct Uid(pub uuid::Uuid);

/// An instant, in microseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, AsExpression, FromSqlRow, Serialize, Deserialize)]
#[diesel(sql_type = MomentSql)]
#[serde(transparent)]
pub struct Moment(#[serde(serialize_with = "fullset_calc::instant::serialize")] pub DateTime<Utc>);

/// A JSON document, kept as the text it was written as.
#[derive(Debug, Clone, PartialEq, Eq, AsExpression, FromSqlRow, Serialize, Deserialize)]
#[diesel(sql_type = DocSql)]
#[serde(transparent)]
pub struct Doc(pub String);

impl<T: Into<uuid::Uuid>> From<T> for Uid {
    fn from(id: T) -> Self {
        Self(id.into())
    }
}

impl ToSql<UidSql, Pg> for Uid {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        out.write_all(self.0.as_bytes())?;
        Ok(IsNull::No)
    }
}

impl FromSql<UidSql, Pg> for Uid {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        Ok(Self(uuid::Uuid::from_slice(value.as_bytes())?))
    }
}

impl ToSql<UidSql, Sqlite> for Uid {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        <[u8] as ToSql<Binary, Sqlite>>::to_sql(self.0.as_bytes(), out)
    }
}

impl FromSql<UidSql, Sqlite> for Uid {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        let bytes = <Vec<u8> as FromSql<Binary, Sqlite>>::from_sql(value)?;
        Ok(Self(uuid::Uuid::from_slice(&bytes)?))
    }
}

/// PostgreSQL counts from the start of the year 2000.
const PG_EPOCH_MICROS: i64 = 946_684_800_000_000;

impl ToSql<MomentSql, Pg> for Moment {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        let micros = self.0.timestamp_micros() - PG_EPOCH_MICROS;
        out.write_all(&micros.to_be_bytes())?;
        Ok(IsNull::No)
    }
}

impl FromSql<MomentSql, Pg> for Moment {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        let micros = i64::from_be_bytes(value.as_bytes().try_into()?);
        DateTime::from_timestamp_micros(micros + PG_EPOCH_MICROS)
            .map(Self)
            .ok_or_else(|| "instant out of range".into())
    }
}

impl ToSql<MomentSql, Sqlite> for Moment {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        out.set_value(self.0.timestamp_micros());
        Ok(IsNull::No)
    }
}

impl FromSql<MomentSql, Sqlite> for Moment {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        let micros = <i64 as FromSql<BigInt, Sqlite>>::from_sql(value)?;
        DateTime::from_timestamp_micros(micros).map(Self).ok_or_else(|| "instant out of range".into())
    }
}

impl ToSql<DocSql, Pg> for Doc {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        out.write_all(self.0.as_bytes())?;
        Ok(IsNull::No)
    }
}

impl FromSql<DocSql, Pg> for Doc {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        Ok(Self(std::str::from_utf8(value.as_bytes())?.to_owned()))
    }
}

impl ToSql<DocSql, Sqlite> for Doc {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        <str as ToSql<Text, Sqlite>>::to_sql(&self.0, out)
    }
}

impl FromSql<DocSql, Sqlite> for Doc {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        Ok(Self(<String as FromSql<Text, Sqlite>>::from_sql(value)?))
    }
}
