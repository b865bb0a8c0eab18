//! Map pictures: from the server that the agency names, at the service's own address, and from no other.

use std::{net::TcpListener, time::Duration};

use fullset::slices::receivers::Outward;
use futures_util::future::join_all;
use serde_json::{Value, json};
use wiremock::{
    Mock, MockServer, ResponseTemplate,
    matchers::{method, path},
};

use super::sessions::browser_of;
use crate::world::{Agency, Client, Engine, Reply, Server, World, on, on_both};

/// A picture by its first bytes, and readable as text for the tests.
const PICTURE: &[u8] = b"RIFF\x24\0\0\0WEBPVP8 the square";
/// Its square.
const SQUARE: &str = "/v1/map-tiles/12/853/1554";

fn header<'r>(reply: &'r Reply, name: &str) -> &'r str {
    reply.headers.get(name).map_or("", |value| value.to_str().expect("text"))
}

/// A map server as an agency names it.
fn named(address: &str) -> Value {
    json!({ "map_tiles": { "address": address, "attribution": "Example Mapping", "nearest_zoom": 17 } })
}

/// A map server that answers so, to every address, and as an agency names it.
async fn maps(answer: ResponseTemplate) -> (MockServer, Value) {
    let maps = MockServer::start().await;
    Mock::given(method("GET")).respond_with(answer).mount(&maps).await;
    let address = format!("{}/{{z}}/{{x}}/{{y}}", maps.uri());
    (maps, named(&address))
}

fn picture(media: &str) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_raw(PICTURE, media)
}

/// A service that may ask within the own network.
async fn open(world: &World) -> Server {
    Server::telling(&world.location, &world.clock, Outward::Any).await
}

/// Names a map server for an agency, at a service.
async fn names(world: &World, server: &Server, agency: &Agency, body: &Value) {
    world.member_at(server, agency, "admin").edit("/v1/agency", body.clone()).await.ok();
}

async fn asked(maps: &MockServer) -> Vec<wiremock::Request> {
    maps.received_requests().await.expect("requests are kept")
}

on_both!(without_a_named_server_there_are_no_map_pictures, async |world: &World| {
    let crew = world.crew();
    assert_eq!(crew.find("/v1/agency").await["map_tiles"], Value::Null);
    crew.get(SQUARE).await.refused(404, "not-found");
    world.nobody("GET", SQUARE).await.refused(401, "sign-in-needed");
    // A service that asks nobody asks no map server either.
    world.admin().edit("/v1/agency", named("https://tiles.example.org/{z}/{x}/{y}.png")).await.ok();
    let problem = crew.get(SQUARE).await.refused(404, "not-found");
    assert!(problem["detail"].as_str().unwrap().contains("asks no other server"), "{problem}");
});

on_both!(a_picture_comes_from_the_named_server_once_and_to_everybody, async |world: &World| {
    let maps = MockServer::start().await;
    let taken = path("/base/12/1554/853.webp");
    Mock::given(method("GET")).and(taken).respond_with(picture("image/webp")).mount(&maps).await;
    let server = open(world).await;
    // As some servers have it: the row before the column.
    let address = format!("{}/base/{{z}}/{{y}}/{{x}}.webp", maps.uri());
    names(world, &server, world.agency(), &named(&address)).await;
    for role in ["crew", "officer", "chief", "shop", "coordinator", "admin"] {
        let shown = world.member_at(&server, world.agency(), role).get(SQUARE).await;
        assert_eq!((shown.status, shown.text.as_bytes()), (200, PICTURE), "{role}");
        assert_eq!(
            (header(&shown, "content-type"), header(&shown, "cache-control")),
            ("image/webp", "private, max-age=86400")
        );
        assert_eq!(header(&shown, "x-content-type-options"), "nosniff");
    }
    // A page asks with its cookie, and says where it is.
    let cookies = browser_of(world, "crew", "").await;
    let page = world.http.get(format!("{}{SQUARE}", server.base));
    let page = page.header("cookie", cookies).header("referer", format!("{}/coverage", server.base));
    assert_eq!(Reply::of("a page".into(), page).await.status, 200);
    let bare = world.http.get(format!("{}{SQUARE}", server.base));
    Reply::of("nobody".into(), bare).await.refused(401, "sign-in-needed");
    let all = asked(&maps).await;
    assert_eq!(all.len(), 1, "kept, and not asked for again: {all:?}");
    let told = |name: &str| all[0].headers.get(name).map(|value| value.to_str().expect("text").to_owned());
    assert!(told("user-agent").is_some_and(|agent| agent.starts_with("fullset/")), "{all:?}");
    for private in ["cookie", "authorization", "referer", "origin", "forwarded", "x-forwarded-for", "x-request-id"] {
        assert_eq!(told(private), None, "{private}");
    }
    server.stop().await;
});

