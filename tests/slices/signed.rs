//! Commands that a member signs with the PIN on a shared tablet.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, Engine, World,
    acts::looked_over,
    command,
    device::{self, Device},
    on, on_both, process, sql,
};

pub const PIN: &str = "482915";

pub async fn set_pin(member: &Client, pin: &str) {
    let record = member.post("/v1/pin", json!({ "pin": pin })).await.record();
    assert_eq!((&record["id"], &record["has_pin"]), (&json!(member.person.id), &json!(true)));
}

pub async fn tablet(world: &World) -> Device {
    Device::enrol(world, &world.officer(), Some(world.county().station_1)).await
}

pub fn report(piece: Uuid) -> Value {
    command(
        "defect.report",
        json!({ "id": Uuid::now_v7(), "piece": piece, "what": "seeps", "class": "deformation", "severity": "usable" }),
    )
}

fn take_out(piece: Uuid) -> Value {
    command("piece.take_out", json!({ "id": piece, "reason": "annual service", "planned": true }))
}

#[track_caller]
pub fn is(answer: &Value, code: &str) {
    assert_eq!((&answer["outcome"], &answer["problem"]["code"]), (&json!("refused"), &json!(code)), "{answer}");
}

on_both!(a_signed_command_acts_as_the_signer, async |world: &World| {
    let (county, crew, tablet) = (world.county(), world.member("crew_1"), tablet(world).await);
    set_pin(&crew, PIN).await;
    let key = tablet.key(&crew, PIN).await;
    let sent = tablet.sign(&crew, &key, report(county.set_1.pump));
    let answer = tablet.send(sent.clone()).await;
    assert_eq!((&answer["outcome"], &answer["device"]), (&json!("applied"), &json!(tablet.id)), "{answer}");
    assert_eq!(answer["record"]["reported_by"], json!({ "id": crew.person.id, "name": "Cruz One" }));
    let id = answer["record"]["id"].as_str().unwrap();
    let history = crew.find(&format!("/v1/defects/{id}/history")).await;
    let by = &history["items"][0]["by"];
    assert_eq!(
        (&by["id"], &by["name"], &by["role"]),
        (&json!(crew.person.id), &json!("Cruz One"), &json!("crew"))
    );
    assert_eq!(tablet.send(sent).await["outcome"], "repeated", "sent again, it acts once");
    let device = sql::hex(&world.location, "device");
    let journal = sql::texts(&world.location, &format!("SELECT {device} AS t FROM journal WHERE kind = 'defect.report'"));
    assert_eq!(journal, [tablet.id.simple().to_string()], "the journal says which tablet");
    assert!(process::verify(&world.location).0, "the chain holds");
});

on_both!(a_signer_has_the_own_role_and_no_other, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.member("crew_1"), world.member("officer_1"));
    let tablet = tablet(world).await;
    set_pin(&crew, PIN).await;
    set_pin(&officer, "739164").await;
    let (crews, officers) = (tablet.key(&crew, PIN).await, tablet.key(&officer, "739164").await);
    tablet.send(tablet.sign(&crew, &crews, take_out(county.set_1.ram))).await;
    let back = || {
        let mut back = command(
            "piece.return",
            json!({ "id": county.set_1.ram, "note": "straightened", "evidence": looked_over() }),
        );
        back["expects"] = json!(0);
        back
    };
    let rev = officer.piece(county.set_1.ram).await["rev"].clone();
    let mut refused = back();
    refused["expects"] = rev.clone();
    is(&tablet.send(tablet.sign(&crew, &crews, refused)).await, "not-allowed");
    let mut done = back();
    done["expects"] = rev;
    assert_eq!(tablet.send(tablet.sign(&officer, &officers, done)).await["outcome"], "applied");
    for kind in ["device.see", "shop.add"] {
        let body = json!({ "id": Uuid::now_v7(), "name": "x" });
        let body = if kind == "device.see" { json!({ "id": tablet.id }) } else { body };
        is(&tablet.send(tablet.sign(&officer, &officers, command(kind, body))).await, "not-allowed");
    }
});

on_both!(
    a_tablets_unsigned_command_is_refused_and_the_others_of_its_batch_are_not,
    async |world: &World| {
        let (county, crew, tablet) = (world.county(), world.member("crew_1"), tablet(world).await);
        set_pin(&crew, PIN).await;
        let key = tablet.key(&crew, PIN).await;
        let answers = tablet
            .send_all(vec![
                report(county.set_1.pump),
                tablet.sign(&crew, &key, report(county.set_1.pump)),
                command("member.set_pin", json!({ "pin": "739164" })),
            ])
            .await;
        is(&answers[0], "signature-needed");
        assert_eq!(answers[1]["outcome"], "applied");
        is(&answers[2], "signature-needed");
    }
);

