//! A receiver that is down, slow, gone, busy, or sends elsewhere.

use std::{net::TcpListener, time::Duration};

use chrono::TimeDelta;
use fullset::slices::receivers::Outward;
use serde_json::{Value, json};
use uuid::Uuid;
use wiremock::{MockServer, ResponseTemplate};

use super::kit::{Dispatch, RIGS, add, answers, arrived, only, told, verify};
use crate::{
    contract::stage::receiver,
    world::{Client, Server, World, acts::id_of, on_both, soon},
};

/// The rig's alert, the district's apart.
async fn falls(crew: &Client) -> String {
    let all = crew.list("/v1/alerts").await;
    let rig = all
        .iter()
        .find(|alert| alert["change"] == "rig_falls")
        .unwrap_or_else(|| panic!("no alert in {all:?}"));
    id_of(rig).to_string()
}

/// How many tries are kept of an alert.
fn tries(world: &World, alert: &str) -> i64 {
    let id = world.id(alert.parse().unwrap());
    crate::world::sql::number(&world.location, &format!("SELECT tries AS n FROM telling WHERE alert = {id}"))
}

on_both!(a_receiver_that_is_down_for_an_hour_gets_each_message_once_it_is_back, async |world: &World| {
    // Nobody listens at that port yet.
    let place = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = place.local_addr().unwrap();
    drop(place);
    let server = Server::telling(&world.location, &world.clock, Outward::Any).await;
    let id = add(world, &server, &RIGS, &format!("http://{address}/")).await;
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let alert = falls(&crew).await;
    let failing = told(&crew, &alert, id, "failing").await;
    assert!(failing["problem"].as_str().unwrap().starts_with("It was not reached: "), "{failing}");
    let began = world.clock.now();
    while world.clock.now() - began < TimeDelta::hours(1) {
        let before = tries(world, &alert);
        world.pass(TimeDelta::minutes(10));
        soon("it is tried again", async || {
            (tries(world, &alert) > before || world.clock.now() - began >= TimeDelta::hours(1)).then_some(())
        })
        .await;
    }
    assert_eq!(told(&crew, &alert, id, "failing").await["since"], failing["since"], "failing since then");
    let centre = MockServer::builder().listener(TcpListener::bind(address).unwrap()).start().await;
    answers(&centre, ResponseTemplate::new(200)).await;
    world.pass(TimeDelta::hours(1));
    told(&crew, &alert, id, "taken").await;
    let messages = arrived(&centre).await;
    let message = only(&messages, "fullset.rig.falls");
    verify("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", message, world.clock.now());
    assert_eq!(message.id, alert);
    server.stop().await;
});

on_both!(
    a_message_that_nobody_takes_is_given_up_after_a_day_said_and_sent_again,
    async |world: &World| {
        let dispatch = Dispatch::of_rigs(world).await;
        dispatch.answers(500, Value::Null).await;
        let (crew, officer) = (world.crew(), world.officer());
        crew.take_out(world.county().set_1.ram, "bent").await.ok();
        let alert = falls(&crew).await;
        assert_eq!(dispatch.told(&alert, "failing").await["problem"], "It answered 500");
        for minutes in [1, 10, 60, 300] {
            let before = tries(world, &alert);
            world.pass(TimeDelta::minutes(minutes));
            soon("it is tried again", async || (tries(world, &alert) > before).then_some(())).await;
        }
        world.pass(TimeDelta::hours(24));
        let told = dispatch.told(&alert, "given_up").await;
        assert_eq!((&told["problem"], &told["taken_at"]), (&json!("It answered 500"), &json!(null)));
        let all = arrived(&dispatch.centre).await;
        let of_rig: Vec<_> = all.iter().filter(|message| message.id == alert).collect();
        assert_eq!(of_rig.len(), 6, "once, and once after each wait");
        assert!(of_rig.iter().all(|message| message.body == of_rig[0].body), "each try says the same");
        // Sent again by a member, under the same id and with the same words.
        dispatch.answers(202, Value::Null).await;
        let path = format!("/v1/alerts/{alert}/resend");
        crew.post(&path, json!({ "receiver": dispatch.receiver })).await.refused(403, "not-allowed");
        officer.post(&path, json!({ "receiver": dispatch.receiver })).await.ok();
        dispatch.told(&alert, "taken").await;
        let last = arrived(&dispatch.centre).await.into_iter().rfind(|message| message.id == alert).unwrap();
        assert_eq!(last.body, of_rig[0].body);
        verify(&dispatch.secret, &last, world.clock.now());
        dispatch.close().await;
    }
);

