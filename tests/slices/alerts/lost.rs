//! A service that ends at the wrong moment, and several that send.

use std::{io::Read as _, net::TcpListener, time::Duration};

use chrono::TimeDelta;
use fullset::slices::receivers::{ChangeKind, Outward};
use wiremock::{MockServer, ResponseTemplate};

use super::kit::{Dispatch, RIGS, add, answers, arrived, only};
use crate::world::{Server, World, on_both, soon};

on_both!(what_was_committed_and_not_sent_is_sent_by_the_next_process, async |world: &World| {
    let centre = MockServer::start().await;
    answers(&centre, ResponseTemplate::new(200)).await;
    let allowed = Server::telling(&world.location, &world.clock, Outward::Any).await;
    add(world, &allowed, &ChangeKind::ALL, &centre.uri()).await;
    allowed.stop().await;
    // The world's own service commits and sends nothing: so a process leaves it that is killed in between.
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    assert!(arrived(&centre).await.is_empty());
    let next = Server::telling(&world.location, &world.clock, Outward::Any).await;
    let messages = soon("both are sent", async || Some(arrived(&centre).await).filter(|all| all.len() >= 2)).await;
    only(&messages, "fullset.rig.falls");
    soon("both are taken", async || {
        let all = crew.list("/v1/alerts").await;
        all.iter().all(|alert| alert["told"][0]["state"] == "taken").then_some(())
    })
    .await;
    tokio::time::sleep(Duration::from_millis(1500)).await;
    assert_eq!(arrived(&centre).await.len(), 2, "each once");
    next.stop().await;
});

on_both!(one_that_was_under_way_is_sent_again_under_the_same_id, async |world: &World| {
    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = silent.local_addr().unwrap();
    let first = Server::telling(&world.location, &world.clock, Outward::Any).await;
    add(world, &first, &RIGS, &format!("http://{address}/")).await;
    world.crew().take_out(world.county().set_1.ram, "bent").await.ok();
    // The message has arrived, and its sender ends before it hears so.
    let taken = tokio::task::spawn_blocking(move || {
        let (mut line, _) = silent.accept().expect("somebody sends");
        line.set_read_timeout(Some(Duration::from_secs(10))).expect("a limit");
        let mut bytes = [0; 4096];
        let mut text = String::new();
        while !text.ends_with("}}}") {
            let count = line.read(&mut bytes).expect("a request");
            text.push_str(&String::from_utf8_lossy(&bytes[..count]));
        }
        (silent, line, text)
    });
    let (silent, line, text) = taken.await.expect("a message");
    first.stop().await;
    drop((silent, line));
    let centre = MockServer::builder().listener(TcpListener::bind(address).unwrap()).start().await;
    answers(&centre, ResponseTemplate::new(200)).await;
    let second = Server::telling(&world.location, &world.clock, Outward::Any).await;
    // Until its lease is over the message is the first one's.
    world.pass(TimeDelta::seconds(61));
    let messages = soon("it is sent again", async || Some(arrived(&centre).await).filter(|all| !all.is_empty())).await;
    let again = messages.iter().find(|message| text.contains(&format!("webhook-id: {}", message.id)));
    let again = again.unwrap_or_else(|| panic!("another id than in {text}"));
    assert!(text.ends_with(&again.body), "the same words: {text}");
    second.stop().await;
});

on_both!(of_several_processes_one_sends, async |world: &World| {
    let dispatch = Dispatch::open(world).await;
    let more = [
        Server::telling(&world.location, &world.clock, Outward::Any).await,
        Server::telling(&world.location, &world.clock, Outward::Any).await,
    ];
    let (county, crew) = (world.county(), world.crew());
    for piece in [county.set_1.ram, county.set_2.ram, county.set_1.spreader, county.set_2.spreader] {
        crew.take_out(piece, "bent").await.ok();
    }
    let alerts = crew.list("/v1/alerts").await.len();
    assert!(alerts >= 4, "{alerts}");
    dispatch.messages(alerts).await;
    tokio::time::sleep(Duration::from_millis(2500)).await;
    dispatch.messages(alerts).await;
    dispatch.close().await;
    for server in more {
        server.stop().await;
    }
});
