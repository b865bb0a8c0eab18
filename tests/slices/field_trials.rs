//! Field trials: nobody reads others' answers before his own are in, what is missing is missing, and an order is told only where no one
//! evaluator decides it. Expected numbers are worked by hand, or by Python 3.11.7's `statistics` where that is said.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, acts::id_of, command, device::Device, on_both};

fn candidate(name: &str) -> Value {
    json!({ "name": name, "kind": "cutter" })
}

fn question(text: &str, weight: u8) -> Value {
    json!({ "text": text, "weight": weight, "lowest": "cannot be done with gloves", "highest": "done without looking" })
}

/// Two cutters, two questions of which one weighs three times the other, and a scale.
fn trial(evaluators: &[&Client]) -> Value {
    let people: Vec<Uuid> = evaluators.iter().map(|client| client.person.id).collect();
    json!({
        "id": Uuid::now_v7(), "name": "Cutters for the new engine", "candidates": [candidate("Dorvan C9"), candidate("Kestrel 90")],
        "questions": [question("Grip with wet gloves", 3), question("Reaches the hinge", 1)],
        "measurements": [
            { "what": "weight", "how": "On the platform scale, with its pack", "unit": "kg", "better": "lower" },
            { "what": "force", "how": "At the middle of the blade", "unit": "kN", "better": "higher" },
        ],
        "evaluators": people,
    })
}

fn with(mut body: Value, field: &str, value: Value) -> Value {
    body[field] = value;
    body
}

pub async fn open(world: &World, evaluators: &[&Client]) -> Uuid {
    id_of(&world.coordinator().post("/v1/field-trials", trial(evaluators)).await.record())
}

/// Points to each question; 0 is no answer.
async fn hand_in(client: &Client, trial: Uuid, candidate: u8, points: [u8; 2], words: &str) -> Reply {
    let answers = points.map(|points| json!({ "points": (points > 0).then_some(points), "words": words }));
    client
        .post(
            &format!("/v1/field-trials/{trial}/hand-in"),
            json!({ "candidate": candidate, "answers": answers }),
        )
        .await
}

pub async fn result(client: &Client, trial: Uuid) -> Value {
    client.find(&format!("/v1/field-trials/{trial}/result")).await
}

async fn end(client: &Client, trial: Uuid, how: &str, body: Value) -> Reply {
    let path = format!("/v1/field-trials/{trial}");
    let rev = client.rev(&path).await;
    client.post_on(&format!("{path}/{how}"), rev, body).await
}

/// Everything that a member can read of a trial but for its result, as one text.
async fn readable(client: &Client, trial: Uuid) -> String {
    let mut text = String::new();
    for path in ["/v1/changes?limit=2000", "/v1/field-trials", "/v1/trial-answers", "/v1/trial-readings"] {
        text += &client.get(path).await.ok().to_string();
    }
    text += &client.get(&format!("/v1/field-trials/{trial}/history")).await.ok().to_string();
    for answer in client.list("/v1/trial-answers").await {
        let path = format!("/v1/trial-answers/{}", id_of(&answer));
        text += &client.get(&format!("{path}/history")).await.ok().to_string();
        text += &client.get(&format!("{path}?revision={}", answer["rev"])).await.ok().to_string();
    }
    text
}

