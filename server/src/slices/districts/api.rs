use actix_web::http::Method;

use super::{
    District,
    ops::{AddDistrict, EditDistrict},
};
use crate::platform::http::Api;

/// The districts' addresses.
pub fn routes(api: &mut Api) {
    api.list::<District>("/v1/districts");
    api.find::<District>("/v1/districts/{id}");
    api.history::<District>("/v1/districts/{id}/history");
    api.act::<AddDistrict>(Method::POST, "/v1/districts");
    api.act::<EditDistrict>(Method::PATCH, "/v1/districts/{id}");
}
