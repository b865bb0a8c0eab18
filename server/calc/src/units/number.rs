//! Numbers on the wire: whole numbers without a trailing `.0`, nothing that is not finite.

use serde::{Deserialize, Deserializer, Serializer, de::Error};

/// Writes `10400.0` as `10400`, so that a value goes out as it was typed in.
pub(crate) fn write<S: Serializer>(value: &f64, out: S) -> Result<S::Ok, S::Error> {
    if value.fract() == 0.0
        && value.abs() < 9.0e15
        && let Ok(whole) = format!("{value:.0}").parse::<i64>()
    {
        return out.serialize_i64(whole);
    }
    out.serialize_f64(*value)
}

/// Reads a finite number.
pub(crate) fn read<'de, D: Deserializer<'de>>(input: D) -> Result<f64, D::Error> {
    let value = f64::deserialize(input)?;
    if value.is_finite() {
        Ok(value)
    } else {
        Err(D::Error::custom("the number is not finite"))
    }
}
