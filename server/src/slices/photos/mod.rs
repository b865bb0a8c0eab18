//! Photos: pictures that commands name by the SHA-256 of their bytes as the client sent them.
//!
//! A photo does not go through the door: it is content, not a decision. Who said what with it is in the command that names
//! it, which may come before the photo or after it; until then the photo is awaited. That is why putting one twice, or from
//! two phones, changes nothing, and why it has no revision, no history and no place in the feed.
//!
//! What is kept is never what was sent: the picture is decoded, turned upright and encoded anew, so that no position, no
//! serial number and no hidden text goes with it. What was sent is forgotten.

mod api;
mod name;
mod ops;
mod picture;
mod place;
mod rows;
mod store;

pub use api::routes;
pub use name::{PhotoName, named_photos};
pub use ops::{MOST_BYTES, Photos, keep_tidy};
pub use picture::{Media, Picture, made};
pub use place::PhotoPlace;
pub use store::{PhotoRow, PhotoStore};
