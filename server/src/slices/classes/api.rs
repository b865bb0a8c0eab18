use actix_web::http::Method;

use super::{
    RigClass,
    ops::{AddClass, EditClass},
};
use crate::platform::http::Api;

/// The rig classes' addresses.
pub fn routes(api: &mut Api) {
    api.list::<RigClass>("/v1/rig-classes");
    api.find::<RigClass>("/v1/rig-classes/{id}");
    api.history::<RigClass>("/v1/rig-classes/{id}/history");
    api.act::<AddClass>(Method::POST, "/v1/rig-classes");
    api.act::<EditClass>(Method::PATCH, "/v1/rig-classes/{id}");
}
