//! The newer battery sets take the place of the older ones: two ladders are planned, the third is not yet. One station has entered who
//! belongs to its shifts, the others have not, and so hold their changeovers.

use crate::{
    catalogue::Family,
    county::County,
    people::{COORDINATOR, Reach},
    tell::{Teller, wire},
};
use anyhow::{Context as _, Result};
use chrono::{DateTime, Datelike as _, Days, NaiveDate, Utc};
use serde_json::json;
use uuid::Uuid;

const SHIFTS: [&str; 3] = ["A shift", "B shift", "C shift"];

/// The Monday after a day.
fn next_monday(day: NaiveDate) -> NaiveDate {
    day + Days::new(u64::from(7 - day.weekday().num_days_from_monday()))
}

impl Teller {
    /// Starts the rollout and plans its first rigs.
    pub async fn roll_out(&mut self, county: &County, now: DateTime<Utc>) -> Result<()> {
        let of = |family: Family| -> Vec<Uuid> { county.models.iter().filter(|(_, model)| model.family == family).map(|(id, _)| *id).collect() };
        let rollout = self.id();
        let minimums: Vec<_> = SHIFTS.iter().map(|shift| json!({ "shift": shift, "members": 1 })).collect();
        let mut acts = vec![wire(
            "rollout.start",
            json!({
                "id": rollout, "name": "Sparrowhale 54 for the 36 sets", "models": of(Family::Pack54), "replaces": of(Family::Pack36),
                "minimums": minimums, "banned_adapters": [], "most_a_week": 1, "note": "Packs of the two families look alike: mark them on arrival.",
            }),
        )];
        let first = next_monday(now.date_naive());
        for (name, week) in [("Ladder 18", Some(first)), ("Ladder 20", Some(first + Days::new(7))), ("Ladder 24", None)] {
            let (rig, _) = county.rigs.iter().find(|(_, rig)| rig.name == name).with_context(|| format!("no {name}"))?;
            let body = json!({ "id": self.id(), "rollout": rollout, "rig": rig, "week": week, "pieces": [] });
            acts.push(wire("rollout_rig.plan", body));
        }
        let (station, _) = county.stations.iter().find(|(_, station)| station.number == 18).context("no station 18")?;
        for (n, shift) in SHIFTS.iter().enumerate() {
            let own = county.members.iter().filter(|(_, member)| matches!(member.reach, Reach::Station(18)));
            let members: Vec<Uuid> = own.enumerate().filter(|(at, _)| at % SHIFTS.len() == n).map(|(_, (id, _))| *id).collect();
            acts.push(wire(
                "shift.add",
                json!({ "id": self.id(), "station": station, "name": shift, "members": members }),
            ));
        }
        self.send(&COORDINATOR, acts).await
    }
}
