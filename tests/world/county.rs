//! The county that every test finds: two districts, three stations, two engines with full hose-fed sets of the flat-face
//! family, a truck with battery tools, a few reserves, and one family that fits none of them.

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use uuid::Uuid;

use super::client::command;

/// The places that a piece can be at.
pub fn on_rig(rig: Uuid) -> Value {
    json!({ "at": "rig", "rig": rig })
}

pub fn on_shelf(station: Uuid) -> Value {
    json!({ "at": "shelf", "station": station })
}

pub fn in_shop(shop: Uuid) -> Value {
    json!({ "at": "shop", "shop": shop })
}

pub fn on_the_way(to: Value) -> Value {
    json!({ "at": "transit", "to": to })
}

/// The models of the county's catalogue.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Models {
    pub pump: Uuid,
    pub cutter: Uuid,
    pub spreader: Uuid,
    pub ram: Uuid,
    pub hose: Uuid,
    /// Of the twin-line family, which mates with nothing else in the county.
    pub twin_cutter: Uuid,
    pub combi: Uuid,
    pub pack: Uuid,
}

/// The coupling families of the county's list. They do not mate.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Couplings {
    /// Of nearly every hose-fed model.
    pub flat_face: Uuid,
    /// Of the twin-line cutter alone.
    pub twin_line: Uuid,
}

/// A full hose-fed set.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Set {
    pub pump: Uuid,
    pub cutter: Uuid,
    pub spreader: Uuid,
    pub ram: Uuid,
    pub hose: Uuid,
    pub second_hose: Uuid,
}

/// Every id that tests name.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct County {
    pub north: Uuid,
    pub south: Uuid,
    /// In the north.
    pub station_1: Uuid,
    /// In the north.
    pub station_2: Uuid,
    /// In the south.
    pub station_3: Uuid,
    pub shop: Uuid,
    pub couplings: Couplings,
    pub engine_class: Uuid,
    pub truck_class: Uuid,
    pub models: Models,
    /// At station 1.
    pub engine_1: Uuid,
    /// At station 2.
    pub engine_2: Uuid,
    /// At station 3.
    pub truck_3: Uuid,
    pub set_1: Set,
    /// Its second hose reaches the end of its life at midnight before 1 December 2026.
    pub set_2: Set,
    /// A battery tool on the truck.
    pub combi_3: Uuid,
    /// The only reserve cutter, on the shelf of station 2.
    pub spare_cutter: Uuid,
    /// On the shelf of station 3.
    pub spare_hose: Uuid,
    /// On the shelf of station 1; fits no rig.
    pub twin_cutter: Uuid,
}

fn new<const N: usize>() -> [Uuid; N] {
    std::array::from_fn(|_| Uuid::now_v7())
}

fn set() -> Set {
    let [pump, cutter, spreader, ram, hose, second_hose] = new();
    Set {
        pump,
        cutter,
        spreader,
        ram,
        hose,
        second_hose,
    }
}

impl County {
    pub fn new() -> Self {
        let [north, south, station_1, station_2, station_3, shop, engine_class, truck_class] = new();
        let [pump, cutter, spreader, ram, hose, twin_cutter, combi, pack] = new();
        let models = Models {
            pump,
            cutter,
            spreader,
            ram,
            hose,
            twin_cutter,
            combi,
            pack,
        };
        let [flat_face, twin_line] = new();
        let [engine_1, engine_2, truck_3, combi_3, spare_cutter, spare_hose, spare_twin] = new();
        Self {
            north,
            south,
            station_1,
            station_2,
            station_3,
            shop,
            couplings: Couplings { flat_face, twin_line },
            engine_class,
            truck_class,
            models,
            engine_1,
            engine_2,
            truck_3,
            set_1: set(),
            set_2: set(),
            combi_3,
            spare_cutter,
            spare_hose,
            twin_cutter: spare_twin,
        }
    }

