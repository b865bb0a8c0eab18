//! The dashboard, embedded in the binary. The page itself is never cached, its hashed parts always are.

use actix_web::{HttpRequest, HttpResponse, http::header};
use rust_embed::RustEmbed;

use crate::platform::error::{self, Fault};

#[derive(RustEmbed)]
#[folder = "../dashboard/dist"]
#[allow_missing = true]
struct Dist;

/// Answers any address that is not of the API: a file of the dashboard, or its page, which knows its own addresses.
pub async fn serve(request: HttpRequest) -> Result<HttpResponse, Fault> {
    let path = request.path().trim_start_matches('/');
    if path.starts_with("v1/") || path == "v1" {
        return Err(Fault::new(
            error::PATH_UNKNOWN,
            format!("Nothing answers at {} {}; /openapi.json lists what does", request.method(), request.path()),
        ));
    }
    if !matches!(*request.method(), actix_web::http::Method::GET | actix_web::http::Method::HEAD) {
        return Err(Fault::new(error::METHOD_UNKNOWN, "This address is only read"));
    }
    let (name, file) = match Dist::get(path).filter(|_| !path.is_empty()) {
        Some(file) => (path, Some(file)),
        None if path.starts_with("assets/") => return Err(Fault::new(error::PATH_UNKNOWN, "No such part of the dashboard; load the page again")),
        None => ("index.html", Dist::get("index.html")),
    };
    let Some(file) = file else {
        return Ok(HttpResponse::NotFound()
            .content_type("text/plain; charset=utf-8")
            .body("The dashboard was not built into this binary: run `make build`. The API answers under /v1."));
    };
    let cached = if name.starts_with("assets/") {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    Ok(HttpResponse::Ok()
        .content_type(file.metadata.mimetype())
        .insert_header((header::CACHE_CONTROL, cached))
        .insert_header((header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .insert_header((
            header::CONTENT_SECURITY_POLICY,
            "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
        ))
        .insert_header((header::REFERRER_POLICY, "same-origin"))
        .body(file.data.into_owned()))
}
