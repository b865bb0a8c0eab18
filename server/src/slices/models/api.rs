use actix_web::http::Method;

use super::{
    Model,
    ops::{AddModel, PriceModel, RenameCoupling},
};
use crate::platform::http::Api;

/// The models' addresses (a model is changed among the pieces, which it decides about), and the one that changes a coupling's name in all of them.
pub fn routes(api: &mut Api) {
    api.list::<Model>("/v1/models");
    api.find::<Model>("/v1/models/{id}");
    api.history::<Model>("/v1/models/{id}/history");
    api.act::<AddModel>(Method::POST, "/v1/models");
    api.act::<PriceModel>(Method::POST, "/v1/models/{id}/price");
    api.act::<RenameCoupling>(Method::POST, "/v1/couplings/{id}/rename");
}
