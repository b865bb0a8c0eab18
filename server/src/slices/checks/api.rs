use actix_web::http::Method;

use super::{Check, ops::RecordCheck};
use crate::platform::http::Api;

/// The checks' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Check>("/v1/checks");
    api.find::<Check>("/v1/checks/{id}");
    api.history::<Check>("/v1/checks/{id}/history");
    api.act::<RecordCheck>(Method::POST, "/v1/checks");
}
