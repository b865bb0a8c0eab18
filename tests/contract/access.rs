//! The access matrix, for every operation of the document: no token 401; wrong role 403; out of reach 403; another agency's record
//! 404; a shared tablet, every read and no unsigned act. What is neither a read nor an act is in `beside.rs`, ids of another agency inside
//! bodies in `others.rs`.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use uuid::Uuid;

use super::{Document, Operation, PASSING, decided_on, may::may, stage::Stage, trials::handover};
use crate::world::{Agency, Client, Reply, World, acts::id_of, command, device::Device, on_both, people::Person};

/// The roles that a member can have.
pub const ROLES: [&str; 6] = ["crew", "officer", "chief", "shop", "coordinator", "admin"];

/// A stage in an agency.
pub async fn stage(world: &World, agency: &Agency) -> Stage {
    let stage = Stage::set(&world.member_of(agency, "admin"), &agency.county, agency.people["crew_2"].id).await;
    // Who gives a handover does not take it.
    let given = command("handover.give", handover(agency.county.station_2));
    world.member_of(agency, "crew_2").apply(vec![given]).await;
    stage
}

on_both!(every_operation_but_signing_in_asks_who_is_there, async |world: &World| {
    let document = Document::of(world).await;
    let open: BTreeSet<&str> = document
        .operations
        .iter()
        .filter(|operation| !operation.secured)
        .map(|operation| operation.id.as_str())
        .collect();
    assert_eq!(
        open,
        BTreeSet::from([
            "add_passkey",
            "about",
            "acknowledge_by_code",
            "found_agency",
            "needs_founding",
            "check_sign_in_code",
            "confirm_second_factor",
            "look_at_link",
            "redeem_enrolment",
            "refresh_session",
            "show_calendar",
            "sign_in",
            "sign_in_with_passkey",
            "sign_out",
            "start_passkey",
            "start_passkey_sign_in",
            "start_second_factor",
            "use_link"
        ])
    );
    for operation in document.operations.iter().filter(|operation| operation.secured) {
        let path = operation.at(Some(world.county().engine_1));
        let reply = world.nobody(operation.method.as_str(), &path).await;
        assert!(reply.headers.contains_key("www-authenticate"), "{}", reply.asked);
        if operation.method == "HEAD" {
            assert_eq!(reply.status, 401, "{}: it has no body to say more", reply.asked);
        } else {
            reply.refused(401, "sign-in-needed");
        }
        assert!(operation.answers.contains(&"401".to_owned()), "{}: the document does not say so", operation.id);
    }
});

on_both!(the_session_tells_each_role_exactly_what_it_may_send, async |world: &World| {
    for role in ROLES {
        let session = world.member(role).get("/v1/session").await.ok();
        let told: BTreeSet<&str> = session["may"].as_array().unwrap().iter().map(|kind| kind.as_str().unwrap()).collect();
        assert_eq!(told, may(role), "{role}");
    }
});

on_both!(
    every_act_is_refused_to_every_role_that_may_not_and_taken_from_those_that_may,
    async |world: &World| {
        let document = Document::of(world).await;
        let (codes, stage) = (document.codes(), stage(world, world.agency()).await);
        for operation in document.acts() {
            let (kind, sample) = (operation.kind(), stage.sample(&operation.id));
            assert!(may("admin").contains(kind.as_str()), "{kind} is not in the table of who may send what");
            let mut applied = false;
            for role in ROLES {
                let client = world.member(role);
                let before = (client.revision().await, world.journal_length());
                let headers = decided_on(&client, operation, sample.target).await;
                let reply = client
                    .ask(operation.method.clone(), &operation.at(sample.target), Some(&sample.body), &headers)
                    .await;
                if may(role).contains(kind.as_str()) {
                    // Everybody decides for the own device, but for another's only who leads: `slices/devices.rs` holds that.
                    let anothers = reply.status == 403 && kind.starts_with("device.");
                    assert!(
                        anothers || reply.status < 500 && ![401, 403].contains(&reply.status),
                        "{}: {} {}",
                        reply.asked,
                        reply.status,
                        reply.text
                    );
                    applied |= reply.done();
                } else {
                    assert_eq!(operation.refusal(&codes, reply)["code"], "not-allowed", "{role} {kind}");
                    assert_eq!(
                        (client.revision().await, world.journal_length()),
                        before,
                        "{role} {kind}: something was written"
                    );
                }
            }
            assert!(applied, "{kind}: nobody could send it, so the refusals show nothing");
        }
    }
);

