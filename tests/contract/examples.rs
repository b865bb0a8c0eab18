//! The examples of the document are messages that were really exchanged. `FULLSET_RECORD_EXAMPLES=1` writes them anew into
//! `openapi/examples.json` (`make examples`); without it they are held to the schemas that they stand beside.

use std::collections::BTreeMap;

use reqwest::Method;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{Document, PASSING, access::stage, decided_on, document::misfits};
use crate::{
    slices::{accounts, alerts::pushed::Phone, passkeys, second_factor},
    world::{Engine, Reply, World, command, device, on, people::PASSWORD},
};

const RECORDED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/examples.json");
/// Of a list so many entries are shown.
const ENTRIES: usize = 1;
/// Longer answers are not shown.
const MOST_BYTES: usize = 12_000;

/// Makes a message the same in each run, and short: ids by the order in which they come, secrets as words.
#[derive(Default)]
struct Clerk {
    ids: BTreeMap<String, String>,
    shown: Map<String, Value>,
}

impl Clerk {
    fn id(&mut self, id: &str) -> String {
        let next = self.ids.len() + 1;
        self.ids
            .entry(id.to_owned())
            .or_insert_with(|| format!("018f0000-0000-7000-8000-{next:012x}"))
            .clone()
    }

    fn tidy(&mut self, name: &str, value: &Value) -> Value {
        match value {
            Value::String(text) if text.parse::<Uuid>().is_ok() && text.len() == 36 => self.id(text).into(),
            Value::String(text) => match name {
                "access_token" | "refresh_token" | "ticket" => "a token".into(),
                "password" | "present" => "the member's password".into(),
                "secret" if text.len() == 43 => "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8".into(),
                "secret" => "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ".into(),
                "recovery_codes" => "7KQ4-M2XP-3TRW-9HBN".into(),
                "code" if text.len() == 19 => "7KQ4-M2XP-3TRW-9HBN".into(),
                "code" if text.len() == 6 => "492039".into(),
                "url" if text.starts_with("otpauth") => {
                    "otpauth://totp/Fullset%20Harrow:sam%40harrow.example?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ&issuer=Fullset%20Harrow&algorithm=SHA1&digits=6&period=30".into()
                }
                "public_key" | "p256dh" | "auth" if text.len() > 20 => "base64url".into(),
                "challenge" | "client_data" | "attestation" | "authenticator_data" | "user_id" => "base64url".into(),
                "signature" if text.len() > 80 => "base64url".into(),
                "next" if text.len() > 40 => "a token of the feed".into(),
                "url" => "https://fullset.example/enrol#7KQ4-M2XP".into(),
                "email" if text.len() > 60 => "sam@harrow.example".into(),
                _ => text.as_str().into(),
            },
            Value::Array(items) => {
                // Lists that the document says have so many at least.
                let least = match name {
                    "years" => 10,
                    "candidates" => 2,
                    // A line has two points, and a point two numbers.
                    "areas" | "roads" => 2,
                    _ => ENTRIES,
                };
                items.iter().take(least).map(|item| self.tidy(name, item)).collect()
            }
            Value::Object(fields) => fields
                .iter()
                .map(|(name, value)| (name.clone(), self.tidy(name, value)))
                .collect::<Map<_, _>>()
                .into(),
            other => other.clone(),
        }
    }

    fn note(&mut self, operation: &str, request: Option<Value>, reply: &Reply) {
        assert!(reply.done(), "{}: {} {}", reply.asked, reply.status, reply.text);
        let mut example = Map::new();
        if let Some(request) = request {
            example.insert("request".into(), self.tidy("", &request));
        }
        let answer = self.tidy("", &reply.json);
        if !answer.is_null() && answer.to_string().len() <= MOST_BYTES {
            example.insert("answer".into(), answer);
        }
        example.insert("status".into(), reply.status.to_string().into());
        self.shown.insert(operation.to_owned(), example.into());
    }
}

