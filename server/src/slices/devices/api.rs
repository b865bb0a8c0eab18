use std::sync::Arc;

use actix_web::{HttpRequest, http::Method, web};
use base64::Engine as _;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    Device, DeviceKind,
    ops::{EnrolDevice, RenameDevice, RevokeDevice, SeeDevice},
    signing::place,
};
use crate::{
    platform::{
        auth::{self, Actor, Role},
        db::Db,
        door::Permission,
        error::{self, Fault},
        http::{Api, Body, Caller, Created, Doc, Json, Shared, host_of},
        ids::MemberId,
        record::{self, Record as _},
    },
    slices::{
        members::Member,
        stations::{Station, StationId},
    },
};

/// The devices' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Device>("/v1/devices");
    api.find::<Device>("/v1/devices/{id}");
    api.history::<Device>("/v1/devices/{id}/history");
    api.act::<RenameDevice>(Method::PATCH, "/v1/devices/{id}");
    api.act::<RevokeDevice>(Method::POST, "/v1/devices/{id}/revoke");
    api.registry.add::<EnrolDevice>();
    api.registry.add::<SeeDevice>();
    api.other(
        Method::POST,
        "/v1/enrolments",
        Doc::new(
            "devices",
            "make_enrolment",
            "Make a code that enrols a device: the own phone, or as an officer a tablet of a station",
            "The code enrols one device, once, within ten minutes. A tablet's code is made by an officer or chief within reach of its \
             station. Five codes may be open at a time.",
        )
        .answer("The code; it is shown this once")
        .refuses("403", "The member's role or reach does not allow it, or the password is asked for again")
        .refuses("409", "Five codes are open already"),
        invite,
    );
    api.other(
        Method::GET,
        "/v1/signers",
        Doc::new(
            "devices",
            "show_signers",
            "The members who may sign on this tablet; for a member, those within reach who have a PIN",
            "A shared tablet gets what it needs to check and to make signatures without a signal; a member sees who within reach has \
             a PIN, and whose is locked.",
        )
        .answer("The members, by name"),
        show_signers,
    );
}

/// What a code is wanted for.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct Invite {
    /// What the device is.
    kind: DeviceKind,
    /// Where a tablet is; a phone has none.
    station: Option<StationId>,
}

/// A code.
#[derive(Debug, Serialize, ToSchema)]
struct Invitation {
    /// Two groups of four signs; in capital or small letters, it is the same code.
    code: String,
    /// The page that the device opens; the code is behind the `#`, which no server sees.
    url: String,
    /// When it runs out.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    expires_at: DateTime<Utc>,
}

async fn invite(request: HttpRequest, shared: web::Data<Shared>, Caller(actor): Caller, Body(given): Body<Invite>) -> Result<Created<Invitation>, Fault> {
    if actor.role == Role::Tablet {
        return Err(Fault::new(
            error::NOT_ALLOWED,
            "A shared tablet enrols nobody; make the code where you are signed in yourself",
        ));
    }
    let shared = shared.into_inner();
    match (given.kind, given.station) {
        (DeviceKind::Phone, None) => {}
        (DeviceKind::Phone, Some(_)) => return Err(Fault::field("body.station", "A phone is its member's; leave the station out")),
        (DeviceKind::Tablet, None) => return Err(Fault::field("body.station", "Name the station that the tablet is at")),
        (DeviceKind::Tablet, Some(station)) => {
            if !actor.role.grants(Permission::Handle) {
                return Err(Fault::new(error::NOT_ALLOWED, "A tablet is enrolled by an officer; ask one"));
            }
            let agency = actor.agency;
            let row = shared.read(move |db| Ok(record::find(db, agency, Station::KIND, station.0)?)).await?;
            let row = row
                .filter(|row| !row.gone)
                .ok_or_else(|| Fault::field("body.station", "There is no such station"))?;
            if !actor.reaches(row.scope()) {
                return Err(Fault::new(
                    error::OUT_OF_REACH,
                    "This is outside your station or district; ask an officer there",
                ));
            }
        }
    }
    let (asking, now) = (Arc::clone(&actor), shared.clock.now());
    shared.read(move |db| auth::lately_proven(db, &asking, now)).await?;
    let station = given.station.map(|station| station.0);
    let (code, expires_at) = shared.slow(move |shared| shared.sessions.invite(&actor, station)).await?;
    let scheme = if shared.plain_http { "http" } else { "https" };
    let url = format!("{scheme}://{}/enrol#{code}", host_of(&request, &shared));
    Created::of(&Invitation { code, url, expires_at })
}

/// Who may sign.
#[derive(Debug, Serialize, ToSchema)]
struct Signers {
    /// The members, by name.
    items: Vec<Signer>,
}

/// A member who may sign.
#[derive(Debug, Serialize, ToSchema)]
struct Signer {
    /// The member who has a PIN to sign with.
    member: MemberId,
    /// The member's name; the list is in its order.
    name: String,
    /// The member's role, which says what may be signed.
    role: Role,
    /// Whether ten wrong signatures have locked its PIN.
    locked: bool,
    /// What the PIN is hashed with, base64url without padding; for a tablet alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    salt: Option<String>,
    /// How often; for a tablet alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    iterations: Option<i64>,
    /// The first byte of HMAC-SHA256(key, "check") in hex; for a tablet alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    check: Option<String>,
}

async fn show_signers(shared: web::Data<Shared>, Caller(actor): Caller) -> Result<Json<Signers>, Fault> {
    let items = shared.into_inner().read(move |db| who_signs(db, &actor)).await?;
    Json::of(&Signers { items })
}

fn who_signs(db: &mut Db, actor: &Actor) -> Result<Vec<Signer>, Fault> {
    let tablet = actor.role == Role::Tablet;
    let place = if tablet { Some(place(db, actor.agency, actor.device)?) } else { None };
    let mut items = Vec::new();
    for pin in auth::signers(db, actor.agency)? {
        let Some(row) = record::find(db, actor.agency, Member::KIND, pin.member.0)?.filter(|row| !row.gone) else {
            continue;
        };
        let member: Member = row.read()?;
        let near = place.map_or_else(|| actor.reaches(row.scope()), |place| member.actor(actor.agency).reaches(place));
        if !member.active || !near {
            continue;
        }
        items.push(Signer {
            member: member.id,
            name: member.name,
            role: member.role,
            locked: pin.locked,
            salt: tablet.then(|| base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(&pin.salt)),
            iterations: tablet.then_some(pin.iterations),
            check: tablet.then(|| format!("{:02x}", pin.check)),
        });
    }
    items.sort_by(|one, other| one.name.cmp(&other.name));
    Ok(items)
}
