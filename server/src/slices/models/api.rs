use actix_web::http::Method;

use super::{
    Model,
    ops::{AddModel, EditModel},
};
use crate::platform::http::Api;

/// The models' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Model>("/v1/models");
    api.find::<Model>("/v1/models/{id}");
    api.history::<Model>("/v1/models/{id}/history");
    api.act::<AddModel>(Method::POST, "/v1/models");
    api.act::<EditModel>(Method::PATCH, "/v1/models/{id}");
}
