use actix_web::http::Method;

use super::{
    RigClass,
    ops::{AddRigClass, EditRigClass},
};
use crate::platform::http::Api;

/// The rig classes' addresses.
pub fn routes(api: &mut Api) {
    api.list::<RigClass>("/v1/rig-classes");
    api.find::<RigClass>("/v1/rig-classes/{id}");
    api.history::<RigClass>("/v1/rig-classes/{id}/history");
    api.act::<AddRigClass>(Method::POST, "/v1/rig-classes");
    api.act::<EditRigClass>(Method::PATCH, "/v1/rig-classes/{id}");
}
