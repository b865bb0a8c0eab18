//! RFC 7396 for one field: left out keeps it, `null` clears it, a value sets it.

use serde::{Deserialize, Deserializer};

/// Reads a field that may be left out (`None`), cleared (`Some(None)`) or set.
pub fn field<'de, T: Deserialize<'de>, D: Deserializer<'de>>(reader: D) -> Result<Option<Option<T>>, D::Error> {
    Option::<T>::deserialize(reader).map(Some)
}
