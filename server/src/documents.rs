//! What is served whole: the description of the API, and the machine's own authority.

use std::io::Write as _;

use actix_web::{
    HttpRequest, HttpResponse,
    http::header::{self, ContentEncoding, EntityTag},
    web,
};
use flate2::{Compression, write::GzEncoder};
use tokio::sync::OnceCell;

use crate::{
    app::document,
    platform::{
        error::Fault,
        http::{
            assets::takes,
            tags::{is_known, tag_of},
        },
    },
};

/// The OpenAPI document as it is served, written and pressed when it is first asked for.
#[derive(Debug, Default)]
pub struct Described(OnceCell<Written>);

/// It is large, and anybody may ask for it: it is pressed once, and not for each who asks.
#[derive(Debug)]
struct Written {
    tag: EntityTag,
    plain: web::Bytes,
    pressed: web::Bytes,
}

impl Written {
    fn now() -> Result<Self, Fault> {
        let plain = serde_json::to_vec(&document()?)?;
        let mut press = GzEncoder::new(Vec::new(), Compression::best());
        press.write_all(&plain).map_err(anyhow::Error::from)?;
        Ok(Self {
            tag: tag_of(&plain),
            pressed: press.finish().map_err(anyhow::Error::from)?.into(),
            plain: plain.into(),
        })
    }
}

/// Answers with it, or with 304 where the caller has it.
pub async fn openapi(described: web::Data<Described>, request: HttpRequest) -> Result<HttpResponse, Fault> {
    let write = || async {
        let written = web::block(Written::now).await;
        written.map_err(anyhow::Error::from)?
    };
    let written = described.0.get_or_try_init(write).await?;
    let known = is_known(&request, &written.tag);
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    answer
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .insert_header((header::ETAG, written.tag.to_string()))
        .insert_header((header::VARY, "accept-encoding"));
    if known {
        return Ok(answer.finish());
    }
    let text = if takes(&request, ContentEncoding::Gzip) {
        answer.insert_header(ContentEncoding::Gzip);
        &written.pressed
    } else {
        &written.plain
    };
    Ok(answer.content_type("application/json").body(text.clone()))
}

/// The machine's own authority, for a phone to install.
pub async fn install(certificate: web::Bytes) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/x-x509-ca-cert")
        .insert_header((header::CONTENT_DISPOSITION, "attachment; filename=\"fullset-ca.crt\""))
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(certificate)
}
