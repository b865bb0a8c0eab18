//! Reads JSON and says which field is at fault.

use serde::de::DeserializeOwned;

use crate::platform::{
    error::{self, Fault},
    serde_words::plain,
};

/// The most that a JSON body may weigh.
pub const LIMIT: usize = 2 * 1024 * 1024;

/// Reads `T`; a fault names the path of the field, under `root`.
pub fn parse<T: DeserializeOwned>(bytes: &[u8], root: &str) -> Result<T, Fault> {
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let value: T = serde_path_to_error::deserialize(&mut reader).map_err(|fault| {
        let path = fault.path().to_string();
        let field = match path.as_str() {
            "." | "" => root.to_owned(),
            path => format!("{root}.{path}"),
        };
        let cause = fault.into_inner();
        let said = plain(&cause.to_string());
        match cause.classify() {
            serde_json::error::Category::Data => Fault::field(field, said),
            // A number where a word is due is called bad syntax by the reader, though it is sound JSON.
            _ if std::str::from_utf8(bytes).is_ok_and(|text| serde_json::from_str::<serde::de::IgnoredAny>(text).is_ok()) => Fault::field(field, said),
            _ => Fault::new(error::BODY_UNREADABLE, not_json(&cause)).at(root),
        }
    })?;
    reader.end().map_err(|cause| {
        Fault::new(
            error::BODY_UNREADABLE,
            format!("Something follows the JSON at line {}, column {}", cause.line(), cause.column()),
        )
        .at(root)
    })?;
    Ok(value)
}

/// Where the text stops being JSON.
fn not_json(cause: &serde_json::Error) -> String {
    let ends = if cause.is_eof() { "it ends too early, " } else { "" };
    format!("This is not JSON: {ends}at line {}, column {}", cause.line(), cause.column())
}
