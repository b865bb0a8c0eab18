//! The cases that write, on the test records.

use chrono::{TimeDelta, Utc};
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    CaseResult, cases,
    feed::{Copy, hear, must_equal_a_fresh_one, open},
    ground::looked_over,
    must,
    probe::{Probe, Reply, answers, command, expecting, outcomes, text, time},
};

cases! { true:
    "answers-in-order", "one answer for each command, in order, each with the command's id; a bad one spoils no other", answers_in_order;
    "repeated", "a command sent again, alone or in another batch, is answered `repeated` with the first answer, and acts once", repeated;
    "repeated-in-a-batch", "the same command twice in one batch is applied and repeated", repeated_in_a_batch;
    "one-door", "the Idempotency-Key of a plain address is a command's id: sent again as a command it is `repeated`", one_door;
    "id-reused", "a used id with another body is refused with id-reused, and the body's record does not come to be", id_reused;
    "unknown-kind", "a command of an unknown kind is refused alone, with command-unknown", unknown_kind;
    "after", "a command after a refused one is refused with after-refused, as is what comes after that; after an applied one it is applied", after;
    "conflict-shows-both-sides", "a command decided on an old revision is a conflict with `current`, the record as it stands; decided again on that it is applied", conflict;
    "revision-needed", "a return without `expects` is refused with revision-needed", revision_needed;
    "out-of-service-wins", "out of service needs no `expects` and beats a return whose author had not seen it", out_of_service_wins;
    "skew-corrected", "a time by a clock that runs an hour ahead is put right by `sent_at`", skew_corrected;
    "future-cut", "a time in the server's future becomes the server's now", future_cut;
    "snapshot-hands-over", "a snapshot goes over into changes without a gap while others write: nothing is lost, nothing stays old", hands_over;
    "gone", "a record that was deleted comes as gone: deleted", gone;
    "live-tells", "the stream tells a new revision within five seconds", live_tells;
    "body-too-large", "413 body-too-large, and nothing is done", body_too_large;
    "too-many-commands", "413 batch-too-large for 501 commands, and nothing is done; 500 are taken", too_many_commands;
}

async fn answers_in_order(probe: &Probe) -> CaseResult {
    let nobody = command("piece.take_out", json!({ "id": Uuid::now_v7(), "reason": "no such piece" }));
    let sent = [probe.report("first")?, nobody, probe.report("second")?, probe.report("third")?];
    let batch = probe.send(&sent).await?;
    must!(
        answers(&batch).len() == sent.len(),
        "{} answers to {} commands",
        answers(&batch).len(),
        sent.len()
    );
    for (n, (command, answer)) in sent.iter().zip(answers(&batch)).enumerate() {
        must!(
            command["id"] == answer["id"],
            "answer {n} is that of the command {}, sent was {}",
            answer["id"],
            command["id"]
        );
    }
    let found = outcomes(&batch);
    must!(found == ["applied", "refused", "applied", "applied"], "the outcomes are {found:?}");
    for (command, answer) in sent.iter().zip(answers(&batch)).filter(|(_, answer)| answer["outcome"] == "applied") {
        let id = &command["body"]["id"];
        must!(
            answer["record"]["id"] == *id && answer["records"][0]["id"] == *id,
            "the answer does not name its record: {answer}"
        );
        must!(
            answer["record"]["what"] == command["body"]["what"],
            "the answer's record is another command's: {answer}"
        );
    }
    let problem = &batch["answers"][1]["problem"];
    must!(
        problem["code"] == "not-found" && problem["status"] == 404,
        "the refused command's problem is {problem}"
    );
    must!(
        batch["revision"] == batch["answers"][3]["revision"],
        "the batch's revision is not that of its last command"
    );
    Ok(())
}

fn same_but_for_the_outcome(first: &Value, again: &Value) -> CaseResult {
    must!(again["outcome"] == "repeated", "the outcome is {}", again["outcome"]);
    for field in ["id", "revision", "records", "record"] {
        must!(first[field] == again[field], "`{field}` was {} and is {}", first[field], again[field]);
    }
    Ok(())
}

