use actix_web::{
    FromRequest, HttpRequest, HttpResponse,
    dev::Payload,
    http::{Method, header},
    web,
};
use serde::Deserialize;
use utoipa::{
    IntoParams,
    openapi::{ObjectBuilder, path::ParameterIn, schema::Type},
};

use super::{MapPictures, rules::Square};
use crate::{
    platform::{
        error::{self, Fault},
        http::{Api, Argument, Caller, Doc, Query, Shared},
        record::{self, Record as _},
    },
    slices::agencies::Agency,
};

/// The longest `of`, in bytes.
const MOST_OF: usize = 64;

/// The addresses of map pictures.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/map-tiles/{z}/{x}/{y}",
        Doc::new(
            "map-tiles",
            "show_map_tile",
            "A picture of the map, from the server that the agency names",
            "One square of the map, as web maps are cut, from the server of the agency's `map_tiles`. The service asks that server, keeps the \
             picture for a day and passes nothing on but the square: no name, no address of a browser, no cookie.",
        )
        .answers_raw("200", "image/*", "The picture: PNG, JPEG or WebP, 1 MB at most; a browser keeps it for a day")
        .refuses("400", "There is no such square, or the agency's map server has none so near")
        .refuses("404", "The agency takes map pictures from nowhere, or this service asks no other server")
        .refuses("502", "The agency's map server did not answer, or sent something else than such a picture")
        .refuses("503", "Many pictures are being asked for; try again in a moment"),
        show,
    );
}

/// What makes a browser ask anew.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct TileQuery {
    /// A word of up to 64 bytes that is not looked at: pages send the agency's revision, so that what a browser keeps of a server before is
    /// not shown once another is named.
    of: Option<String>,
}

fn no_square((field, words): (&'static str, String)) -> Fault {
    Fault::new(error::PATH_INVALID, words).at(field)
}

/// The square that the path names.
impl FromRequest for Square {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let part = |name: &str| request.match_info().get(name).unwrap_or_default();
        std::future::ready(Self::read(part("z"), part("x"), part("y")).map_err(no_square))
    }
}

impl Argument for Square {
    fn describe(doc: &mut Doc) {
        for (name, words, most) in [
            (
                "z",
                "How near: at 0 one square holds the world, and each step cuts a square into four; up to the agency's `nearest_zoom`",
                19,
            ),
            ("x", "Which square from the west, counted from 0", (1 << 19) - 1),
            ("y", "Which square from the north, counted from 0", (1 << 19) - 1),
        ] {
            let schema = ObjectBuilder::new().schema_type(Type::Integer).minimum(Some(0)).maximum(Some(most)).build();
            doc.parameter(ParameterIn::Path, name, words, schema);
        }
        doc.may_refuse("400", "There is no such square");
    }
}

async fn show(
    shared: web::Data<Shared>,
    caller: Caller,
    pictures: web::Data<MapPictures>,
    square: Square,
    asked: Query<TileQuery>,
) -> Result<HttpResponse, Fault> {
    if asked.of.as_ref().is_some_and(|of| of.len() > MOST_OF) {
        return Err(Fault::new(error::QUERY_INVALID, format!("of has up to {MOST_OF} bytes")).at("of"));
    }
    let (shared, agency) = (shared.into_inner(), caller.0.agency);
    let own = shared.read(move |db| record::find(db, agency, Agency::KIND, agency.0)?.map(|row| row.read::<Agency>()).transpose());
    let server = own.await?.and_then(|own| own.map_tiles);
    let server = server.ok_or_else(|| Fault::new(error::NOT_FOUND, "This agency takes map pictures from nowhere; an admin can name a server"))?;
    square.check(server.nearest_zoom).map_err(no_square)?;
    let picture = pictures.picture(agency, &server, square).await?;
    Ok(HttpResponse::Ok()
        .content_type(picture.media)
        .insert_header((header::CACHE_CONTROL, "private, max-age=86400"))
        .body(picture.bytes))
}