on_both!(nobody_reads_others_answers_before_his_own_are_in_wherever_he_looks, async |world: &World| {
    let (crew, officer, coordinator, chief) = (world.crew(), world.officer(), world.coordinator(), world.member("chief"));
    let id = open(world, &[&crew, &officer]).await;
    let record = hand_in(&crew, id, 1, [4, 2], "kingfisher").await.record();
    assert_eq!(
        (&record["evaluator"]["name"], &record["answered"], &record["missing"]),
        (&json!(crew.person.name), &json!(2), &json!(0))
    );
    for client in [&crew, &officer, &coordinator, &chief] {
        assert!(
            !readable(client, id).await.contains("kingfisher"),
            "{} reads it past the result",
            client.person.name
        );
    }
    // Neither the other evaluator, nor he himself before he has handed in about both, nor somebody who looks on.
    for (client, words) in [(&officer, "0 of 2"), (&crew, "1 of 2"), (&chief, "once the trial is closed")] {
        let held = result(client, id).await;
        assert!(held["held_back"].as_str().unwrap().contains(words), "{held}");
        assert!(!held.to_string().contains("kingfisher"), "{held}");
        assert_eq!(
            (&held["candidates"][0]["scores"], &held["candidates"][0]["questions"], &held["pairs"]),
            (&json!([]), &json!([]), &json!([]))
        );
    }
    let tablet = Device::enrol(world, &world.admin(), Some(world.county().station_1)).await;
    let held = tablet.get(&format!("/v1/field-trials/{id}/result")).await.ok();
    assert!(held["held_back"].is_string() && !held.to_string().contains("kingfisher"), "{held}");
    // Who keeps the programme and does not answer reads it.
    let seen = result(&coordinator, id).await;
    assert_eq!(seen["held_back"], Value::Null);
    assert_eq!(seen["candidates"][0]["questions"][0]["answers"][0]["words"], "kingfisher");
    // One of two sheets is not enough; both are.
    hand_in(&officer, id, 2, [3, 3], "").await.ok();
    assert!(result(&officer, id).await["held_back"].is_string());
    hand_in(&officer, id, 1, [3, 3], "").await.ok();
    assert!(result(&officer, id).await.to_string().contains("kingfisher"));
    assert!(result(&crew, id).await["held_back"].is_string());
    // When it is closed everybody reads the result, and the feed has the answers no more than before.
    end(&coordinator, id, "close", json!({})).await.ok();
    for client in [&crew, &chief] {
        assert!(result(client, id).await.to_string().contains("kingfisher"));
        assert!(!readable(client, id).await.contains("kingfisher"));
    }
});

on_both!(a_coordinator_who_answers_is_an_evaluator_like_the_others, async |world: &World| {
    let (crew, coordinator, admin) = (world.crew(), world.coordinator(), world.admin());
    let id = open(world, &[&crew, &coordinator]).await;
    hand_in(&crew, id, 1, [4, 2], "kingfisher").await.ok();
    let held = result(&coordinator, id).await;
    assert!(held["held_back"].is_string() && !held.to_string().contains("kingfisher"), "{held}");
    assert_eq!(result(&admin, id).await["held_back"], Value::Null);
    // Who could have read them is not made an evaluator any more; who could not is.
    let invite = async |who: &Client| {
        let body = json!({ "evaluators": [who.person.id] });
        coordinator.post(&format!("/v1/field-trials/{id}/invite"), body).await
    };
    let refused = invite(&admin).await.refused(409, "rule-broken");
    assert_eq!(refused["field"], "body.evaluators[0]");
    assert_eq!(invite(&world.officer()).await.record()["evaluators"].as_array().unwrap().len(), 3);
    let refused = invite(&crew).await.refused(422, "field-invalid");
    assert!(refused["detail"].as_str().unwrap().contains("answers already"), "{refused}");
});