on_both!(a_square_that_there_is_not_is_refused_and_not_asked_for, async |world: &World| {
    let (maps, body) = maps(picture("image/webp")).await;
    let server = open(world).await;
    names(world, &server, world.agency(), &body).await;
    let crew = world.member_at(&server, world.agency(), "crew");
    for (square, field) in [
        ("18/0/0", "z"),
        ("-1/0/0", "z"),
        ("x/0/0", "z"),
        ("256/0/0", "z"),
        ("0/1/0", "x"),
        ("12/4096/0", "x"),
        ("12/1.5/0", "x"),
        ("12/0/4096", "y"),
        ("12/0/99999999999999999999", "y"),
        ("12/0/1554.png", "y"),
    ] {
        let problem = crew.get(&format!("/v1/map-tiles/{square}")).await.refused(400, "path-invalid");
        assert_eq!(problem["field"], field, "{square}: {problem}");
    }
    for square in ["12/0", "12/0/0/0", "12/0/%2e%2e"] {
        let reply = crew.get(&format!("/v1/map-tiles/{square}")).await;
        assert!([400, 404].contains(&reply.status), "{}: {}", reply.asked, reply.status);
    }
    assert!(asked(&maps).await.is_empty());
    let long = format!("/v1/map-tiles/0/0/0?of={}", "7".repeat(65));
    for query in [long.as_str(), "/v1/map-tiles/0/0/0?key=a"] {
        crew.get(query).await.refused(400, "query-invalid");
    }
    assert!(asked(&maps).await.is_empty());
    for square in ["0/0/0", "0/0/0?of=17", "17/131071/131071"] {
        assert_eq!(crew.get(&format!("/v1/map-tiles/{square}")).await.status, 200, "{square}");
    }
    server.stop().await;
});

/// What a crew is told at a picture that did not come.
async fn failure(crew: &Client) -> String {
    let problem = crew.get(SQUARE).await.refused(502, "map-server-failed");
    problem["detail"].as_str().expect("words").to_owned()
}

