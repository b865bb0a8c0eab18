//! What a caller prefers of an answer (RFC 7240).

use std::convert::Infallible;

use actix_web::{FromRequest, HttpRequest, HttpResponseBuilder, dev::Payload, http::header::HeaderName};
use utoipa::openapi::path::ParameterIn;

use super::{Argument, Doc, doc::text};

const PREFER: HeaderName = HeaderName::from_static("prefer");
const APPLIED: HeaderName = HeaderName::from_static("preference-applied");

const HEADER: &str = "Prefer";
const MEANING: &str = "`return=minimal` leaves the record out of each answer: id, outcome, revision and what was touched remain, and `current` and `problem` \
                           where a command was not applied. The answer then has the header `Preference-Applied: return=minimal`";

/// How much an answer says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Return {
    /// The record too.
    Representation,
    /// Outcome and references.
    Minimal,
}

impl Return {
    /// What a request prefers.
    pub fn of(request: &HttpRequest) -> Self {
        let mut asked = request
            .headers()
            .get_all(PREFER)
            .filter_map(|value| value.to_str().ok())
            .flat_map(|value| value.split([',', ';']));
        let minimal = asked.any(|one| {
            let one: String = one.chars().filter(|sign| !sign.is_whitespace() && *sign != '"').collect();
            one.eq_ignore_ascii_case("return=minimal")
        });
        if minimal { Self::Minimal } else { Self::Representation }
    }

    /// Says in an answer that the preference was followed.
    pub fn say(self, answer: &mut HttpResponseBuilder) {
        if self == Self::Minimal {
            answer.insert_header((APPLIED, "return=minimal"));
        }
    }
}

impl FromRequest for Return {
    type Error = Infallible;
    type Future = std::future::Ready<Result<Self, Infallible>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(Ok(Self::of(request)))
    }
}

impl Argument for Return {
    fn describe(doc: &mut Doc) {
        doc.parameter(ParameterIn::Header, HEADER, MEANING, text("`return=minimal`"));
    }
}