    /// The commands that make it, in order.
    pub fn commands(&self) -> Vec<Value> {
        let mut all = vec![command("agency.grade", json!({ "grades": grades(), "reason": "the committee of the year" }))];
        all.extend(self.places());
        all.extend(self.catalogue());
        all.push(command(
            "rig_class.add",
            json!({ "id": self.engine_class, "name": "Rescue engine", "complement": engine_complement(), "expects": "full" }),
        ));
        all.push(command(
            "rig_class.add",
            json!({ "id": self.truck_class, "name": "Light truck", "complement": truck_complement(), "expects": "limited" }),
        ));
        for (id, name, station, class) in [
            (self.engine_1, "Engine 1", self.station_1, self.engine_class),
            (self.engine_2, "Engine 2", self.station_2, self.engine_class),
            (self.truck_3, "Truck 3", self.station_3, self.truck_class),
        ] {
            all.push(command("rig.add", json!({ "id": id, "name": name, "station": station, "rig_class": class })));
        }
        all.extend(self.set_aboard(self.engine_1, "E1", &self.set_1, "2022-05-01"));
        all.extend(self.set_aboard(self.engine_2, "E2", &self.set_2, "2016-12-01"));
        all.push(piece(self.combi_3, "T3-COMBI", self.models.combi, on_rig(self.truck_3)));
        all.push(piece(self.spare_cutter, "R-CUT", self.models.cutter, on_shelf(self.station_2)));
        all.push(piece(self.spare_hose, "R-HOSE", self.models.hose, on_shelf(self.station_3)));
        all.push(piece(self.twin_cutter, "R-TWIN", self.models.twin_cutter, on_shelf(self.station_1)));
        all
    }

    fn places(&self) -> Vec<Value> {
        vec![
            command("district.add", json!({ "id": self.north, "name": "North", "min_full": 2 })),
            command("district.add", json!({ "id": self.south, "name": "South", "min_full": 1 })),
            command(
                "station.add",
                json!({ "id": self.station_1, "name": "Station 1", "number": "1", "district": self.north, "lat": 39.70, "lon": -105.00 }),
            ),
            command(
                "station.add",
                json!({ "id": self.station_2, "name": "Station 2", "number": "2", "district": self.north, "lat": 39.75, "lon": -105.00 }),
            ),
            command(
                "station.add",
                json!({ "id": self.station_3, "name": "Station 3", "number": "3", "district": self.south, "lat": 39.90, "lon": -105.10 }),
            ),
            command("shop.add", json!({ "id": self.shop, "name": "Fleet shop" })),
        ]
    }

    fn catalogue(&self) -> Vec<Value> {
        let m = &self.models;
        let flat = json!({ "coupling": "flat-face single", "fluid": "mineral oil", "pressure": { "value": 10400, "unit": "psi" } });
        let with = |more: Value| {
            let mut hookup = flat.clone();
            hookup.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
            hookup
        };
        let twin = with(json!({ "coupling": "twin-line" }));
        let rated = |value: f64, unit: &str| json!({ "value": value, "unit": unit, "standard": "NFPA 1936", "edition": "2015" });
        let opening = json!({ "cutter_opening": rated(8.1, "in") });
        let model = |id: Uuid, name: &str, kind: &str, hookup: Value, ratings: Value| {
            command(
                "model.add",
                json!({ "id": id, "name": name, "kind": kind, "hookup": hookup, "ratings": ratings }),
            )
        };
        let family = |id: Uuid, name: &str| command("coupling.add", json!({ "id": id, "name": name }));
        vec![
            family(self.couplings.flat_face, "flat-face single"),
            family(self.couplings.twin_line, "twin-line"),
            model(m.pump, "Dorvan P2", "power_unit", with(json!({ "circuits": 2 })), json!({})),
            model(m.cutter, "Dorvan C81", "cutter", flat.clone(), opening.clone()),
            model(
                m.spreader,
                "Dorvan S28",
                "spreader",
                flat.clone(),
                json!({ "spreading_distance": rated(28.9, "in") }),
            ),
            model(
                m.ram,
                "Dorvan R63",
                "ram",
                flat.clone(),
                json!({ "extended_length": { "value": 63.0, "unit": "in" } }),
            ),
            model(
                m.hose,
                "Dorvan H40",
                "hose",
                flat.clone(),
                json!({ "hose_length": { "value": 40.0, "unit": "ft" } }),
            ),
            model(m.twin_cutter, "Kessim TC", "cutter", twin, opening),
            model(
                m.combi,
                "Orvane B14",
                "combination_tool",
                json!({ "battery": "28V family" }),
                json!({ "spreading_distance": rated(13.8, "in") }),
            ),
            model(m.pack, "Orvane pack", "battery", json!({ "battery": "28V family" }), json!({})),
        ]
    }

