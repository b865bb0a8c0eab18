use std::sync::Arc;

use chrono_tz::Tz;
use fullset_calc::units::Units;
use serde_json::json;
use uuid::Uuid;

use crate::{
    platform::{
        auth::{self, Actor, Email, Role},
        db::Db,
        door::{self, Command, Door, own_body},
        error::Fault,
        ids::{AgencyId, MemberId},
        record::{self, Record as _},
    },
    slices::{
        agencies::{Agency, Locale},
        members::AddMember,
    },
};

/// What a new agency begins with.
#[derive(Debug)]
pub struct Founding {
    /// The agency's name.
    pub agency: String,
    /// Its time zone.
    pub time_zone: Tz,
    /// Its units.
    pub units: Units,
    /// Its locale; none: what is usual for its units.
    pub locale: Option<Locale>,
    /// Its admin's name.
    pub name: String,
    /// Its admin's email.
    pub email: String,
    /// Its admin's password.
    pub password: String,
}

/// Whether an installation has an agency that somebody can sign in to.
pub fn any(db: &mut Db) -> Result<bool, Fault> {
    auth::any_credential(db)
}

fn taken(db: &mut Db, name: &str) -> Result<bool, Fault> {
    for id in door::agencies(db)? {
        let row = record::find(db, id, Agency::KIND, id.0)?;
        if row.is_some_and(|row| row.label == name) {
            return Ok(true);
        }
    }
    Ok(false)
}

impl Founding {
    /// Makes room for the agency, where nothing stands in the way.
    ///
    /// # Errors
    /// Where a field cannot be used, an agency has the name, or the email signs somebody in already. Nothing was changed then.
    pub fn begin(&self, db: &mut Db, door: &Door) -> Result<AgencyId, Fault> {
        let email = Email::read(&self.email).map_err(|why| Fault::field("body.email", why.to_string()))?;
        let name = door::name("body.agency", &self.agency)?;
        door::name("body.name", &self.name)?;
        auth::check_password(&self.password, &[&self.name, email.as_str(), &self.agency])?;
        if taken(db, &name)? {
            return Err(Fault::rule(format!("An agency called '{name}' is there already; nothing was changed")).at("body.agency"));
        }
        if auth::credential_of(db, &email)?.is_some() {
            return Err(Fault::rule(format!("{email} signs somebody of another agency in already; nothing was changed")).at("body.email"));
        }
        door::forget_unfounded(db)?;
        let agency = AgencyId(Uuid::now_v7());
        door::found(db, agency, door.clock().now())?;
        Ok(agency)
    }

    /// Founds the agency, for which there is room, with its admin and a shop.
    pub async fn finish(self, door: &Door, agency: AgencyId) -> Result<(), Fault> {
        let service = Arc::new(Actor::service(agency, "setup"));
        let begins = json!({ "name": self.agency, "time_zone": self.time_zone, "units": self.units, "locale": self.locale });
        send(door, service, vec![("agency.found", begins)]).await?;
        let admin = Arc::new(Actor {
            role: Role::Admin,
            ..Actor::service(agency, "setup")
        });
        let member = AddMember::value(MemberId(Uuid::now_v7()), &self.name, &self.email, Role::Admin, &self.password);
        let shop = json!({ "id": Uuid::now_v7(), "name": "Fleet shop" });
        send(door, admin, vec![("member.add", member), ("shop.add", shop)]).await
    }
}

async fn send(door: &Door, actor: Arc<Actor>, acts: Vec<(&str, serde_json::Value)>) -> Result<(), Fault> {
    let commands = acts.into_iter().map(|(kind, body)| {
        Ok(Command {
            id: Uuid::now_v7(),
            kind: kind.to_owned(),
            at: None,
            expects: None,
            after: None,
            by: None,
            body: own_body(&body)?,
        })
    });
    let batch = door.send(actor, None, commands.collect::<Result<_, Fault>>()?).await?;
    match batch.answers.into_iter().find_map(|answer| answer.problem) {
        Some(problem) => Err(Fault {
            field: problem.field,
            hint: problem.hint,
            ..Fault::new(problem.code, problem.detail)
        }),
        None => Ok(()),
    }
}
