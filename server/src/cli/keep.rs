use anyhow::bail;
use chrono_tz::Tz;
use clap::{Args, Subcommand, ValueEnum};
use fullset_calc::units::Units;
use serde_json::json;
use std::sync::Arc;
use uuid::Uuid;

use super::{Database, password, runtime};
use crate::{
    app,
    platform::{
        auth::{Actor, Role},
        clock::Clock,
        db::{Access, Db, Location},
        door::{self, Command, Door, own_body},
        error::Fault,
        ids::{AgencyId, MemberId},
        record,
        record::Record as _,
    },
    slices::{
        agencies::{Agency, Locale},
        founding::Founding,
        members::AddMember,
    },
};

/// Units on screens and papers.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum UnitChoice {
    /// US customary
    Us,
    /// SI
    Si,
}

/// Read as the records write it.
fn locale(text: &str) -> Result<Locale, serde_json::Error> {
    serde_json::from_value(json!(text))
}

/// Found the first agency and its admin
#[derive(Debug, Args)]
pub struct Setup {
    #[command(flatten)]
    database: Database,
    /// The agency's name
    #[arg(long)]
    agency: String,
    /// The admin's email
    #[arg(long)]
    admin: String,
    /// The admin's name
    #[arg(long, default_value = "Admin")]
    name: String,
    /// The agency's time zone by IANA name
    #[arg(long, default_value = "America/Denver")]
    time_zone: Tz,
    /// The units that screens and papers show
    #[arg(long, default_value = "us")]
    units: UnitChoice,
    /// How screens spell and write dates: en-US, en-CA, en-GB, en-IE, en-AU or en-NZ; left out: en-US with units us, else en-GB
    #[arg(long, value_parser = locale)]
    locale: Option<Locale>,
    /// Read the password from standard input
    #[arg(long)]
    password_stdin: bool,
}

/// Sends commands and holds each answer to be applied.
pub async fn send(door: &Door, actor: &Arc<Actor>, commands: Vec<(&str, serde_json::Value)>) -> anyhow::Result<Vec<door::Answer>> {
    let commands = commands
        .into_iter()
        .map(|(kind, body)| {
            let body = own_body(&body).map_err(|fault| anyhow::anyhow!("{fault}"))?;
            Ok(Command {
                id: Uuid::now_v7(),
                kind: kind.to_owned(),
                at: None,
                expects: None,
                after: None,
                by: None,
                body,
            })
        })
        .collect::<anyhow::Result<Vec<_>>>()?;
    let batch = door.send(Arc::clone(actor), None, commands).await.map_err(|fault| explain(&fault))?;
    for answer in &batch.answers {
        if let Some(problem) = &answer.problem {
            bail!(
                "{}{}",
                problem.detail,
                problem.hint.as_ref().map(|hint| format!(" ({hint})")).unwrap_or_default()
            );
        }
    }
    Ok(batch.answers)
}

/// A fault with what only the log would keep: on the command line the reader is who runs the service.
pub fn explain(fault: &crate::platform::error::Fault) -> anyhow::Error {
    match &fault.cause {
        Some(cause) => anyhow::anyhow!("{}: {cause:#}", fault.detail),
        None => anyhow::anyhow!("{}{}", fault.detail, fault.hint.as_ref().map(|hint| format!(" ({hint})")).unwrap_or_default()),
    }
}

/// An error of the service with what only the log would keep.
pub fn in_full(error: anyhow::Error) -> anyhow::Error {
    match error.downcast::<Fault>() {
        Ok(Fault { cause: Some(cause), .. }) => cause,
        Ok(fault) => explain(&fault),
        Err(error) => error,
    }
}

impl Setup {
    pub fn run(self) -> anyhow::Result<()> {
        let password = password(self.password_stdin, false)?;
        let units = match self.units {
            UnitChoice::Us => Units::Us,
            UnitChoice::Si => Units::Si,
        };
        let founded = Founding {
            agency: self.agency,
            time_zone: self.time_zone,
            units,
            locale: self.locale,
            name: self.name,
            email: self.admin,
            password,
        };
        runtime()?.block_on(found(founded, &self.database.database, Clock::system()))?;
        println!("Founded. Start with: fullset serve --database ... and sign in with the admin's email.");
        Ok(())
    }
}