async fn repeated(probe: &Probe) -> CaseResult {
    let report = probe.report("sent three times")?;
    let first = probe.apply(report.clone()).await?;
    let before = probe.revision().await?;
    let alone = probe.send(std::slice::from_ref(&report)).await?;
    same_but_for_the_outcome(&first, &alone["answers"][0])?;
    must!(probe.revision().await? == before, "sent again, it made a new revision");
    let among = probe.send(&[probe.report("sent with an old one")?, report]).await?;
    must!(
        outcomes(&among) == ["applied", "repeated"],
        "among others the outcomes are {:?}",
        outcomes(&among)
    );
    same_but_for_the_outcome(&first, &among["answers"][1])
}

async fn repeated_in_a_batch(probe: &Probe) -> CaseResult {
    let report = probe.report("twice at once")?;
    let batch = probe.send(&[report.clone(), report]).await?;
    must!(outcomes(&batch) == ["applied", "repeated"], "the outcomes are {:?}", outcomes(&batch));
    same_but_for_the_outcome(&batch["answers"][0], &batch["answers"][1])
}

async fn one_door(probe: &Probe) -> CaseResult {
    let report = probe.report("by a plain address")?;
    let post = || {
        let request = probe.request(Method::POST, "/v1/defects").header("Idempotency-Key", text(&report["id"]));
        Reply::of(request.json(&report["body"]))
    };
    let first = post().await?.good()?;
    same_but_for_the_outcome(&first, &post().await?.good()?)?;
    let batch = probe.send(&[report]).await?;
    same_but_for_the_outcome(&first, &batch["answers"][0])
}

async fn id_reused(probe: &Probe) -> CaseResult {
    let first = probe.report("the first body")?;
    probe.apply(first.clone()).await?;
    let mut other = probe.report("another body")?;
    other["id"] = first["id"].clone();
    let batch = probe.send(&[other.clone(), probe.report("a good one")?]).await?;
    must!(outcomes(&batch) == ["refused", "applied"], "the outcomes are {:?}", outcomes(&batch));
    let code = &batch["answers"][0]["problem"]["code"];
    must!(code == "id-reused", "the code is {code}");
    probe
        .get(&format!("/v1/defects/{}", text(&other["body"]["id"])))
        .await?
        .problem(404, "not-found")
}

async fn unknown_kind(probe: &Probe) -> CaseResult {
    let batch = probe
        .send(&[command("piece.polish", json!({})), probe.report("beside an unknown kind")?])
        .await?;
    must!(outcomes(&batch) == ["refused", "applied"], "the outcomes are {:?}", outcomes(&batch));
    let code = &batch["answers"][0]["problem"]["code"];
    must!(code == "command-unknown", "the code is {code}");
    Ok(())
}

async fn after(probe: &Probe) -> CaseResult {
    let following = |mut command: Value, other: &Value| {
        command["after"] = other["id"].clone();
        command
    };
    let (good, bad) = (
        probe.report("good")?,
        command("piece.take_out", json!({ "id": Uuid::now_v7(), "reason": "no such piece" })),
    );
    let (after_good, after_bad) = (
        following(probe.report("after the good one")?, &good),
        following(probe.report("after the bad one")?, &bad),
    );
    let after_that = following(probe.report("after that")?, &after_bad);
    let batch = probe.send(&[good.clone(), bad, after_good, after_bad, after_that]).await?;
    let found = outcomes(&batch);
    must!(found == ["applied", "refused", "applied", "refused", "refused"], "the outcomes are {found:?}");
    for answer in answers(&batch).iter().skip(3) {
        must!(answer["problem"]["code"] == "after-refused", "the code is {}", answer["problem"]["code"]);
    }
    let later = probe.send(&[following(probe.report("in a later batch")?, &good)]).await?;
    must!(
        outcomes(&later) == ["applied"],
        "after what an earlier batch applied, the outcome is {:?}",
        outcomes(&later)
    );
    Ok(())
}

