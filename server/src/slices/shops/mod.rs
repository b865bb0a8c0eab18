//! Shops: where the agency's own mechanics mend and test pieces. An outside vendor is a place by name, not a shop.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{Shop, ShopId};
