use actix_web::http::Method;

use super::{
    Rig,
    ops::{AddRig, EditRig, PutRigBack, TakeRigOut},
};
use crate::platform::http::Api;

/// The rigs' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Rig>("/v1/rigs");
    api.find::<Rig>("/v1/rigs/{id}");
    api.history::<Rig>("/v1/rigs/{id}/history");
    api.act::<AddRig>(Method::POST, "/v1/rigs");
    api.act::<EditRig>(Method::PATCH, "/v1/rigs/{id}");
    api.act::<TakeRigOut>(Method::POST, "/v1/rigs/{id}/take-out");
    api.act::<PutRigBack>(Method::POST, "/v1/rigs/{id}/put-back");
}
