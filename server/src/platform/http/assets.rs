//! The dashboard, embedded in the binary. Its hashed parts are cached for good; the page, the worker and the manifest are
//! asked for again each time, and mostly not sent.

use std::borrow::Cow;

use actix_web::{
    HttpRequest, HttpResponse, ResponseError as _,
    http::{
        Method,
        header::{self, ContentEncoding, Encoding, Header as _},
    },
    web::{self, Bytes},
};
use base64::Engine as _;
use rust_embed::RustEmbed;

use super::{
    addresses::allow,
    around::{Gate, is_api},
    tags::is_known,
};
use crate::platform::error::{self, Fault};

#[derive(RustEmbed)]
#[folder = "../dashboard/dist"]
#[allow_missing = true]
struct Dist;

/// Pages of their own beside the dashboard, each in a folder.
const PAGES: [(&str, &str); 3] = [
    ("docs", "docs/index.html"),
    ("acknowledge", "acknowledge/index.html"),
    ("desk", "desk/index.html"),
];

/// What the build made of each longer text, the smaller first: what a browser must take for it, and how its file's name ends.
const PRESSED: [(ContentEncoding, &str); 2] = [(ContentEncoding::Brotli, ".br"), (ContentEncoding::Gzip, ".gz")];

/// What the pages may do: nothing from elsewhere; WebAssembly reads codes from the camera's pictures.
const POLICY: &str = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; connect-src 'self'; manifest-src 'self'; \
                      img-src 'self' data: blob:; media-src 'self' blob:; style-src 'self' 'unsafe-inline'; object-src 'none'; frame-ancestors 'none'; \
                      base-uri 'none'; form-action 'self'";

/// Refuses a method that an address does not take, and says which it takes.
fn only(request: &HttpRequest, methods: &[Method]) -> HttpResponse {
    let allowed = allow(methods);
    let words = format!(
        "{} does not take {}; it takes {}",
        request.path(),
        request.method(),
        allowed.to_str().unwrap_or_default()
    );
    let mut answer = Fault::new(error::METHOD_UNKNOWN, words).error_response();
    answer.headers_mut().insert(header::ALLOW, allowed);
    answer
}

/// Whether a browser takes an answer that is pressed so, by its own word. Each is asked of alone: one that names several without a weight
/// is given the smaller.
pub fn takes(request: &HttpRequest, encoding: ContentEncoding) -> bool {
    header::AcceptEncoding::parse(request).is_ok_and(|takes| {
        let known = Encoding::Known(encoding);
        takes.negotiate([&known].into_iter()) == Some(known.clone())
    })
}

/// A file as the build pressed it, if the browser takes it so and the file is long enough to have been pressed.
fn pressed(request: &HttpRequest, name: &str) -> Option<(ContentEncoding, Cow<'static, [u8]>)> {
    let (encoding, ending) = PRESSED.into_iter().find(|(encoding, _)| takes(request, *encoding))?;
    Some((encoding, Dist::get(&format!("{name}{ending}"))?.data))
}

/// Answers any address that is not of the API: a file of the dashboard, or its page, which knows its own addresses.
pub async fn serve(request: HttpRequest) -> Result<HttpResponse, Fault> {
    let path = request.path().trim_start_matches('/');
    if is_api(request.path()) {
        let methods = request
            .app_data::<web::Data<Gate>>()
            .map(|gate| gate.addresses.methods(request.path()))
            .unwrap_or_default();
        if methods.is_empty() {
            let words = format!("Nothing answers at {}; /openapi.json lists what does", request.path());
            return Err(Fault::new(error::PATH_UNKNOWN, words));
        }
        return Ok(only(&request, &methods));
    }
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return Ok(only(&request, &[Method::GET, Method::HEAD]));
    }
    let is_pressed = PRESSED.iter().any(|(_, ending)| path.ends_with(ending));
    let name = if Dist::get(path).is_some() && !path.is_empty() && !is_pressed {
        path
    } else if let Some((_, page)) = PAGES.iter().find(|(folder, _)| path.trim_end_matches('/') == *folder) {
        page
    } else if path.starts_with("assets/") || PAGES.iter().any(|(folder, _)| path.split('/').next() == Some(folder)) {
        return Err(Fault::new(error::PATH_UNKNOWN, "No such part of the dashboard; load the page again"));
    } else {
        "index.html"
    };
    let Some(file) = Dist::get(name) else {
        return Ok(HttpResponse::NotFound()
            .content_type("text/plain; charset=utf-8")
            .body("The dashboard was not built into this binary: run `make build`. The API answers under /v1."));
    };
    let cached = if name.starts_with("assets/") {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    // Weak, because the same tag stands for the file as it is and for the same file compressed.
    let tag = header::EntityTag::new_weak(base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(file.metadata.sha256_hash()));
    let known = is_known(&request, &tag);
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    answer
        .insert_header((header::CACHE_CONTROL, cached))
        .insert_header((header::ETAG, tag.to_string()))
        .insert_header((header::CONTENT_SECURITY_POLICY, POLICY))
        .insert_header((header::CROSS_ORIGIN_OPENER_POLICY, "same-origin"))
        .insert_header((header::PERMISSIONS_POLICY, "camera=(self)"))
        .insert_header((header::REFERRER_POLICY, "same-origin"));
    if known {
        return Ok(answer.finish());
    }
    let media = file.metadata.mimetype();
    let spelt = if media.starts_with("text/") { "; charset=utf-8" } else { "" };
    let data = if let Some((encoding, data)) = pressed(&request, name) {
        answer.insert_header(encoding);
        data
    } else {
        file.data
    };
    Ok(answer
        .insert_header((header::VARY, "accept-encoding"))
        .content_type(format!("{media}{spelt}"))
        .body(match data {
            Cow::Borrowed(embedded) => Bytes::from_static(embedded),
            Cow::Owned(read) => read.into(),
        }))
}
