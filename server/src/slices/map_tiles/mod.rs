//! Pictures of the map beneath its marks, from the server that the agency names (`Agency::map_tiles`). Pages load nothing from elsewhere, so
//! the service asks that server and shows what it sent at an address of its own.
//!
//! - That server learns which squares the agency looks at, and nothing else: not who looks, and nothing of a browser.
//! - It is asked as receivers are told: where it leads is looked at when it is named and at each asking, and it is followed nowhere.
//! - What it sends is passed on as a picture or not at all, by what its bytes are. It owns nothing and keeps what it got for a day.

mod api;
mod outward;
mod rules;

pub use api::routes;
pub use outward::MapPictures;
