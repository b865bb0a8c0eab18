//! What the safety officer looks at: pieces used while they were out of service, notices not closed, and, for the coordinator alone, checks
//! that were done too fast to have been done, or that never find anything. It owns nothing. Near misses and injuries are records of
//! their own (`mishaps`).
//!
//! - What a check looks like is a reason to go and see, never a finding about a person: it stands in no record and is told to nobody else.

mod api;
mod rows;
mod rules;
mod view;

pub use api::routes;