on_both!(a_batch_asks_for_the_same_roles_as_the_plain_addresses, async |world: &World| {
    let all: BTreeSet<&str> = may("admin")
        .into_iter()
        .chain([
            "agency.found",
            "clock.settle",
            "device.enrol",
            "device.see",
            "alert.note",
            "alert.answer",
            "member.change_password",
            "member.use_link",
        ])
        .collect();
    for role in ROLES {
        let batch = world.member(role).send(all.iter().map(|kind| command(kind, json!({}))).collect()).await.ok();
        for (kind, answer) in all.iter().zip(batch["answers"].as_array().unwrap()) {
            assert_eq!(answer["outcome"], "refused", "{role} {kind}: an empty body does nothing");
            let refused_to_role = answer["problem"]["code"] == "not-allowed";
            assert_eq!(refused_to_role, !may(role).contains(kind), "{role} {kind}: {answer}");
        }
    }
});

/// A record of another agency that an operation could name: what the stage would use, or the first of the list.
async fn theirs(world: &World, operation: &Operation, stage: &Stage) -> Uuid {
    if operation.is_act() {
        return stage.sample(&operation.id).target.expect("a path with an id has a target");
    }
    let listed = world.member_of(&world.ground.vale, "admin").list(operation.list()).await;
    id_of(listed.first().unwrap_or_else(|| panic!("{}: the other agency has none", operation.list())))
}

on_both!(another_agencys_record_is_not_found_by_any_operation, async |world: &World| {
    let document = Document::of(world).await;
    let codes = document.codes();
    let (ours, other) = (stage(world, world.agency()).await, stage(world, &world.ground.vale).await);
    let (admin, their_admin) = (world.admin(), world.member_of(&world.ground.vale, "admin"));
    let before = (their_admin.revision().await, admin.revision().await);
    for operation in document.operations.iter().filter(|operation| operation.has_target()) {
        let target = theirs(world, operation, &other).await;
        let path = operation.at(Some(target));
        let body: Option<Value> = operation.is_act().then(|| ours.sample(&operation.id).body);
        let revision = [("If-Match", "\"1\"".to_owned())];
        let reply: Reply = admin.ask(operation.method.clone(), &path, body.as_ref(), &revision).await;
        assert_eq!(operation.refusal(&codes, reply)["code"], "not-found", "{}", operation.id);
        if !operation.is_act() && !PASSING.contains(&operation.id.as_str()) {
            their_admin.get(&path).await.ok();
        }
    }
    assert_eq!(
        (their_admin.revision().await, admin.revision().await),
        before,
        "nothing was written on either side"
    );
});

/// Three admins who are bounded, with the place that each is bounded to. The stage stands in the north.
pub async fn bounded(world: &World) -> [(&'static str, Client); 3] {
    let c = world.county();
    let people = [
        ("south", Person::new("harrow", "Sue South", "admin").over(c.south)),
        ("station 3", Person::new("harrow", "Theo Three", "admin").at(c.station_3)),
        ("north", Person::new("harrow", "Nora North", "admin").over(c.north)),
    ];
    let clients = people.map(|(place, person)| async move {
        world.admin().post("/v1/members", person.body()).await.ok();
        let client = Client::new(&world.server.base, &world.http, &world.clock, &person);
        client.access().await;
        (place, client)
    });
    let [one, two, three] = clients;
    [one.await, two.await, three.await]
}

/// How far an act reaches, as the document says it of every one.
fn reach(operation: &Operation) -> &'static str {
    let words = ["who reach the whole agency", "within their reach", "for everything of the agency"];
    let said: Vec<&str> = words.into_iter().filter(|words| operation.about.contains(*words)).collect();
    assert_eq!(said.len(), 1, "{}: the document says {said:?} of how far it reaches", operation.id);
    said[0]
}

/// Where the stage's sample of an act is within reach. What is not named here is in the north.
fn stands(kind: &str) -> &'static [&'static str] {
    match kind {
        "station.edit" | "rig.put_back" | "alert.acknowledge" | "alert.resend" => &["south", "station 3"],
        // The first takes it out of the shop, to a shelf in the north.
        "ticket.return" => &["south", "north"],
        // In the shop, at no station: every technician's work. And the PIN of a member who is not bounded.
        kind if kind.starts_with("ticket.") => &["south", "station 3", "north"],
        "piece.refill" | "member.unlock_pin" => &["south", "station 3", "north"],
        // From an engine in the north onto a shelf in the south, at once.
        "swap.end" => &[],
        // Phones of a member who is not bounded.
        kind if kind.starts_with("device.") => &[],
        _ => &["north"],
    }
}