async fn conflict(probe: &Probe) -> CaseResult {
    let district = &probe.ground()?.district;
    let seen = probe.record("districts", district).await?["rev"].clone();
    let edit = |min_full: u8, revision: &Value| expecting(command("district.edit", json!({ "id": district, "min_full": min_full })), revision);
    let batch = probe.send(&[edit(1, &seen), edit(2, &seen)]).await?;
    must!(outcomes(&batch) == ["applied", "conflict"], "the outcomes are {:?}", outcomes(&batch));
    let answer = &batch["answers"][1];
    let current = &answer["current"];
    must!(current["min_full"] == 1, "`current` is not the record as it stands: {current}");
    must!(*current == probe.record("districts", district).await?, "`current` is not what the server shows");
    must!(answer["problem"]["code"] == "stale", "the code is {}", answer["problem"]["code"]);
    probe.apply(edit(2, &current["rev"])).await.map(drop)
}

async fn revision_needed(probe: &Probe) -> CaseResult {
    let piece = &probe.ground()?.piece;
    let planned = command("piece.take_out", json!({ "id": piece, "reason": "annual service", "planned": true }));
    probe.apply(planned).await?;
    let batch = probe
        .send(&[command(
            "piece.return",
            json!({ "id": piece, "note": "looked over", "evidence": looked_over() }),
        )])
        .await?;
    let (outcome, code) = (&batch["answers"][0]["outcome"], &batch["answers"][0]["problem"]["code"]);
    must!(outcome == "refused" && code == "revision-needed", "the outcome is {outcome} with {code}");
    Ok(())
}

async fn out_of_service_wins(probe: &Probe) -> CaseResult {
    let piece = &probe.ground()?.piece;
    // For planned service, so that an officer's look brings it back.
    let out = |reason: &str| command("piece.take_out", json!({ "id": piece, "reason": reason, "planned": true }));
    let back = |revision: &Value| {
        expecting(
            command("piece.return", json!({ "id": piece, "note": "looked at", "evidence": looked_over() })),
            revision,
        )
    };
    let seen = probe.apply(out("annual service")).await?["record"]["rev"].clone();
    probe.apply(back(&seen)).await?;
    let again = probe.apply(out("annual service, noted with no signal")).await?;
    must!(
        again["record"]["state"] == "out_of_service",
        "taken out, its state is {}",
        again["record"]["state"]
    );
    let batch = probe.send(&[back(&seen)]).await?;
    must!(outcomes(&batch) == ["conflict"], "a return decided before is {:?}", outcomes(&batch));
    let now = probe.record("pieces", piece).await?;
    must!(now["state"] == "out_of_service", "afterwards its state is {}", now["state"]);
    probe.apply(back(&now["rev"])).await.map(drop)
}

/// Reports with this clock and this time; when it was seen by the server's reckoning.
async fn seen(probe: &Probe, sent_at: Value, at: Option<Value>) -> Result<chrono::DateTime<Utc>, String> {
    let mut report = probe.report("a matter of time")?;
    if let Some(at) = at {
        report["at"] = at;
    }
    let batch = probe.post(&json!({ "sent_at": sent_at, "commands": [report] })).await?.good()?;
    must!(outcomes(&batch) == ["applied"], "the outcome is {:?}", outcomes(&batch));
    time(&batch["answers"][0]["record"]["seen_at"])
}

async fn skew_corrected(probe: &Probe) -> CaseResult {
    let server = seen(probe, json!(Utc::now()), None).await?;
    let ahead = Utc::now() + TimeDelta::hours(1);
    let found = seen(probe, json!(ahead), Some(json!(ahead - TimeDelta::minutes(10)))).await?;
    let late = (found - (server - TimeDelta::minutes(10))).num_seconds();
    must!((-2..=60).contains(&late), "done ten minutes before {server}, it was taken for {found}");
    Ok(())
}

async fn future_cut(probe: &Probe) -> CaseResult {
    let found = seen(probe, json!(Utc::now()), Some(json!(Utc::now() + TimeDelta::hours(3)))).await?;
    let server = seen(probe, json!(Utc::now()), None).await?;
    must!(found <= server, "three hours in the future it was taken for {found}, and now is {server}");
    must!(server - found < TimeDelta::minutes(1), "it was taken for {found}, and now is {server}");
    Ok(())
}

