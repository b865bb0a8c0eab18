//! Replacements: what has to be bought in each of the next ten years because it runs out of life or its readings run against their limit,
//! at the prices that were entered. It owns nothing: lives are those by which pieces are judged, limits those of the check plans.
//!
//! - What nobody knows (a date of make, a price) stands apart as a number of its own, and adds nothing to a sum.
//! - A line through readings plans a budget. It lets nothing count and takes nothing out.

mod api;
mod rules;
mod view;

pub use api::routes;
