//! Records whose body has changed its shape: what an earlier version wrote is read in the shape of now, wherever it is read.

use std::sync::Arc;

use diesel::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{Act, Command, Door, GroupLimits, Outcome, Permission, Reach, Registry, Write, authority::TRUSTING, bring_up, found, history, own_body};
use crate::{
    on,
    platform::{
        auth::{Actor, Role},
        bodies::{self, Upcast},
        clock::Clock,
        db::{
            Access, Db, Location,
            schema::{record, replaced},
        },
        error::Fault,
        ids::{AgencyId, MemberId},
        past,
        record::{self as records, Index, Record, Scope},
    },
};

/// Version 1 was `name` and `watts`, version 2 `name` and `power` in W, version 3 is `name` and `power` with its unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
struct Lamp {
    id: Uuid,
    name: String,
    power: Power,
    rev: i64,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
struct Power {
    value: f64,
    unit: String,
}

fn watts_are_power(fields: &mut Map<String, Value>) {
    if let Some(watts) = fields.remove("watts") {
        fields.insert("power".into(), watts);
    }
}

fn power_has_a_unit(fields: &mut Map<String, Value>) {
    if let Some(value) = fields.remove("power") {
        fields.insert("power".into(), json!({ "value": value, "unit": "W" }));
    }
}

impl Record for Lamp {
    const KIND: &'static str = "lamp";
    const UPCASTS: &'static [Upcast] = &[watts_are_power, power_has_a_unit];

    fn id(&self) -> Uuid {
        self.id
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            state: self.power.unit.clone(),
            ..Index::default()
        }
    }
}

/// Hangs a lamp, or another in its place.
#[derive(Debug, Clone, Deserialize, ToSchema)]
struct Hang {
    id: Uuid,
    watts: f64,
}

impl Act for Hang {
    const KIND: &'static str = "lamp.hang";
    const SUMMARY: &'static str = "Hang a lamp";
    const DONE: &'static str = "Lamp hung";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Anywhere("a test");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let before = write.all::<Lamp>()?.into_iter().find(|lamp| lamp.record.id == self.id);
        let name = before.map_or_else(|| "Mast".to_owned(), |lamp| lamp.record.name);
        let power = Power {
            value: self.watts,
            unit: "W".into(),
        };
        write.save(
            Lamp {
                id: self.id,
                name,
                power,
                rev: 0,
            },
            Scope::default(),
        )
    }
}

fn hang(id: Uuid, watts: f64) -> Command {
    Command {
        id: Uuid::now_v7(),
        kind: Hang::KIND.into(),
        at: None,
        expects: None,
        after: None,
        by: None,
        body: own_body(&json!({ "id": id, "watts": watts })).unwrap(),
    }
}

fn registry() -> Registry {
    let mut registry = Registry::new(|_, _| Ok(()), TRUSTING);
    registry.add::<Hang>();
    registry.know::<Lamp>();
    registry
}

fn power(body: &str) -> Value {
    serde_json::from_str::<Value>(body).unwrap()["power"].take()
}

