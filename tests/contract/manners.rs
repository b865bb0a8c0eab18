//! What holds at every address: HEAD, methods that are not taken, the request's id, pages of other origins, answers that need
//! not be sent again.

use std::io::Read as _;

use reqwest::{Method, header};
use serde_json::{Value, json};

use super::Document;
use crate::world::{Reply, World, on_both};

async fn bare(world: &World, method: Method, path: &str, headers: &[(&str, &str)]) -> Reply {
    let mut request = world.http.request(method.clone(), format!("{}{path}", world.server.base));
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    Reply::of(format!("{method} {path}"), request).await
}

fn header<'a>(reply: &'a Reply, name: &str) -> &'a str {
    reply.headers.get(name).map_or("", |value| value.to_str().expect("text"))
}

on_both!(head_answers_as_get_does_without_the_body, async |world: &World| {
    let (document, crew) = (Document::of(world).await, world.crew());
    let bearer = format!("Bearer {}", crew.access().await);
    let mut asked = 0;
    for operation in document
        .operations
        .iter()
        .filter(|operation| operation.method == "GET" && !operation.path.contains('{'))
    {
        let get = if operation.path == "/v1/changes/live" {
            None
        } else {
            Some(
                bare(
                    world,
                    Method::GET,
                    &operation.path,
                    &[("authorization", &bearer), ("accept-encoding", "identity")],
                )
                .await,
            )
        };
        let head = bare(
            world,
            Method::HEAD,
            &operation.path,
            &[("authorization", &bearer), ("accept-encoding", "identity")],
        )
        .await;
        assert!(head.text.is_empty(), "{}: {}", head.asked, head.text);
        let Some(get) = get else {
            assert_eq!((head.status, header(&head, "content-type")), (200, "text/event-stream"));
            continue;
        };
        assert_eq!(
            (head.status, header(&head, "content-type")),
            (get.status, header(&get, "content-type")),
            "{}",
            head.asked
        );
        asked += 1;
    }
    assert!(asked > 30, "{asked}");
    let path = format!("/v1/pieces/{}", world.county().set_1.ram);
    let head = bare(world, Method::HEAD, &path, &[("authorization", &bearer)]).await;
    assert!(head.status == 200 && !header(&head, "etag").is_empty());
    // The photos have a HEAD of their own.
    let awaited = bare(world, Method::HEAD, &format!("/v1/photos/{}", "0".repeat(64)), &[("authorization", &bearer)]).await;
    assert_eq!((awaited.status, header(&awaited, "upload-offset")), (404, "0"));
});

on_both!(a_method_that_is_not_taken_is_405_and_says_which_are, async |world: &World| {
    let document = Document::of(world).await;
    let all = [Method::GET, Method::POST, Method::PUT, Method::PATCH, Method::DELETE, Method::HEAD];
    for operation in &document.operations {
        let path = operation
            .path
            .replace("{id}", &world.county().engine_1.to_string())
            .replace("{sha256}", &"0".repeat(64))
            .replace("{secret}", &"A".repeat(43));
        let taken: Vec<&str> = document
            .operations
            .iter()
            .filter(|other| other.path == operation.path)
            .map(|other| other.method.as_str())
            .collect();
        let options = bare(world, Method::OPTIONS, &path, &[]).await;
        let allowed: Vec<&str> = header(&options, "allow").split(", ").collect();
        assert!(
            options.status == 204 && taken.iter().all(|method| allowed.contains(method)),
            "{path}: {allowed:?}"
        );
        for method in all.iter().filter(|method| !allowed.contains(&method.as_str())) {
            let reply = bare(world, method.clone(), &path, &[]).await;
            assert_eq!(header(&reply, "allow"), allowed.join(", "), "{}", reply.asked);
            if *method == Method::HEAD {
                assert_eq!(reply.status, 405);
            } else {
                reply.refused(405, "method-unknown");
            }
        }
    }
    for path in ["/v1/", "/v1/nothing", "/v1/pieces/", "/v1/boards/x/y"] {
        for method in all.iter().filter(|method| **method != Method::HEAD) {
            bare(world, method.clone(), path, &[]).await.refused(404, "path-unknown");
        }
    }
});

/// An answer runs nothing that it does not name, stands in no frame, and is what its type says.
fn is_guarded(reply: &Reply) {
    let rules = header(reply, "content-security-policy");
    for rule in ["object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"] {
        assert!(rules.contains(rule), "{}: {rules}", reply.asked);
    }
    assert_eq!(header(reply, "x-content-type-options"), "nosniff", "{}", reply.asked);
    assert_eq!(header(reply, "cross-origin-resource-policy"), "same-origin", "{}", reply.asked);
    assert!(["no-referrer", "same-origin"].contains(&header(reply, "referrer-policy")), "{}", reply.asked);
    let media = header(reply, "content-type");
    assert!(
        !media.starts_with("text/") || media == "text/event-stream" || media.ends_with("; charset=utf-8"),
        "{}: {media}",
        reply.asked
    );
}

