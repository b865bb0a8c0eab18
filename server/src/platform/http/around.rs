//! What every request goes through: its id, HEAD where only GET is written, and pages of other origins that may ask.

use actix_web::{
    HttpMessage as _, HttpRequest, HttpResponse, ResponseError as _,
    body::{self, BodySize, BoxBody, MessageBody},
    dev::{ServiceRequest, ServiceResponse},
    http::{
        ConnectionType, Method, StatusCode,
        header::{self, HeaderMap, HeaderValue, InvalidHeaderValue},
    },
    middleware::Next,
    web,
};

use super::{
    RequestBodies,
    addresses::{Addresses, allow},
    asking,
    request_id::{self, RequestId},
};
use crate::platform::error::{self, Fault};

/// What other origins may send along.
const SENT: HeaderValue = HeaderValue::from_static(
    "Authorization, Content-Type, Content-Range, Fullset-Protocol, Idempotency-Key, If-Match, If-None-Match, Last-Event-ID, Prefer, X-Request-Id",
);
/// What pages of other origins may see of an answer, besides what every page may.
const SHOWN: HeaderValue = HeaderValue::from_static("ETag, Location, Preference-Applied, Retry-After, Upload-Offset, X-Request-Id");
/// What an answer may do in a browser that is led to it, where it is no page: nothing.
const INERT: HeaderValue = HeaderValue::from_static("default-src 'none'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'");
/// For how many seconds a browser need not ask again whether it may.
const KEPT: HeaderValue = HeaderValue::from_static("3600");

/// Whose pages may ask besides the service's own. They send a bearer token: cookies never count from elsewhere.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CorsOrigins(Vec<String>);

impl CorsOrigins {
    /// Reads origins such as `https://map.example`, or `*` for all.
    pub fn read(named: Vec<String>) -> Result<Self, String> {
        for origin in &named {
            let host = origin.strip_prefix("https://").or_else(|| origin.strip_prefix("http://"));
            let sound =
                origin == "*" || host.is_some_and(|host| !host.is_empty() && host.bytes().all(|sign| sign.is_ascii_alphanumeric() || b".-:[]".contains(&sign)));
            if !sound {
                return Err(format!(
                    "'{origin}' is no origin: give scheme, host and where needed port, for example https://map.example, or * for all"
                ));
            }
        }
        Ok(Self(named))
    }

    /// Whether pages of this origin may ask.
    fn allows(&self, origin: &str) -> bool {
        self.0.iter().any(|known| known == "*" || known == origin)
    }

    /// The origin of a request, where its pages may ask.
    fn of(&self, request: &ServiceRequest) -> Option<HeaderValue> {
        let origin = request.headers().get(header::ORIGIN)?;
        let open = request.path() == "/openapi.json" || is_api(request.path());
        (open && self.allows(origin.to_str().ok()?)).then(|| origin.clone())
    }
}

/// Whether a request comes from a page that may ask with a bearer token, which it gets by signing in.
pub fn from_open_page(request: &HttpRequest) -> bool {
    let origin = request.headers().get(header::ORIGIN).and_then(|origin| origin.to_str().ok());
    let gate = request.app_data::<web::Data<Gate>>();
    gate.zip(origin).is_some_and(|(gate, origin)| gate.cors.allows(origin))
}

/// Whether an address is the API's, so that no page of the dashboard ever answers at it.
pub fn is_api(path: &str) -> bool {
    path == "/v1" || path.starts_with("/v1/")
}

/// What the requests of a service go through.
#[derive(Debug)]
pub struct Gate {
    /// Where something answers.
    pub addresses: Addresses,
    /// Whose pages may ask besides the service's own.
    pub cors: CorsOrigins,
    /// The bodies that are on their way.
    pub bodies: RequestBodies,
    /// What browsers are told about TLS.
    pub strict: Option<HeaderValue>,
}

/// Tells browsers to come over TLS alone, for so many days; to other names under this one they come as before.
pub fn strict_transport(days: u32) -> Result<HeaderValue, InvalidHeaderValue> {
    HeaderValue::from_str(&format!("max-age={}", u64::from(days) * 86_400))
}

