//! Rigs for the scenes: things that meet the published figures, and whatever a scene varies.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, client::command, on_rig};

pub const FLAT: &str = "flat-face single";
pub const TWIN: &str = "twin-line";

/// One kind of thing with what the scenes vary.
#[derive(Clone, Copy)]
pub struct Thing {
    pub kind: &'static str,
    pub coupling: &'static str,
    pub far: &'static str,
    pub fluid: &'static str,
    pub psi: u32,
    pub battery: &'static str,
    pub gear: &'static str,
}

pub fn wet(kind: &'static str) -> Thing {
    Thing {
        kind,
        coupling: FLAT,
        far: FLAT,
        fluid: "mineral oil",
        psi: 10_400,
        battery: "",
        gear: "",
    }
}

pub fn dry(kind: &'static str) -> Thing {
    Thing {
        coupling: "",
        battery: "28V family",
        ..wet(kind)
    }
}

impl Thing {
    /// Ratings that meet the published figures (German fire chiefs' recommendation of 3 June 2025).
    fn ratings(self) -> Value {
        let by = |value: f64, unit: &str| json!({ "value": value, "unit": unit, "standard": "EN 13204", "edition": "2025" });
        match self.kind {
            "spreader" => json!({ "spreading_distance": by(730.0, "mm"), "rated_spreading_force": by(45.0, "kN") }),
            "cutter" => json!({ "cutter_opening": by(185.0, "mm") }),
            "ram" => json!({
                "push_force": by(100.0, "kN"),
                "retracted_length": { "value": 500, "unit": "mm" }, "extended_length": { "value": 1500, "unit": "mm" },
            }),
            "combination_tool" => {
                json!({ "spreading_distance": by(360.0, "mm"), "rated_spreading_force": by(36.0, "kN"), "cutter_opening": by(290.0, "mm") })
            }
            "hose" => json!({ "hose_length": { "value": 12, "unit": "m" } }),
            _ => json!({}),
        }
    }

    fn hookup(self) -> Value {
        let mut hookup = json!({});
        if !self.coupling.is_empty() && self.kind != "accessory" {
            hookup = json!({ "coupling": self.coupling, "fluid": self.fluid, "pressure": { "value": self.psi, "unit": "psi" } });
            if self.far != self.coupling {
                hookup["tool_coupling"] = json!(self.far);
            }
            if self.kind == "power_unit" {
                hookup["circuits"] = json!(2);
            }
        }
        if !self.battery.is_empty() {
            hookup["battery"] = json!(self.battery);
        }
        hookup
    }
}

/// A rig of its own at station 1, carrying these things; with the ids of the pieces in their order.
pub async fn rig(world: &World, things: &[Thing]) -> (Uuid, Vec<Uuid>) {
    let (county, coordinator) = (world.county(), world.coordinator());
    let rig = Uuid::now_v7();
    let mut all = vec![command(
        "rig.add",
        json!({ "id": rig, "name": format!("Scene {rig}"), "station": county.station_1 }),
    )];
    let mut ids = Vec::new();
    for thing in things {
        let id = add(&mut all, *thing, on_rig(rig));
        ids.push(id);
    }
    coordinator.apply(all).await;
    (rig, ids)
}

/// The commands that put one more thing somewhere: young, and fresh from its annual service.
pub fn add(all: &mut Vec<Value>, thing: Thing, place: Value) -> Uuid {
    let (model, id) = (Uuid::now_v7(), Uuid::now_v7());
    let mut body = json!({ "id": model, "name": format!("Scene {model}"), "kind": thing.kind, "hookup": thing.hookup(), "ratings": thing.ratings() });
    if !thing.gear.is_empty() {
        body["gear"] = json!(thing.gear);
    }
    all.push(command("model.add", body));
    let dates = json!({ "made_on": "2022-05-01", "in_service_since": "2022-06-01", "last_service_on": "2026-06-01" });
    let mut piece = json!({ "id": id, "tag": format!("{}-{id}", thing.kind), "model": model, "place": place });
    piece.as_object_mut().unwrap().extend(dates.as_object().unwrap().clone());
    all.push(command("piece.add", piece));
    id
}

pub async fn choose(world: &World, template: &str) {
    let admin = world.admin();
    let found = admin.find("/v1/grade-templates").await;
    let chosen = found["items"].as_array().unwrap().iter().find(|one| one["template"] == template).unwrap();
    let rev = admin.rev("/v1/agency").await;
    let body = json!({ "grades": chosen["grades"], "reason": "the scene's" });
    admin.post_on("/v1/agency/grade", rev, body).await.ok();
}

pub async fn standing(client: &Client, rig: Uuid) -> Value {
    client.find(&format!("/v1/rig-standings/{rig}")).await
}

pub async fn verdict(client: &Client, piece: Uuid) -> (String, String) {
    let standing = client.find(&format!("/v1/piece-standings/{piece}")).await;
    let first = standing["reasons"][0]["code"].as_str().unwrap_or_default().to_owned();
    (standing["verdict"].as_str().unwrap().to_owned(), first)
}

pub fn whole() -> Vec<Thing> {
    ["power_unit", "hose", "hose", "cutter", "spreader", "ram"].map(wet).to_vec()
}
