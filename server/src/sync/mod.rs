//! One door for writes, one feed for reads, over HTTP: batches of commands, the change feed, the live stream.

mod about;
mod cache;
mod feed;
mod live;
mod news;
mod open_places;
mod page;
mod protocol;
mod push;
mod scopes;
mod stubs;
mod token;
mod unsettled;

pub use news::{Listening, News, news, watch};
pub use scopes::Scopes;
pub use token::{Sealed, Token};

use crate::platform::http::Api;

/// The sync addresses.
pub fn routes(api: &mut Api) {
    about::routes(api);
    push::routes(api);
    feed::routes(api);
    live::routes(api);
}
