//! Availability: how rigs, districts and the agency stood over time, and the intervals behind each number. It owns nothing;
//! it is read from the intervals that capability keeps.
//!
//! - Time down for planned service is told apart from time at limited or none.
//! - A month begins and ends at midnight in the agency's time zone.
//! - A rig's time counts in the district where the rig then stood.

mod api;
mod minimum;
mod months;
mod rows;
mod told;
mod view;

pub use api::routes;
