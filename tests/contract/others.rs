//! Ids of another agency inside bodies: each id in the body of each act is exchanged in turn for that of a like record of the other agency,
//! and is refused as an id that nobody has, word for word.

use std::collections::{BTreeMap, BTreeSet};

use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    Document, Operation,
    access::stage,
    decided_on,
    more::{More, NOT_AS_THEY_ARE},
    samples::Sample,
};
use crate::world::{Client, Reply, World, acts::id_of, command, expecting, in_shop, on_both, on_rig, on_shelf, on_the_way};

/// Ids that whoever sends a command makes for it, in lists. No record is looked for by them.
const MADE_BY_THE_SENDER: [&str; 2] = ["/moves/*/swap", "/zones/*/id"];

/// The ids in a body, each with the pointer at which it stands.
fn ids(at: &str, value: &Value, found: &mut BTreeMap<String, Uuid>) {
    match value {
        Value::String(text) if text.len() == 36 => found.extend(text.parse().ok().map(|id| (at.to_owned(), id))),
        Value::Array(items) => items.iter().enumerate().for_each(|(n, item)| ids(&format!("{at}/{n}"), item, found)),
        Value::Object(fields) => fields.iter().for_each(|(name, item)| ids(&format!("{at}/{name}"), item, found)),
        _ => {}
    }
}

/// Where a body names a place that a piece can be at.
fn places(at: &str, value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Array(items) => items.iter().enumerate().for_each(|(n, item)| places(&format!("{at}/{n}"), item, found)),
        Value::Object(fields) if fields.get("at").is_some_and(Value::is_string) => found.push(at.to_owned()),
        Value::Object(fields) => fields.iter().for_each(|(name, item)| places(&format!("{at}/{name}"), item, found)),
        _ => {}
    }
}

/// Every kind of place of some ids.
fn everywhere([rig, station, shop]: [Uuid; 3]) -> [Value; 6] {
    let there = [on_rig(rig), on_shelf(station), in_shop(shop)];
    let [one, two, three] = there.clone();
    let [four, five, six] = there.map(on_the_way);
    [one, two, three, four, five, six]
}

/// Two bodies that must be told the same: one names a record of the other agency, the other what nobody has.
struct Case {
    at: String,
    theirs: Value,
    nobodys: Value,
    /// The ids in which they differ, told alike.
    differ: Vec<Uuid>,
}

fn changed(body: &Value, at: &str, to: Value) -> Value {
    let mut body = body.clone();
    *body.pointer_mut(at).expect("the pointer is of this body") = to;
    body
}

/// The cases of a body. `again`: the same, made anew, which shows the ids that its sender makes; `theirs`: the other agency's.
fn cases(own: &Value, again: &Value, theirs: &Value, stand: [Uuid; 3]) -> Vec<Case> {
    let [mut known, mut anew, mut like] = [BTreeMap::new(), BTreeMap::new(), BTreeMap::new()];
    ids("", own, &mut known);
    ids("", again, &mut anew);
    ids("", theirs, &mut like);
    let mut all = Vec::new();
    for (at, id) in known.iter().filter(|(at, id)| anew.get(*at) == Some(*id)) {
        let other = like
            .get(at)
            .unwrap_or_else(|| panic!("{at}: the other agency's body has no id there: {theirs}"));
        assert_ne!(other, id, "{at}: both agencies have the same id");
        let nobodys = Uuid::now_v7();
        all.push(Case {
            at: at.clone(),
            theirs: changed(own, at, json!(other)),
            nobodys: changed(own, at, json!(nobodys)),
            differ: vec![*other, nobodys],
        });
    }
    let mut named = Vec::new();
    places("", own, &mut named);
    for at in named {
        let nobodys = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
        for (there, nowhere) in everywhere(stand).into_iter().zip(everywhere(nobodys)) {
            let mut inside = BTreeMap::new();
            ids(&at, &there, &mut inside);
            all.push(Case {
                at: inside.into_keys().next().expect("a place has an id"),
                theirs: changed(own, &at, there),
                nobodys: changed(own, &at, nowhere),
                differ: stand.into_iter().chain(nobodys).collect(),
            });
        }
    }
    all
}

/// A pointer with a star for each place in a list: `/pieces/*`.
fn pattern(at: &str) -> String {
    let parts = at.split('/').map(|part| if part.parse::<usize>().is_ok() { "*" } else { part });
    parts.collect::<Vec<_>>().join("/")
}

/// An answer as it is told whoever's id was sent.
fn told(reply: &Reply, differ: &[Uuid]) -> (u16, String) {
    let mut problem = reply.json.clone();
    if let Some(fields) = problem.as_object_mut() {
        fields.remove("request_id");
    }
    let text = differ.iter().fold(problem.to_string(), |text, id| text.replace(&id.to_string(), "ID"));
    (reply.status, text)
}