on_both!(every_answer_is_careful_with_browsers_and_caches, async |world: &World| {
    for path in [
        "/",
        "/docs",
        "/docs/page.css",
        "/openapi.json",
        "/livez",
        "/healthz",
        "/readyz",
        "/assets/nothing.js",
        "/v1",
    ] {
        is_guarded(&bare(world, Method::GET, path, &[]).await);
    }
    is_guarded(&bare(world, Method::DELETE, "/", &[]).await);
    let (document, admin) = (Document::of(world).await, world.admin());
    for operation in &document.operations {
        if operation.path == "/v1/changes/live" {
            continue;
        }
        let path = operation.at(Some(world.county().engine_1)).replace("{secret}", &"A".repeat(43));
        let path = path.replace("{sha256}", &"0".repeat(64));
        let method: Method = operation.method.clone();
        let signed = admin.ask(method.clone(), &path, None, &[("If-Match", "\"1\"".to_owned())]).await;
        for reply in [bare(world, method, &path, &[]).await, signed] {
            is_guarded(&reply);
            let kept = header(&reply, "cache-control");
            assert!(
                kept.contains("no-store") || kept.contains("private") || kept.contains("no-cache"),
                "{}: {kept}",
                reply.asked
            );
        }
    }
});

/// Of a long text of the dashboard: its bytes as they are sent, and how they are said to be pressed.
async fn part(world: &World, takes: &str) -> (Vec<u8>, String) {
    let address = format!("{}/docs/swagger-ui-bundle.js", world.server.base);
    let reply = world.http.get(address).header("accept-encoding", takes).send().await.unwrap();
    assert_eq!((reply.status().as_u16(), reply.headers()["vary"].to_str().unwrap()), (200, "accept-encoding"));
    let pressed = reply.headers().get("content-encoding").map_or("", |value| value.to_str().unwrap()).to_owned();
    (reply.bytes().await.unwrap().to_vec(), pressed)
}

on_both!(a_part_of_the_dashboard_is_sent_as_the_build_pressed_it, async |world: &World| {
    let (whole, pressed) = part(world, "identity").await;
    assert_eq!(pressed, "");
    let (gzip, pressed) = part(world, "gzip").await;
    assert_eq!(pressed, "gzip");
    let mut again = Vec::new();
    flate2::read::GzDecoder::new(gzip.as_slice()).read_to_end(&mut again).unwrap();
    assert!(again == whole && gzip.len() * 3 < whole.len(), "{} of {}", gzip.len(), whole.len());
    let (brotli, pressed) = part(world, "gzip, deflate, br, zstd").await;
    assert_eq!(pressed, "br");
    assert!(brotli.len() < gzip.len());
    let (_, refused) = part(world, "br;q=0, gzip;q=0.5").await;
    assert_eq!(refused, "gzip");
    // What is pressed has no address of its own.
    let name = bare(world, Method::GET, "/docs/swagger-ui-bundle.js.br", &[]).await;
    assert_eq!(name.status, 404);
});

on_both!(the_description_is_pressed_once_and_not_sent_to_who_has_it, async |world: &World| {
    let ask = async |headers: &[(&str, &str)]| bare(world, Method::GET, "/openapi.json", headers).await;
    let plain = ask(&[("accept-encoding", "identity")]).await;
    let pressed = ask(&[("accept-encoding", "br, gzip")]).await;
    assert_eq!((header(&plain, "content-encoding"), header(&pressed, "content-encoding")), ("", "gzip"));
    let length = |reply: &Reply| header(reply, "content-length").parse::<usize>().expect("it is known beforehand");
    assert!(length(&pressed) * 4 < length(&plain), "{} of {}", length(&pressed), length(&plain));
    let tag = header(&plain, "etag").to_owned();
    assert!(tag.starts_with("W/\"") && tag == header(&pressed, "etag"), "{tag}");
    assert!(header(&pressed, "vary").contains("accept-encoding"));
    let again = ask(&[("accept-encoding", "gzip"), ("if-none-match", &tag)]).await;
    assert_eq!((again.status, again.text.as_str(), header(&again, "etag")), (304, "", tag.as_str()));
    assert_eq!(ask(&[("if-none-match", "W/\"other\"")]).await.status, 200);
});

