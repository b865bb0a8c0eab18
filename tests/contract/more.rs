//! More good bodies for acts: with the ids that the samples leave out. `others.rs` walks through all of them.

use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    samples::Sample,
    stage::{Stage, card_text, check_plan, receiver, sha256},
};
use crate::world::{Agency, World, acts::id_of, county::piece, on_rig, on_shelf};

/// What the further bodies need beside the stage.
pub struct More {
    /// The model of the stage's adapter.
    adapter: Uuid,
    /// A sign-in of the stage's member.
    sign_in: Uuid,
}

/// Acts whose further bodies are looked at only for being refused with a stranger's id: with the own one something else may stand in the way.
pub const NOT_AS_THEY_ARE: [&str; 3] = ["member_sign_out", "piece_edit", "ticket_open"];

fn new() -> Uuid {
    Uuid::now_v7()
}

/// A body with some of its fields set anew.
fn with(mut body: Value, fields: &[(&str, Value)]) -> Value {
    for (pointer, value) in fields {
        let (before, name) = pointer.rsplit_once('/').expect("a pointer");
        body.pointer_mut(before).expect("the field is in the sample")[name] = value.clone();
    }
    body
}

impl More {
    pub async fn of(world: &World, agency: &Agency, stage: &Stage) -> Self {
        let admin = world.member_of(agency, "admin");
        let adapter = admin.piece(stage.adapter).await["model"].take();
        let own = world.member_of(agency, "crew_2").find("/v1/session/sign-ins").await;
        Self {
            adapter: serde_json::from_value(adapter).expect("a piece has its model"),
            sign_in: id_of(&own["items"][0]),
        }
    }

    /// The sample of an operation, and what is to be tried beside it.
    pub fn bodies(&self, stage: &Stage, operation: &str) -> Vec<Sample> {
        let sample = stage.sample(operation);
        let further = [
            self.of_members(stage, operation, &sample),
            self.of_register(stage, operation, &sample),
            self.of_plans(stage, operation, &sample),
            self.of_rollouts(stage, operation, &sample),
        ];
        std::iter::once(sample).chain(further.into_iter().flatten()).collect()
    }

    fn of_members(&self, stage: &Stage, operation: &str, sample: &Sample) -> Vec<Sample> {
        let (north, none) = (json!(stage.county.north), Value::Null);
        let body = |fields: &[(&str, Value)]| Sample {
            target: sample.target,
            body: with(sample.body.clone(), fields),
        };
        match operation {
            "member_add" | "member_invite" | "api_key_add" => vec![body(&[("/district", north), ("/station", none)])],
            "member_edit" => vec![body(&[("/district", north)]), body(&[("/station", json!(stage.county.station_1))])],
            "member_sign_out" => vec![body(&[("/sign_in", json!(self.sign_in))])],
            _ => Vec::new(),
        }
    }

    fn of_register(&self, stage: &Stage, operation: &str, sample: &Sample) -> Vec<Sample> {
        let (c, m) = (&stage.county, &stage.county.models);
        let at = |target: Option<Uuid>, body: Value| Sample { target, body };
        match operation {
            "demand_set" => {
                let times = json!({ "source": "a road model", "stations": [c.station_1], "minutes": [[7.5]] });
                vec![at(sample.target, with(sample.body.clone(), &[("/times", times)]))]
            }
            "mishap_report" => vec![at(None, with(sample.body.clone(), &[("/station", json!(c.station_1))]))],
            "piece_add" => {
                let hose = piece(new(), &format!("P-{}", new()), m.hose, on_shelf(c.station_1))["body"].clone();
                let fixed = [("/fixed_to", json!(c.set_1.pump)), ("/home", on_shelf(c.station_1))];
                vec![at(None, with(hose, &fixed))]
            }
            "piece_edit" => vec![
                at(Some(c.spare_hose), json!({ "fixed_to": c.set_1.pump })),
                at(Some(c.spare_cutter), json!({ "model": m.twin_cutter, "reason": "the plate was read wrongly" })),
            ],
            "rig_edit" => {
                let body = json!({ "rig_class": c.truck_class, "reason": "it was rebuilt" });
                vec![at(Some(c.engine_2), body)]
            }
            "station_edit" => vec![at(sample.target, json!({ "district": c.south }))],
            "ticket_open" => {
                let body = json!({ "id": new(), "piece": stage.rams[8], "shop": c.shop, "what": "leaks", "defects": [stage.ram_defect] });
                vec![at(None, body)]
            }
            "tool_set_edit" => vec![at(sample.target, json!({ "home": on_rig(c.engine_1), "reason": "it goes back there" }))],
            _ => Vec::new(),
        }
    }

    fn of_plans(&self, stage: &Stage, operation: &str, sample: &Sample) -> Vec<Sample> {
        let (c, m) = (&stage.county, &stage.county.models);
        let at = |body: Value| Sample { target: sample.target, body };
        let anew = |fields: &[(&str, Value)]| at(with(sample.body.clone(), fields));
        match operation {
            "service_plan_save" | "service_plan_edit" => vec![anew(&[("/visits/0/stand_in", json!(stage.set))])],
            "check_plan_add" => {
                let mut plan = check_plan(&format!("After a drop of these {}", new()));
                plan["covers"]["models"] = json!([m.cutter]);
                vec![at(json!({ "id": new(), "plan": plan }))]
            }
            "check_plan_edit" => {
                let mut plan = check_plan("After a drop 0");
                plan["covers"]["models"] = json!([m.cutter]);
                vec![at(json!({ "plan": plan, "reason": "these alone" }))]
            }
            "calendar_feed_add" => [
                json!({ "of": "station", "station": c.station_1 }),
                json!({ "of": "district", "district": c.north }),
                json!({ "of": "shop", "shop": c.shop }),
            ]
            .into_iter()
            .map(|place| anew(&[("/id", json!(new())), ("/place", place), ("/secret_sha256", json!(sha256(new())))]))
            .collect(),
            "card_draft_add" => {
                let of_class = json!({ "of": "rig_class", "rig_class": c.engine_class });
                let of_model = json!({ "of": "model", "model": m.cutter });
                vec![
                    anew(&[("/subject", of_class)]),
                    anew(&[("/subject", of_model), ("/text/replaces", json!(m.twin_cutter))]),
                ]
            }
            "card_draft_edit" => {
                let mut text = card_text("1. Hose on");
                text["replaces"] = json!(m.twin_cutter);
                vec![at(json!({ "from_version": 0, "text": text }))]
            }
            "field_trial_open" => vec![anew(&[("/candidates/0/model", json!(m.cutter))])],
            _ => Vec::new(),
        }
    }

    fn of_rollouts(&self, stage: &Stage, operation: &str, sample: &Sample) -> Vec<Sample> {
        let c = &stage.county;
        let at = |body: Value| Sample { target: sample.target, body };
        let anew = |fields: &[(&str, Value)]| at(with(sample.body.clone(), fields));
        match operation {
            "rollout_start" | "rollout_edit" => vec![anew(&[("/banned_adapters", json!([self.adapter]))])],
            "rollout_rig_plan" | "rollout_rig_replan" => vec![anew(&[("/pieces", json!([stage.hose.0]))])],
            "receiver_add" => {
                let id = new();
                let places = [("/district", json!(c.north)), ("/station", json!(c.station_1))];
                vec![at(with(receiver(id, &format!("Dispatch {id}")), &places))]
            }
            "receiver_edit" => vec![anew(&[("/station", json!(c.station_1))])],
            _ => Vec::new(),
        }
    }
}