async fn hands_over(probe: &Probe) -> CaseResult {
    let ground = probe.ground()?;
    let (mut copy, mut written) = (Copy::default(), Vec::new());
    for n in 0..25 {
        let more = copy.step(probe, 5).await?;
        let report = probe.report(&format!("written while page {n} was read"))?;
        written.push(report["body"]["id"].clone());
        // Something new, and something old that changes: it moves to the end of what is read.
        let edit = command("piece.take_out", json!({ "id": ground.piece, "reason": format!("mark {n}") }));
        probe.send(&[report, edit]).await?;
        if !more && n >= 10 {
            break;
        }
    }
    copy.follow(probe, 5).await?;
    for id in &written {
        must!(
            copy.records.contains_key(&("defect".to_owned(), text(id).to_owned())),
            "the defect {id}, written meanwhile, was never told"
        );
    }
    let piece = probe.record("pieces", &ground.piece).await?;
    let kept = copy.records.get(&("piece".to_owned(), text(&ground.piece).to_owned()));
    must!(kept == Some(&piece), "the piece's last state was never told");
    must_equal_a_fresh_one(&mut copy, probe).await
}

/// An import that is undone is what the protocol deletes.
async fn gone(probe: &Probe) -> CaseResult {
    let ground = probe.ground()?;
    let station = probe.record("stations", &ground.station).await?;
    let tag = format!("{} gone", ground.label);
    let file = format!(
        "Asset tag,Kind,Model,Assigned to\n{tag},hand pump,{} pump,{} reserve\n",
        ground.label,
        text(&station["name"])
    );
    let request = probe.request(Method::POST, "/v1/imports").header("Content-Type", "text/csv").body(file);
    let import = Reply::of(request).await?.good()?;
    let mut copy = Copy::default();
    copy.follow(probe, 2000).await?;
    let piece = copy.records.iter().find(|((kind, _), record)| kind == "piece" && record["tag"] == tag.as_str());
    let Some(((_, id), _)) = piece else {
        return Err(format!("the piece {tag} was read in, and not told: {import}"));
    };
    let (id, token) = (id.clone(), copy.token.clone().unwrap_or_default());
    let undo = format!("/v1/imports/{}/undo", text(&import["id"]));
    Reply::of(probe.request(Method::POST, &undo).json(&json!({}))).await?.good()?;
    let page = probe.get(&format!("/v1/changes?limit=2000&since={token}")).await?.good()?;
    let told = page["changes"]
        .as_array()
        .into_iter()
        .flatten()
        .find(|change| change["kind"] == "piece" && change["id"] == id.as_str());
    must!(
        told.is_some_and(|change| change["gone"] == "deleted" && change["record"].is_null()),
        "after it was deleted, the feed tells of it {told:?}"
    );
    copy.follow(probe, 2000).await?;
    must!(!copy.records.contains_key(&("piece".to_owned(), id.clone())), "the piece is still there");
    must_equal_a_fresh_one(&mut copy, probe).await
}

async fn live_tells(probe: &Probe) -> CaseResult {
    let before = probe.revision().await?;
    let mut stream = open(probe).await?;
    hear(&mut stream, before).await?;
    let answer = probe.apply(probe.report("heard of")?).await?;
    hear(&mut stream, answer["revision"].as_i64().unwrap_or(i64::MAX)).await
}

async fn body_too_large(probe: &Probe) -> CaseResult {
    let before = probe.revision().await?;
    let report = probe.report(&"x".repeat(3 * 1024 * 1024))?;
    let sent = probe.post(&json!({ "sent_at": Utc::now(), "commands": [report] })).await?;
    sent.problem(413, "body-too-large")?;
    must!(probe.revision().await? == before, "something was done all the same");
    Ok(())
}

async fn too_many_commands(probe: &Probe) -> CaseResult {
    // Not 500 reports: a piece has 60 open defects at most.
    let piece = &probe.ground()?.piece;
    let reports: Vec<Value> = (0..501)
        .map(|n| command("piece.take_out", json!({ "id": piece, "reason": format!("mark {n}") })))
        .collect();
    let before = probe.revision().await?;
    probe
        .post(&json!({ "sent_at": Utc::now(), "commands": reports }))
        .await?
        .problem(413, "batch-too-large")?;
    must!(probe.revision().await? == before, "something was done all the same");
    let fitting = reports.get(..500).unwrap_or_default();
    let batch = probe.send(fitting).await?;
    must!(
        outcomes(&batch).iter().all(|outcome| *outcome == "applied") && answers(&batch).len() == 500,
        "of 500 not all were applied"
    );
    Ok(())
}
