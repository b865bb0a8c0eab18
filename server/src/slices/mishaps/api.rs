use actix_web::http::Method;

use super::{
    Mishap,
    ops::{CloseMishap, ReportMishap},
};
use crate::platform::http::Api;

/// The mishaps' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Mishap>("/v1/mishaps");
    api.find::<Mishap>("/v1/mishaps/{id}");
    api.history::<Mishap>("/v1/mishaps/{id}/history");
    api.act::<ReportMishap>(Method::POST, "/v1/mishaps");
    api.act::<CloseMishap>(Method::POST, "/v1/mishaps/{id}/close");
}
