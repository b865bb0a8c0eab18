//! Who is on the rigs tonight, and what they are signed off on: every second member on all of it, the others not yet on spreader and ram;
//! on the newer battery tools one in three. What some are signed off on runs out within weeks.

use crate::{
    TIME_ZONE,
    county::County,
    deeds::Wire,
    people::{COORDINATOR, CREW, Reach},
    tell::{Page, Teller, wire},
};
use anyhow::{Context as _, Result};
use chrono::{DateTime, Days, NaiveTime, TimeZone as _, Utc};
use chrono_tz::Tz;
use serde::Deserialize;
use serde_json::json;
use uuid::Uuid;

#[derive(Debug, Deserialize)]
struct Parked {
    id: Uuid,
    station: Uuid,
    in_service: bool,
}

const ALL: &[&str] = &["power_unit", "cutter", "spreader", "ram"];
const NEW: &[&str] = &["combination_tool", "ram"];
const FIRST: &[&str] = &["power_unit", "cutter"];

/// Seven in the morning of the next day in the county's zone.
fn relief(now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let zone: Tz = TIME_ZONE.parse().ok()?;
    let day = now.with_timezone(&zone).date_naive().checked_add_days(Days::new(1))?;
    let at = zone.from_local_datetime(&day.and_time(NaiveTime::from_hms_opt(7, 0, 0)?)).earliest()?;
    Some(at.with_timezone(&Utc))
}

impl Teller {
    /// Signs the stations' members off and says who is on each of their rigs.
    pub async fn name_crews(&mut self, county: &County, now: DateTime<Utc>) -> Result<()> {
        let until = relief(now).context("a next morning")?;
        let year = now.date_naive() + Days::new(300);
        let soon = now.date_naive() + Days::new(24);
        let crews = county.members.iter().filter(|(_, member)| matches!(member.reach, Reach::Station(_)));
        let signed: Vec<Wire> = crews
            .enumerate()
            .flat_map(|(n, (id, member))| {
                // Who tries the demo as a crew finds a rig that this member may check.
                let all = n % 2 == 0 || member.person.email == CREW.email;
                let kinds = if all { ALL } else { FIRST };
                let until = if n % 7 == 3 { soon } else { year };
                let all = wire("member.sign_off", json!({ "id": id, "kinds": kinds, "until": until }));
                let new = json!({ "id": id, "kinds": NEW, "family": "Sparrowhale 54", "until": year });
                [Some(all), (n % 3 == 0).then(|| wire("member.sign_off", new))]
            })
            .flatten()
            .collect();
        self.send(&COORDINATOR, signed).await?;
        let rigs: Page<Parked> = self.client.get(&COORDINATOR, "/v1/rigs?limit=500").await?;
        for rig in rigs.items.iter().filter(|rig| rig.in_service) {
            let Some((_, station)) = county.stations.iter().find(|(id, _)| *id == rig.station) else {
                continue;
            };
            let at_home = |reach: Reach| matches!(reach, Reach::Station(own) if own == station.number);
            let aboard: Vec<_> = county.members.iter().filter(|(_, member)| at_home(member.reach)).collect();
            let Some((_, first)) = aboard.first() else { continue };
            let ids: Vec<Uuid> = aboard.iter().map(|(id, _)| *id).collect();
            let named = wire("crew.name", json!({ "id": rig.id, "members": ids, "until": until }));
            self.send(first.person, vec![named]).await?;
        }
        Ok(())
    }
}
