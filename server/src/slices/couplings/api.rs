use actix_web::http::Method;

use super::{
    Coupling,
    ops::{AddCoupling, EditCoupling},
};
use crate::platform::http::Api;

/// The couplings' addresses. Renaming one is the models' matter, because they carry its name.
pub fn routes(api: &mut Api) {
    api.list::<Coupling>("/v1/couplings");
    api.find::<Coupling>("/v1/couplings/{id}");
    api.history::<Coupling>("/v1/couplings/{id}/history");
    api.act::<AddCoupling>(Method::POST, "/v1/couplings");
    api.act::<EditCoupling>(Method::PATCH, "/v1/couplings/{id}");
}