#[tokio::test]
async fn what_earlier_versions_wrote_is_read_in_the_shape_of_now() {
    let folder = tempfile::tempdir().unwrap();
    let location = Location::Sqlite(folder.path().join("door.sqlite"));
    let (agency, clock, id) = (AgencyId(Uuid::now_v7()), Clock::system(), Uuid::now_v7());
    Db::make(&location).unwrap();
    let mut db = Db::open(&location, Access::Write).unwrap();
    db.migrate().unwrap();
    found(&mut db, agency, clock.now()).unwrap();
    let actor = Arc::new(Actor {
        agency,
        member: Some(MemberId(Uuid::nil())),
        name: "Test".into(),
        role: Role::Crew,
        district: None,
        station: None,
        sign_in: None,
        device: None,
        key: None,
    });

    // Three states; then the tables are put back to what versions 1, 2 and 3 would have left.
    let sent = [40.0, 60.0, 100.0].map(|watts| hang(id, watts));
    let door = Door::open(&location, Arc::new(registry()), clock.clone(), GroupLimits::default()).unwrap();
    for command in &sent {
        let told = door.send(Arc::clone(&actor), None, vec![command.clone()]).await.unwrap();
        assert_eq!(told.answers[0].outcome, Outcome::Applied);
    }
    drop(door);
    let old = |rev: i64, body: Value| {
        let mut db = Db::open(&location, Access::Write).unwrap();
        let body = crate::platform::db::types::Doc(body.to_string());
        on!(&mut db, conn => diesel::update(replaced::table.filter(replaced::rev.eq(rev))).set(replaced::body.eq(&body)).execute(conn)).unwrap()
            + on!(&mut db, conn => diesel::update(record::table.filter(record::rev.eq(rev)))
                .set((record::body.eq(&body), record::state.eq("")))
                .execute(conn))
            .unwrap()
    };
    assert_eq!(old(1, json!({ "id": id, "name": "Mast", "watts": 40.0, "rev": 1 })), 1);
    assert_eq!(old(2, json!({ "id": id, "name": "Mast", "power": 60.0, "rev": 2, "body_version": 2 })), 1);
    assert_eq!(old(3, json!({ "id": id, "name": "Mast", "watts": 100.0, "rev": 3 })), 1);

    // What stands now is written anew once, with what it is found by.
    let registry = registry();
    assert_eq!((bring_up(&mut db, &registry).unwrap(), bring_up(&mut db, &registry).unwrap()), (1, 0));
    let now = records::find(&mut db, agency, Lamp::KIND, id).unwrap().unwrap();
    assert_eq!((now.rev, now.state.as_str(), now.label.as_str()), (3, "W", "Mast"));
    assert_eq!(power(&now.body.0), json!({ "value": 100.0, "unit": "W" }));
    assert_eq!(now.read::<Lamp>().unwrap().power.value, 100.0);

    // The past, as it was written, reads in the shape of now.
    for (rev, watts) in [(1, 40.0), (2, 60.0), (3, 100.0)] {
        let then = past::one(&mut db, agency, Lamp::KIND, id, rev).unwrap().unwrap();
        let lamp: Lamp = past::read(&then).unwrap();
        assert_eq!((lamp.power.value, lamp.power.unit.as_str(), lamp.rev), (watts, "W", rev));
    }
    let told = serde_json::to_value(history(&mut db, &registry, agency, Lamp::KIND, id, None, 50).unwrap()).unwrap();
    let powers: Vec<&Value> = told["items"].as_array().unwrap().iter().map(|item| &item["record"]["power"]["value"]).collect();
    assert_eq!(powers, [&json!(100.0), &json!(60.0), &json!(40.0)]);

    // A command sent again is answered in it, and one that follows works on it.
    let door = Door::open(&location, Arc::new(registry), clock, GroupLimits::default()).unwrap();
    let again = door.send(Arc::clone(&actor), None, vec![sent[0].clone()]).await.unwrap();
    assert_eq!(again.answers[0].outcome, Outcome::Repeated);
    assert_eq!(power(again.answers[0].record.as_ref().unwrap().get()), json!({ "value": 40.0, "unit": "W" }));
    let next = door.send(actor, None, vec![hang(id, 7.0)]).await.unwrap();
    assert_eq!(next.answers[0].outcome, Outcome::Applied);
    let left = past::one(&mut db, agency, Lamp::KIND, id, 3).unwrap().unwrap();
    assert_eq!(past::read::<Lamp>(&left).unwrap().power.value, 100.0);
}

#[test]
fn a_body_of_a_later_version_is_refused_and_one_of_now_is_left_as_it_is() {
    let later = json!({ "body_version": 4, "name": "Mast" }).to_string();
    assert!(bodies::current(&later, Lamp::UPCASTS).unwrap_err().is_ours());
    assert!(bodies::current(r#"{"body_version":0}"#, Lamp::UPCASTS).unwrap_err().is_ours());
    let lamp = Lamp {
        id: Uuid::nil(),
        name: "Mast".into(),
        power: Power { value: 1.0, unit: "W".into() },
        rev: 1,
    };
    let text = bodies::write(&lamp).unwrap();
    assert!(text.starts_with(r#"{"body_version":3,"#), "{text}");
    assert_eq!(bodies::current(&text, Lamp::UPCASTS).unwrap(), text.as_str());
    assert_eq!(bodies::read::<Lamp>(&text).unwrap(), lamp);
    // A kind whose body never changed says no version and is not even looked at.
    assert_eq!(bodies::current("anything", &[]).unwrap(), "anything");
}
