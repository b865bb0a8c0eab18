use actix_web::http::Method;

use super::{
    Agency,
    ops::{EditAgency, FoundAgency},
};
use crate::platform::http::Api;

/// The agency's addresses.
pub fn routes(api: &mut Api) {
    api.registry.add::<FoundAgency>();
    api.list::<Agency>("/v1/agencies");
    api.find::<Agency>("/v1/agencies/{id}");
    api.history::<Agency>("/v1/agencies/{id}/history");
    api.act::<EditAgency>(Method::PATCH, "/v1/agency");
}