on_both!(what_is_no_picture_is_told_and_not_passed_on, async |world: &World| {
    let inner = MockServer::start().await;
    Mock::given(method("GET")).respond_with(picture("image/webp")).mount(&inner).await;
    let server = open(world).await;
    let crew = world.member_at(&server, world.agency(), "crew");
    let page = "<!doctype html><script>alert(1)</script>";
    let mut large = b"\x89PNG\r\n\x1a\n".to_vec();
    large.resize((1 << 20) + 1, 0);
    let elsewhere = |status: u16| ResponseTemplate::new(status).insert_header("location", inner.uri());
    let no_picture = "something else than a PNG, JPEG or WebP";
    for (answer, why) in [
        (ResponseTemplate::new(200).set_body_raw(page, "text/html"), no_picture),
        (ResponseTemplate::new(200).set_body_raw(page, "image/png"), no_picture),
        (ResponseTemplate::new(200).set_body_raw("GIF89a", "image/gif"), no_picture),
        (ResponseTemplate::new(200).set_body_raw("<svg/>", "image/svg+xml"), no_picture),
        (picture("text/plain"), no_picture),
        (picture("image/svg+xml"), no_picture),
        (ResponseTemplate::new(200), no_picture),
        (ResponseTemplate::new(200).set_body_raw(large, "image/png"), "more than 1 MB"),
        (ResponseTemplate::new(204), "It answered 204"),
        (ResponseTemplate::new(403), "It answered 403"),
        (ResponseTemplate::new(429).insert_header("retry-after", "60"), "It answered 429"),
        (ResponseTemplate::new(500).set_body_raw(PICTURE, "image/webp"), "It answered 500"),
        (elsewhere(301), "It answered 301: it sends elsewhere"),
        (elsewhere(307), "It answered 307: it sends elsewhere"),
    ] {
        let (_maps, body) = maps(answer).await;
        names(world, &server, world.agency(), &body).await;
        let told = failure(&crew).await;
        assert!(told.contains(why), "{why}: {told}");
    }
    assert!(asked(&inner).await.is_empty(), "a redirect is followed nowhere");
    // What a server calls another kind of picture than it is goes on as what it is; a failure before is not kept.
    let (maps, body) = maps(picture("image/png")).await;
    names(world, &server, world.agency(), &body).await;
    let shown = crew.get(SQUARE).await;
    assert_eq!((shown.status, header(&shown, "content-type")), (200, "image/webp"));
    assert_eq!(asked(&maps).await.len(), 1);
    server.stop().await;
});

on_both!(a_server_that_is_slow_or_down_is_told_of_within_seconds, async |world: &World| {
    let (_maps, slow) = maps(picture("image/webp").set_delay(Duration::from_secs(20))).await;
    let server = open(world).await;
    let crew = world.member_at(&server, world.agency(), "crew");
    names(world, &server, world.agency(), &slow).await;
    let told = failure(&crew).await;
    assert!(told.contains("did not answer within 5 seconds"), "{told}");
    let place = TcpListener::bind("127.0.0.1:0").expect("a port");
    let down = format!("http://{}/{{z}}/{{x}}/{{y}}", place.local_addr().expect("an address"));
    drop(place);
    names(world, &server, world.agency(), &named(&down)).await;
    let told = failure(&crew).await;
    assert!(told.contains("It was not reached"), "{told}");
    server.stop().await;
});

#[test]
fn an_agency_asks_for_eight_pictures_at_once_and_the_next_come_again() {
    on(Engine::Sqlite, async |world: &World| {
        // Longer than for an answer, for which one waits longer than for a turn.
        let (maps, body) = maps(picture("image/webp").set_delay(Duration::from_secs(20))).await;
        let server = open(world).await;
        names(world, &server, world.agency(), &body).await;
        let crew = world.member_at(&server, world.agency(), "crew");
        crew.access().await;
        let squares: Vec<String> = (0..10).map(|x| format!("/v1/map-tiles/12/{x}/0")).collect();
        let replies = join_all(squares.iter().map(|square| crew.get(square))).await;
        let (asked_for, told): (Vec<Reply>, Vec<Reply>) = replies.into_iter().partition(|reply| reply.status == 502);
        assert_eq!((asked_for.len(), told.len()), (8, 2));
        for reply in told {
            assert_eq!(header(&reply, "retry-after"), "5");
            reply.refused(503, "busy");
        }
        assert_eq!(asked(&maps).await.len(), 8);
        server.stop().await;
    });
}