    fn set_aboard(&self, rig: Uuid, tag: &str, set: &Set, second_hose_made_on: &str) -> Vec<Value> {
        let m = &self.models;
        let mut all: Vec<Value> = [
            (set.pump, "PUMP", m.pump),
            (set.cutter, "CUT", m.cutter),
            (set.spreader, "SPR", m.spreader),
            (set.ram, "RAM", m.ram),
            (set.hose, "HOSE1", m.hose),
            (set.second_hose, "HOSE2", m.hose),
        ]
        .map(|(id, what, model)| piece(id, &format!("{tag}-{what}"), model, on_rig(rig)))
        .into();
        all.last_mut().unwrap()["body"]["made_on"] = json!(second_hose_made_on);
        all
    }
}

/// `piece.add` for a piece that is young and fresh from its annual service.
pub fn piece(id: Uuid, tag: &str, model: Uuid, place: Value) -> Value {
    let body = json!({
        "id": id, "tag": tag, "model": model, "place": place, "serial": format!("S-{tag}"),
        "made_on": "2022-05-01", "in_service_since": "2022-06-01", "last_service_on": "2026-06-01",
    });
    command("piece.add", body)
}

/// What the county calls limited and full: a spreader or a combination tool begins an extrication; spreader, cutter and ram, two
/// of them at once, do a whole one.
pub fn grades() -> Value {
    let one = |id: &str, name: &str, kind: &str, minimums: Value| json!({ "id": id, "name": name, "alternatives": [{ "parts": [{ "kinds": [kind], "minimums": minimums }] }] });
    let opening = json!({ "cutter_opening": { "value": 7.0, "unit": "in", "standard": "NFPA 1936", "edition": "2015" } });
    json!({
        "limited": {
            "needs": [{ "id": "open", "name": "Spreader or combination tool", "alternatives": [
                { "parts": [{ "kinds": ["combination_tool"] }] },
                { "parts": [{ "kinds": ["spreader"] }] },
            ] }],
            "tools_at_once": 1,
            "hand_pump": true,
        },
        "full": {
            "needs": [one("spread", "Spreader", "spreader", json!({})), one("cut", "Cutter", "cutter", opening), one("push", "Ram", "ram", json!({}))],
            "tools_at_once": 2,
        },
    })
}

fn slot(id: &str, name: &str, kind: &str) -> Value {
    json!({ "id": id, "name": name, "kinds": [kind], "required": true })
}

/// What an engine must carry.
pub fn engine_complement() -> Value {
    json!({
        "slots": [
            slot("power", "Power unit", "power_unit"),
            slot("hose", "Hose", "hose"),
            slot("spreader", "Spreader", "spreader"),
            slot("cutter", "Cutter", "cutter"),
            slot("ram", "Ram", "ram"),
            slot("second-hose", "Second hose", "hose"),
        ],
    })
}

/// What a light truck must carry.
pub fn truck_complement() -> Value {
    json!({ "slots": [slot("combi", "Combination tool", "combination_tool")] })
}
