use actix_web::http::Method;

use super::{
    Defect,
    ops::{CloseDefect, NoteDefect, ReportDefect},
};
use crate::platform::http::Api;

/// The defects' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Defect>("/v1/defects");
    api.find::<Defect>("/v1/defects/{id}");
    api.history::<Defect>("/v1/defects/{id}/history");
    api.act::<ReportDefect>(Method::POST, "/v1/defects");
    api.act::<NoteDefect>(Method::POST, "/v1/defects/{id}/note");
    api.act::<CloseDefect>(Method::POST, "/v1/defects/{id}/close");
}
