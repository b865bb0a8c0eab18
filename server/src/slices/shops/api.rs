use actix_web::http::Method;

use super::{
    Shop,
    ops::{AddShop, EditShop},
};
use crate::platform::http::Api;

/// The shops' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Shop>("/v1/shops");
    api.find::<Shop>("/v1/shops/{id}");
    api.history::<Shop>("/v1/shops/{id}/history");
    api.act::<AddShop>(Method::POST, "/v1/shops");
    api.act::<EditShop>(Method::PATCH, "/v1/shops/{id}");
}
