use actix_web::http::Method;

use super::{
    Shift,
    ops::{AddShift, EditShift, RemoveShift},
};
use crate::platform::http::Api;

/// The shifts' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Shift>("/v1/shifts");
    api.find::<Shift>("/v1/shifts/{id}");
    api.history::<Shift>("/v1/shifts/{id}/history");
    api.act::<AddShift>(Method::POST, "/v1/shifts");
    api.act::<EditShift>(Method::PATCH, "/v1/shifts/{id}");
    api.act::<RemoveShift>(Method::POST, "/v1/shifts/{id}/remove");
}