on_both!(
    a_result_has_its_spread_its_dissent_and_what_is_missing_and_calls_nothing_best,
    async |world: &World| {
        let (crew, officer, shop, coordinator) = (world.crew(), world.officer(), world.shop(), world.coordinator());
        let id = open(world, &[&crew, &officer, &shop]).await;
        // By hand, (3a + b) / 4: 4.75, 4.25, and 5 of the one that was answered.
        hand_in(&crew, id, 1, [5, 4], "sits well").await.ok();
        hand_in(&officer, id, 1, [4, 5], "").await.ok();
        hand_in(&shop, id, 1, [5, 0], "").await.ok();
        // 2.5, 4, and nothing of the third.
        hand_in(&crew, id, 2, [3, 1], "slips").await.ok();
        hand_in(&officer, id, 2, [4, 4], "").await.ok();
        let two = result(&coordinator, id).await;
        assert_eq!(two["evaluators"][2]["missing"], json!([2]));
        let second = &two["candidates"][1];
        // Of two numbers: the quartiles are a quarter of the way in from each.
        assert_eq!(
            second["spread"],
            json!({ "count": 2, "lowest": 2.5, "lower_quartile": 2.875, "median": 3.25, "upper_quartile": 3.625, "highest": 4.0 })
        );
        assert_eq!((&two["pairs"][0]["order"], &two["pairs"][0]["both"]), (&json!("too_few"), &json!(2)));
        assert!(second["place_words"].as_str().unwrap().starts_with("not told"), "{second}");

        hand_in(&shop, id, 2, [1, 1], "").await.ok();
        let seen = result(&coordinator, id).await;
        let first = &seen["candidates"][0];
        let means: Vec<f64> = first["scores"].as_array().unwrap().iter().map(|one| one["mean"].as_f64().unwrap()).collect();
        let mut sorted = means.clone();
        sorted.sort_by(f64::total_cmp);
        assert_eq!(sorted, [4.25, 4.75, 5.0]);
        let of_shop = first["scores"]
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["evaluator"]["name"] == json!(shop.person.name));
        assert_eq!((&of_shop.unwrap()["answered"], &of_shop.unwrap()["missing"]), (&json!(1), &json!(1)));
        assert_eq!((&first["spread"]["median"], &first["spread"]["lower_quartile"]), (&json!(4.75), &json!(4.5)));
        // Sums: 19, 17, 15 + the missing 1 to 5 against 10, 16, 4. Least of the first 16, 17, 19: its median 17 is above 10, and without
        // any one evaluator: 16.5 or 18 or 17.5 to 10, 7 or 13.
        assert_eq!(seen["pairs"][0]["order"], "first_ahead", "{seen}");
        assert_eq!(
            (&first["place_words"], &seen["candidates"][1]["place_words"]),
            (&json!("1 of 2"), &json!("2 of 2"))
        );
        // Two points apart is told with names and words; one is not.
        let dissent = |candidate: usize, question: usize| &seen["candidates"][candidate]["questions"][question]["dissent"];
        assert_eq!([dissent(0, 0), dissent(0, 1), dissent(1, 0), dissent(1, 1)], [false, false, true, true]);
        let answers = seen["candidates"][1]["questions"][1]["answers"].as_array().unwrap();
        assert_eq!(
            (&answers[0]["points"], &answers[0]["evaluator"]["name"]),
            (&json!(4), &json!(officer.person.name))
        );
        assert!(answers.iter().any(|one| one["words"] == "slips" && one["points"] == 1), "{answers:?}");
        let open_answers = &first["questions"][1]["answers"];
        assert_eq!(
            open_answers[2]["points"],
            Value::Null,
            "what is missing stands last, as missing: {open_answers}"
        );
    }
);

on_both!(an_order_that_one_evaluator_decides_is_too_close_to_tell, async |world: &World| {
    let (crew, officer, shop, coordinator) = (world.crew(), world.officer(), world.shop(), world.coordinator());
    let id = open(world, &[&crew, &officer, &shop]).await;
    for (client, one, two) in [(&crew, [3, 3], [3, 3]), (&officer, [4, 4], [3, 3]), (&shop, [5, 5], [5, 5])] {
        hand_in(client, id, 1, one, "").await.ok();
        hand_in(client, id, 2, two, "").await.ok();
    }
    // Medians of 4 and 3; without the officer both are 4.
    let seen = result(&coordinator, id).await;
    assert_eq!(
        (&seen["candidates"][0]["spread"]["median"], &seen["candidates"][1]["spread"]["median"]),
        (&json!(4.0), &json!(3.0))
    );
    assert_eq!(seen["pairs"][0]["order"], "too_close");
    for candidate in seen["candidates"].as_array().unwrap() {
        assert_eq!(candidate["place_words"], "1 to 2 of 2: too close to tell");
    }
});

