//! A rollout as the tests begin with it.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, Reply, World,
    acts::{id_of, paper, tested},
    command,
    county::piece,
    in_shop, on_shelf,
};

/// A new set of the old couplings that holds another fluid, and what it needs.
pub struct Rollout {
    pub id: Uuid,
    /// Its place for Engine 1.
    pub rig: Uuid,
    pub pump: Uuid,
    pub cutter: Uuid,
    pub hose: Uuid,
    pub models: [Uuid; 3],
    /// Joins the twin-line family, of which the rollout has nothing.
    pub adapter: Uuid,
}

pub const WEEK: &str = "2026-11-23";

impl Rollout {
    /// The models, three pieces on the shelf of station 1, an adapter; nothing is started.
    pub async fn set(world: &World) -> Self {
        let fresh = Uuid::now_v7;
        let (county, admin) = (world.county(), world.admin());
        let all = Self {
            id: fresh(),
            rig: fresh(),
            pump: fresh(),
            cutter: fresh(),
            hose: fresh(),
            models: [fresh(), fresh(), fresh()],
            adapter: fresh(),
        };
        let hookup = json!({ "coupling": "flat-face single", "fluid": "phosphate ester", "pressure": { "value": 10400, "unit": "psi" } });
        let mut acts = Vec::new();
        for (id, name, kind, family) in [
            (all.models[0], "Vantor P4", "power_unit", json!("Vantor 4")),
            (all.models[1], "Vantor C4", "cutter", json!("Vantor 4")),
            (all.models[2], "Vantor H4", "hose", Value::Null),
        ] {
            acts.push(command(
                "model.add",
                json!({ "id": id, "name": name, "kind": kind, "family": family, "hookup": hookup }),
            ));
        }
        let bridge = json!({ "coupling": "twin-line", "tool_coupling": "flat-face single" });
        acts.push(command(
            "model.add",
            json!({ "id": all.adapter, "name": "Bridge TF", "kind": "adapter", "hookup": bridge }),
        ));
        for (id, tag, model) in [
            (all.pump, "N-PUMP", all.models[0]),
            (all.cutter, "N-CUT", all.models[1]),
            (all.hose, "N-HOSE", all.models[2]),
        ] {
            acts.push(piece(id, tag, model, on_shelf(county.station_1)));
        }
        admin.apply(acts).await;
        all
    }

    pub fn body(&self, world: &World) -> Value {
        let m = world.county().models;
        json!({
            "id": self.id, "name": "The new engines' sets", "models": self.models, "replaces": [m.pump, m.cutter, m.spreader, m.ram, m.hose],
            "minimums": [{ "shift": "A shift", "members": 2 }, { "shift": "B shift", "members": 1 }], "banned_adapters": [self.adapter], "most_a_week": 1,
        })
    }

    pub fn plan(&self, world: &World, week: Value, pieces: &[Uuid]) -> Value {
        json!({ "id": self.rig, "rollout": self.id, "rig": world.county().engine_1, "week": week, "pieces": pieces })
    }

    /// Started, and Engine 1 planned for this week with all three pieces.
    pub async fn begin(&self, world: &World) {
        let coordinator = world.coordinator();
        coordinator.post("/v1/rollouts", self.body(world)).await.ok();
        let plan = self.plan(world, json!(WEEK), &[self.pump, self.cutter, self.hose]);
        coordinator.post("/v1/rollout-rigs", plan).await.ok();
    }

    /// Everything that Engine 1 needs, but the sign-offs.
    pub async fn prepare(&self, world: &World) {
        self.begin(world).await;
        let (coordinator, officer) = (world.coordinator(), world.officer());
        for id in [self.pump, self.cutter, self.hose] {
            accept(&world.shop(), id).await;
        }
        for model in [self.models[0], self.models[1]] {
            card(&coordinator, model).await;
        }
        for what in ["marked", "stowed"] {
            self.confirm(&officer, what).await.ok();
        }
        self.shifts(world).await;
    }

    /// A shift: officer and crew; B shift: the shop's member.
    pub async fn shifts(&self, world: &World) {
        let officer = world.officer();
        for (name, members) in [
            ("A shift", vec![world.crew().person.id, officer.person.id]),
            ("B shift", vec![world.member("crew_1").person.id]),
        ] {
            let body = json!({ "id": Uuid::now_v7(), "station": world.county().station_1, "name": name, "members": members });
            officer.post("/v1/shifts", body).await.ok();
        }
    }

    pub async fn confirm(&self, client: &Client, what: &str) -> Reply {
        let body = json!({ "what": what, "words": "left side, second compartment" });
        client.post(&format!("/v1/rollout-rigs/{}/confirm", self.rig), body).await
    }

    pub async fn change_over(&self, client: &Client, world: &World) -> Reply {
        let path = format!("/v1/rollout-rigs/{}", self.rig);
        let rev = client.rev(&path).await;
        let body = json!({ "old_to": in_shop(world.county().shop), "words": "at the noon relief" });
        client.post_on(&format!("{path}/change-over"), rev, body).await
    }

    /// The stages that hold the changeover up, with what is said of them.
    pub async fn held(&self, world: &World) -> Vec<(String, String)> {
        let refused = self.change_over(&world.officer(), world).await.refused(409, "rule-broken");
        let errors = refused["errors"].as_array().unwrap_or_else(|| panic!("{refused}")).iter();
        let word = |value: &Value| value.as_str().unwrap().to_owned();
        let all: Vec<_> = errors.map(|one| (word(&one["field"]).replace("stages.", ""), word(&one["detail"]))).collect();
        for (_, words) in &all {
            assert!(refused["detail"].as_str().unwrap().contains(words), "{refused}");
        }
        all
    }

    pub async fn holds(&self, world: &World) -> BTreeSet<String> {
        self.held(world).await.into_iter().map(|(stage, _)| stage).collect()
    }
}

pub async fn accept(shop: &Client, id: Uuid) {
    let mut evidence = tested();
    evidence["makers_service"] = paper("2026-11-25");
    let body = json!({ "id": id, "on": "2026-11-25", "by_whom": "the maker", "evidence": evidence });
    shop.post(&format!("/v1/pieces/{id}/serviced"), body).await.ok();
}

pub async fn card(coordinator: &Client, model: Uuid) {
    let text = json!({
        "stowed": "", "start": "1. Hose on", "levers": "", "controls": "", "differs": "The valve is on the left", "shut_down": "", "restow": "",
        "care": "", "cautions": "", "replaces": null, "pictures": [],
    });
    let draft = json!({ "id": Uuid::now_v7(), "subject": { "of": "model", "model": model }, "from_version": 0, "text": text });
    let path = format!("/v1/card-drafts/{}", id_of(&coordinator.post("/v1/card-drafts", draft).await.record()));
    coordinator
        .post_on(&format!("{path}/approve"), coordinator.rev(&path).await, json!({}))
        .await
        .ok();
}

/// Signs a member off on the new family, or with none on the kinds alone.
pub async fn sign_off(by: &Client, member: Uuid, family: Value, until: &str) {
    let body = json!({ "kinds": ["power_unit", "cutter"], "family": family, "until": until });
    by.post(&format!("/v1/members/{member}/sign-offs"), body).await.ok();
}

pub fn set<const N: usize>(words: [&str; N]) -> BTreeSet<String> {
    words.map(str::to_owned).into()
}