/// Sends one good request of every operation.
async fn exchanged(world: &World) -> Map<String, Value> {
    let document = Document::of(world).await;
    let (admin, county) = (world.admin(), world.county());
    let stage = stage(world, world.agency()).await;
    let mut clerk = Clerk::default();
    for operation in document.acts() {
        let sample = stage.sample(&operation.id);
        let decided = decided_on(&admin, operation, sample.target).await;
        let reply = admin
            .ask(operation.method.clone(), &operation.at(sample.target), Some(&sample.body), &decided)
            .await;
        let mut body = sample.body;
        if let (Some(target), Some(fields)) = (sample.target, body.as_object_mut()) {
            fields.insert("id".into(), json!(target));
        }
        clerk.note(&operation.id, Some(body), &reply);
    }
    // Taken away among the acts; there is one of an agency.
    let lines = stage.sample("map_lines_set");
    let again = format!("/v1/map-lines/{}", lines.target.expect("the agency"));
    assert_eq!(admin.ask(Method::PATCH, &again, Some(&lines.body), &[]).await.status, 200);
    for operation in document
        .operations
        .iter()
        .filter(|operation| operation.method == "GET" && operation.answers_json(&document) && !PASSING.contains(&operation.id.as_str()))
    {
        let target = if operation.has_target() {
            let listed = admin.list(operation.list()).await;
            Some(crate::world::acts::id_of(
                listed.first().unwrap_or_else(|| panic!("{}: none", operation.list())),
            ))
        } else {
            None
        };
        clerk.note(&operation.id, None, &admin.get(&operation.at(target)).await);
    }
    let post = async |path: &str, body: &Value| admin.ask(Method::POST, path, Some(body), &[]).await;
    let report = json!({ "id": Uuid::now_v7(), "piece": county.set_2.hose, "what": "cover cut", "class": "cut_or_blister", "severity": "out_of_service" });
    let batch = vec![command("defect.report", report)];
    let sent = json!({ "sent_at": world.clock.now(), "commands": batch });
    clerk.note(
        "work_out_effects",
        Some(json!({ "commands": batch })),
        &post("/v1/effects", &json!({ "commands": batch })).await,
    );
    clerk.note("send_commands", Some(sent.clone()), &post("/v1/commands", &sent).await);
    let crew = world.crew();
    let signing = json!({ "email": crew.person.email, "password": "the member's password" });
    let session = crew.sign_in().await;
    let refresh = json!({ "refresh_token": session.json["refresh_token"] });
    clerk.note("sign_in", Some(signing), &session);
    clerk.note("refresh_session", Some(refresh.clone()), &post("/v1/session/refresh", &refresh).await);
    let asked = json!({ "kind": "tablet", "station": county.station_1 });
    let invited = post("/v1/enrolments", &asked).await;
    let (code, id) = (invited.json["code"].clone(), Uuid::now_v7());
    clerk.note("make_enrolment", Some(asked), &invited);
    let redeemed = device::redeem(world, &code, id).await;
    clerk.note(
        "redeem_enrolment",
        Some(json!({ "code": "7KQ4-M2XP", "device": { "id": id, "name": "Bay 2" } })),
        &redeemed,
    );
    let file = "Asset tag,Kind,Model,Assigned to\nX-1,hand pump,Dorvan HP,Station 1 reserve\n";
    clerk.note(
        "import_register",
        Some(file.into()),
        &world.coordinator().import("", file.as_bytes().to_vec(), &[]).await,
    );
    let codes = crate::world::sql::texts(&world.location, "SELECT code AS t FROM telling");
    let address = format!("{}/v1/acknowledgements", world.server.base);
    let mut acknowledged = None;
    for code in codes {
        // One of them a sample has acknowledged.
        let read = json!({ "code": code, "by": "Desk 3" });
        let reply = Reply::of("acknowledge".into(), world.http.post(&address).json(&read)).await;
        if reply.done() {
            acknowledged = Some(reply);
            break;
        }
    }
    let acknowledged = acknowledged.expect("the stage tells somebody who has not acknowledged");
    clerk.note(
        "acknowledge_by_code",
        Some(json!({ "code": "3q2-7wAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", "by": "Desk 3" })),
        &acknowledged,
    );
    let family =
        json!({ "id": Uuid::now_v7(), "name": "cutters", "fleet": 12, "spares": 1, "per_piece_year": 0.5, "days_away": 20, "price": 9000, "weight": 1 });
    let sizing = json!({ "budget": 20000, "target": 0.95, "up_to": 12, "families": [family] });
    clerk.note("size_reserves", Some(sizing.clone()), &post("/v1/reserves/sizing", &sizing).await);
    let zones = "name,latitude,longitude,weight\nMill Lane,44.95,-93.1,12\n";
    let read = admin
        .request(Method::POST, "/v1/demand/zones-reading")
        .await
        .header("Content-Type", "text/csv")
        .body(zones);
    clerk.note("read_zones", Some(zones.into()), &Reply::of("zones".into(), read).await);
    of_accounts(world, &mut clerk).await;
    clerk.shown
}

