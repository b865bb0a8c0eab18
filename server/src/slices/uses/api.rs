use actix_web::http::Method;

use super::{
    Use,
    ops::{CheckUse, CorrectUse, RecordUse},
};
use crate::platform::http::Api;

/// The uses' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Use>("/v1/uses");
    api.find::<Use>("/v1/uses/{id}");
    api.history::<Use>("/v1/uses/{id}/history");
    api.act::<RecordUse>(Method::POST, "/v1/uses");
    api.act::<CorrectUse>(Method::POST, "/v1/uses/{id}/correct");
    api.act::<CheckUse>(Method::POST, "/v1/uses/{id}/check");
}
