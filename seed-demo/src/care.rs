//! How the county keeps its sets ready: weekly checks and a look after each use, by the starter plans of the service, and last Monday's
//! checks of everything that is aboard.

use crate::{
    TIME_ZONE,
    deeds::Wire,
    people::{COORDINATOR, CREW},
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

    /// The weekly check of everything that is in service aboard a rig.
    pub async fn check_all(&mut self) -> Result<()> {
        let plans: Page<Value> = self.client.get(&CREW, "/v1/check-plans?limit=500").await?;
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
            let page: Page<Aboard> = self.client.get(&CREW, &path).await?;
            let aboard = page
                .items
                .iter()
                .filter(|piece| piece.state == "in_service" && piece.place.get("at").is_some_and(|at| at == "rig"));
            let wires = aboard.filter_map(|piece| {
                let (plan, answers) = weekly.get(&piece.kind)?;
                Some(wire(
                    "check.record",
                    json!({ "plan": plan, "version": 1, "piece": piece.id, "answers": answers }),
                ))
            });
            let wires: Vec<Wire> = wires.collect();
            self.send(&CREW, wires).await?;
            match page.next {
                Some(next) => after = format!("&after={next}"),
                None => return Ok(()),
            }
        }
    }
}
