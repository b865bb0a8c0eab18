//! The id of a request: in its answer, in its problem and in each line of the log that is written for it. Taken from the caller
//! where it can be used, so that one id leads through several programs; made here otherwise.

use actix_web::{
    HttpMessage as _, HttpRequest,
    body::MessageBody,
    dev::{ServiceRequest, ServiceResponse},
    http::header::{HeaderName, HeaderValue},
};
use tracing_actix_web::{DefaultRootSpanBuilder, RootSpanBuilder};
use uuid::Uuid;

/// The header that it travels in.
pub const HEADER: HeaderName = HeaderName::from_static("x-request-id");
/// The longest that is taken from a caller.
const LONGEST: usize = 128;

tokio::task_local! {
    static CURRENT: RequestId;
}

/// The id of a request: 1 to 128 letters, digits, dots, hyphens or underscores.
#[derive(Debug, Clone)]
pub struct RequestId(String);

impl RequestId {
    /// The caller's, where it is one; a new one otherwise.
    pub fn of(request: &HttpRequest) -> Self {
        let named = request.headers().get(HEADER).and_then(|value| value.to_str().ok());
        let sane = named
            .filter(|text| (1..=LONGEST).contains(&text.len()) && text.bytes().all(|sign| sign.is_ascii_alphanumeric() || matches!(sign, b'.' | b'-' | b'_')));
        Self(sane.map_or_else(|| Uuid::new_v4().to_string(), str::to_owned))
    }

    /// As a header.
    pub fn value(&self) -> Option<HeaderValue> {
        HeaderValue::from_str(&self.0).ok()
    }

    /// Does work in the name of this request.
    pub async fn during<T>(self, work: impl Future<Output = T>) -> T {
        CURRENT.scope(self, work).await
    }
}

impl std::fmt::Display for RequestId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// The id of the request that is being answered.
pub fn current() -> Option<String> {
    CURRENT.try_with(|id| id.0.clone()).ok()
}

/// Marks what is logged for a request with its id.
#[derive(Debug)]
pub struct Spans;

/// How long a secret of 32 bytes is in an address, as base64url without padding.
pub const SECRET_LENGTH: usize = 43;

/// An address as the log may hold it: a part that may be a secret is left out.
pub fn without_secret(path: &str) -> String {
    let secret = |part: &&str| part.len() == SECRET_LENGTH && part.bytes().all(|sign| sign.is_ascii_alphanumeric() || matches!(sign, b'-' | b'_'));
    let parts: Vec<&str> = path.split('/').map(|part| if secret(&part) { "..." } else { part }).collect();
    parts.join("/")
}

impl RootSpanBuilder for Spans {
    fn on_request_start(request: &ServiceRequest) -> tracing::Span {
        let id = request.extensions().get::<RequestId>().map_or_else(String::new, |id| id.0.clone());
        tracing::info_span!(
            "HTTP request",
            http.method = %request.method(),
            http.target = %without_secret(request.path()),
            http.status_code = tracing::field::Empty,
            otel.status_code = tracing::field::Empty,
            exception.message = tracing::field::Empty,
            request_id = %id,
        )
    }

    fn on_request_end<B: MessageBody>(span: tracing::Span, outcome: &Result<ServiceResponse<B>, actix_web::Error>) {
        DefaultRootSpanBuilder::on_request_end(span, outcome);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_in_an_address_is_not_logged_and_ids_and_hashes_are() {
        let secret = "q".repeat(SECRET_LENGTH);
        assert_eq!(without_secret(&format!("/v1/calendars/{secret}/checks.ics")), "/v1/calendars/.../checks.ics");
        for path in [
            "/v1/pieces/01936f2e-7b1c-7c11-8a55-0f2d5a7c1e00/history".to_owned(),
            format!("/v1/photos/{}", "0".repeat(64)),
            "/".to_owned(),
        ] {
            assert_eq!(without_secret(&path), path);
        }
    }
}
