//! What a member who is bounded to a station or a district may not do outside it, and what must go on all the same.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, rev_of},
    command, expecting, in_shop, on_both, on_rig, on_shelf, on_the_way,
    people::{PASSWORD, Person},
};

/// A member who is added for this test, signed in.
async fn member(world: &World, name: &str, role: &str, district: Option<Uuid>, station: Option<Uuid>) -> Client {
    let person = Person {
        district,
        station,
        ..Person::new("harrow", name, role)
    };
    world.admin().post("/v1/members", person.body()).await.ok();
    let client = Client::new(&world.server.base, &world.http, &world.clock, &person);
    client.access().await;
    client
}

/// The path of the record that an edit names, by which its revision is found.
fn path(kind: &str, body: &Value) -> Option<String> {
    let noun = match kind.split('.').next()? {
        "rig" => "rigs",
        "piece" => "pieces",
        "member" => "members",
        "district" => "districts",
        "station" => "stations",
        "shop" => "shops",
        "model" => "models",
        "ticket" => "tickets",
        "swap" => "swaps",
        "tool_set" => "tool-sets",
        _ => return None,
    };
    Some(format!("/v1/{noun}/{}", body["id"].as_str()?))
}

/// The answer to one command, sent on the revision that its record has now.
async fn told(client: &Client, kind: &str, body: Value) -> Value {
    let decided = !kind.ends_with(".add") && kind != "ticket.open" && kind != "swap.start";
    let mut one = command(kind, body.clone());
    if let Some(path) = path(kind, &body).filter(|_| decided) {
        one = expecting(one, rev_of(&client.find(&path).await));
    }
    client.send(vec![one]).await.ok()["answers"][0].take()
}

async fn refused(client: &Client, what: &str, kind: &str, body: Value) {
    let answer = told(client, kind, body).await;
    assert_eq!(answer["problem"]["code"], "out-of-reach", "{} {kind}: {what}: {answer}", client.person.name);
}

async fn taken(client: &Client, what: &str, kind: &str, body: Value) -> Value {
    let mut answer = told(client, kind, body).await;
    assert_eq!(answer["outcome"], "applied", "{} {kind}: {what}: {answer}", client.person.name);
    answer["record"].take()
}

fn new() -> Uuid {
    Uuid::now_v7()
}

fn person(name: &str, role: &str, district: Option<Uuid>, station: Option<Uuid>) -> Value {
    Person {
        district,
        station,
        ..Person::new("harrow", name, role)
    }
    .body()
}

