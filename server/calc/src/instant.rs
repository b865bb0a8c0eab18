//! How instants are written: in UTC, `2026-11-25T14:00:00.000000Z`, always with six digits after the second, so that the order of
//! texts is that of instants. For `serialize_with` on each field that holds one.

use std::fmt;

use chrono::{DateTime, Timelike as _, Utc};
use serde::Serializer;

/// An instant as it is written.
#[derive(Debug, Clone, Copy)]
pub struct Written(pub DateTime<Utc>);

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (day, time) = (self.0.date_naive(), self.0.time());
        // A leap second is kept as more than a second's worth of nanoseconds.
        let nanos = time.nanosecond();
        let (second, micros) = (time.second() + nanos / 1_000_000_000, nanos % 1_000_000_000 / 1_000);
        write!(f, "{day:?}T{:02}:{:02}:{second:02}.{micros:06}Z", time.hour(), time.minute())
    }
}

/// Writes an instant.
///
/// # Errors
/// Those of the serializer.
pub fn serialize<S: Serializer>(at: &DateTime<Utc>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(&Written(*at))
}

/// Writes an instant or null.
///
/// # Errors
/// Those of the serializer.
#[allow(clippy::ref_option, reason = "serde hands out a reference to the field")]
pub fn option<S: Serializer>(at: &Option<DateTime<Utc>>, serializer: S) -> Result<S::Ok, S::Error> {
    match at {
        Some(at) => serialize(at, serializer),
        None => serializer.serialize_none(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instant_has_six_digits_and_reads_back_as_itself() {
        for text in [
            "2026-11-25T14:00:00.000000Z",
            "2026-11-25T14:00:00.120000Z",
            "1996-02-29T23:59:59.999999Z",
            "2016-12-31T23:59:60.500000Z",
            "0001-01-01T00:00:00.000001Z",
        ] {
            let at: DateTime<Utc> = text.parse().unwrap();
            assert_eq!(Written(at).to_string(), text);
        }
        let finer: DateTime<Utc> = "2026-11-25T16:00:00.123456789+02:00".parse().unwrap();
        assert_eq!(Written(finer).to_string(), "2026-11-25T14:00:00.123456Z");
    }
}
