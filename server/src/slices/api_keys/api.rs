use actix_web::http::Method;

use super::{
    ApiKeyRecord,
    ops::{AddApiKey, RevokeApiKey},
};
use crate::platform::http::Api;

/// The addresses of keys.
pub fn routes(api: &mut Api) {
    api.list::<ApiKeyRecord>("/v1/api-keys");
    api.find::<ApiKeyRecord>("/v1/api-keys/{id}");
    api.history::<ApiKeyRecord>("/v1/api-keys/{id}/history");
    api.act::<AddApiKey>(Method::POST, "/v1/api-keys");
    api.act::<RevokeApiKey>(Method::POST, "/v1/api-keys/{id}/revoke");
}
