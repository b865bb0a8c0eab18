//! What a caller prefers of an answer (RFC 7240).

use actix_web::{HttpRequest, HttpResponseBuilder, http::header::HeaderName};

const PREFER: HeaderName = HeaderName::from_static("prefer");
const APPLIED: HeaderName = HeaderName::from_static("preference-applied");

/// The header, for the documents.
pub const HEADER: &str = "Prefer";
/// Its meaning, for the documents.
pub const MEANING: &str = "`return=minimal` leaves the record out of each answer: id, outcome, revision and what was touched remain, and `current` and `problem` \
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