on_both!(what_evaluators_send_without_a_signal_never_meets_a_conflict, async |world: &World| {
    let (crew, officer) = (world.crew(), world.officer());
    let id = open(world, &[&crew, &officer]).await;
    let sheet = |candidate: u8| {
        let answers = [json!({ "points": 4 }), json!({ "points": null, "words": "not tried" })];
        command("field_trial.hand_in", json!({ "id": id, "candidate": candidate, "answers": answers }))
    };
    let reading = |value: f64| {
        let value = json!({ "value": value, "unit": "kg" });
        command(
            "trial_reading.add",
            json!({ "id": Uuid::now_v7(), "trial": id, "candidate": 1, "measurement": 1, "value": value }),
        )
    };
    let of = |values: [f64; 5]| -> Vec<Value> { values.map(reading).into_iter().chain([sheet(1), sheet(2)]).collect() };
    let (one, two) = (of([19.4, 19.5, 19.6, 19.5, 19.4]), of([19.3, 19.5, 19.5, 19.6, 19.7]));
    crew.apply(one.clone()).await;
    officer.apply(two).await;
    // Sent again after a lost reply, all of it is there once.
    let again = crew.send(one).await.ok();
    assert!(
        again["answers"].as_array().unwrap().iter().all(|answer| answer["outcome"] == "repeated"),
        "{again}"
    );
    assert_eq!(
        (crew.list("/v1/trial-answers").await.len(), crew.list("/v1/trial-readings").await.len()),
        (4, 10)
    );
    // A second sheet about the same candidate is none, and the first stays.
    let refused = hand_in(&crew, id, 1, [1, 1], "").await.refused(409, "rule-broken");
    assert!(refused["detail"].as_str().unwrap().contains("handed in before"), "{refused}");
    let seen = result(&crew, id).await;
    assert_eq!(seen["candidates"][0]["scores"][0]["mean"], 4.0);
    assert_eq!(seen["candidates"][0]["measurements"][0]["measured"]["count"], 10);
});

on_both!(a_trial_that_cannot_be_is_refused_with_the_field, async |world: &World| {
    let (crew, coordinator) = (world.crew(), world.coordinator());
    let good = trial(&[&crew]);
    let ram = world.county().models.ram;
    let many = |count: usize| -> Vec<Value> { (0..count).map(|n| candidate(&format!("Tool {n}"))).collect() };
    for (field, value, at) in [
        ("candidates", json!(many(1)), "body.candidates"),
        ("candidates", json!(many(9)), "body.candidates"),
        (
            "candidates",
            json!([candidate("Kestrel 90"), candidate(" kestrel 90 ")]),
            "body.candidates[1].name",
        ),
        (
            "candidates",
            json!([candidate("A"), { "name": "B", "kind": "cutter", "model": ram }]),
            "body.candidates[1].model",
        ),
        (
            "candidates",
            json!([candidate("A"), { "name": "B", "kind": "cutter", "model": Uuid::now_v7() }]),
            "body.candidates[1].model",
        ),
        ("questions", json!([]), "body.questions"),
        ("questions", json!(vec![question("Grip", 1); 31]), "body.questions"),
        ("questions", json!([question("Grip", 0)]), "body.questions[0].weight"),
        ("questions", json!([question("Grip", 11)]), "body.questions[0].weight"),
        ("questions", json!([question(" ", 1)]), "body.questions[0].text"),
        (
            "questions",
            json!([with(question("Grip", 1), "lowest", json!("x".repeat(101)))]),
            "body.questions[0].lowest",
        ),
        (
            "measurements",
            json!([{ "what": "force", "how": "x", "unit": "kg", "better": "higher" }]),
            "body.measurements[0].unit",
        ),
        (
            "measurements",
            json!([{ "what": "weight", "how": " ", "unit": "kg", "better": "lower" }]),
            "body.measurements[0].how",
        ),
        ("evaluators", json!([]), "body.evaluators"),
        ("evaluators", json!([crew.person.id, crew.person.id]), "body.evaluators[1]"),
        ("evaluators", json!([Uuid::now_v7()]), "body.evaluators[0]"),
        ("evaluators", json!(vec![crew.person.id; 13]), "body.evaluators"),
    ] {
        let refused = coordinator
            .post("/v1/field-trials", with(good.clone(), field, value))
            .await
            .refused(422, "field-invalid");
        assert_eq!(refused["field"], at, "{refused}");
    }
    crew.post("/v1/field-trials", good.clone()).await.refused(403, "not-allowed");
    coordinator.post("/v1/field-trials", good.clone()).await.ok();
    let again = with(good, "id", json!(Uuid::now_v7()));
    coordinator.post("/v1/field-trials", again).await.refused(409, "already-there");
});

