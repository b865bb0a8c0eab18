//! Safety notices: stop use, use with a limit, or inspect by a day. Which pieces one is about is decided in `fullset_care::notice`; what it
//! does to them, where rigs and pieces are judged.
//!
//! - A notice counts from the moment it is issued, for the pieces of now and for those that come later.
//! - What cannot be told from the register counts as affected.
//! - A piece is done with by a named person of the shop, with what was done; *not found* stays open.
//! - That a shift has read it is a receipt of that shift, and changes nothing for a piece.
//! - A withdrawal lets pieces count that did not: it needs a reason.

mod api;
mod feed;
mod notes;
mod ops;
mod view;

pub use api::routes;
pub use feed::{Notice, NoticeAction, NoticeId};
pub use notes::NoticeReading;
pub use view::progress;
