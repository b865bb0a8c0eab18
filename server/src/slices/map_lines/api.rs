use actix_web::{http::Method, web};

use super::{
    MapLines,
    ops::{RemoveMapLines, SetMapLines},
    view::{self, MapGeometry},
};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, PathId, Shared, Versioned},
};

/// The addresses of the lines on the map.
pub fn routes(api: &mut Api) {
    api.list::<MapLines>("/v1/map-lines");
    api.find::<MapLines>("/v1/map-lines/{id}");
    api.history::<MapLines>("/v1/map-lines/{id}/history");
    api.act::<SetMapLines>(Method::PATCH, "/v1/map-lines/{id}");
    api.act::<RemoveMapLines>(Method::POST, "/v1/map-lines/{id}/remove");
    api.other(
        Method::GET,
        "/v1/map-lines/{id}/geometry",
        Doc::new(
            "map-lines",
            "show_map_geometry",
            "Where the agency's boundaries and roads run",
            "The lines that everybody of the agency has on the map, whole: up to 1.4 MB, which no feed carries. Ask for them where a map is drawn, \
             with the tag of those that you have.",
        )
        .answer("All areas and lines"),
        show,
    );
}

async fn show(shared: web::Data<Shared>, caller: Caller, named: PathId<MapLines>) -> Result<Versioned<MapGeometry>, Fault> {
    let (missing, id, agency) = (PathId::<MapLines>::missing, named.id, caller.0.agency);
    let found = shared.into_inner().read(move |db| view::geometry(db, agency, id)).await?.ok_or_else(missing)?;
    Ok(Versioned::from_text(serde_json::to_string(&found)?, Some(found.rev)))
}
