//! Names and texts as commands take them, and record kinds as people say them.

use crate::platform::error::Fault;

/// A name as it is kept: trimmed, not empty, not endless.
pub fn name(field: &str, given: &str) -> Result<String, Fault> {
    let name = given.trim();
    match name.chars().count() {
        0 => Err(Fault::field(field, "Give it a name; it must not be empty")),
        1..=200 => match name.chars().find(|c| c.is_control()) {
            Some(_) => Err(Fault::field(field, "A name is one line without control characters")),
            None => Ok(name.to_owned()),
        },
        _ => Err(Fault::field(field, "This is longer than 200 characters; put the rest in a note")),
    }
}

/// Free text as it is kept: trimmed, up to 4,000 characters, not empty.
pub fn text(field: &str, given: &str) -> Result<String, Fault> {
    let text = given.trim();
    match text.chars().count() {
        0 => Err(Fault::field(field, "Say it in a few words; it must not be empty")),
        1..=4000 if !text.contains('\0') => Ok(text.to_owned()),
        1..=4000 => Err(Fault::field(field, "The text holds a NUL character; take it out")),
        _ => Err(Fault::field(field, "This is longer than 4,000 characters; shorten it")),
    }
}

/// A record kind as a person says it.
pub(super) fn words(kind: &str) -> String {
    kind.replace('_', " ")
}