/// What a member does with the own account, and whoever was invited with a link.
async fn of_accounts(world: &World, clerk: &mut Clerk) {
    let crew = world.crew();
    let token = crew.access().await;
    let ask = async |path: &str, token: Option<&str>, body: &Value| accounts::post(world, path, token, body.clone()).await;
    let with = async |clerk: &mut Clerk, operation: &str, path: &str, body: Value| {
        let reply = ask(path, Some(&token), &body).await;
        clerk.note(operation, Some(body), &reply);
        reply.json
    };
    let started = with(clerk, "start_second_factor", "/v1/session/second-factor", json!({ "password": PASSWORD })).await;
    let key = started["secret"].as_str().expect("a key").to_owned();
    let code = || json!({ "code": second_factor::code(&key, world.clock.now()) });
    let on = with(clerk, "confirm_second_factor", "/v1/session/second-factor/confirm", code()).await;
    let half = crew.sign_in().await;
    let second = json!({ "ticket": half.json["ticket"], "code": on["recovery_codes"][0] });
    clerk.note("check_sign_in_code", Some(second.clone()), &ask("/v1/session/code", None, &second).await);
    let renew = json!({ "code": on["recovery_codes"][1] });
    let renewed = with(clerk, "renew_recovery_codes", "/v1/session/second-factor/recovery-codes", renew).await;
    let off = json!({ "code": renewed["recovery_codes"][0] });
    with(clerk, "turn_second_factor_off", "/v1/session/second-factor/off", off).await;
    let make = with(clerk, "start_passkey", "/v1/session/passkeys/start", json!({ "password": PASSWORD })).await;
    let mut phone = passkeys::Authenticator::new("phone");
    let added = with(clerk, "add_passkey", "/v1/session/passkeys", phone.make(&make, "My phone")).await;
    let begin = ask("/v1/session/passkey/start", None, &json!({})).await;
    clerk.note("start_passkey_sign_in", Some(json!({})), &begin);
    let signed = phone.sign(&begin.json);
    clerk.note("sign_in_with_passkey", Some(signed.clone()), &ask("/v1/session/passkey", None, &signed).await);
    let named = json!({ "id": added["id"], "name": "Duty phone" });
    with(clerk, "name_passkey", "/v1/session/passkeys/name", named).await;
    let removed = json!({ "id": added["id"], "password": PASSWORD });
    with(clerk, "remove_passkey", "/v1/session/passkeys/remove", removed).await;
    of_phones(world, clerk).await;
    with(clerk, "give_password_again", "/v1/session/proof", json!({ "password": PASSWORD })).await;
    with(clerk, "end_own_sign_ins", "/v1/session/end", json!({})).await;
    let password = json!({ "present": PASSWORD, "password": "another-three-words" });
    with(clerk, "change_password", "/v1/session/password", password).await;
    let (secret, hash) = crate::slices::calendar_feeds::secret(77);
    let officer = world.officer().person.id;
    world
        .admin()
        .post(&format!("/v1/members/{officer}/link"), json!({ "secret_sha256": hash }))
        .await
        .ok();
    let look = json!({ "secret": secret });
    clerk.note("look_at_link", Some(look.clone()), &ask("/v1/links/look", None, &look).await);
    let used = json!({ "secret": secret, "password": "another-three-words" });
    clerk.note("use_link", Some(used.clone()), &ask("/v1/links/use", None, &used).await);
}

/// An officer's phone gets notices, is tried and is taken off, at a service that sends some.
async fn of_phones(world: &World, clerk: &mut Clerk) {
    let (server, push) = crate::slices::alerts::pushed::service(world).await;
    let officer = world.member_at(&server, world.agency(), "officer");
    let ask = async |clerk: &mut Clerk, operation: &str, path: &str, body: Value| {
        let reply = officer.post(path, body.clone()).await;
        clerk.note(operation, Some(body), &reply);
        reply.json
    };
    let phone = Phone::new(&push.uri(), "duty");
    // What the service keeps of it is at an address of a push service; the example says one.
    let asked = phone.body("Duty phone");
    let made = officer.post("/v1/session/subscriptions", asked.clone()).await;
    let mut said = asked;
    said["endpoint"] = json!("https://push.example/v1/duty");
    clerk.note("add_subscription", Some(said), &made);
    let id = json!({ "id": made.json["id"] });
    clerk.note("list_own_subscriptions", None, &officer.get("/v1/session/subscriptions").await);
    ask(clerk, "try_subscription", "/v1/session/subscriptions/try", id.clone()).await;
    ask(clerk, "remove_subscription", "/v1/session/subscriptions/remove", id).await;
    server.stop().await;
}

