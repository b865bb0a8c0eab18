//! Which protocol a client speaks. The number rises when an old client could no longer be understood, or could no longer
//! understand; new fields and new record kinds do not raise it.

use actix_web::{FromRequest, HttpRequest, dev::Payload};
use utoipa::openapi::{ObjectBuilder, path::ParameterIn, schema::Type};

use crate::platform::{
    error::{self, Fault},
    http::{Argument, Doc},
};

/// The header that a client names its protocol in.
const HEADER: &str = "Fullset-Protocol";
/// What this service speaks.
pub const NEWEST: u32 = 1;
/// The oldest that it still serves.
pub const OLDEST: u32 = 1;

/// A client whose protocol is served.
pub struct Protocol;

impl FromRequest for Protocol {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(check(request).map(|()| Self))
    }
}

impl Argument for Protocol {
    fn describe(doc: &mut Doc) {
        let words = "The sync protocol that the client was written for; the newest when it is left out";
        let schema = ObjectBuilder::new().schema_type(Type::Integer).minimum(Some(OLDEST)).build();
        doc.parameter(ParameterIn::Header, HEADER, words, schema);
        doc.may_refuse("400", "A parameter, a header or the body cannot be read");
        doc.may_refuse("426", "The client speaks a protocol that is no longer served");
    }
}

/// Refuses a client that is too old. A newer one may ask: what is not known here is refused where it is used.
fn check(request: &HttpRequest) -> Result<(), Fault> {
    let Some(named) = request.headers().get(HEADER) else { return Ok(()) };
    let number: u32 = named
        .to_str()
        .ok()
        .and_then(|text| text.trim().parse().ok())
        .ok_or_else(|| Fault::new(error::QUERY_INVALID, format!("{HEADER} is a number, for example {NEWEST}")).at(HEADER))?;
    if number < OLDEST {
        return Err(Fault::new(
            error::CLIENT_TOO_OLD,
            format!(
                "This app speaks protocol {number}; this service speaks {OLDEST} to {NEWEST}. What waits on the phone is kept: update the \
                 app, then sync"
            ),
        ));
    }
    Ok(())
}
