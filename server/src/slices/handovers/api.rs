use actix_web::http::Method;

use super::{
    Handover,
    ops::{GiveHandover, TakeHandover, WithdrawHandover},
};
use crate::platform::http::Api;

/// The handovers' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Handover>("/v1/handovers");
    api.find::<Handover>("/v1/handovers/{id}");
    api.history::<Handover>("/v1/handovers/{id}/history");
    api.act::<GiveHandover>(Method::PUT, "/v1/handovers/{id}");
    api.act::<TakeHandover>(Method::POST, "/v1/handovers/{id}/take");
    api.act::<WithdrawHandover>(Method::POST, "/v1/handovers/{id}/withdraw");
}