on_both!(a_packed_body_is_refused_before_it_is_unfolded, async |world: &World| {
    // A few bytes that unfold to many: what is in them does not matter, nobody looks.
    let bomb = [0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 3, 0x63, 0x60, 0x18, 5];
    let bearer = format!("Bearer {}", world.crew().access().await);
    for path in [
        "/v1/session",
        "/v1/session/refresh",
        "/v1/enrolments/redeem",
        "/v1/commands",
        "/v1/defects",
        "/v1/nothing",
    ] {
        for encoding in ["gzip", "br", "identity, gzip", "x"] {
            let request = world.http.post(format!("{}{path}", world.server.base)).header("authorization", &bearer);
            let request = request.header("content-encoding", encoding).body(bomb.to_vec());
            let problem = Reply::of(format!("POST {path} {encoding}"), request).await.refused(415, "body-encoded");
            assert!(problem["request_id"].is_string(), "{problem}");
        }
    }
    let plain = [("content-encoding", "identity"), ("content-length", "0")];
    assert_ne!(bare(world, Method::POST, "/v1/session", &plain).await.status, 415);
});

on_both!(every_answer_has_the_id_of_its_request, async |world: &World| {
    let named = bare(world, Method::GET, "/v1/board", &[("x-request-id", "bay-2.tablet_17")]).await;
    assert_eq!(header(&named, "x-request-id"), "bay-2.tablet_17");
    assert_eq!(named.refused(401, "sign-in-needed")["request_id"], "bay-2.tablet_17");
    for odd in ["", "a b", "x\"y", &"7".repeat(129)] {
        let made = bare(world, Method::GET, "/v1", &[("x-request-id", odd)]).await;
        let id = header(&made, "x-request-id").to_owned();
        assert!(id.len() == 36 && id != odd, "{odd}: {id}");
    }
    let crew = world.crew();
    let answered = crew.get("/v1/pieces").await;
    assert!(!header(&answered, "x-request-id").is_empty());
    let refused = crew.take_out(uuid::Uuid::now_v7(), "bent").await;
    let id = header(&refused, "x-request-id").to_owned();
    assert_eq!(refused.refused(404, "not-found")["request_id"], json!(id));
});

on_both!(a_program_finds_out_what_is_spoken_before_anybody_signs_in, async |world: &World| {
    let about = bare(world, Method::GET, "/v1", &[]).await;
    let tag = header(&about, "etag").to_owned();
    let about = about.ok();
    assert_eq!(
        (&about["service"], &about["protocol"]),
        (&json!("fullset"), &json!({ "oldest": 1, "newest": 1 }))
    );
    assert_eq!((&about["limits"]["commands"], &about["limits"]["wait_seconds"]), (&json!(500), &json!(60)));
    let kinds = |of: &str| -> Vec<String> {
        about[of]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["kind"].as_str().unwrap().to_owned())
            .collect()
    };
    let commands = kinds("commands");
    assert!(
        commands.contains(&"defect.report".into()) && !commands.contains(&"clock.settle".into()),
        "{commands:?}"
    );
    let records = kinds("records");
    let page = world.coordinator().find("/v1/changes?limit=2000").await;
    for change in page["changes"].as_array().unwrap() {
        assert!(records.iter().any(|kind| change["kind"] == json!(kind)), "{}", change["kind"]);
    }
    let again = bare(world, Method::GET, "/v1", &[("if-none-match", &tag)]).await;
    assert_eq!((again.status, again.text.as_str()), (304, ""));
});

on_both!(pages_of_stated_origins_may_ask_with_a_bearer_token, async |world: &World| {
    let bearer = format!("Bearer {}", world.crew().access().await);
    let ask = async |origin: &str| bare(world, Method::GET, "/v1/board", &[("origin", origin), ("authorization", &bearer)]).await;
    let open = ask("https://map.example").await;
    assert_eq!(header(&open, "access-control-allow-origin"), "https://map.example");
    assert!(header(&open, "access-control-expose-headers").contains("ETag") && header(&open, "vary").contains("Origin"));
    assert_eq!(header(&open, "access-control-allow-credentials"), "", "cookies never count from elsewhere");
    open.ok();
    let closed = ask("https://elsewhere.example").await;
    assert_eq!(header(&closed, "access-control-allow-origin"), "");
    let preflight = async |origin: &str| {
        let headers = [
            ("origin", origin),
            ("access-control-request-method", "POST"),
            ("access-control-request-headers", "authorization, content-type"),
        ];
        bare(world, Method::OPTIONS, "/v1/commands", &headers).await
    };
    let asked = preflight("https://map.example").await;
    assert_eq!((asked.status, header(&asked, "access-control-allow-methods")), (204, "POST"));
    assert!(header(&asked, "access-control-allow-headers").contains("Authorization"));
    assert_eq!(header(&preflight("https://elsewhere.example").await, "access-control-allow-methods"), "");
    let refused = bare(world, Method::GET, "/v1/board", &[("origin", "https://map.example")]).await;
    assert_eq!(
        header(&refused, "access-control-allow-origin"),
        "https://map.example",
        "a page may read why it was refused"
    );
});

