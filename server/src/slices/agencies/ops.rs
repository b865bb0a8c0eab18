use chrono_tz::Tz;
use fullset_calc::units::Units;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{Agency, Policy};
use crate::platform::{
    door::{Act, Permission, Write},
    error::Fault,
    record::Scope,
};

/// Founds the agency's record: its first command.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FoundAgency {
    /// Its name.
    pub name: String,
    /// Its time zone by IANA name.
    #[schema(value_type = String)]
    pub time_zone: Tz,
    /// The units it works in.
    pub units: Units,
}

impl Act for FoundAgency {
    const KIND: &'static str = "agency.found";
    const SUMMARY: &'static str = "Found the agency: its first command, sent by `fullset setup`";
    const NEEDS: &'static [Permission] = &[Permission::Service];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let id = write.agency;
        write.unused::<Agency>(id)?;
        let agency = Agency {
            id,
            name: named(&self.name)?,
            time_zone: self.time_zone,
            units: self.units,
            policy: Policy::default(),
            rev: 0,
        };
        write.save(agency, Scope::default())
    }
}

/// Changes the agency's name, time zone, units or policy. Every rig's capability is worked out again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditAgency {
    /// New name.
    pub name: Option<String>,
    /// New time zone.
    #[schema(value_type = Option<String>)]
    pub time_zone: Option<Tz>,
    /// New units.
    pub units: Option<Units>,
    /// New policy, whole.
    pub policy: Option<Policy>,
}

impl Act for EditAgency {
    const KIND: &'static str = "agency.edit";
    const SUMMARY: &'static str = "Change the agency's name, time zone, units or policy";
    const NEEDS: &'static [Permission] = &[Permission::Administer];

    fn prepare(&mut self) -> Result<(), Fault> {
        if let Some(name) = &self.name {
            named(name)?;
        }
        let Some(policy) = &self.policy else { return Ok(()) };
        let held = [
            ("annual_check_days", (1..=3650).contains(&policy.annual_check_days), "from 1 to 3650 days"),
            (
                "overdue_grace_days",
                policy.overdue_grace_days.is_none_or(|days| days <= 3650),
                "from 0 to 3650 days, or null",
            ),
            ("hose_life_years", (1..=50).contains(&policy.hose_life_years), "from 1 to 50 years"),
            (
                "pressure_tolerance",
                (0.0..=0.02).contains(&policy.pressure_tolerance),
                "a part of 1, from 0 to 0.02",
            ),
            ("photo_quota_mb", policy.photo_quota_mb <= 10_000_000, "from 0 to 10,000,000 MB"),
        ];
        match held.into_iter().find(|(_, held, _)| !held) {
            Some((field, _, range)) => Err(Fault::field(format!("body.policy.{field}"), format!("This is {range}"))),
            None => Ok(()),
        }
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let id = write.agency;
        let stored = write.find::<Agency>(id)?;
        write.expects(&stored)?;
        let mut agency = stored.record;
        let judged_by = |agency: &Agency| (agency.time_zone, agency.units, agency.policy.clone());
        let before = judged_by(&agency);
        if let Some(name) = self.name {
            agency.name = named(&name)?;
        }
        agency.time_zone = self.time_zone.unwrap_or(agency.time_zone);
        agency.units = self.units.unwrap_or(agency.units);
        agency.policy = self.policy.unwrap_or(agency.policy);
        let same = judged_by(&agency) == before;
        write.save(agency, Scope::default())?;
        if same { Ok(()) } else { write.reconsider_all() }
    }
}

/// The day in the agency's time zone, by the server's time for this command.
pub fn today(write: &mut Write<'_>) -> Result<chrono::NaiveDate, Fault> {
    let (agency, now) = (write.agency, write.now());
    let zone = write.find::<Agency>(agency)?.record.time_zone;
    Ok(now.with_timezone(&zone).date_naive())
}

fn named(name: &str) -> Result<String, Fault> {
    crate::platform::door::name("body.name", name)
}