on_both!(who_keeps_a_district_decides_for_nobody_and_nothing_outside_it, async |world: &World| {
    let (c, agency) = (world.county(), world.agency());
    let north = member(world, "Ada North", "admin", Some(c.north), None).await;
    let id = |name: &str| agency.people[name].id;
    let south = id_of(
        &world
            .admin()
            .post("/v1/members", person("Sal South", "crew", Some(c.south), None))
            .await
            .record(),
    );
    let before = world.journal_length();
    for (what, kind, body) in [
        ("somebody of the whole agency", "member.add", person("New All", "crew", None, None)),
        ("somebody of another district", "member.add", person("New South", "crew", Some(c.south), None)),
        (
            "somebody of another station",
            "member.add",
            person("New Three", "crew", None, Some(c.station_3)),
        ),
        ("an admin of the whole agency", "member.add", person("New Admin", "admin", None, None)),
        (
            "the password of the agency's admin",
            "member.edit",
            json!({ "id": id("admin"), "password": PASSWORD }),
        ),
        ("a name of somebody unbounded", "member.edit", json!({ "id": id("crew"), "name": "Else" })),
        ("somebody of another district", "member.edit", json!({ "id": south, "active": false })),
        ("the own reach", "member.edit", json!({ "id": north.person.id, "district": null })),
        ("the own district", "member.edit", json!({ "id": north.person.id, "district": c.south })),
        ("a member of a station, wider", "member.edit", json!({ "id": id("crew_1"), "station": null })),
        (
            "a member of a station, elsewhere",
            "member.edit",
            json!({ "id": id("crew_1"), "station": c.station_3 }),
        ),
        (
            "a certificate of somebody outside",
            "member.certify",
            json!({ "id": south, "paper": "T-1", "until": "2027-01-01" }),
        ),
        ("the agency", "agency.edit", json!({ "name": "Mine" })),
        ("another district", "district.edit", json!({ "id": c.south, "min_full": 0 })),
        ("a new district", "district.add", json!({ "id": new(), "name": "West" })),
        ("another station", "station.edit", json!({ "id": c.station_3, "name": "Mine" })),
        (
            "the own station into another district",
            "station.edit",
            json!({ "id": c.station_1, "district": c.south }),
        ),
        (
            "a station in another district",
            "station.add",
            json!({ "id": new(), "name": "Four", "district": c.south }),
        ),
        ("another rig", "rig.edit", json!({ "id": c.truck_3, "name": "Mine" })),
        (
            "the own rig to another district",
            "rig.edit",
            json!({ "id": c.engine_1, "station": c.station_3 }),
        ),
        (
            "a rig in another district",
            "rig.add",
            json!({ "id": new(), "name": "Truck 9", "station": c.station_3 }),
        ),
        (
            "a piece on another rig",
            "piece.add",
            json!({ "id": new(), "tag": "X-1", "model": c.models.hose, "place": on_rig(c.truck_3) }),
        ),
        (
            "a piece on its way there",
            "piece.add",
            json!({ "id": new(), "tag": "X-2", "model": c.models.hose, "place": on_the_way(on_shelf(c.station_3)) }),
        ),
        (
            "a piece with its home there",
            "piece.add",
            json!({ "id": new(), "tag": "X-3", "model": c.models.hose, "place": on_shelf(c.station_1), "home": on_shelf(c.station_3) }),
        ),
        ("another piece", "piece.edit", json!({ "id": c.combi_3, "note": "mine" })),
        ("a home there", "piece.edit", json!({ "id": c.set_1.hose, "home": on_shelf(c.station_3) })),
        ("another piece", "piece.retire", json!({ "id": c.combi_3, "reason": "old", "disposal": "cut" })),
        (
            "a set there",
            "tool_set.add",
            json!({ "id": new(), "name": "Set S", "home": on_shelf(c.station_3) }),
        ),
        (
            "a set of pieces there",
            "tool_set.add",
            json!({ "id": new(), "name": "Set S", "pieces": [c.combi_3] }),
        ),
        (
            "a model",
            "model.add",
            json!({ "id": new(), "name": "M", "kind": "hose", "hookup": {}, "ratings": {} }),
        ),
        ("a coupling", "coupling.add", json!({ "id": new(), "name": "other" })),
        ("a class", "rig_class.edit", json!({ "id": c.engine_class, "name": "Mine" })),
        ("a shop", "shop.add", json!({ "id": new(), "name": "Mine" })),
    ] {
        refused(&north, what, kind, body).await;
    }
    assert_eq!(world.journal_length(), before, "something was written");
    // A bound station within the own district, and what lies there, is theirs to keep.
    for (what, kind, body) in [
        ("a member of the district", "member.add", person("New North", "admin", Some(c.north), None)),
        (
            "a member of a station there",
            "member.add",
            person("New One", "officer", None, Some(c.station_1)),
        ),
        ("a name there", "member.edit", json!({ "id": id("crew_1"), "name": "Cruz Uno" })),
        ("another station there", "member.edit", json!({ "id": id("crew_1"), "station": c.station_2 })),
        (
            "a certificate there",
            "member.certify",
            json!({ "id": id("crew_2"), "paper": "T-1", "until": "2027-01-01" }),
        ),
        ("the district", "district.edit", json!({ "id": c.north, "name": "Far North" })),
        ("a station there", "station.edit", json!({ "id": c.station_1, "name": "Station One" })),
        ("a rig there", "rig.edit", json!({ "id": c.engine_1, "name": "Engine One" })),
        (
            "a piece there",
            "piece.add",
            json!({ "id": new(), "tag": "X-4", "model": c.models.hose, "place": on_shelf(c.station_1) }),
        ),
        ("a note there", "piece.edit", json!({ "id": c.set_1.hose, "note": "new sleeve" })),
        (
            "a set there",
            "tool_set.add",
            json!({ "id": new(), "name": "Set N", "home": on_shelf(c.station_2), "pieces": [c.spare_cutter] }),
        ),
    ] {
        taken(&north, what, kind, body).await;
    }
    let session = north.get("/v1/session").await.ok();
    let may: Vec<&str> = session["may"].as_array().unwrap().iter().map(|kind| kind.as_str().unwrap()).collect();
    for kind in [
        "agency.edit",
        "agency.grade",
        "district.add",
        "model.add",
        "import.add",
        "receiver.add",
        "shop.edit",
        "demand.set",
        "map_lines.set",
        "map_lines.remove",
    ] {
        assert!(!may.contains(&kind), "{kind} is offered and refused");
    }
    for kind in ["member.add", "member.edit", "district.edit", "rig.edit", "piece.add", "piece.move"] {
        assert!(may.contains(&kind), "{kind}");
    }
});

