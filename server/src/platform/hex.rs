//! Bytes as hexadecimal digits, in small letters; for `with` on fields that hold some.

use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

/// The digits of some bytes.
pub fn digits(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The bytes of some digits.
pub fn bytes(digits: &str) -> Option<Vec<u8>> {
    let digits: Vec<u8> = digits
        .chars()
        .map(|digit| digit.to_digit(16).and_then(|digit| u8::try_from(digit).ok()))
        .collect::<Option<_>>()?;
    let (pairs, rest) = digits.as_chunks::<2>();
    rest.is_empty().then(|| pairs.iter().map(|[high, low]| high << 4 | low).collect())
}

/// Writes bytes.
pub fn serialize<S: Serializer>(bytes: &[u8], to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&digits(bytes))
}

/// Reads bytes.
pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u8>, D::Error> {
    bytes(&String::deserialize(from)?).ok_or_else(|| D::Error::custom("these are no hexadecimal digits"))
}

/// The same for bytes that may be missing.
pub mod or_none {
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    /// Writes bytes or null.
    #[allow(clippy::ref_option, reason = "serde hands out a reference to the field")]
    pub fn serialize<S: Serializer>(bytes: &Option<Vec<u8>>, to: S) -> Result<S::Ok, S::Error> {
        match bytes {
            Some(bytes) => super::serialize(bytes, to),
            None => to.serialize_none(),
        }
    }

    /// Reads bytes or null.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Vec<u8>>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        let read = |text: String| super::bytes(&text).ok_or_else(|| D::Error::custom("these are no hexadecimal digits"));
        text.map(read).transpose()
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn bytes_come_back_from_their_digits() {
        let all: Vec<u8> = (0..=255).collect();
        assert_eq!(super::bytes(&super::digits(&all)), Some(all));
        assert_eq!(super::digits(&[0, 15, 160]), "000fa0");
        for bad in ["0", "0g", "é0", "123"] {
            assert_eq!(super::bytes(bad), None, "{bad}");
        }
    }
}
