//! How the county keeps its sets ready: weekly checks and a look after each use, by the starter plans of the service, and last Monday's
//! checks of everything that is aboard.

use crate::{
    Person, TIME_ZONE,
    county::County,
    deeds::Wire,
    people::{COORDINATOR, Reach},
    tell::{Page, Teller, wire},
};
use anyhow::{Context as _, Result};
use chrono::{DateTime, Datelike as _, Days, NaiveTime, TimeDelta, TimeZone as _, Utc};
use chrono_tz::Tz;
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A plan to begin with.
#[derive(Debug, Deserialize)]
struct Starter {
    key: String,
    plan: Value,
}

#[derive(Debug, Deserialize)]
struct Aboard {
    id: Uuid,
    kind: String,
    state: String,
    place: Value,
}

#[derive(Debug, Deserialize)]
struct Parked {
    id: Uuid,
    station: Uuid,
}

/// A member of that station's crew.
fn who_checks(county: &County, station: Uuid) -> Option<&'static Person> {
    let number = county.stations.iter().find(|(id, _)| *id == station)?.1.number;
    let at = |reach: Reach| matches!(reach, Reach::Station(own) if own == number);
    county.members.iter().find(|(_, member)| at(member.reach)).map(|(_, member)| member.person)
}

/// The county's last weekly check: the last Monday morning that lies an hour and more before the story's end.
pub fn last_round(end: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let zone: Tz = TIME_ZONE.parse().ok()?;
    let local = end.with_timezone(&zone);
    let at = NaiveTime::from_hms_opt(8, 40, 0)?;
    let monday = local.date_naive() - Days::new(u64::from(local.weekday().num_days_from_monday()));
    let rounds = [monday, monday - Days::new(7)]
        .into_iter()
        .filter_map(|day| zone.from_local_datetime(&day.and_time(at)).earliest());
    rounds.map(|round| round.with_timezone(&Utc)).find(|round| *round + TimeDelta::hours(1) <= end)
}

/// What a sound piece is answered with; none for what is asked for in words or pictures.
fn sound(step: &Value) -> Option<Value> {
    let ask = step.get("ask")?;
    let said = match ask.get("kind")?.as_str()? {
        "yes_no" => json!({ "kind": "yes_no", "yes": ask.get("sound")? }),
        "choice" => json!({ "kind": "choice", "option": ask.get("passing")?.get(0)? }),
        _ => return None,
    };
    Some(json!({ "step": step.get("id")?, "said": said }))
}

impl Teller {
    /// Puts the weekly plans and those after use in force.
    pub async fn plan_checks(&mut self) -> Result<()> {
        let starters: Page<Starter> = self.client.get(&COORDINATOR, "/v1/check-plans/starters").await?;
        let ours = starters
            .items
            .into_iter()
            .filter(|starter| starter.key.starts_with("weekly-") || starter.key.starts_with("after-use-"));
        let wires: Vec<Wire> = ours
            .map(|starter| wire("check_plan.add", json!({ "id": self.id(), "plan": starter.plan })))
            .collect();
        self.send(&COORDINATOR, wires).await
    }

    /// The weekly check of everything that is in service aboard a rig, each by a member of its station.
    pub async fn check_all(&mut self, county: &County) -> Result<()> {
        let rigs: Page<Parked> = self.client.get(&COORDINATOR, "/v1/rigs?limit=500").await?;
        let checkers: BTreeMap<Uuid, &'static Person> = rigs
            .items
            .iter()
            .map(|rig| (rig.id, who_checks(county, rig.station).unwrap_or(&COORDINATOR)))
            .collect();
        let plans: Page<Value> = self.client.get(&COORDINATOR, "/v1/check-plans?limit=500").await?;
        let mut weekly: BTreeMap<String, (Value, Vec<Value>)> = BTreeMap::new();
        for record in plans.items {
            let plan = record.get("plan").context("a plan says what it is")?;
            let is_weekly = plan
                .get("rhythm")
                .and_then(|rhythm| rhythm.get("every"))
                .is_some_and(|every| every == "calendar");
            let steps = plan.get("steps").and_then(Value::as_array);
            for kind in plan
                .pointer("/covers/kinds")
                .and_then(Value::as_array)
                .into_iter()
                .flatten()
                .filter(|_| is_weekly)
            {
                let answers = steps.into_iter().flatten().filter_map(sound).collect();
                let id = record.get("id").context("a plan has an id")?.clone();
                weekly.insert(kind.as_str().unwrap_or_default().to_owned(), (id, answers));
            }
        }
        let mut after = String::new();
        loop {
            let path = format!("/v1/pieces?limit=500{after}");
            let page: Page<Aboard> = self.client.get(&COORDINATOR, &path).await?;
            let mut by: BTreeMap<&'static str, (&'static Person, Vec<Wire>)> = BTreeMap::new();
            for piece in page.items.iter().filter(|piece| piece.state == "in_service") {
                let rig = piece.place.get("rig").and_then(Value::as_str).and_then(|rig| rig.parse().ok());
                let Some(who) = rig.and_then(|rig: Uuid| checkers.get(&rig)) else { continue };
                let Some((plan, answers)) = weekly.get(&piece.kind) else { continue };
                let check = wire("check.record", json!({ "plan": plan, "version": 1, "piece": piece.id, "answers": answers }));
                by.entry(who.email).or_insert_with(|| (*who, Vec::new())).1.push(check);
            }
            for (who, wires) in by.into_values() {
                self.send(who, wires).await?;
            }
            match page.next {
                Some(next) => after = format!("&after={next}"),
                None => return Ok(()),
            }
        }
    }
}