on_both!(what_has_not_changed_is_not_sent_again, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let ram = format!("/v1/pieces/{}", county.set_1.ram);
    let paths = [
        ram.clone(),
        "/v1/pieces?limit=500".into(),
        "/v1/board".into(),
        format!("{ram}/history"),
        "/v1/rig-standings".into(),
    ];
    let mut tags = Vec::new();
    for path in &paths {
        let first = crew.get(path).await;
        let tag = header(&first, "etag").to_owned();
        assert!(!tag.is_empty(), "{path}");
        first.ok();
        world.pass(chrono::TimeDelta::seconds(3));
        let again = crew.ask(Method::GET, path, None, &[(header::IF_NONE_MATCH.as_str(), tag.clone())]).await;
        assert_eq!((again.status, again.text.as_str(), header(&again, "etag")), (304, "", tag.as_str()), "{path}");
        tags.push(tag);
    }
    crew.take_out(county.set_1.ram, "bent").await.ok();
    for (path, tag) in paths.iter().zip(tags) {
        let changed = crew.ask(Method::GET, path, None, &[(header::IF_NONE_MATCH.as_str(), tag)]).await;
        assert_ne!(changed.ok(), Value::Null, "{path}");
    }
});

on_both!(lists_are_narrowed_exactly_and_by_what_there_is, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let tag = coordinator.piece(county.set_1.ram).await["tag"].as_str().unwrap().to_owned();
    let found = coordinator.list(&format!("/v1/pieces?tag={}", tag.to_lowercase())).await;
    assert_eq!(found.iter().map(|piece| piece["id"].clone()).collect::<Vec<_>>(), [json!(county.set_1.ram)]);
    assert!(
        coordinator.list(&format!("/v1/pieces?tag={}", &tag[..tag.len() - 1])).await.is_empty(),
        "a beginning is not a tag"
    );
    let path = format!("/v1/pieces/{}", county.set_1.ram);
    coordinator.edit(&path, json!({ "serial": "SN 12_9%" })).await.ok();
    let found = coordinator.list("/v1/pieces?serial=sn12_9%25").await;
    assert_eq!(found.len(), 1);
    assert!(coordinator.list("/v1/pieces?serial=12_9%25").await.is_empty() && coordinator.list("/v1/pieces?serial=snx2_9%25").await.is_empty());
    let refused = coordinator.get("/v1/pieces?state=broken").await.refused(400, "query-invalid");
    assert!(
        refused["detail"].as_str().unwrap().contains("in_service, out_of_service, missing, retired"),
        "{refused}"
    );
    for query in ["stations?state=open", "stations?tag=x", "defects?serial=x", "pieces?state="] {
        coordinator.get(&format!("/v1/{query}")).await.refused(400, "query-invalid");
    }
    let nowhere = uuid::Uuid::now_v7();
    for place in ["district", "station", "rig"] {
        let refused = coordinator.get(&format!("/v1/pieces?{place}={nowhere}")).await.refused(400, "query-invalid");
        assert_eq!(refused["field"], json!(place));
    }
});

on_both!(a_history_is_paged_as_lists_are, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    for n in 0..5 {
        crew.take_out(county.set_1.ram, &format!("bent {n}")).await.ok();
    }
    let path = format!("/v1/pieces/{}/history", county.set_1.ram);
    let whole = crew.list(&path).await;
    let (mut pages, mut after) = (Vec::new(), String::new());
    loop {
        let page = crew.find(&format!("{path}?limit=2{after}")).await;
        pages.extend(page["items"].as_array().unwrap().iter().cloned());
        let Some(next) = page["next"].as_str() else { break };
        after = format!("&after={next}");
    }
    assert_eq!(pages, whole);
    assert!(whole.len() >= 6);
});

on_both!(what_was_made_is_found_where_location_says, async |world: &World| {
    let (document, coordinator) = (Document::of(world).await, world.coordinator());
    let shop = uuid::Uuid::now_v7();
    let made = coordinator.post("/v1/shops", json!({ "id": shop, "name": "Night shop" })).await;
    assert_eq!((made.status, header(&made, "location")), (201, &*format!("/v1/shops/{shop}")));
    assert_eq!(coordinator.get(header(&made, "location")).await.ok()["id"], json!(shop));
    // Nothing is promised that is not there.
    let paths = document.json["paths"].as_object().expect("paths");
    let promised = paths
        .iter()
        .filter(|(_, item)| item["post"]["responses"]["201"]["headers"]["Location"].is_object());
    let promised: Vec<&String> = promised.map(|(path, _)| path).collect();
    assert!(promised.len() > 10, "{promised:?}");
    for path in promised {
        assert!(paths.get(&format!("{path}/{{id}}")).is_some_and(|item| item["get"].is_object()), "{path}");
    }
});
