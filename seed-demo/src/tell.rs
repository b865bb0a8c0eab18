//! Tells the plan to a service: first the register, then act by act, each at its moment and by whoever acts.

use crate::{
    ADMIN, PASSWORD, Person,
    catalogue::Family,
    client::Client,
    county::{County, HOSE_YEARS, Place},
    deeds::{Deed, Shops, Wire},
    dice::Dice,
    grades,
    people::{COORDINATOR, Reach},
    plan::{Plan, Scene},
    story::Act,
    when::{begins, today},
    zones::ZONES,
};
use anyhow::{Context as _, Result};
use chrono::{DateTime, TimeDelta, Utc};
use reqwest::Method;
use serde::Deserialize;
use serde_json::{Value, json};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// Tells the story to a service; `at` moves the service's clock.
pub async fn tell(base: &str, end: DateTime<Utc>, at: impl Fn(DateTime<Utc>)) -> Result<()> {
    let plan = Plan::of(today(end))?;
    let begin = begins(plan.county.today);
    at(begin);
    let mut teller = Teller {
        client: Client::new(base, begin)?,
        dice: Dice::new(0x7E11),
        now: begin,
    };
    let shops = teller.register(&plan.county).await.context("the register")?;
    for scene in plan.scenes(end) {
        match scene {
            Scene::WeeklyChecks(when) => {
                teller.go_to(when - TimeDelta::hours(1), &at).await?;
                teller.plan_checks().await.context("the check plans")?;
                // Before the cards: an operating card has the id of its model, and the teller would take its revision for the model's.
                teller.enter_prices(&plan.county).await.context("the prices")?;
                teller.write_cards(&plan.county).await.context("the operating cards")?;
                teller.try_candidates(&plan.county).await.context("the field trial")?;
                teller.go_to(when, &at).await?;
                teller.check_all(&plan.county).await.context("the weekly check")?;
            }
            Scene::TimeAlone(when) => {
                teller.go_to(when, &at).await?;
                teller.let_time_be_seen().await?;
            }
            Scene::Acts(when, who, acts) => {
                teller.go_to(when, &at).await?;
                teller.act(who, acts, &shops).await?;
            }
        }
    }
    teller.go_to(end, &at).await?;
    teller.name_crews(&plan.county, end).await.context("the crews")?;
    teller.roll_out(&plan.county, end).await.context("the rollout")?;
    teller.let_time_be_seen().await
}

#[derive(Debug, Deserialize)]
pub struct Page<T> {
    pub items: Vec<T>,
    pub next: Option<String>,
}

#[derive(Debug, Deserialize)]
struct Known {
    id: Uuid,
    rev: i64,
}

#[derive(Debug, Deserialize)]
struct Template {
    template: String,
    grades: Value,
}

#[derive(Debug, Deserialize)]
struct Held {
    holds_until: Option<DateTime<Utc>>,
}

pub struct Teller {
    pub client: Client,
    dice: Dice,
    now: DateTime<Utc>,
}

pub fn wire(kind: &'static str, body: Value) -> Wire {
    Wire { kind, body, expects: None }
}

impl Teller {
    async fn go_to(&mut self, instant: DateTime<Utc>, at: &impl Fn(DateTime<Utc>)) -> Result<()> {
        let instant = instant.max(self.now);
        self.client.look_ahead(instant).await?;
        self.now = instant;
        at(instant);
        self.client.clock(instant);
        Ok(())
    }

    /// The moment that is told.
    pub const fn now(&self) -> DateTime<Utc> {
        self.now
    }

    /// A new id of this moment.
    pub fn id(&mut self) -> Uuid {
        self.dice.id(self.now)
    }

    pub async fn send(&mut self, who: &'static Person, wires: Vec<Wire>) -> Result<()> {
        let commands = wires.into_iter().map(|wire| (self.dice.id(self.now), wire)).collect();
        self.client.send(who, commands).await
    }