/// The way through.
pub async fn around(mut request: ServiceRequest, next: Next<impl MessageBody + 'static>) -> Result<ServiceResponse<BoxBody>, actix_web::Error> {
    let gate = request.app_data::<web::Data<Gate>>().cloned();
    let id = RequestId::of(request.request());
    request.extensions_mut().insert(id.clone());
    let origin = gate.as_ref().and_then(|gate| gate.cors.of(&request));
    if let Some(gate) = &gate {
        gate.bodies.watch(&mut request);
    }
    let head = *request.method() == Method::HEAD && gate.as_ref().is_some_and(|gate| gate.addresses.heads_by_get(request.path()));
    if head {
        request.head_mut().method = Method::GET;
    }
    let strict = gate.as_ref().and_then(|gate| gate.strict.clone());
    let asked = gate.filter(|_| *request.method() == Method::OPTIONS && is_api(request.path()));
    let taken = asked.map(|gate| gate.addresses.methods(request.path())).filter(|taken| !taken.is_empty());
    let api = is_api(request.path());
    let mut answer = match taken {
        Some(methods) => request.into_response(options(&methods, origin.is_some())),
        None => match plain(&request) {
            Ok(()) => id.clone().during(asking::answering(next.call(request))).await?.map_into_boxed_body(),
            Err(fault) => {
                let refused = id.clone().during(async { fault.error_response() }).await;
                request.into_response(refused)
            }
        },
    };
    if answer.status() == StatusCode::REQUEST_TIMEOUT {
        // What is still to come of the body would be read to its end for the next request on this connection.
        answer.response_mut().head_mut().set_connection_type(ConnectionType::Close);
    }
    guarded(answer.headers_mut());
    if let Some(strict) = strict {
        answer.headers_mut().insert(header::STRICT_TRANSPORT_SECURITY, strict);
    }
    if api {
        careful(answer.headers_mut());
    }
    if let Some(id) = id.value() {
        answer.headers_mut().insert(request_id::HEADER, id);
    }
    if let Some(origin) = origin {
        open(answer.headers_mut(), origin);
    }
    Ok(if head { without_stream(answer) } else { answer })
}

/// Refuses a body that is packed: a few kilobytes of it unfold to gigabytes, before anybody has counted them.
fn plain(request: &ServiceRequest) -> Result<(), Fault> {
    let packed = request
        .headers()
        .get_all(header::CONTENT_ENCODING)
        .any(|value| !value.as_bytes().trim_ascii().eq_ignore_ascii_case(b"identity"));
    if packed {
        let words = "Send the body as it is, without Content-Encoding; answers may be packed, bodies may not";
        return Err(Fault::new(error::BODY_ENCODED, words));
    }
    Ok(())
}

/// What every answer says to browsers, where it says nothing else itself: it is what its type says and nothing that runs, stands in no
/// frame and in no page of another site, and tells no other site its address.
fn guarded(headers: &mut HeaderMap) {
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    for (name, usual) in [
        (header::CONTENT_SECURITY_POLICY, INERT),
        (header::REFERRER_POLICY, HeaderValue::from_static("no-referrer")),
        (header::CROSS_ORIGIN_RESOURCE_POLICY, HeaderValue::from_static("same-origin")),
    ] {
        if !headers.contains_key(&name) {
            headers.insert(name, usual);
        }
    }
}

/// What every answer of the API says to caches, where it says nothing else itself.
fn careful(headers: &mut HeaderMap) {
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
}

/// What may be asked at an address.
fn options(methods: &[Method], cross: bool) -> HttpResponse {
    let mut answer = HttpResponse::NoContent();
    answer.insert_header((header::ALLOW, allow(methods)));
    if cross {
        answer
            .insert_header((header::ACCESS_CONTROL_ALLOW_METHODS, allow(methods)))
            .insert_header((header::ACCESS_CONTROL_ALLOW_HEADERS, SENT))
            .insert_header((header::ACCESS_CONTROL_MAX_AGE, KEPT));
    }
    answer.finish()
}

fn open(headers: &mut HeaderMap, origin: HeaderValue) {
    headers.insert(header::ACCESS_CONTROL_ALLOW_ORIGIN, origin);
    headers.insert(header::ACCESS_CONTROL_EXPOSE_HEADERS, SHOWN);
    headers.append(header::VARY, HeaderValue::from_static("Origin"));
}

/// An answer to HEAD goes without its body. One of a known length keeps saying it; a stream would keep the connection.
fn without_stream(answer: ServiceResponse<BoxBody>) -> ServiceResponse<BoxBody> {
    answer.map_body(|_, body| match body.size() {
        BodySize::Stream => BoxBody::new(body::None::new()),
        _ => body,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_origin_is_scheme_host_and_port() {
        for good in ["https://map.example", "http://10.0.0.7:8080", "http://[::1]:3000", "*"] {
            assert!(CorsOrigins::read(vec![good.to_owned()]).is_ok(), "{good}");
        }
        for bad in [
            "map.example",
            "https://",
            "https://map.example/",
            "https://a b",
            "null",
            "https://*.example",
            "",
        ] {
            assert!(CorsOrigins::read(vec![bad.to_owned()]).is_err(), "{bad}");
        }
    }
}
