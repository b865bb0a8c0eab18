use actix_web::{FromRequest, HttpRequest, HttpResponse, dev::Payload, http::Method, web};
use utoipa::openapi::{ObjectBuilder, path::ParameterIn, schema::Type};

use super::{
    CalendarFeed,
    limits::CalendarLimits,
    ops::{AddCalendarFeed, RevokeCalendarFeed},
    view,
};
use crate::platform::{
    auth::SecretHash,
    error::{self, Fault},
    http::{Anyone, Api, Argument, Doc, Shared, caller_of, tags::tagged_as},
};

/// The calendar feeds' addresses.
pub fn routes(api: &mut Api) {
    api.list::<CalendarFeed>("/v1/calendar-feeds");
    api.find::<CalendarFeed>("/v1/calendar-feeds/{id}");
    api.history::<CalendarFeed>("/v1/calendar-feeds/{id}/history");
    api.act::<AddCalendarFeed>(Method::POST, "/v1/calendar-feeds");
    api.act::<RevokeCalendarFeed>(Method::POST, "/v1/calendar-feeds/{id}/revoke");
    let limits = web::Data::new(CalendarLimits::default());
    api.other(
        Method::GET,
        "/v1/calendars/{secret}/checks.ics",
        Doc::new(
            "calendar-feeds",
            "show_calendar",
            "The checks of a place as a calendar to subscribe to",
            "An iCalendar file (RFC 5545) with an all-day event for each piece and plan, on the duty day on which the next check is due; 2,000 \
             events at most, those that are due first. Whoever has the address reads it, without signing in. It names nobody.",
        )
        .answers_raw("200", "text/calendar", "The file")
        .answers_raw("304", "", "As `If-None-Match` names it: it has not changed")
        .tells(&["200"], "ETag", Type::String, "Of this file, for `If-None-Match`")
        .refuses("404", "No calendar has this address, it was revoked, or the member who added it was let go")
        .refuses("429", "Too many reads from one network"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, secret: Secret| show(request, shared, secret, limits.clone()),
    );
}

/// The hash of the secret that the path names.
struct Secret(Option<SecretHash>);

impl FromRequest for Secret {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(Ok(Self(request.match_info().get("secret").and_then(SecretHash::of_secret))))
    }
}

impl Argument for Secret {
    fn describe(doc: &mut Doc) {
        let schema = ObjectBuilder::new().schema_type(Type::String).pattern(Some("^[A-Za-z0-9_-]{43}$")).build();
        doc.parameter(ParameterIn::Path, "secret", "The secret that was made with the calendar", schema);
    }
}

fn missing() -> Fault {
    Fault::new(error::NOT_FOUND, "There is no calendar at this address; have a new one made")
}

async fn show(request: HttpRequest, shared: web::Data<Shared>, secret: Secret, limits: web::Data<CalendarLimits>) -> Result<HttpResponse, Fault> {
    limits.count(caller_of(&request, &shared))?;
    let hash = secret.0.ok_or_else(missing)?;
    let shared = shared.into_inner();
    let (agency, feed) = shared.read(move |db| view::opened_by(db, &hash)).await?.ok_or_else(missing)?;
    let file = shared.read_current(agency, move |db| view::file(db, agency, feed)).await?.ok_or_else(missing)?;
    Ok(tagged_as(&request, "text/calendar; charset=utf-8", file))
}
