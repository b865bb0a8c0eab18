//! Calendar feeds: the checks of a district, a station, a rig or a shop as an iCalendar file (RFC 5545), at an address that a calendar on a
//! phone can subscribe to.
//!
//! - Whoever has the address reads the file without signing in. It names pieces, plans and days, and nobody of the agency.
//! - The address holds a secret of 32 bytes that the client makes; the service is told its SHA-256 alone, so that the secret stands in no
//!   command, journal or table. Only who made it can show it, once.
//! - A feed that was revoked answers as one that never was, and so does one while the member who added it, and was shown the address, is let go.

mod api;
mod calendar;
mod feed;
mod limits;
mod ops;
mod rows;
mod view;

pub use api::routes;
pub use feed::{CalendarFeed, CalendarFeedId, CalendarFeedState, CalendarPlace};