on_both!(who_keeps_a_station_decides_for_no_district, async |world: &World| {
    let c = world.county();
    let one = member(world, "Cory One", "coordinator", None, Some(c.station_1)).await;
    for (what, kind, body) in [
        ("the district of the station", "district.edit", json!({ "id": c.north, "min_full": 0 })),
        ("a station beside", "station.edit", json!({ "id": c.station_2, "name": "Mine" })),
        ("a new station", "station.add", json!({ "id": new(), "name": "Four", "district": c.north })),
        ("a rig beside", "rig.edit", json!({ "id": c.engine_2, "name": "Mine" })),
    ] {
        refused(&one, what, kind, body).await;
    }
    taken(&one, "the own station", "station.edit", json!({ "id": c.station_1, "name": "Station One" })).await;
    taken(&one, "the own rig", "rig.edit", json!({ "id": c.engine_1, "name": "Engine One" })).await;
    // A piece in the shop is still its home's to keep.
    world.coordinator().bring(c.set_2.ram, in_shop(c.shop)).await.ok();
    world.coordinator().bring(c.set_1.ram, in_shop(c.shop)).await.ok();
    refused(&one, "another's, in the shop", "piece.edit", json!({ "id": c.set_2.ram, "note": "mine" })).await;
    taken(&one, "the own, in the shop", "piece.edit", json!({ "id": c.set_1.ram, "note": "at the shop" })).await;
});

on_both!(a_piece_is_sent_anywhere_and_put_down_within_reach, async |world: &World| {
    let c = world.county();
    let officer = world.member("officer_1");
    let gone = |to: Value, arrived: bool| json!({ "id": c.twin_cutter, "to": to, "arrived": arrived });
    refused(&officer, "put on another shelf", "piece.move", gone(on_shelf(c.station_2), true)).await;
    refused(&officer, "put on another rig", "piece.move", gone(on_rig(c.engine_2), true)).await;
    // In transit it counts nowhere, and who reaches the far end confirms it.
    taken(&officer, "sent to another station", "piece.move", gone(on_shelf(c.station_2), false)).await;
    refused(&officer, "arrived there", "piece.arrive", json!({ "id": c.twin_cutter })).await;
    taken(&world.member("crew_2"), "arrived there", "piece.arrive", json!({ "id": c.twin_cutter })).await;
    taken(
        &officer,
        "to the shop, at once",
        "piece.move",
        json!({ "id": c.set_1.hose, "to": in_shop(c.shop), "arrived": true }),
    )
    .await;
    // A stand-in goes back the same way.
    let swap = new();
    let start = json!({ "id": swap, "rig": c.engine_1, "piece": c.spare_cutter, "slot": "cutter", "on_the_way": false });
    taken(&officer, "a reserve from another station", "swap.start", start).await;
    let end = |on_the_way: bool| json!({ "id": swap, "on_the_way": on_the_way });
    refused(&officer, "back on another shelf at once", "swap.end", end(false)).await;
    taken(&officer, "back, however far that is", "swap.end", json!({ "id": swap })).await;
    assert_eq!(officer.piece(c.spare_cutter).await["place"], on_the_way(on_shelf(c.station_2)));
    // One that has not come yet was never taken away there: the act is undone as a whole.
    world.member("crew_2").arrive(c.spare_cutter).await.ok();
    let again = new();
    let start = json!({ "id": again, "rig": c.engine_1, "piece": c.spare_cutter, "slot": "cutter" });
    taken(&officer, "a reserve, to be driven over", "swap.start", start).await;
    taken(&officer, "it is not needed", "swap.end", json!({ "id": again })).await;
});

