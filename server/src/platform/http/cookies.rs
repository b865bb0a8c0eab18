//! The cookies of a browser's sign-in, which scripts cannot read. Where the service is reached by TLS their names begin with `__Host-`
//! (RFC 6265bis, 4.1.3.2): a browser then takes them from this very host over TLS alone, so that no neighbour under the same domain and
//! no plain page can put in its own. A name without it does not count there.

use actix_web::{
    HttpRequest,
    cookie::{Cookie, SameSite, time},
};

use super::Shared;
use crate::platform::auth::SessionTokens;

/// What a cookie holds.
#[derive(Debug, Clone, Copy)]
enum Holds {
    Access,
    Refresh,
}

impl Holds {
    const fn name(self, plain_http: bool) -> &'static str {
        match (self, plain_http) {
            (Self::Access, true) => "fullset_access",
            (Self::Access, false) => "__Host-fullset_access",
            (Self::Refresh, true) => "fullset_refresh",
            (Self::Refresh, false) => "__Host-fullset_refresh",
        }
    }

    /// Where it travels: over plain HTTP the refresh token to the session endpoints alone; `__Host-` takes the whole host.
    const fn path(self, plain_http: bool) -> &'static str {
        match (self, plain_http) {
            (Self::Refresh, true) => "/v1/session",
            _ => "/",
        }
    }

    fn cookie(self, value: String, life: time::Duration, plain_http: bool) -> Cookie<'static> {
        Cookie::build(self.name(plain_http), value)
            .path(self.path(plain_http))
            .http_only(true)
            .secure(!plain_http)
            .same_site(SameSite::Strict)
            .max_age(life)
            .finish()
    }

    fn of(self, request: &HttpRequest, shared: &Shared) -> Option<String> {
        request.cookie(self.name(shared.plain_http)).map(|cookie| cookie.value().to_owned())
    }
}

/// The cookie of the access token, for the document.
pub const ACCESS_COOKIE: &str = Holds::Access.name(true);

/// The access token of a browser.
pub fn access_token(request: &HttpRequest, shared: &Shared) -> Option<String> {
    Holds::Access.of(request, shared)
}

/// The refresh token of a browser.
pub fn refresh_token(request: &HttpRequest, shared: &Shared) -> Option<String> {
    Holds::Refresh.of(request, shared)
}

/// The cookies of a browser session.
pub fn session_cookies(access: String, session: &SessionTokens, plain_http: bool) -> [Cookie<'static>; 2] {
    [
        Holds::Access.cookie(access, time::Duration::days(1), plain_http),
        Holds::Refresh.cookie(session.refresh.clone(), time::Duration::days(30), plain_http),
    ]
}

/// Cookies that take the session's away.
pub fn spent_cookies(plain_http: bool) -> [Cookie<'static>; 2] {
    [Holds::Access, Holds::Refresh].map(|held| held.cookie(String::new(), time::Duration::ZERO, plain_http))
}