on_both!(a_signature_is_good_for_one_command_one_body_and_one_device, async |world: &World| {
    let (county, crew, tablet) = (world.county(), world.member("crew_1"), tablet(world).await);
    let other = Device::enrol(world, &world.officer(), Some(county.station_1)).await;
    set_pin(&crew, PIN).await;
    let key = tablet.key(&crew, PIN).await;
    let signed = tablet.sign(&crew, &key, report(county.set_1.pump));
    let before = world.journal_length();
    let mut forged = Vec::new();
    for (field, value) in [
        ("id", json!(Uuid::now_v7())),
        ("kind", json!("piece.take_out")),
        ("body", report(county.set_1.cutter)["body"].clone()),
    ] {
        let mut command = signed.clone();
        command[field] = value;
        if field == "kind" {
            command["body"] = json!({ "id": county.set_1.ram, "reason": "bent" });
        }
        forged.push(tablet.send(command).await);
    }
    forged.push(other.send(signed.clone()).await);
    let mut anothers = signed.clone();
    anothers["by"]["member"] = json!(world.member("officer_1").person.id);
    forged.push(tablet.send(anothers).await);
    for answer in &forged {
        is(answer, "pin-wrong");
    }
    for (signature, member) in [
        ("%%%", crew.person.id),
        ("", crew.person.id),
        ("AAAA", crew.person.id),
        ("AAAA", Uuid::now_v7()),
    ] {
        let mut command = signed.clone();
        command["by"] = json!({ "member": member, "check": "0123456789abcdef", "signature": signature });
        assert_eq!(tablet.send(command).await["outcome"], "refused", "{signature} {member}");
    }
    assert_eq!(world.journal_length(), before, "nothing was written");
    assert_eq!(tablet.send(signed).await["outcome"], "applied");
});

