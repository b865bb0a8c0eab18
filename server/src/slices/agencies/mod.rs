//! The agency: its name, time zone, units, locale and policy. There is one record of it, under the agency's own id.

mod api;
mod days;
mod feed;
mod ops;
mod rules;
mod tiles;

pub use api::routes;
pub use days::{day_begins, day_of};
pub use feed::{Agency, Allowance, Locale, LooseRule, LooserRule, MapTiles, Policy, ReleaseRule};
pub use ops::{day_done, day_received, zone};