/// Instants that are not in UTC with `Z` and six digits after the second.
pub fn odd_instants(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::String(text) if text.len() >= 19 && chrono::DateTime::parse_from_rfc3339(text).is_ok() => {
            let fraction = text
                .strip_suffix('Z')
                .map(|text| text.split_once('.').map_or(0, |(_, fraction)| fraction.len()));
            if fraction != Some(6) {
                found.push(text.clone());
            }
        }
        Value::Array(items) => items.iter().for_each(|item| odd_instants(item, found)),
        Value::Object(fields) => fields.values().for_each(|field| odd_instants(field, found)),
        _ => {}
    }
}

#[test]
fn instants_are_written_as_the_document_says() {
    let mut odd = Vec::new();
    for text in [
        "2026-11-25T14:00:00.000000Z",
        "2026-11-25T14:00:00.123456Z",
        "2026-11-25T14:00:00Z",
        "2026-11-25T14:00:00.123Z",
        "2026-11-25T15:00:00+01:00",
    ] {
        odd_instants(&json!({ "at": [text] }), &mut odd);
    }
    let short = ["2026-11-25T14:00:00Z", "2026-11-25T14:00:00.123Z", "2026-11-25T15:00:00+01:00"];
    assert_eq!(odd, short, "the check itself");
    odd.clear();
    let recorded: Map<String, Value> = serde_json::from_str(&std::fs::read_to_string(RECORDED).expect("recorded")).expect("it is JSON");
    let answers: Vec<&Value> = recorded.values().filter_map(|example| example.get("answer")).collect();
    assert!(answers.len() > 100, "{}", answers.len());
    answers.into_iter().for_each(|answer| odd_instants(answer, &mut odd));
    assert!(odd.is_empty(), "{odd:?}");
}

impl super::Operation {
    fn answers_json(&self, document: &Document) -> bool {
        let method = self.method.as_str().to_lowercase();
        document.json["paths"][&self.path][method]["responses"]["200"]["content"]
            .get("application/json")
            .is_some()
    }
}

#[test]
fn every_operation_with_json_has_an_example_that_fits() {
    if std::env::var_os("FULLSET_RECORD_EXAMPLES").is_some() {
        on(Engine::Sqlite, async |world: &World| {
            let mut text = serde_json::to_string_pretty(&exchanged(world).await).expect("it is JSON");
            text.push('\n');
            std::fs::write(RECORDED, text).expect("openapi/ is writable");
        });
        return;
    }
    /// Those whose bodies are bytes, streams or left out, the one that serves only where there is no agency, and the one that answers only
    /// while an import lasts.
    const WITHOUT: [&str; 15] = [
        "check_photo",
        "export_register",
        "found_agency",
        "list_sets_due",
        "put_photo",
        "read_times",
        "show_calendar",
        "show_import_progress",
        "show_map_tile",
        "show_photo",
        "show_photo_thumbnail",
        "show_service_plan_calendar",
        "sign_out",
        "watch_changes",
        "work_out_service_plan",
    ];
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let mut without = Vec::new();
        for operation in &document.operations {
            let method = operation.method.as_str().to_lowercase();
            let said = &document.json["paths"][&operation.path][method];
            let mut contents = vec![&said["requestBody"]["content"]];
            contents.extend(said["responses"].as_object().unwrap().values().map(|response| &response["content"]));
            let mut examples = 0;
            for content in contents.into_iter().filter_map(|content| content.get("application/json")) {
                for example in content["examples"].as_object().into_iter().flat_map(Map::values) {
                    let faults = misfits(&document, &content["schema"], &example["value"], &operation.id);
                    assert!(faults.is_empty(), "{faults:#?}: record the examples anew, `make examples`");
                    examples += 1;
                }
            }
            if examples == 0 {
                without.push(operation.id.as_str());
            }
        }
        without.retain(|id| !WITHOUT.contains(id));
        assert!(
            without.is_empty(),
            "no example: {without:?}; send one in tests/contract/examples.rs and `make examples`"
        );
    });
}
