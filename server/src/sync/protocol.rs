//! Which protocol a client speaks. The number rises when an old client could no longer be understood, or could no longer
//! understand; new fields and new record kinds do not raise it.

use actix_web::HttpRequest;

use crate::platform::error::{self, Fault};

/// The header that a client names its protocol in.
pub const HEADER: &str = "Fullset-Protocol";
/// For the documents.
pub const MEANING: &str = "The sync protocol that the client was written for, a number; the newest when it is left out";
/// What this service speaks.
pub const NEWEST: u32 = 1;
/// The oldest that it still serves.
pub const OLDEST: u32 = 1;

/// Refuses a client that is too old. A newer one may ask: what is not known here is refused where it is used.
pub fn check(request: &HttpRequest) -> Result<(), Fault> {
    let Some(named) = request.headers().get(HEADER) else { return Ok(()) };
    let number: u32 = named
        .to_str()
        .ok()
        .and_then(|text| text.trim().parse().ok())
        .ok_or_else(|| Fault::new(error::QUERY_INVALID, format!("{HEADER} is a number, for example {NEWEST}")).at(HEADER))?;
    if number < OLDEST {
        return Err(Fault::new(
            error::CLIENT_TOO_OLD,
            format!("This app speaks protocol {number}; this service speaks {OLDEST} to {NEWEST}. What waits on the phone is kept: update the app, then sync"),
        ));
    }
    Ok(())
}