/// Sends both bodies of a case; answers what is wrong with how they were told.
async fn tried(client: &Client, operation: &Operation, target: Option<Uuid>, case: &Case, decided: &[(&str, String)]) -> Option<String> {
    let path = operation.at(target);
    let theirs = client.ask(operation.method.clone(), &path, Some(&case.theirs), decided).await;
    let nobodys = client.ask(operation.method.clone(), &path, Some(&case.nobodys), decided).await;
    let (theirs, nobodys) = (told(&theirs, &case.differ), told(&nobodys, &case.differ));
    let refused = [404, 409, 422].contains(&theirs.0);
    (!refused || theirs != nobodys).then(|| format!("{} {}: {theirs:?}, and for nobody's {nobodys:?}", operation.id, case.at))
}

/// Whether a body could be applied as things stand: tried and undone. Answers what stands in its way.
async fn stands_in_the_way(client: &Client, operation: &Operation, sample: &Sample, decided: &[(&str, String)]) -> Option<String> {
    let mut body = sample.body.clone();
    if let (Some(id), Some(fields)) = (sample.target, body.as_object_mut()) {
        fields.insert("id".into(), json!(id));
    }
    let one = command(&operation.kind(), body);
    let one = match decided.first().and_then(|(_, tag)| tag.trim_matches('"').parse().ok()) {
        Some(rev) => expecting(one, rev),
        None => one,
    };
    let effects = client.post("/v1/effects", json!({ "commands": [one] })).await.ok();
    let problem = &effects["problem"];
    (!problem.is_null()).then(|| format!("{}: its further body shows nothing, it is refused with own ids: {problem}", operation.id))
}

/// Every pointer to an id that a schema has.
fn in_schema(document: &Document, schema: &Value, at: &str, above: &[&str], found: &mut BTreeSet<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        if !above.contains(&name) {
            in_schema(document, document.resolve(schema), at, &[above, &[name]].concat(), found);
        }
        return;
    }
    if schema["format"] == "uuid" {
        found.insert(at.to_owned());
    }
    for one in ["oneOf", "anyOf", "allOf"].into_iter().filter_map(|of| schema[of].as_array()).flatten() {
        in_schema(document, one, at, above, found);
    }
    for (name, one) in schema["properties"].as_object().into_iter().flatten() {
        in_schema(document, one, &format!("{at}/{name}"), above, found);
    }
    if schema["items"].is_object() {
        in_schema(document, &schema["items"], &format!("{at}/*"), above, found);
    }
}

