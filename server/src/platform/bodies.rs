//! The bodies of records, and what becomes of those that an earlier version of the service wrote.
//!
//! A kind's body has a version: 1, and one more for each function in its [`Record::UPCASTS`], which brings a body of one version
//! to the next. A body says its version in [`FIELD`], unless it is the first. What is kept as it was written is brought up when it
//! is read: each state of the past, in history and as of a revision. What stands now is brought up once, before the service
//! answers (`door::bring_up`), so that feed and lists can hand it out as it is kept.

use std::borrow::Cow;

use serde::Deserialize;
use serde_json::{Map, Value};

use super::{
    error::Fault,
    record::{Index, Record},
};

/// Brings the fields of a body of one version to the next.
pub type Upcast = fn(&mut Map<String, Value>);

/// The field that holds a body's version, 2 and above.
pub const FIELD: &str = "body_version";

#[derive(Deserialize)]
struct Head {
    #[serde(default = "first")]
    body_version: usize,
}

fn first() -> usize {
    1
}

/// The text of a record's body, which says its version.
pub fn write<R: Record>(record: &R) -> Result<String, Fault> {
    let text = serde_json::to_string(record)?;
    let version = R::UPCASTS.len() + 1;
    match text.strip_prefix('{') {
        Some(fields) if version > 1 => Ok(format!("{{\"{FIELD}\":{version},{fields}")),
        _ => Ok(text),
    }
}

/// The record of a body of any version.
pub fn read<R: Record>(body: &str) -> Result<R, Fault> {
    Ok(serde_json::from_str(&current(body, R::UPCASTS)?)?)
}

/// A body in its kind's version of now.
pub fn current<'a>(body: &'a str, upcasts: &[Upcast]) -> Result<Cow<'a, str>, Fault> {
    if upcasts.is_empty() {
        return Ok(Cow::Borrowed(body));
    }
    let Head { body_version } = serde_json::from_str(body)?;
    let version = upcasts.len() + 1;
    if body_version == version {
        return Ok(Cow::Borrowed(body));
    }
    let missing = body_version.checked_sub(1).and_then(|done| upcasts.get(done..));
    let missing = missing.ok_or_else(|| anyhow::anyhow!("a body of version {body_version}, of which this service knows {version}: a later one wrote it"))?;
    let mut fields: Map<String, Value> = serde_json::from_str(body)?;
    missing.iter().for_each(|upcast| upcast(&mut fields));
    fields.insert(FIELD.into(), version.into());
    Ok(Cow::Owned(serde_json::to_string(&fields)?))
}

/// How the bodies of a kind are brought up.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    /// From each version to the next.
    pub upcasts: &'static [Upcast],
    /// What a body of now is found by.
    pub index: fn(&str) -> Result<Index, Fault>,
}

impl Shape {
    /// That of a record's kind.
    pub fn of<R: Record>() -> Self {
        Self {
            upcasts: R::UPCASTS,
            index: |body| Ok(read::<R>(body)?.index()),
        }
    }
}