on_both!(an_answer_that_is_none_is_refused_and_nothing_of_it_is_kept, async |world: &World| {
    let (crew, officer) = (world.crew(), world.officer());
    let id = open(world, &[&crew]).await;
    let path = format!("/v1/field-trials/{id}/hand-in");
    for (answers, at) in [
        (json!([{ "points": 6 }, { "points": 1 }]), "body.answers[0].points"),
        (json!([{ "points": 1 }, { "points": 0 }]), "body.answers[1].points"),
        (json!([{ "points": 1 }]), "body.answers"),
        (json!([{ "points": 1 }, { "points": 1 }, { "points": 1 }]), "body.answers"),
        (json!([{ "points": null }, { "points": null, "words": "did not come to it" }]), "body.answers"),
        (json!([{ "points": 1, "words": "x".repeat(501) }, { "points": 1 }]), "body.answers[0].words"),
    ] {
        let body = json!({ "candidate": 1, "answers": answers });
        assert_eq!(crew.post(&path, body).await.refused(422, "field-invalid")["field"], at);
    }
    for number in [0, 3] {
        assert_eq!(
            hand_in(&crew, id, number, [3, 3], "").await.refused(422, "field-invalid")["field"],
            "body.candidate"
        );
    }
    hand_in(&officer, id, 1, [3, 3], "").await.refused(409, "rule-broken");
    assert_eq!(crew.list("/v1/trial-answers").await.len(), 0);
    assert_eq!(result(&world.coordinator(), id).await["candidates"][0]["scores"], json!([]));
});

on_both!(closing_freezes_and_a_trial_without_an_answer_is_withdrawn_instead, async |world: &World| {
    let (crew, officer, coordinator) = (world.crew(), world.officer(), world.coordinator());
    let id = open(world, &[&crew, &officer]).await;
    let refused = end(&coordinator, id, "close", json!({})).await.refused(409, "rule-broken");
    assert!(refused["detail"].as_str().unwrap().contains("withdraw"), "{refused}");
    let value = json!({ "value": 19.4, "unit": "kg" });
    let reading = json!({ "id": Uuid::now_v7(), "trial": id, "candidate": 1, "measurement": 1, "value": value });
    let taken = id_of(&crew.post("/v1/trial-readings", reading.clone()).await.record());
    hand_in(&crew, id, 1, [4, 2], "").await.ok();
    let path = format!("/v1/field-trials/{id}");
    coordinator.post(&format!("{path}/close"), json!({})).await.refused(428, "revision-needed");
    end(&crew, id, "close", json!({})).await.refused(403, "not-allowed");
    let closed = end(&coordinator, id, "close", json!({ "conclusion": " Neither alone; ask for a longer blade. " }))
        .await
        .record();
    assert_eq!(
        (&closed["state"], &closed["conclusion"], &closed["ended_by"]["name"], &closed["allows"]),
        (
            &json!("closed"),
            &json!("Neither alone; ask for a longer blade."),
            &json!(coordinator.person.name),
            &json!([])
        )
    );
    let before = result(&crew, id).await;
    hand_in(&officer, id, 1, [1, 1], "").await.refused(409, "rule-broken");
    let later = with(reading, "id", json!(Uuid::now_v7()));
    crew.post("/v1/trial-readings", later).await.refused(409, "rule-broken");
    crew.post(&format!("/v1/trial-readings/{taken}/strike"), json!({ "reason": "slip" }))
        .await
        .refused(409, "rule-broken");
    coordinator
        .post(&format!("{path}/invite"), json!({ "evaluators": [world.shop().person.id] }))
        .await
        .refused(409, "rule-broken");
    end(&coordinator, id, "withdraw", json!({ "reason": "no" })).await.refused(409, "rule-broken");
    assert_eq!(result(&crew, id).await, before);
    assert_eq!(before["evaluators"][1]["missing"], json!([1, 2]), "who handed in nothing is said to be missing");
});