on_both!(one_that_answers_410_is_switched_off_and_said_so, async |world: &World| {
    let dispatch = Dispatch::of_rigs(world).await;
    dispatch.answers(410, Value::Null).await;
    let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
    crew.take_out(county.set_1.ram, "bent").await.ok();
    let alert = falls(&crew).await;
    let told = dispatch.told(&alert, "stopped").await;
    assert!(told["problem"].as_str().unwrap().contains("410"), "{told}");
    let path = format!("/v1/receivers/{}", dispatch.receiver);
    let off = coordinator.find(&path).await;
    assert!(off["switched_off"]["why"].as_str().unwrap().contains("410"), "{off}");
    let sent = arrived(&dispatch.centre).await.len();
    // What it is not told of from then on is on record all the same.
    crew.take_out(county.set_2.ram, "bent").await.ok();
    let open = crew.list("/v1/alerts?state=open").await;
    let later = open.iter().find(|alert| alert["rig"] == json!(county.engine_2)).unwrap();
    assert_eq!(
        (&later["told"][0]["state"], &later["told"][0]["problem"]),
        (&json!("stopped"), &json!("The receiver was switched off"))
    );
    let resend = format!("/v1/alerts/{}/resend", id_of(later));
    world
        .officer()
        .post(&resend, json!({ "receiver": dispatch.receiver }))
        .await
        .refused(409, "rule-broken");
    // A person switches it on again.
    dispatch.answers(200, Value::Null).await;
    coordinator.edit(&path, json!({ "on": true })).await.ok();
    world.officer().post(&resend, json!({ "receiver": dispatch.receiver })).await.ok();
    dispatch.told(&id_of(later).to_string(), "taken").await;
    let after: Vec<_> = arrived(&dispatch.centre).await.split_off(sent);
    assert_eq!(after.len(), 1, "{after:?}");
    dispatch.close().await;
});

on_both!(one_that_asks_for_fewer_messages_gets_none_before_its_time, async |world: &World| {
    let dispatch = Dispatch::of_rigs(world).await;
    dispatch.answers_with(ResponseTemplate::new(429).insert_header("retry-after", "600")).await;
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    soon("it was asked", async || (arrived(&dispatch.centre).await.len() == 1).then_some(())).await;
    crew.take_out(world.county().set_2.ram, "bent").await.ok();
    let alert = falls(&crew).await;
    // The second message may come before the first has put it off; then nothing comes.
    soon("it has failed", async || {
        let all = crew.list("/v1/alerts").await;
        all.iter().any(|alert| alert["told"][0]["state"] == "failing").then_some(())
    })
    .await;
    tokio::time::sleep(Duration::from_millis(2500)).await;
    let asked = arrived(&dispatch.centre).await.len();
    assert!(asked <= 2, "{asked}");
    world.pass(TimeDelta::seconds(599));
    tokio::time::sleep(Duration::from_millis(2500)).await;
    assert_eq!(arrived(&dispatch.centre).await.len(), asked);
    dispatch.answers(200, Value::Null).await;
    world.pass(TimeDelta::seconds(2));
    dispatch.told(&alert, "taken").await;
    dispatch.messages(asked + 2).await;
    dispatch.close().await;
});

on_both!(a_redirect_is_followed_nowhere, async |world: &World| {
    let dispatch = Dispatch::of_rigs(world).await;
    let inner = MockServer::start().await;
    answers(&inner, ResponseTemplate::new(200)).await;
    let crew = world.crew();
    for status in [302, 307, 308] {
        dispatch
            .answers_with(ResponseTemplate::new(status).insert_header("location", inner.uri()))
            .await;
        crew.take_out(world.county().set_1.ram, "bent").await.ok();
        let alert = falls(&crew).await;
        let problem = format!("It answered {status}");
        world.pass(TimeDelta::hours(1));
        soon("it is said", async || {
            let told = dispatch.told(&alert, "failing").await;
            told["problem"].as_str().is_some_and(|words| words.starts_with(&problem)).then_some(())
        })
        .await;
    }
    assert!(arrived(&inner).await.is_empty());
    dispatch.close().await;
});

on_both!(one_that_is_slow_keeps_nobody_else_waiting, async |world: &World| {
    let dispatch = Dispatch::open(world).await;
    // It takes the connection and says nothing.
    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    let slow = add(world, &dispatch.server, &RIGS, &format!("http://{}/", silent.local_addr().unwrap())).await;
    let crew = world.crew();
    let asked = std::time::Instant::now();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let alert = falls(&crew).await;
    dispatch.messages(2).await;
    dispatch.told(&alert, "taken").await;
    assert!(asked.elapsed() < Duration::from_secs(10), "told beside the slow one");
    let failing = soon("the slow one has failed", async || {
        let all = crew.list("/v1/alerts").await;
        let told = all.iter().flat_map(|alert| alert["told"].as_array().unwrap().clone());
        told.into_iter().find(|told| told["receiver"] == json!(slow) && told["state"] == "failing")
    });
    tokio::time::sleep(Duration::from_secs(8)).await;
    assert_eq!(failing.await["problem"], "It did not answer within 15 seconds");
    dispatch.close().await;
});

on_both!(an_address_of_the_own_network_is_refused_unless_the_operator_allows_it, async |world: &World| {
    let coordinator = world.coordinator();
    for address in [
        "http://dispatch.example.org/",
        "https://127.0.0.1/",
        "https://10.0.0.8/x",
        "https://localhost/",
        "https://[::1]/",
        "https://cad/",
        "dispatch",
    ] {
        let mut body = receiver(Uuid::now_v7(), "Dispatch");
        body["address"] = json!(address);
        let problem = coordinator.post("/v1/receivers", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.address", "{address}: {problem}");
    }
    // What was entered while more was allowed is looked at again when it is sent.
    let centre = MockServer::start().await;
    answers(&centre, ResponseTemplate::new(200)).await;
    let lenient = Server::telling(&world.location, &world.clock, Outward::Any).await;
    let id = add(world, &lenient, &RIGS, &centre.uri()).await;
    lenient.stop().await;
    let strict = Server::telling(&world.location, &world.clock, Outward::Public).await;
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let failing = told(&crew, &falls(&crew).await, id, "failing").await;
    assert!(failing["problem"].as_str().unwrap().contains("https alone"), "{failing}");
    assert!(arrived(&centre).await.is_empty());
    strict.stop().await;
});
