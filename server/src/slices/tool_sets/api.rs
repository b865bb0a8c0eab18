use actix_web::http::Method;

use super::{
    ToolSet,
    ops::{AddToolSet, EditToolSet},
};
use crate::platform::http::Api;

/// The tool sets' addresses.
pub fn routes(api: &mut Api) {
    api.list::<ToolSet>("/v1/tool-sets");
    api.find::<ToolSet>("/v1/tool-sets/{id}");
    api.history::<ToolSet>("/v1/tool-sets/{id}/history");
    api.act::<AddToolSet>(Method::POST, "/v1/tool-sets");
    api.act::<EditToolSet>(Method::PATCH, "/v1/tool-sets/{id}");
}
