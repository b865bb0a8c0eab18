//! The access matrix of what is neither a read nor an act: each such operation is in a table with what everybody gets of it, and one that is
//! not in it fails. And what programs' keys read.

use std::{collections::BTreeSet, io::Cursor};

use image::{ImageFormat, Rgb, RgbImage};
use reqwest::Method;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{
    Document, Operation,
    access::{ADMINS, PLANNERS, ROLES, bounded, stage},
};
use crate::{
    slices::calendar_feeds::secret,
    world::{County, Reply, World, acts::id_of, command, device::Device, on_both, people::PASSWORD},
};

/// The status that each gets: the six roles in their order, then an admin of the south, an admin of station 3, a tablet of station 1, a key
/// that reads, and a key that sends reports of defects.
type Gets = [u16; 11];

/// Where in [`Gets`] those stand who act in a part of the agency.
const BOUNDED: [usize; 2] = [6, 7];
/// Where the admin of the whole agency stands.
const WHOLE: usize = 5;

/// Open to every member, however far it reaches, and answered so; a tablet gets this, and a key never gets it.
const fn members(status: u16, tablet: u16) -> Gets {
    let s = status;
    [s, s, s, s, s, s, s, s, tablet, 403, 403]
}

/// What is sent.
enum Sent {
    Nothing,
    Json(Value),
    File(&'static str, Vec<u8>),
}

/// One request of an operation, and what each gets for it.
struct Row {
    operation: &'static str,
    query: &'static str,
    sent: Sent,
    gets: Gets,
}

fn row(operation: &'static str, body: Value, gets: Gets) -> Row {
    Row {
        operation,
        query: "",
        sent: Sent::Json(body),
        gets,
    }
}

fn file(operation: &'static str, query: &'static str, (media, bytes): (&'static str, Vec<u8>), gets: Gets) -> Row {
    Row {
        operation,
        query,
        sent: Sent::File(media, bytes),
        gets,
    }
}

/// Operations that are open in the document, because the ticket of half a sign-in opens them too, and ask for a member otherwise.
const ASK_THEMSELVES: [&str; 3] = ["confirm_second_factor", "start_second_factor", "start_passkey"];

/// What is worked out or read from what is sent, and commands: nothing is written by the address itself.
fn working_out(county: &County, photo: &[u8]) -> Vec<Row> {
    let reads = members(200, 200);
    let report = json!({ "id": Uuid::now_v7(), "piece": county.set_2.hose, "what": "cover cut", "class": "cut_or_blister", "severity": "usable" });
    let family =
        json!({ "id": Uuid::now_v7(), "name": "cutters", "fleet": 12, "spares": 1, "per_piece_year": 0.5, "days_away": 20, "price": 9000, "weight": 1 });
    let plan = json!({ "first_day": "2027-01-04", "periods": 4, "shops": [{ "shop": county.shop, "hours": 30 }] });
    let zones = b"name,latitude,longitude,weight\nMill Lane,39.7,-105.0,12\n".to_vec();
    let times = b"zone,Station 1,Station 2\nMill Road,5,7\n".to_vec();
    let pieces = b"Asset tag,Kind,Model,Assigned to\nB-1,hand pump,Dorvan HP,Station 1 reserve\n".to_vec();
    vec![
        // Each command of a batch is answered for itself: an empty one does nothing, whoever sends it.
        row(
            "send_commands",
            json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": [command("defect.report", json!({}))] }),
            [200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200],
        ),
        row("work_out_effects", json!({ "commands": [command("defect.report", report)] }), reads),
        file("read_zones", "", ("text/csv", zones), reads),
        file("read_times", "", ("text/csv", times), reads),
        row(
            "size_reserves",
            json!({ "budget": 20000, "target": 0.95, "up_to": 4, "families": [family] }),
            reads,
        ),
        row("list_sets_due", plan.clone(), reads),
        row("work_out_service_plan", plan, reads),
        // What an import would do is shown to who keeps the register, in a part of the agency too; bringing it in decides for all of it.
        file(
            "import_register",
            "?dry_run=true",
            ("text/csv", pieces.clone()),
            [403, 403, 403, 403, 200, 200, 200, 200, 403, 403, 403],
        ),
        file(
            "import_register",
            "",
            ("text/csv", pieces),
            [403, 403, 403, 403, 201, 201, 403, 403, 403, 403, 403],
        ),
        // It was sent before by an admin. What a tablet sends counts for nothing until a signed command names it.
        file("put_photo", "", ("image/png", photo.to_vec()), members(200, 200)),
        Row {
            operation: "check_photo",
            query: "",
            sent: Sent::Nothing,
            gets: [200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200],
        },
    ]
}

/// Ways in: every member's own, and nobody's who is none.
fn ways_in(county: &County) -> Vec<Row> {
    let nobodys = Uuid::now_v7();
    let phone = json!({
        "endpoint": "https://push.example.net/one", "p256dh": "BA", "auth": "AA", "name": "Phone of the duty officer", "changes": ["rig_falls"],
    });
    vec![
        row("make_enrolment", json!({ "kind": "phone" }), members(201, 403)),
        // A tablet of station 1 is enrolled by who decides for rigs, and reaches it.
        row(
            "make_enrolment",
            json!({ "kind": "tablet", "station": county.station_1 }),
            [403, 201, 201, 403, 201, 201, 403, 403, 403, 403, 403],
        ),
        row("end_own_sign_ins", json!({ "sign_in": nobodys }), members(404, 403)),
        row("give_password_again", json!({ "password": PASSWORD }), members(204, 403)),
        // Let in as far as the new password, which is too short.
        row("change_password", json!({ "present": PASSWORD, "password": "short" }), members(422, 403)),
        row("name_passkey", json!({ "id": nobodys, "name": "Key on the ring" }), members(404, 403)),
        row("remove_passkey", json!({ "id": nobodys, "password": PASSWORD }), members(404, 403)),
        row("start_passkey", json!({ "password": PASSWORD }), members(200, 403)),
        // Nobody has a second factor yet.
        row("turn_second_factor_off", json!({ "code": "123456" }), members(409, 403)),
        row("renew_recovery_codes", json!({ "code": "123456" }), members(409, 403)),
        row("confirm_second_factor", json!({ "code": "123456" }), members(409, 403)),
        row("start_second_factor", json!({ "password": PASSWORD }), members(200, 403)),
        // Let in as far as the setting: this service sends none.
        row("add_subscription", phone, [403, 409, 409, 403, 409, 409, 409, 409, 403, 403, 403]),
        row("remove_subscription", json!({ "id": nobodys }), members(404, 403)),
        // A tablet has no phone that could be tried.
        row("try_subscription", json!({ "id": nobodys }), members(404, 404)),
    ]
}

/// A key for a program.
async fn key(world: &World, seed: u8, scope: Value) -> String {
    let (secret, hash) = secret(seed);
    let body = json!({ "id": Uuid::now_v7(), "name": "Dispatch board", "scope": scope, "expires_at": "2027-06-30T00:00:00.000000Z", "secret_sha256": hash });
    world.admin().post("/v1/api-keys", body).await.ok();
    format!("fsk_{secret}")
}

/// Both kinds of keys: one reads, the other sends reports of defects.
async fn keys(world: &World) -> [(&'static str, String); 2] {
    let sends = json!({ "of": "commands", "kinds": ["defect.report"] });
    [
        ("read key", key(world, 61, json!({ "of": "read" })).await),
        ("command key", key(world, 62, sends).await),
    ]
}

/// Everybody in the order of [`Gets`], with a token.
async fn callers(world: &World) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    for role in ROLES {
        all.push((role, world.member(role).access().await));
    }
    let [(south, one), (station, two), _] = bounded(world).await;
    all.extend([(south, one.access().await), (station, two.access().await)]);
    let tablet = Device::enrol(world, &world.admin(), Some(world.county().station_1)).await;
    all.push(("tablet", tablet.session["access_token"].as_str().expect("a token").to_owned()));
    all.extend(keys(world).await);
    all
}

/// A picture, and the name that its bytes have.
fn picture() -> (Vec<u8>, String) {
    let mut bytes = Cursor::new(Vec::new());
    RgbImage::from_pixel(8, 8, Rgb([200, 40, 40]))
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("a picture can be written");
    let bytes = bytes.into_inner();
    let name = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    (bytes, name)
}

async fn ask(world: &World, token: &str, (operation, photo): (&Operation, &str), row: &Row) -> Reply {
    let path = format!("{}{}", operation.path.replace("{sha256}", photo), row.query);
    let request = world
        .http
        .request(operation.method.clone(), format!("{}{path}", world.server.base))
        .bearer_auth(token);
    let request = match &row.sent {
        Sent::Nothing => request,
        Sent::Json(body) => request.json(body),
        Sent::File(media, bytes) => request.header("Content-Type", *media).body(bytes.clone()),
    };
    Reply::of(format!("{} {path}", operation.method), request).await
}

/// The code of a 403: by the role, or by the reach where an admin of the whole agency is let in.
fn refusal(row: &Row, at: usize) -> &'static str {
    match BOUNDED.contains(&at) && row.gets[WHOLE] != 403 {
        true => "out-of-reach",
        false => "not-allowed",
    }
}

on_both!(what_is_neither_a_read_nor_an_act_is_open_to_whom_the_table_says, async |world: &World| {
    let document = Document::of(world).await;
    stage(world, world.agency()).await;
    let (admin, (bytes, name)) = (world.admin(), picture());
    let mut rows = working_out(world.county(), &bytes);
    rows.extend(ways_in(world.county()));
    let named: BTreeSet<&str> = rows.iter().map(|row| row.operation).collect();
    let secured = document
        .operations
        .iter()
        .filter(|operation| operation.secured && operation.method != Method::GET && !operation.is_act());
    let there: BTreeSet<&str> = secured.map(|operation| operation.id.as_str()).chain(ASK_THEMSELVES).collect();
    assert_eq!(
        named, there,
        "an operation that is neither a read nor an act: say in this table what everybody gets of it"
    );
    let path = format!("/v1/photos/{name}");
    let sent = admin.request(Method::PUT, &path).await.header("Content-Type", "image/png").body(bytes);
    Reply::of("an admin sends a photo".into(), sent).await.ok();
    let (callers, mut wrong) = (callers(world).await, Vec::new());
    for row in &rows {
        let operation = document.operations.iter().find(|operation| operation.id == row.operation);
        let operation = operation.expect("it is in the document");
        for (at, (caller, token)) in callers.iter().enumerate() {
            let before = (admin.revision().await, world.journal_length());
            let reply = ask(world, token, (operation, &name), row).await;
            let (status, code) = (reply.status, reply.json["code"].as_str().unwrap_or_default().to_owned());
            if status != row.gets[at] || !operation.answers.contains(&status.to_string()) {
                wrong.push(format!("{caller} {}: {status} {code}, not {}", reply.asked, row.gets[at]));
                continue;
            }
            if status == 403 && code != refusal(row, at) {
                wrong.push(format!("{caller} {}: {code}, not {}", reply.asked, refusal(row, at)));
            }
            if status >= 400 && (admin.revision().await, world.journal_length()) != before {
                wrong.push(format!("{caller} {}: something was written", reply.asked));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    let stranger = world.member_of(&world.ground.vale, "admin");
    for method in [Method::HEAD, Method::GET] {
        let reply = Reply::of(format!("another agency's {method}"), stranger.request(method, &path).await).await;
        assert_eq!(reply.status, 404, "{}: a photo is its agency's, whoever knows its name", reply.asked);
    }
});

on_both!(a_key_reads_what_every_member_reads_and_no_more, async |world: &World| {
    let document = Document::of(world).await;
    stage(world, world.agency()).await;
    let (keys, mut wrong) = (keys(world).await, Vec::new());
    for operation in document
        .operations
        .iter()
        .filter(|operation| operation.secured && operation.method == Method::GET)
    {
        let target = match operation.has_target() {
            true => world.admin().list(operation.list()).await.first().map(id_of),
            false => None,
        };
        let path = operation.at(target.or(operation.has_target().then_some(world.county().engine_1)));
        let closed = ADMINS.iter().chain(&PLANNERS).any(|closed| *closed == operation.id);
        for (caller, token) in &keys {
            let request = world.http.get(format!("{}{path}", world.server.base)).bearer_auth(token);
            let status = request.send().await.expect("an answer").status().as_u16();
            let right = if closed {
                status == 403
            } else {
                ![401, 403].contains(&status) && status < 500
            };
            if !right {
                wrong.push(format!("{caller} {}: {status}", operation.id));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
});
