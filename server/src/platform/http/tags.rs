//! Answers that need not be sent again: the caller says what it has by `If-None-Match`, and is told that it is so still.

use actix_web::{
    HttpRequest, HttpResponse,
    http::header::{self, EntityTag},
    web::Bytes,
};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use sha2::{Digest as _, Sha256};

/// Whether the caller has what this tag stands for (RFC 9110, section 13.1.2: compared weakly).
pub fn is_known(request: &HttpRequest, tag: &EntityTag) -> bool {
    request
        .headers()
        .get_all(header::IF_NONE_MATCH)
        .filter_map(|value| value.to_str().ok())
        .flat_map(|tags| tags.split(',').map(str::trim))
        .any(|known| known == "*" || known.parse().is_ok_and(|known: EntityTag| known.weak_eq(tag)))
}

/// JSON under a tag of its own text, or 304 where the caller has it.
pub fn tagged(request: &HttpRequest, json: impl Into<Bytes>) -> HttpResponse {
    let json = json.into();
    under(request, tag_of(&json), json)
}

/// A text of another media type under a tag of its own, or 304 where the caller has it.
pub fn tagged_as(request: &HttpRequest, media: &'static str, text: String) -> HttpResponse {
    of_media(request, tag_of(text.as_bytes()), text.into(), media)
}

/// JSON under a tag of another text, which leaves out when it was read.
pub fn tagged_by(request: &HttpRequest, lasting: &str, json: impl Into<Bytes>) -> HttpResponse {
    under(request, tag_of(lasting.as_bytes()), json.into())
}

/// The tag of a text, weak because it stands for the same text compressed as well.
pub fn tag_of(text: &[u8]) -> EntityTag {
    EntityTag::new_weak(URL_SAFE_NO_PAD.encode(Sha256::digest(text).iter().copied().take(16).collect::<Vec<u8>>()))
}

/// A record's JSON under its revision, which is what `If-Match` takes, or 304 where the caller has it.
pub fn at_revision(request: &HttpRequest, rev: i64, json: impl Into<Bytes>) -> HttpResponse {
    under(request, EntityTag::new_strong(rev.to_string()), json.into())
}

fn under(request: &HttpRequest, tag: EntityTag, json: Bytes) -> HttpResponse {
    of_media(request, tag, json, "application/json")
}

fn of_media(request: &HttpRequest, tag: EntityTag, text: Bytes, media: &'static str) -> HttpResponse {
    let known = is_known(request, &tag);
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    // It may be kept by the caller alone, and asked for anew each time.
    answer
        .insert_header((header::CACHE_CONTROL, "private, no-cache"))
        .insert_header((header::ETAG, tag.to_string()));
    if known { answer.finish() } else { answer.content_type(media).body(text) }
}
