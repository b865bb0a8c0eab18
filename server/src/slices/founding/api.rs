use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use chrono_tz::Tz;
use fullset_calc::units::Units;
use serde::{Deserialize, Serialize};
use tokio::sync::Mutex;
use utoipa::ToSchema;

use super::work::{Founding, any};
use crate::platform::{
    auth::OneTimeCode,
    db::{self, Access, Pool},
    error::{self, Fault},
    http::{Anyone, Api, Body, Doc, Json, Shared, caller_of, network_limits::NetworkLimits},
    ids::AgencyId,
};
use crate::slices::agencies::Locale;

/// The addresses of founding.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/founding",
        Doc::new(
            "founding",
            "needs_founding",
            "Whether this installation waits for its first agency",
            "Asked by the sign-in page, which founds the agency where there is none.",
        )
        .answer("Whether it does"),
        needed,
    );
    api.other(
        Method::POST,
        "/v1/founding",
        Doc::new(
            "founding",
            "found_agency",
            "Found the first agency, with its admin",
            "Only while there is no agency. The code is the one that the service printed when it started; then sign in with the \
             email and the password.",
        )
        .answers_raw("201", "", "Founded")
        .refuses("403", "The code is not the one that the service printed")
        .refuses("409", "There is an agency already")
        .refuses("429", "Too many tries"),
        found,
    );
}

/// Founds the first agency from a page, for who can read what the service printed.
#[allow(missing_debug_implementations)]
pub struct Founder {
    writers: Pool,
    code: OneTimeCode,
    /// Tries at the code from each network.
    limits: NetworkLimits,
    /// One founding at a time.
    turn: Mutex<()>,
}

impl Founder {
    /// Founds by these connections and a new code.
    pub fn new(writers: Pool) -> Self {
        Self {
            writers,
            code: OneTimeCode::new(),
            limits: NetworkLimits::new(5, 5),
            turn: Mutex::new(()),
        }
    }

    /// The code, where there is no agency yet.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub fn code(&self) -> Result<Option<&str>, Fault> {
        let founded = db::transaction(&self.writers, Access::Read, any)?;
        Ok((!founded).then(|| self.code.shown()))
    }
}

/// Whether there is no agency yet.
#[derive(Debug, Serialize, ToSchema)]
struct FoundingState {
    /// True while there is none.
    needed: bool,
}

async fn needed(_: Anyone, shared: web::Data<Shared>) -> Result<Json<FoundingState>, Fault> {
    let founded = shared.into_inner().read(any).await?;
    Json::of(&FoundingState { needed: !founded })
}

/// The first agency and its admin.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct FoundFirst {
    /// The code that the service printed when it started; capitals and hyphens do not matter.
    #[schema(max_length = 32)]
    code: String,
    /// What the agency is called: 1 to 200 characters on one line.
    #[schema(max_length = 200)]
    agency: String,
    /// Its time zone by IANA name, for example `America/Denver`: its days begin and end there.
    #[schema(value_type = String)]
    time_zone: Tz,
    /// The units that screens and papers show.
    units: Units,
    /// How screens spell and write dates; left out: `en-US` where the units are US customary, else `en-GB`.
    locale: Option<Locale>,
    /// What its first admin is called: 1 to 200 characters on one line.
    #[schema(max_length = 200)]
    name: String,
    /// The email that the admin signs in with.
    #[schema(max_length = 254)]
    email: String,
    /// The admin's first password: 10 to 256 characters, as with `member.add`.
    #[schema(max_length = 256)]
    password: String,
}

fn there_is_one() -> Fault {
    Fault::rule("There is an agency already; sign in, or ask its admin to be added")
}

async fn found(
    _: Anyone,
    request: HttpRequest,
    shared: web::Data<Shared>,
    founder: web::Data<Founder>,
    Body(given): Body<FoundFirst>,
) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    founder
        .limits
        .count(caller_of(&request, &shared), "Too many codes were tried; wait a minute before the next")?;
    let _turn = founder.turn.lock().await;
    let founding = Founding {
        agency: given.agency,
        time_zone: given.time_zone,
        units: given.units,
        locale: given.locale,
        name: given.name,
        email: given.email,
        password: given.password,
    };
    // Nobody takes the writer from the others who does not know the code.
    if shared.read(any).await? {
        return Err(there_is_one());
    }
    if !founder.code.matches(&given.code) {
        let words = "This is not the code that the service printed when it started; look at its terminal or its log";
        return Err(Fault::new(error::CODE_UNKNOWN, words).at("body.code"));
    }
    let own = founder.clone();
    let begun = shared.slow(move |shared| {
        db::transaction(&own.writers, Access::Write, |db| {
            if any(db)? {
                return Err(there_is_one());
            }
            founding.begin(db, &shared.door).map(|agency| (agency, founding))
        })
    });
    let (agency, founding): (AgencyId, Founding) = begun.await?;
    founding.finish(&shared.door, agency).await?;
    Ok(HttpResponse::Created().finish())
}