on_both!(a_signer_must_reach_the_tablets_station_and_be_active, async |world: &World| {
    let (county, near, far) = (world.county(), world.member("crew_1"), world.member("crew_2"));
    let there = Device::enrol(world, &world.officer(), Some(county.station_2)).await;
    let here = tablet(world).await;
    set_pin(&far, PIN).await;
    set_pin(&near, PIN).await;
    let key = there.key(&far, PIN).await;
    is(&here.send(here.sign(&far, &key, report(county.set_1.pump))).await, "out-of-reach");
    // At the right tablet, who sees damage says so, on any piece; what a piece is moved by stays within the own reach.
    assert_eq!(there.send(there.sign(&far, &key, report(county.set_1.pump))).await["outcome"], "applied");
    let gone = command("piece.report_missing", json!({ "id": county.set_1.ram, "note": "not in its place" }));
    is(&there.send(there.sign(&far, &key, gone)).await, "out-of-reach");
    assert_eq!(there.send(there.sign(&far, &key, report(county.set_2.pump))).await["outcome"], "applied");
    let names = async |tablet: &Device| {
        let signers = tablet.get("/v1/signers").await.ok();
        let names: Vec<String> = signers["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|signer| signer["name"].as_str().unwrap().to_owned())
            .collect();
        names
    };
    assert_eq!(names(&here).await, ["Cruz One"]);
    assert_eq!(names(&there).await, ["Tove Two"]);
    let path = format!("/v1/members/{}", far.person.id);
    world.admin().edit(&path, json!({ "active": false })).await.ok();
    assert!(names(&there).await.is_empty());
    is(&there.send(there.sign(&far, &key, report(county.set_2.pump))).await, "pin-wrong");
});

on_both!(ten_wrong_pins_in_a_row_lock_the_pin_until_it_is_opened, async |world: &World| {
    let (county, crew, officer, tablet) = (world.county(), world.member("crew_1"), world.member("officer_1"), tablet(world).await);
    set_pin(&crew, PIN).await;
    let (good, bad) = (tablet.key(&crew, PIN).await, [77; 32]);
    let wrong = async |times: u8| {
        for guess in 0..times {
            is(&tablet.send(tablet.sign(&crew, &[guess; 32], report(county.set_1.pump))).await, "pin-wrong");
        }
    };
    let right = async || tablet.send(tablet.sign(&crew, &good, report(county.set_1.pump))).await;
    wrong(9).await;
    assert_eq!(right().await["outcome"], "applied", "nine are forgiven");
    wrong(9).await;
    // The tenth comes beside a command that spoils its transaction, so that each is applied on its own: it counts all the same.
    let admin = world.admin();
    set_pin(&admin, "739164").await;
    let admins = tablet.key(&admin, "739164").await;
    let dispatch = crate::contract::stage::receiver(Uuid::now_v7(), "Dispatch");
    admin.post("/v1/receivers", dispatch).await.ok();
    let taken = crate::contract::stage::receiver(Uuid::now_v7(), "dispatch");
    let answers = tablet
        .send_all(vec![
            tablet.sign(&crew, &bad, report(county.set_1.pump)),
            tablet.sign(&admin, &admins, command("receiver.add", taken)),
        ])
        .await;
    is(&answers[0], "pin-wrong");
    is(&answers[1], "already-there");
    is(&right().await, "pin-locked");
    let signers = tablet.get("/v1/signers").await.ok();
    let locked: Vec<(&Value, &Value)> = signers["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|signer| (&signer["name"], &signer["locked"]))
        .collect();
    assert_eq!(locked, [(&json!("Cruz One"), &json!(true)), (&json!("admin all"), &json!(false))]);
    let path = format!("/v1/members/{}/unlock-pin", crew.person.id);
    crew.post(&path, json!({})).await.refused(403, "not-allowed");
    world
        .member_of(&world.ground.vale, "admin")
        .post(&path, json!({}))
        .await
        .refused(404, "not-found");
    officer.post(&path, json!({})).await.ok();
    assert_eq!(right().await["outcome"], "applied");
    wrong(10).await;
    is(&right().await, "pin-locked");
    set_pin(&crew, "739164").await;
    let renewed = tablet.key(&crew, "739164").await;
    assert_eq!(tablet.send(tablet.sign(&crew, &renewed, report(county.set_1.pump))).await["outcome"], "applied");
});

on_both!(nothing_slow_is_done_for_who_may_not_send_it, async |world: &World| {
    let (admin, tablet) = (world.admin(), tablet(world).await);
    set_pin(&admin, PIN).await;
    let key = tablet.key(&admin, PIN).await;
    let add = || {
        let email = format!("{}@harrow.example", Uuid::now_v7().simple());
        command(
            "member.add",
            json!({ "id": Uuid::now_v7(), "name": "Sam Sample", "email": email, "role": "crew", "password": "three-more-words" }),
        )
    };
    is(&tablet.send(tablet.sign(&admin, &key, add())).await, "rule-broken");
    // Each password would take some hundredths of a second.
    let mut all: Vec<Value> = (0..300).map(|_| add()).collect();
    for one in &mut all {
        one["by"] = tablet.sign(&admin, &[7; 32], add())["by"].take();
    }
    let begun = std::time::Instant::now();
    let answers = world.crew().send(all).await.ok();
    assert!(begun.elapsed() < std::time::Duration::from_secs(3), "{:?}", begun.elapsed());
    assert!(answers["answers"].as_array().unwrap().iter().all(|answer| answer["problem"]["field"] == "by"));
});

on_both!(a_pin_is_sound_and_set_by_its_member_alone, async |world: &World| {
    let (crew, tablet) = (world.member("crew_1"), tablet(world).await);
    for pin in ["12345", "1234567", "12345x", "111111", "123456", "654321", ""] {
        let problem = crew.post("/v1/pin", json!({ "pin": pin })).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.pin");
    }
    world
        .officer()
        .post(&format!("/v1/members/{}/unlock-pin", crew.person.id), json!({}))
        .await
        .refused(409, "rule-broken");
    set_pin(&crew, PIN).await;
    let key = tablet.key(&crew, PIN).await;
    let another = tablet.sign(&crew, &key, command("member.set_pin", json!({ "pin": "739164" })));
    is(&tablet.send(another).await, "rule-broken");
});

on_both!(a_pin_its_key_and_its_salt_are_told_to_nobody_who_need_not_know, async |world: &World| {
    let (crew, tablet) = (world.member("crew_1"), tablet(world).await);
    set_pin(&crew, PIN).await;
    for (table, column) in [("journal", "body"), ("record", "body"), ("state", "body")] {
        let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST({column} AS TEXT) LIKE '%{PIN}%'");
        assert_eq!(sql::number(&world.location, &query), 0, "{table}.{column}");
    }
    let kept = sql::texts(&world.location, "SELECT CAST(body AS TEXT) AS t FROM journal WHERE kind = 'member.set_pin'");
    assert_eq!(kept, [r#"{"pin":"not kept"}"#]);
    let told = world.officer().get("/v1/signers").await.ok();
    assert_eq!(
        told["items"],
        json!([{ "member": crew.person.id, "name": "Cruz One", "role": "crew", "locked": false }]),
        "a member sees who has a PIN, and nothing to guess it by"
    );
    let key = tablet.key(&crew, PIN).await;
    let signers = tablet.get("/v1/signers").await.ok();
    let check = format!("{:02x}", device::mac(&key, "check")[0]);
    assert_eq!(signers["items"][0]["check"], json!(check));
});

on_both!(a_member_who_is_signed_in_signs_nothing, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    let phone = Device::enrol(world, &crew, None).await;
    let signed = phone.sign(&world.officer(), &[7; 32], report(county.set_1.pump));
    for answer in [phone.send(signed.clone()).await, crew.send(vec![signed]).await.ok()["answers"][0].clone()] {
        is(&answer, "field-invalid");
        assert_eq!(answer["problem"]["field"], "by");
    }
});

on_both!(what_waits_signed_survives_a_tablets_new_enrolment, async |world: &World| {
    let (county, crew, officer, tablet) = (world.county(), world.member("crew_1"), world.officer(), tablet(world).await);
    set_pin(&crew, PIN).await;
    let key = tablet.key(&crew, PIN).await;
    let waiting: Vec<Value> = (0..3).map(|_| tablet.sign(&crew, &key, report(county.set_1.pump))).collect();
    // It lay in a drawer for longer than a sign-in lasts.
    world.pass(TimeDelta::days(31));
    tablet.refresh().await.refused(401, "session-ended");
    let code = device::code(&officer, Some(county.station_1)).await.ok()["code"].take();
    let session = device::redeem(world, &code, tablet.id).await.ok();
    let tablet = tablet.with(session);
    for answer in tablet.send_all(waiting).await {
        assert_eq!((&answer["outcome"], &answer["device"]), (&json!("applied"), &json!(tablet.id)), "{answer}");
    }
});

on_both!(a_revoked_tablet_sends_nothing_more, async |world: &World| {
    let (county, crew, tablet) = (world.county(), world.member("crew_1"), tablet(world).await);
    set_pin(&crew, PIN).await;
    let key = tablet.key(&crew, PIN).await;
    let signed = tablet.sign(&crew, &key, report(county.set_1.pump));
    world
        .member("officer_1")
        .post(&format!("/v1/devices/{}/revoke", tablet.id), json!({}))
        .await
        .ok();
    let body = json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": [signed] });
    tablet.post("/v1/commands", &body).await.refused(401, "device-revoked");
    let answer = crate::world::Reply::of("signers".into(), tablet.request(Method::GET, "/v1/signers")).await;
    answer.refused(401, "device-revoked");
});

/// The example of `openapi/sync.md`, from which somebody else writes a client. Its values were worked out with Python's
/// `hashlib` and `hmac`, not with this service.
#[test]
fn the_worked_example_of_the_sync_page_is_true_and_is_taken() {
    const PAGE: &str = include_str!("../../openapi/sync.md");
    let value = |name: &str| {
        let row = PAGE.lines().find_map(|line| line.strip_prefix(&format!("| {name} | `")));
        row.and_then(|row| row.split('`').next()).unwrap_or_else(|| panic!("no row {name}")).to_owned()
    };
    let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02x}")).collect::<String>();
    let salt: Vec<u8> = (0..16).collect();
    assert_eq!(value("salt"), hex(&salt));
    let key = device::key(&value("PIN"), &salt, value("iterations").parse().unwrap());
    assert_eq!(value("key"), hex(&key));
    assert_eq!(value("check"), device::check(&key));
    let (id, kind, tablet, body) = (value("command id"), value("kind"), value("device id"), value("body"));
    assert_eq!(value("signature"), device::signature(&key, &id, &kind, &tablet, &body));
    on(Engine::Sqlite, async |world: &World| {
        let (crew, officer) = (world.crew(), world.officer());
        set_pin(&crew, PIN).await;
        sql::run(&world.location, &format!("UPDATE pin SET salt = x'{}', secret = x'{}'", hex(&salt), hex(&key)));
        let code = device::code(&officer, Some(world.county().station_1)).await.ok()["code"].take();
        let session = device::redeem(world, &code, tablet.parse().unwrap()).await.ok();
        let by = json!({ "member": crew.person.id, "check": value("check"), "signature": value("signature") });
        // The body goes as it stands on the page, to the byte.
        let text = format!(r#"{{"sent_at":"2026-11-25T14:00:00.000000Z","commands":[{{"id":"{id}","kind":"{kind}","by":{by},"body":{body}}}]}}"#);
        let request = world
            .http
            .post(format!("{}/v1/commands", world.server.base))
            .bearer_auth(session["access_token"].as_str().unwrap())
            .body(text);
        let batch = crate::world::Reply::of("the example".into(), request).await.ok();
        let problem = &batch["answers"][0]["problem"];
        assert_eq!(problem["code"], "field-invalid", "its piece is not there, but its signature holds: {batch}");
    });
}
