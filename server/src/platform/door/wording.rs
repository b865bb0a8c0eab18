//! Names and texts as commands take them, and record kinds as people say them.

use std::collections::BTreeSet;

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

/// Holds a list to so many, each of them once; `one` is what a person calls one of them: "piece". Its length is looked at first, so that a list
/// without end costs nothing.
pub fn each_once<T: Ord>(field: &str, given: &[T], most: usize, one: &str) -> Result<(), Fault> {
    at_most(field, given, most, one)?;
    let mut before = BTreeSet::new();
    match given.iter().position(|item| !before.insert(item)) {
        Some(at) => Err(Fault::field(format!("{field}[{at}]"), format!("This {one} stands there twice; name it once"))),
        None => Ok(()),
    }
}

/// Holds a list to so many; `one` is what a person calls one of them.
pub fn at_most<T>(field: &str, given: &[T], most: usize, one: &str) -> Result<(), Fault> {
    if given.len() <= most {
        return Ok(());
    }
    let many = given.len();
    Err(Fault::field(field, format!("This list has {many}; name at most {most} {one}s here")))
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