on_both!(an_address_of_the_own_network_is_neither_taken_nor_asked, async |world: &World| {
    let admin = world.admin();
    let before = admin.find("/v1/agency").await;
    for address in [
        "http://tiles.example.org/{z}/{x}/{y}.png",
        "https://127.0.0.1/{z}/{x}/{y}.png",
        "https://10.0.0.8/{z}/{x}/{y}.png",
        "https://169.254.169.254/{z}/{x}/{y}",
        "https://localhost/{z}/{x}/{y}.png",
        "https://[::1]/{z}/{x}/{y}.png",
        "https://tiles/{z}/{x}/{y}.png",
        "https://10.0.0.{z}/{x}/{y}.png",
        "https://tiles.example.org/{z}/{x}.png",
        "https://{s}.example.org/{z}/{x}/{y}.png",
        "",
    ] {
        let problem = admin.edit("/v1/agency", named(address)).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.map_tiles.address", "{address}: {problem}");
    }
    for (field, wrong) in [
        ("attribution", json!("")),
        ("attribution", json!("<b>Example</b>")),
        ("attribution", json!("x".repeat(201))),
        ("nearest_zoom", json!(0)),
        ("nearest_zoom", json!(20)),
    ] {
        let mut body = named("https://tiles.example.org/{z}/{x}/{y}.png");
        body["map_tiles"][field] = wrong.clone();
        let problem = admin.edit("/v1/agency", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], format!("body.map_tiles.{field}"), "{wrong}: {problem}");
    }
    assert_eq!(admin.find("/v1/agency").await, before, "nothing of that counted");
    // What was entered while more was allowed is looked at again when it is asked.
    let (maps, body) = maps(picture("image/webp")).await;
    let lenient = open(world).await;
    names(world, &lenient, world.agency(), &body).await;
    lenient.stop().await;
    let strict = Server::telling(&world.location, &world.clock, Outward::Public).await;
    let told = failure(&world.member_at(&strict, world.agency(), "crew")).await;
    assert!(told.contains("https alone"), "{told}");
    assert!(asked(&maps).await.is_empty());
    strict.stop().await;
});

on_both!(each_agency_has_pictures_of_its_own_server_alone, async |world: &World| {
    let (ours, our_body) = maps(picture("image/webp")).await;
    let (theirs, their_body) = maps(picture("image/webp")).await;
    let server = open(world).await;
    let crew = world.member_at(&server, world.agency(), "crew");
    let other = world.member_at(&server, &world.ground.vale, "crew");
    names(world, &server, world.agency(), &our_body).await;
    assert_eq!(crew.get(SQUARE).await.status, 200);
    other.get(SQUARE).await.refused(404, "not-found");
    assert_eq!(other.find("/v1/agency").await["map_tiles"], Value::Null);
    names(world, &server, &world.ground.vale, &their_body).await;
    assert_eq!(other.get(SQUARE).await.status, 200);
    assert_eq!((asked(&ours).await.len(), asked(&theirs).await.len()), (1, 1));
    // The same server named by both is asked for each: what one has looked at tells the other nothing.
    names(world, &server, &world.ground.vale, &our_body).await;
    assert_eq!(other.get(SQUARE).await.status, 200);
    assert_eq!(asked(&ours).await.len(), 2);
    server.stop().await;
});

on_both!(an_admin_names_the_server_and_takes_it_back, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    let rig = world.county().engine_1;
    let (before, judged) = (admin.find("/v1/agency").await, crew.capability(rig).await);
    let body = named(" https://tiles.example.org/{z}/{x}/{y}.png ");
    for who in [world.coordinator(), world.officer(), world.shop(), world.crew()] {
        who.edit("/v1/agency", body.clone()).await.refused(403, "not-allowed");
    }
    admin.edit("/v1/agency", body).await.ok();
    let kept = crew.find("/v1/agency").await["map_tiles"].take();
    assert_eq!(
        kept,
        json!({ "address": "https://tiles.example.org/{z}/{x}/{y}.png", "attribution": "Example Mapping", "nearest_zoom": 17 })
    );
    assert_eq!(crew.capability(rig).await, judged, "no rig is judged anew");
    admin.edit("/v1/agency", json!({ "name": "Harrow Fire" })).await.ok();
    let after = crew.find("/v1/agency").await;
    assert_eq!((&after["map_tiles"], &after["policy"]), (&kept, &before["policy"]), "another edit leaves it");
    admin.edit("/v1/agency", json!({ "map_tiles": null })).await.ok();
    assert_eq!(crew.find("/v1/agency").await["map_tiles"], Value::Null);
});
