//! Reading rows one by one until they weigh enough: an answer is bounded by its bytes, not by the number of its rows alone.

use diesel::QueryResult;

/// The most bytes of bodies in one answer; a row that weighs more by itself is still told, alone.
pub const MOST_ANSWER_BYTES: usize = 4 * 1024 * 1024;

/// The first rows of a query, so many at most and no heavier than one answer may be; and whether there are more.
pub fn first<T>(rows: impl Iterator<Item = QueryResult<T>>, most: usize, weight: impl Fn(&T) -> usize) -> QueryResult<(Vec<T>, bool)> {
    let (mut kept, mut weighs) = (Vec::new(), 0_usize);
    for row in rows {
        let row = row?;
        weighs = weighs.saturating_add(weight(&row));
        if kept.len() >= most || (weighs > MOST_ANSWER_BYTES && !kept.is_empty()) {
            return Ok((kept, true));
        }
        kept.push(row);
    }
    Ok((kept, false))
}

/// Loads the [first](first) rows of a query on whichever database the connection is of. None is read ahead of those before it: on SQLite
/// by itself, on PostgreSQL by the mode that is named here.
#[macro_export]
macro_rules! first {
    ($db:expr, $row:ty, $query:expr, $most:expr, $weight:expr) => {
        match $db {
            $crate::platform::db::Db::Sqlite(conn) => {
                $crate::platform::db::first::<$row>($query.load_iter::<$row, diesel::connection::DefaultLoadingMode>(conn)?, $most, $weight)
            }
            $crate::platform::db::Db::Postgres(conn) => {
                $crate::platform::db::first::<$row>($query.load_iter::<$row, diesel::pg::PgRowByRowLoadingMode>(conn)?, $most, $weight)
            }
        }
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_end_by_number_or_by_weight_and_one_is_always_told() {
        let first = |weights: &[usize], most: usize| {
            let (rows, more) = first(weights.iter().copied().map(Ok), most, |weight| *weight).unwrap();
            (rows.len(), more)
        };
        let half = MOST_ANSWER_BYTES / 2;
        assert_eq!(first(&[], 3), (0, false));
        assert_eq!(first(&[1, 1, 1], 3), (3, false));
        assert_eq!(first(&[1, 1, 1, 1], 3), (3, true));
        assert_eq!(first(&[half, half, 1], 3), (2, true));
        assert_eq!(first(&[MOST_ANSWER_BYTES * 3], 3), (1, false));
        assert_eq!(first(&[MOST_ANSWER_BYTES * 3, 0], 3), (1, true));
    }
}