/// Founds an agency with its admin and a shop, on a database that is made where there is none.
pub async fn found(founding: Founding, location: &Location, clock: Clock) -> anyhow::Result<()> {
    Db::make(location)?;
    let door = app::door(location, clock)?;
    let begun = Db::open(location, Access::Write)?.transaction(Access::Write, |db| founding.begin(db, &door));
    let agency = begun.map_err(|fault| explain(&fault))?;
    founding.finish(&door, agency).await.map_err(|fault| explain(&fault))
}

fn named(db: &mut Db, agency: AgencyId) -> anyhow::Result<String> {
    let row = record::find(db, agency, Agency::KIND, agency.0)?;
    Ok(row.map(|row| row.label).unwrap_or_default())
}

/// The agency that a command is for: the only one, or the one named.
pub fn which(location: &Location, name: Option<&str>) -> anyhow::Result<AgencyId> {
    let mut db = Db::open(location, Access::Write)?;
    db.migrate()?;
    let agencies = door::agencies(&mut db)?;
    let mut fitting = Vec::new();
    for agency in agencies {
        let called = named(&mut db, agency)?;
        if name.is_none_or(|name| name == called) {
            fitting.push((agency, called));
        }
    }
    match fitting.as_slice() {
        [(agency, _)] => Ok(*agency),
        [] => bail!("no such agency here: found one with fullset setup --agency NAME --admin EMAIL"),
        several => bail!(
            "several agencies are kept here; name one with --agency: {}",
            several.iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(", ")
        ),
    }
}

/// The command line as an actor.
pub fn operator(agency: AgencyId) -> Arc<Actor> {
    Arc::new(Actor {
        role: Role::Admin,
        ..Actor::service(agency, "command line")
    })
}

/// Keep members
#[derive(Debug, Subcommand)]
pub enum Member {
    /// Add a member
    Add(AddMemberArguments),
}

/// Add a member
#[derive(Debug, Args)]
pub struct AddMemberArguments {
    #[command(flatten)]
    database: Database,
    /// The agency, where several are kept
    #[arg(long)]
    agency: Option<String>,
    /// The member's name
    #[arg(long)]
    name: String,
    /// The email that it signs in with
    #[arg(long)]
    email: String,
    /// crew, officer, shop, chief, coordinator or admin
    #[arg(long)]
    role: Role,
    /// Only in this district, by id
    #[arg(long)]
    district: Option<Uuid>,
    /// Only at this station, by id
    #[arg(long)]
    station: Option<Uuid>,
    /// Read the password from standard input
    #[arg(long)]
    password_stdin: bool,
}

impl Member {
    pub fn run(self) -> anyhow::Result<()> {
        let Self::Add(add) = self;
        let location = add.database.database;
        let agency = which(&location, add.agency.as_deref())?;
        let password = password(add.password_stdin, false)?;
        runtime()?.block_on(async move {
            let door = app::door(&location, Clock::system())?;
            let mut member = AddMember::value(MemberId(Uuid::now_v7()), &add.name, &add.email, add.role, &password);
            if let Some(fields) = member.as_object_mut() {
                fields.insert("district".into(), json!(add.district));
                fields.insert("station".into(), json!(add.station));
            }
            send(&door, &operator(agency), vec![("member.add", member)]).await?;
            println!("{} ({}) may sign in as {}.", add.name, add.role, add.email);
            Ok(())
        })
    }
}

/// Bring the tables up to this version
#[derive(Debug, Args)]
pub struct Migrate {
    #[command(flatten)]
    database: Database,
}

impl Migrate {
    pub fn run(self) -> anyhow::Result<()> {
        let ran = Db::open(&self.database.database, Access::Write)?.migrate()?;
        if ran.is_empty() {
            println!("The tables are up to date.");
        }
        for name in ran {
            println!("ran {name}");
        }
        Ok(())
    }
}
