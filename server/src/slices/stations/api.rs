use actix_web::http::Method;

use super::{
    Station,
    ops::{AddStation, EditStation},
};
use crate::platform::http::Api;

/// The stations' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Station>("/v1/stations");
    api.find::<Station>("/v1/stations/{id}");
    api.history::<Station>("/v1/stations/{id}/history");
    api.act::<AddStation>(Method::POST, "/v1/stations");
    api.act::<EditStation>(Method::PATCH, "/v1/stations/{id}");
}