on_both!(a_rig_takes_anothers_place_where_both_are_within_reach, async |world: &World| {
    let c = world.county();
    for (rig, duty) in [(c.engine_2, "ready_reserve"), (c.truck_3, "ready_reserve")] {
        world
            .coordinator()
            .edit(&format!("/v1/rigs/{rig}"), json!({ "duty": duty, "reason": "spare" }))
            .await
            .ok();
    }
    let exchange = |to: Uuid| json!({ "id": c.engine_1, "to": to, "pieces": [], "reason": "annual service" });
    let chief = world.member("chief_north");
    refused(&world.member("officer_1"), "a rig of another station", "rig.exchange", exchange(c.engine_2)).await;
    refused(&chief, "a rig of another district", "rig.exchange", exchange(c.truck_3)).await;
    taken(&chief, "two rigs of the district", "rig.exchange", exchange(c.engine_2)).await;
});

on_both!(a_technician_works_on_what_is_within_reach_and_the_shop_on_everything, async |world: &World| {
    let c = world.county();
    let near = member(world, "Shane One", "shop", None, Some(c.station_1)).await;
    let mut tickets = Vec::new();
    for piece in [c.set_2.ram, c.combi_3, c.set_1.cutter] {
        let out = json!({ "reason": "annual service", "planned": true });
        world.officer().post(&format!("/v1/pieces/{piece}/take-out"), out).await.ok();
        tickets.push(id_of(&world.shop().open_ticket(piece, c.shop, "blade", &[]).await.record()));
    }
    let far = tickets[0];
    for (what, kind, body) in [
        ("a piece of another station", "ticket.accept", json!({ "id": far })),
        ("and with the piece", "ticket.accept", json!({ "id": far, "piece_is_here": true })),
        ("a line", "ticket.line", json!({ "id": far, "line": { "kind": "part", "what": "blade" } })),
        ("to drop it", "ticket.drop", json!({ "id": far, "note": "mine" })),
    ] {
        refused(&near, what, kind, body).await;
    }
    taken(&near, "a piece of the own station", "ticket.accept", json!({ "id": tickets[2] })).await;
    // The fleet shop takes from every station, and what lies there is every technician's work.
    for ticket in &tickets[..2] {
        taken(
            &world.shop(),
            "any station's piece",
            "ticket.accept",
            json!({ "id": ticket, "piece_is_here": true }),
        )
        .await;
    }
    taken(&near, "what lies in the shop", "ticket.work", json!({ "id": far })).await;
    let readings = json!([
        { "measure": "sound_to_look", "yes": true },
        { "measure": "pressure_reached", "value": { "value": 717, "unit": "bar" } },
    ]);
    taken(
        &near,
        "its test",
        "ticket.test",
        json!({ "id": far, "passed": true, "readings": readings, "note": "held" }),
    )
    .await;
    let to = json!({ "id": far, "to": on_rig(c.engine_2), "arrived": true });
    refused(&near, "put on another rig", "ticket.return", to).await;
});
