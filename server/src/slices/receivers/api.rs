use actix_web::http::Method;

use super::{
    Receiver,
    ops::{AddReceiver, EditReceiver, WithdrawReceiver},
};
use crate::platform::http::Api;

/// The receivers' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Receiver>("/v1/receivers");
    api.find::<Receiver>("/v1/receivers/{id}");
    api.history::<Receiver>("/v1/receivers/{id}/history");
    api.act::<AddReceiver>(Method::POST, "/v1/receivers");
    api.act::<EditReceiver>(Method::PATCH, "/v1/receivers/{id}");
    api.act::<WithdrawReceiver>(Method::POST, "/v1/receivers/{id}/withdraw");
}
