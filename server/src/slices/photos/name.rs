//! The name of a photo: what its bytes hash to.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::error::Fault;

/// The most photos that one report holds.
const MOST: usize = 8;

/// A photo's name: the SHA-256 of its bytes as they were sent, as 64 lower-case hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
#[serde(try_from = "String")]
#[schema(value_type = String, pattern = "^[0-9a-f]{64}$")]
pub struct PhotoName(String);

impl PhotoName {
    /// The 64 digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for PhotoName {
    type Error = &'static str;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        if text.len() == 64 && text.bytes().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f')) {
            Ok(Self(text))
        } else {
            Err("A photo is named by the SHA-256 of its bytes: 64 digits, 0 to 9 and a to f in lower case")
        }
    }
}

/// Holds the photos of a body to be few, and each to be named once.
pub fn named_photos(field: &str, photos: &[PhotoName]) -> Result<(), Fault> {
    if photos.len() > MOST {
        return Err(Fault::field(
            field,
            format!("Up to {MOST} photos go with one report; choose the ones that show it best"),
        ));
    }
    for (n, photo) in photos.iter().enumerate() {
        if photos.iter().take(n).any(|before| before == photo) {
            return Err(Fault::field(format!("{field}[{n}]"), "This photo is named twice; name it once"));
        }
    }
    Ok(())
}