    /// What one member does at one moment: in one batch, but for decisions on a record that the batch itself changes.
    async fn act(&mut self, who: &'static Person, acts: &[Act], shops: &Shops) -> Result<()> {
        let (mut waiting, mut touched) = (Vec::new(), Vec::new());
        for Act { deed, .. } in acts {
            let wire = Deed::wire(deed, shops);
            if wire.expects.is_some_and(|seen| touched.contains(&seen)) {
                self.send(who, std::mem::take(&mut waiting)).await?;
                touched.clear();
            }
            touched.extend(deed.touches());
            waiting.push(wire);
        }
        self.send(who, waiting).await
    }

    /// Waits until the service's clock has seen what changed by time alone.
    async fn let_time_be_seen(&mut self) -> Result<()> {
        let since = Instant::now();
        loop {
            let page: Page<Held> = self.client.get(&COORDINATOR, "/v1/rig-standings?limit=500").await?;
            let is_old = |held: &Held| held.holds_until.is_some_and(|until| until <= self.now);
            if !page.items.iter().any(is_old) || since.elapsed() > Duration::from_secs(5) {
                return Ok(());
            }
        }
    }

    /// Policy and members by the admin, everything else by the coordinator.
    async fn register(&mut self, county: &County) -> Result<Shops> {
        let agency: Known = self.client.get(ADMIN, "/v1/agency").await?;
        let policy = json!({
            "overdue_grace_days": 30, "annual_check_days": 365, "hose_life_years": HOSE_YEARS, "pressure_tolerance": 0.01,
            "batteries": "as_pieces", "adapters": true, "unknown_hose_age": null,
        });
        let body = json!({ "policy": policy });
        self.client.change(ADMIN, Method::PATCH, "/v1/agency", agency.rev, &body).await?;
        self.grades().await?;
        let districts = county
            .districts
            .iter()
            .map(|(id, district)| wire("district.add", json!({ "id": id, "name": district.name, "min_full": district.min_full })));
        let stations = county.stations.iter().map(|(id, station)| {
            let (number, district) = (station.number.to_string(), district_id(county, station.district));
            wire(
                "station.add",
                json!({ "id": id, "name": station.name, "number": number, "district": district, "lat": station.lat, "lon": station.lon }),
            )
        });
        self.send(ADMIN, districts.chain(stations).collect()).await?;
        let members = county.members.iter().map(|(id, member)| {
            let (district, station) = match member.reach {
                Reach::Agency => (None, None),
                Reach::District(name) => (district_id(county, name), None),
                Reach::Station(number) => (None, station_id(county, number)),
            };
            let person = member.person;
            let who = json!({ "id": id, "name": person.name, "email": person.email, "role": person.role, "district": district, "station": station, "password": PASSWORD });
            wire("member.add", who)
        });
        self.send(ADMIN, members.collect()).await?;
        self.catalogue(county).await
    }

    /// What the county calls limited, full and heavy.
    async fn grades(&mut self) -> Result<()> {
        let templates: Page<Template> = self.client.get(ADMIN, "/v1/grade-templates").await?;
        let template = templates.items.into_iter().find(|one| one.template == grades::TEMPLATE);
        let chosen = grades::county(template.context("the template is not there")?.grades)?;
        let agency: Known = self.client.get(ADMIN, "/v1/agency").await?;
        let body = json!({ "grades": chosen });
        self.client.change(ADMIN, Method::POST, "/v1/agency/grade", agency.rev, &body).await
    }

