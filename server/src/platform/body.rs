//! Reads JSON and says which field is at fault.

use serde::de::DeserializeOwned;

use crate::platform::error::{self, Fault};

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
        let said = cause.to_string();
        let said = said.split(" at line ").next().unwrap_or(&said).to_owned();
        match cause.classify() {
            serde_json::error::Category::Data => Fault::field(field, said),
            // A number where a word is due is called bad syntax by the reader, though it is sound JSON.
            _ if std::str::from_utf8(bytes).is_ok_and(|text| serde_json::from_str::<serde::de::IgnoredAny>(text).is_ok()) => Fault::field(field, said),
            _ => Fault::new(error::BODY_UNREADABLE, format!("This is not JSON: {cause}")).at(root),
        }
    })?;
    reader
        .end()
        .map_err(|cause| Fault::new(error::BODY_UNREADABLE, format!("Something follows the JSON: {cause}")).at(root))?;
    Ok(value)
}