on_both!(every_act_stays_within_reach_as_its_kind_says, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, stage) = (document.codes(), stage(world, world.agency()).await);
    let tablet = Device::enrol(world, &world.admin(), Some(world.county().station_1)).await;
    let members = bounded(world).await;
    let (mut whole, mut wrong) = (BTreeSet::new(), Vec::new());
    for operation in document.acts() {
        let (kind, sample, reach) = (operation.kind(), stage.sample(&operation.id), reach(operation));
        let request = tablet.request(operation.method.clone(), &operation.at(sample.target)).json(&sample.body);
        let reply = Reply::of(format!("tablet {}", operation.id), request).await;
        assert_eq!(operation.refusal(&codes, reply)["code"], "signature-needed", "{kind}");
        for (place, client) in &members {
            let before = (client.revision().await, world.journal_length());
            let headers = decided_on(client, operation, sample.target).await;
            let path = operation.at(sample.target);
            let reply = client.ask(operation.method.clone(), &path, Some(&sample.body), &headers).await;
            let asks = reach == "within their reach" || kind == "check.record" || kind.starts_with("device.");
            let everybodys = reach == "who reach the whole agency";
            let outside = everybodys || (asks && !stands(&kind).contains(place));
            whole.extend(everybodys.then(|| kind.clone()));
            let refused = reply.status == 403 && reply.json["code"] == "out-of-reach";
            if refused != outside || reply.status == 401 || reply.status >= 500 {
                wrong.push(format!("{place} {kind}: {} {}", reply.status, reply.json["code"]));
            } else if refused {
                operation.refusal(&codes, reply);
                let after = (client.revision().await, world.journal_length());
                assert_eq!(after, before, "{place} {kind}: something was written");
            }
        }
    }
    assert!(wrong.is_empty(), "refused or taken against what its kind and `stands` say: {wrong:#?}");
    for (place, client) in &members {
        let session = client.get("/v1/session").await.ok();
        let told: BTreeSet<&str> = session["may"].as_array().unwrap().iter().map(|kind| kind.as_str().unwrap()).collect();
        // In a batch, with those that have no plain address of their own: the import.
        let all: Vec<&str> = may("admin").into_iter().collect();
        let batch = client.send(all.iter().map(|kind| command(kind, json!({}))).collect()).await.ok();
        let answers = batch["answers"].as_array().unwrap();
        let closed = all.iter().zip(answers).filter(|(_, answer)| answer["problem"]["code"] == "out-of-reach");
        let closed: BTreeSet<&str> = closed.map(|(kind, _)| *kind).collect();
        assert!(whole.iter().all(|kind| closed.contains(kind.as_str())), "{place}: {closed:?}");
        assert!(closed.contains("import.add"), "{place}: {closed:?}");
        let open: BTreeSet<&str> = all.into_iter().filter(|kind| !closed.contains(kind)).collect();
        assert_eq!(told, open, "{place}: what is offered is what is not refused");
    }
});

/// What only an admin reads.
pub const ADMINS: [&str; 2] = ["list_access_events", "show_member_access"];
/// What only who keeps the programme reads.
pub const PLANNERS: [&str; 1] = ["show_doubtful_checks"];

on_both!(every_read_is_open_to_every_member_and_every_device, async |world: &World| {
    let document = Document::of(world).await;
    stage(world, world.agency()).await;
    let tablet = Device::enrol(world, &world.admin(), Some(world.county().station_1)).await;
    let [(_, south), (_, three), _] = bounded(world).await;
    let readers = ROLES.map(|role| (role, world.member(role)));
    for operation in document.operations.iter().filter(|operation| operation.secured && operation.method == "GET") {
        let target = match operation.has_target() {
            true => world.admin().list(operation.list()).await.first().map(id_of),
            false => None,
        };
        let path = operation.at(target.or(operation.has_target().then_some(world.county().engine_1)));
        let asked = readers
            .iter()
            .map(|(role, client)| (*role, client))
            .chain([("bounded", &south), ("bounded", &three)]);
        for (reader, client) in asked {
            let status = client.request(operation.method.clone(), &path).await.send().await.unwrap().status();
            if ADMINS.contains(&operation.id.as_str()) {
                let opens = client.person.role == "admin";
                assert_eq!(
                    status.as_u16() == 403,
                    !opens || reader == "bounded" && operation.has_target(),
                    "{reader} {}",
                    operation.id
                );
                continue;
            }
            if PLANNERS.contains(&operation.id.as_str()) {
                let opens = ["coordinator", "admin"].contains(&client.person.role.as_str());
                assert_eq!(status.as_u16(), if opens { 200 } else { 403 }, "{reader} {}", operation.id);
                continue;
            }
            let refused = [401, 403].contains(&status.as_u16()) || status.is_server_error();
            assert!(!refused, "{reader} {}: {status}", operation.id);
        }
        let status = tablet.request(operation.method.clone(), &path).send().await.unwrap().status();
        let refused = [401, 403].contains(&status.as_u16()) || status.is_server_error();
        let closed = ADMINS.contains(&operation.id.as_str()) || PLANNERS.contains(&operation.id.as_str());
        assert_eq!(refused, closed, "tablet {}: {status}", operation.id);
    }
});