    async fn catalogue(&mut self, county: &County) -> Result<Shops> {
        let shops: Page<Known> = self.client.get(&COORDINATOR, "/v1/shops").await?;
        let fleet = shops.items.first().context("the agency has no shop")?;
        self.client.learn(fleet.id, fleet.rev);
        let shops = Shops {
            fleet: fleet.id,
            north: county.north_shop,
        };
        let mut wires = vec![
            Wire {
                kind: "shop.edit",
                body: json!({ "id": shops.fleet, "name": "Fleet shop, Old Town" }),
                expects: Some(shops.fleet),
            },
            wire("shop.add", json!({ "id": shops.north, "name": "North shop, Quarry Gate" })),
        ];
        for (name, under_pressure) in Family::couplings() {
            let id = self.dice.id(self.now);
            wires.push(wire("coupling.add", json!({ "id": id, "name": name, "under_pressure": under_pressure })));
        }
        wires.extend(county.models.iter().map(|(id, model)| {
            wire(
                "model.add",
                json!({
                    "id": id, "name": model.name, "kind": model.kind.wire(), "gear": model.gear, "family": model.signed_off_as(), "hookup": model.hookup, "ratings": model.ratings,
                }),
            )
        }));
        wires.extend(county.classes.iter().map(|(id, class)| {
            let class = json!({ "id": id, "name": class.name(), "complement": class.complement(), "expects": class.expects() });
            wire("rig_class.add", class)
        }));
        wires.extend(county.rigs.iter().map(|(id, rig)| {
            let rig = json!({ "id": id, "name": rig.name, "station": station_id(county, rig.station), "duty": rig.duty.wire() });
            wire("rig.add", rig)
        }));
        self.send(&COORDINATOR, wires).await?;
        self.send(&COORDINATOR, pieces(county, &shops)).await?;
        let mut wires: Vec<Wire> = county
            .units
            .iter()
            .filter_map(|unit| {
                let set = unit.set?;
                let name = if matches!(unit.place, Place::Rig(_)) {
                    format!("{} set", unit.name)
                } else {
                    unit.name.clone()
                };
                Some(wire(
                    "tool_set.add",
                    json!({ "id": set, "name": name, "home": shops.place(&unit.place), "pieces": unit.pieces }),
                ))
            })
            .collect();
        // Only now, with the tools aboard, does the class say what each rig must carry.
        wires.extend(county.rigs.iter().map(|(id, rig)| {
            let class = county.classes.iter().find(|(_, class)| *class == rig.class).map(|(id, _)| id);
            Wire {
                kind: "rig.edit",
                body: json!({ "id": id, "rig_class": class }),
                expects: Some(*id),
            }
        }));
        self.send(&COORDINATOR, wires).await?;
        self.demand().await?;
        Ok(shops)
    }

    async fn demand(&mut self) -> Result<()> {
        let agency = self.client.get::<Known>(&COORDINATOR, "/v1/agency").await?.id;
        let zones: Vec<Value> = ZONES
            .iter()
            .map(|(name, lat, lon, crashes)| json!({ "id": self.dice.id(self.now), "name": name, "lat": lat, "lon": lon, "weight": crashes }))
            .collect();
        let demand = json!({
            "id": agency, "source": "Invented counts for the demo county", "counts": "crashes a year", "target_minutes": 8, "detour": 1.3, "zones": zones,
        });
        self.send(&COORDINATOR, vec![wire("demand.set", demand)]).await
    }
}

fn pieces(county: &County, shops: &Shops) -> Vec<Wire> {
    let model = |name: &str| county.models.iter().find(|(_, model)| model.name == name).map(|(id, _)| id);
    let add = |piece: &crate::county::Piece| {
        let body = json!({
            "id": piece.id, "tag": piece.tag, "model": model(piece.model), "serial": piece.serial, "made_on": piece.made_on,
            "in_service_since": piece.since, "last_service_on": piece.served_on, "place": shops.place(&piece.place), "note": piece.note,
        });
        wire("piece.add", body)
    };
    county.pieces.iter().map(add).collect()
}

fn district_id(county: &County, name: &str) -> Option<Uuid> {
    county.districts.iter().find(|(_, district)| district.name == name).map(|(id, _)| *id)
}

fn station_id(county: &County, number: u8) -> Option<Uuid> {
    county.stations.iter().find(|(_, station)| station.number == number).map(|(id, _)| *id)
}
