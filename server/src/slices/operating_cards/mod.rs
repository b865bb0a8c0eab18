//! Operating cards: how a model is run, and for a rig class how this agency stows and uses what its rigs carry. Short Markdown with
//! pictures, written by whoever knows the tool, approved by a named person.
//!
//! - A card says nothing before it was approved; its draft is another record, which only the feed of the whole agency holds.
//! - An approved version is never rewritten: the next one takes its place under the next number, and the earlier ones are its history.
//! - A draft names the version that it was begun from, and is not approved over another that came meanwhile.
//! - A card that was withdrawn holds no text, so that nobody can read it by mistake.
//! - What its Markdown may be is decided in `rules.rs`; nothing in it can be more than words, lists and stress.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{CardDraft, OperatingCard};
