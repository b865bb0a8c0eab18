use actix_web::http::Method;

use super::{
    Defect,
    acts::{CloseDefect, ExtendDefect, NoteDefect},
    ops::ReportDefect,
    retire::RetirePiece,
};
use crate::platform::http::Api;

/// The defects' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Defect>("/v1/defects");
    api.find::<Defect>("/v1/defects/{id}");
    api.history::<Defect>("/v1/defects/{id}/history");
    api.act::<ReportDefect>(Method::POST, "/v1/defects");
    api.act::<NoteDefect>(Method::POST, "/v1/defects/{id}/note");
    api.act::<ExtendDefect>(Method::POST, "/v1/defects/{id}/extend");
    api.act::<CloseDefect>(Method::POST, "/v1/defects/{id}/close");
    api.act::<RetirePiece>(Method::POST, "/v1/pieces/{id}/retire");
}
