//! What is served whole: the description of the API, and the machine's own authority.

use actix_web::{HttpRequest, HttpResponse, http::header, web};
use tokio::sync::OnceCell;

use crate::{app::document, platform::error::Fault};

/// The OpenAPI document as it is served, written when it is first asked for.
#[derive(Debug, Default)]
pub struct Described(OnceCell<web::Bytes>);

/// Answers with it.
pub async fn openapi(described: web::Data<Described>, _: HttpRequest) -> Result<HttpResponse, Fault> {
    let write = || async {
        let written = web::block(|| Ok::<_, Fault>(serde_json::to_vec(&document()?)?)).await;
        Ok::<_, Fault>(web::Bytes::from(written.map_err(anyhow::Error::from)??))
    };
    let document = described.0.get_or_try_init(write).await?;
    Ok(HttpResponse::Ok()
        .content_type("application/json")
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(document.clone()))
}

/// The machine's own authority, for a phone to install.
pub async fn install(certificate: web::Bytes) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/x-x509-ca-cert")
        .insert_header((header::CONTENT_DISPOSITION, "attachment; filename=\"fullset-ca.crt\""))
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(certificate)
}
