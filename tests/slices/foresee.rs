//! What a phone foresees of its own waiting acts, held against the service: the cases are those of the dashboard's own tests.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, rev_of},
    command,
    county::{self, piece},
    expecting, on_both, on_rig,
};

const CASES: &str = include_str!("../../dashboard/src/store/foresee.cases.json");

/// A case's words and the ids that stand for them.
type Names = BTreeMap<String, Uuid>;

fn texts(list: &Value) -> Vec<String> {
    let list = list.as_array().unwrap_or_else(|| panic!("no list: {list}"));
    let mut all: Vec<String> = list.iter().map(|text| text.as_str().expect("a text").to_owned()).collect();
    all.sort();
    all
}

/// A body with ids in place of names.
fn named(body: &Value, names: &Names) -> Value {
    match body {
        Value::String(text) => names.get(text).map_or_else(|| body.clone(), |id| json!(id)),
        Value::Array(list) => list.iter().map(|one| named(one, names)).collect(),
        Value::Object(fields) => fields.iter().map(|(field, value)| (field.clone(), named(value, names))).collect(),
        other => other.clone(),
    }
}

/// One line is enough, as in the cases; and a model of what no grade asks for.
async fn prepare(world: &World) -> Uuid {
    let mut grades = county::grades();
    grades["full"]["tools_at_once"] = json!(1);
    let chains = Uuid::now_v7();
    let admin = world.admin();
    let rev = admin.rev("/v1/agency").await;
    admin
        .apply(vec![
            expecting(command("agency.grade", json!({ "grades": grades, "reason": "one line is enough" })), rev),
            command(
                "model.add",
                json!({ "id": chains, "name": "Chain set", "kind": "accessory", "hookup": {}, "ratings": {} }),
            ),
        ])
        .await;
    chains
}

/// The rig of a case with its pieces, another rig beside it, and the defects that are open before.
async fn stage(world: &World, n: usize, case: &Value, aboard: &Value, chains: Uuid) -> Names {
    let (county, officer) = (world.county(), world.officer());
    let models = county.models;
    let mut names = Names::from([("S".to_owned(), county.station_3)]);
    let mut writes = Vec::new();
    for rig in ["R", "OTHER"] {
        let id = Uuid::now_v7();
        names.insert(rig.to_owned(), id);
        writes.push(command(
            "rig.add",
            json!({ "id": id, "name": format!("{rig} {n}"), "station": county.station_1, "rig_class": null }),
        ));
    }
    for one in aboard.as_array().expect("pieces") {
        let (id, tag) = (Uuid::now_v7(), one["tag"].as_str().expect("a tag"));
        let model = match one["kind"].as_str().expect("a kind") {
            "power_unit" => models.pump,
            "hose" => models.hose,
            "cutter" => models.cutter,
            "spreader" => models.spreader,
            "ram" => models.ram,
            "accessory" => chains,
            other => panic!("no model of a {other}"),
        };
        names.insert(tag.to_owned(), id);
        writes.push(piece(id, &format!("{n}-{tag}"), model, on_rig(names["R"])));
    }
    world.admin().apply(writes).await;
    for (name, piece) in case["defects"].as_object().into_iter().flatten() {
        let piece = names[piece.as_str().expect("a tag")];
        let defect = id_of(&officer.report(piece, "play in the arm", "usable").await.record());
        names.insert(name.clone(), defect);
    }
    names
}

/// The server's answer before the acts is the one that the case begins with.
async fn begins_so(reader: &Client, what: &str, standing: &Value, names: &Names) {
    let said = reader.capability(names["R"]).await;
    let ids = |tags: &Value| {
        let mut ids: Vec<String> = texts(tags).iter().map(|tag| names[tag].to_string()).collect();
        ids.sort();
        ids
    };
    assert_eq!((&said["level"], &said["margin"]), (&standing["level"], &standing["margin"]), "{what}: {said}");
    assert_eq!(texts(&said["critical"]), ids(&standing["critical"]), "{what}");
    let mut filled: Vec<Value> = Vec::new();
    for need in said["needs"].as_array().expect("needs") {
        filled.extend(need["pieces"].as_array().expect("pieces").iter().cloned());
    }
    for (need, tag) in standing["needs"].as_object().expect("needs") {
        let tag = tag.as_str().expect("a tag");
        let found = filled.iter().find(|one| one["piece"] == json!(names[tag]));
        let via = &found.unwrap_or_else(|| panic!("{what}: {tag} does not {need}: {said}"))["via"];
        assert_eq!(via["source"], json!(named(&standing["line"]["source"], names)), "{what}");
        assert_eq!(via["parts"], named(&standing["line"]["parts"], names), "{what}");
    }
}

/// The acts as the phone would send them, each decided on what it is about.
async fn send(officer: &Client, acts: &Value, names: &mut Names) {
    for act in acts.as_array().expect("acts") {
        let (kind, body) = (act["kind"].as_str().expect("a kind"), &act["body"]);
        let own = body["id"].as_str().expect("an id").to_owned();
        names.entry(own.clone()).or_insert_with(Uuid::now_v7);
        let mut sent = command(kind, named(body, names));
        if matches!(kind, "piece.move" | "swap.start") {
            let about = body["piece"].as_str().unwrap_or(&own);
            let rev = rev_of(&officer.piece(names[about]).await);
            sent = expecting(sent, rev);
        }
        officer.apply(vec![sent]).await;
    }
}

on_both!(what_a_phone_foresees_is_what_the_server_then_says, async |world: &World| {
    let table: Value = serde_json::from_str(CASES).expect("the cases can be read");
    let officer = world.officer();
    let chains = prepare(world).await;
    let cases = table["cases"].as_array().expect("cases");
    assert!(cases.len() >= 13, "cases are missing");
    for (n, case) in cases.iter().enumerate() {
        let what = case["name"].as_str().expect("a name");
        let rig = case["rig"].as_str().expect("a rig");
        let (aboard, standing) = (&table["aboard"][rig], &table["standings"][rig]);
        let mut names = stage(world, n, case, aboard, chains).await;
        begins_so(&officer, what, standing, &names).await;
        let tags: Vec<String> = aboard
            .as_array()
            .expect("pieces")
            .iter()
            .map(|one| one["tag"].as_str().expect("a tag").to_owned())
            .collect();
        let untouched = officer.piece(names[&tags[0]]).await;
        assert_eq!(texts(&untouched["allows"]), texts(&table["allowed"]), "{what}");

        send(&officer, &case["acts"], &mut names).await;

        let mut unusable = Vec::new();
        for tag in &tags {
            let said = officer.find(&format!("/v1/piece-standings/{}", names[tag])).await;
            if said["verdict"] == "no" {
                unusable.push(tag.clone());
            }
        }
        unusable.sort();
        assert_eq!(unusable, texts(&case["unusable"]), "{what}");
        let level = officer.capability(names["R"]).await["level"].clone();
        if case["lowered"] == true {
            assert!(level == "none" || level == "limited", "{what}: the rig is {level}");
        } else {
            assert_eq!(level, standing["level"], "{what}");
        }
        for (tag, offered) in case["allows"].as_object().into_iter().flatten() {
            let allows = texts(&officer.piece(names[tag]).await["allows"]);
            for act in texts(offered) {
                assert!(allows.contains(&act), "{what}: {tag} does not allow {act}, only {allows:?}");
            }
        }
    }
});
