use actix_web::http::Method;

use super::{
    Swap,
    ops::{EndSwap, KeepSwap, StartSwap},
};
use crate::platform::http::Api;

/// The swaps' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Swap>("/v1/swaps");
    api.find::<Swap>("/v1/swaps/{id}");
    api.history::<Swap>("/v1/swaps/{id}/history");
    api.act::<StartSwap>(Method::POST, "/v1/swaps");
    api.act::<EndSwap>(Method::POST, "/v1/swaps/{id}/end");
    api.act::<KeepSwap>(Method::POST, "/v1/swaps/{id}/keep");
}