on_both!(an_id_of_another_agency_in_a_body_is_told_as_one_that_nobody_has, async |world: &World| {
    let document = Document::of(world).await;
    let (ours, other) = (stage(world, world.agency()).await, stage(world, &world.ground.vale).await);
    let (our_more, their_more) = (More::of(world, world.agency(), &ours).await, More::of(world, &world.ground.vale, &other).await);
    let (admin, their_admin) = (world.admin(), world.member_of(&world.ground.vale, "admin"));
    let stand = [other.county.engine_1, other.county.station_1, other.county.shop];
    let (before, mut wrong) = (their_admin.revision().await, Vec::new());
    let mut named: BTreeSet<Uuid> = stand.into();
    for theirs in document.acts().flat_map(|operation| their_more.bodies(&other, &operation.id)) {
        let mut found = BTreeMap::new();
        ids("", &theirs.body, &mut found);
        named.extend(found.into_values());
    }
    for operation in document.acts() {
        let (own, again) = (our_more.bodies(&ours, &operation.id), our_more.bodies(&ours, &operation.id));
        let theirs = their_more.bodies(&other, &operation.id);
        let mut seen = BTreeSet::new();
        for (n, ((own, again), theirs)) in own.iter().zip(&again).zip(&theirs).enumerate() {
            let decided = decided_on(&admin, operation, own.target).await;
            let still = (admin.revision().await, world.journal_length());
            for case in cases(&own.body, &again.body, &theirs.body, stand) {
                wrong.extend(tried(&admin, operation, own.target, &case, &decided).await);
                seen.insert(pattern(&case.at));
            }
            if (admin.revision().await, world.journal_length()) != still {
                wrong.push(format!("{}: something was written", operation.id));
            }
            // The sample itself is applied below.
            if n > 0 && !NOT_AS_THEY_ARE.contains(&operation.id.as_str()) {
                wrong.extend(stands_in_the_way(&admin, operation, own, &decided).await);
            }
        }
        let mut has = BTreeSet::new();
        in_schema(&document, operation.body.as_ref().expect("an act has a body"), "", &[], &mut has);
        has.retain(|at| at != "/id" && !MADE_BY_THE_SENDER.contains(&at.as_str()) && !seen.contains(at));
        wrong.extend(has.iter().map(|at| format!("{} {at}: in no body of tests/contract/more.rs", operation.id)));
        wrong.extend(under_their_id(&admin, &their_admin, operation, &own[0], &named).await);
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(their_admin.revision().await, before, "nothing was written on the other side");
    their_admin.sign_in().await.ok();
});

/// Applies the sample, so that the refusals before it show something. What it makes, it makes under the id that a like record of the other
/// agency has: that is another record, of which nothing shows.
async fn under_their_id(admin: &Client, their_admin: &Client, operation: &Operation, sample: &Sample, named: &BTreeSet<Uuid>) -> Option<String> {
    let mut body = sample.body.clone();
    if operation.method == Method::POST && operation.answers.contains(&"201".to_owned()) {
        let page = their_admin.find(&format!("{}?limit=100", operation.path)).await;
        let items = page["items"].as_array().expect("a list has items");
        assert!(!items.is_empty(), "{}: the other agency has none", operation.path);
        // What the walk goes on to name must stay a stranger's id.
        if let Some(id) = items.iter().map(id_of).find(|id| id.get_version_num() == 7 && !named.contains(id)) {
            body["id"] = json!(id);
        }
    }
    let decided = decided_on(admin, operation, sample.target).await;
    let reply = admin.ask(operation.method.clone(), &operation.at(sample.target), Some(&body), &decided).await;
    (!reply.done()).then(|| format!("{}: {} {}", reply.asked, reply.status, reply.text))
}

on_both!(what_is_worked_out_is_worked_out_of_the_own_records_alone, async |world: &World| {
    let document = Document::of(world).await;
    let (ours, other) = (stage(world, world.agency()).await, stage(world, &world.ground.vale).await);
    let (admin, id) = (world.admin(), Uuid::now_v7());
    let asked = [&ours, &ours, &other].map(|stage| stage.plan(id, "2034-01-02")["asked"].take());
    let stand = [other.county.engine_1, other.county.station_1, other.county.shop];
    let mut wrong = Vec::new();
    let mut all: Vec<(&str, Vec<Case>)> = ["list_sets_due", "work_out_service_plan"]
        .map(|operation| (operation, cases(&asked[0], &asked[1], &asked[2], stand)))
        .into();
    let one = |at: &str, body: &dyn Fn(Uuid) -> Value, theirs: Uuid| {
        let nobodys = Uuid::now_v7();
        vec![Case {
            at: at.to_owned(),
            theirs: body(theirs),
            nobodys: body(nobodys),
            differ: vec![theirs, nobodys],
        }]
    };
    let tablet = |station: Uuid| json!({ "kind": "tablet", "station": station });
    all.push(("make_enrolment", one("/station", &tablet, other.county.station_1)));
    let sign_ins = world.member_of(&world.ground.vale, "admin").find("/v1/session/sign-ins").await;
    let theirs = sign_ins["items"][0]["id"].as_str().and_then(|id| id.parse().ok()).expect("they are signed in");
    all.push(("end_own_sign_ins", one("/sign_in", &|id: Uuid| json!({ "sign_in": id }), theirs)));
    for (operation, cases) in &all {
        let operation = document.operations.iter().find(|one| one.id == *operation).expect("it is in the document");
        assert!(!cases.is_empty(), "{}", operation.id);
        for case in cases {
            wrong.extend(tried(&admin, operation, None, case, &[]).await);
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    // What commands would do is tried as they are sent.
    let out = command("piece.take_out", json!({ "id": other.county.set_1.cutter, "reason": "bent" }));
    let effects = admin.post("/v1/effects", json!({ "commands": [out] })).await.ok();
    assert_eq!(effects["problem"]["code"], "not-found", "{effects}");
});

on_both!(a_command_of_another_agency_is_nobodys_here, async |world: &World| {
    let (admin, their_admin) = (world.admin(), world.member_of(&world.ground.vale, "admin"));
    let district = |name: &str| command("district.add", json!({ "id": Uuid::now_v7(), "name": name }));
    let (one, two) = (district("East"), district("West"));
    their_admin.apply(vec![one.clone(), two.clone()]).await;
    // What the other agency sent under an id does not stand in the way of it here, and is not answered here.
    let mut same = district("Valley");
    same["id"] = one["id"].clone();
    let answer = admin.send(vec![same]).await.ok()["answers"][0].take();
    assert_eq!(
        (&answer["outcome"], &answer["record"]["name"]),
        (&json!("applied"), &json!("Valley")),
        "{answer}"
    );
    // Nothing follows on a command of theirs, and nobody learns that there is one.
    let rev = admin.rev(&format!("/v1/districts/{}", world.county().north)).await;
    for field in ["after", "expects"] {
        let mut answers = Vec::new();
        let nobodys = json!(Uuid::now_v7());
        for id in [&two["id"], &nobodys] {
            let mut follows = command("district.edit", json!({ "id": world.county().north, "name": "Upper North" }));
            follows["expects"] = json!(rev);
            follows[field] = if field == "after" { id.clone() } else { json!({ "after": id }) };
            let answer = admin.send(vec![follows]).await.ok()["answers"][0].take();
            let mut problem = answer["problem"].clone();
            problem.as_object_mut().expect("it is refused").remove("request_id");
            let text = problem.to_string().replace(id.as_str().expect("an id"), "ID");
            answers.push((answer["outcome"].clone(), text));
        }
        assert!(answers[0].0 == "refused" || answers[0].0 == "conflict", "{field}: {answers:?}");
        assert_eq!(answers[0], answers[1], "{field}");
    }
});
