//! The cookies of a browser's sign-in, which scripts cannot read.

use actix_web::cookie::{Cookie, SameSite, time};

use crate::platform::auth::SessionTokens;

/// Cookie of the access token.
pub const ACCESS_COOKIE: &str = "fullset_access";
/// Cookie of the refresh token; it travels to the session endpoints alone.
pub const REFRESH_COOKIE: &str = "fullset_refresh";
const SESSION_PATH: &str = "/v1/session";

/// The cookies of a browser session.
pub fn session_cookies(access: String, session: &SessionTokens, plain_http: bool) -> [Cookie<'static>; 2] {
    let make = |name: &'static str, value: String, path: &'static str, days: i64| {
        Cookie::build(name, value)
            .path(path)
            .http_only(true)
            .secure(!plain_http)
            .same_site(SameSite::Strict)
            .max_age(time::Duration::days(days))
            .finish()
    };
    [
        make(ACCESS_COOKIE, access, "/", 1),
        make(REFRESH_COOKIE, session.refresh.clone(), SESSION_PATH, 30),
    ]
}

/// Cookies that take the session's away.
pub fn spent_cookies() -> [Cookie<'static>; 2] {
    [(ACCESS_COOKIE, "/"), (REFRESH_COOKIE, SESSION_PATH)]
        .map(|(name, path)| Cookie::build(name, "").path(path).http_only(true).max_age(time::Duration::ZERO).finish())
}
