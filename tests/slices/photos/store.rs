//! Photos in a bucket: the real service against something that speaks just enough of S3's REST protocol over HTTP.

use std::{
    collections::BTreeMap,
    net::TcpListener,
    sync::{Arc, Mutex},
};

use actix_web::{App, HttpRequest, HttpResponse, HttpServer, http::Method, web};
use fullset::platform::clock::Clock;

use super::{
    making::{jpeg, name_of},
    offset,
};
use crate::world::{Client, World, on_both, photos_of, process::Process};

#[derive(Debug, Default)]
struct Bucket {
    objects: BTreeMap<String, Vec<u8>>,
    asked: Vec<String>,
    /// When set, it answers nothing but errors.
    down: bool,
}

type Shared = Arc<Mutex<Bucket>>;

/// Amazon S3 API reference, "Authenticating requests (AWS Signature Version 4)": the Authorization header names key, day,
/// region and service; x-amz-content-sha256 is the hash of the body.
fn signed(request: &HttpRequest, body: &[u8]) -> bool {
    let header = |name: &str| request.headers().get(name).and_then(|value| value.to_str().ok()).unwrap_or_default().to_owned();
    let (authorization, date) = (header("authorization"), header("x-amz-date"));
    let credential = format!("AWS4-HMAC-SHA256 Credential=test-key/{}/north-1/s3/aws4_request", date.get(..8).unwrap_or("?"));
    let hash = header("x-amz-content-sha256");
    authorization.starts_with(&credential)
        && authorization.split("Signature=").nth(1).is_some_and(|signature| signature.len() == 64)
        && (hash == name_of(body) || hash == "UNSIGNED-PAYLOAD")
}

async fn object(request: HttpRequest, body: web::Bytes, bucket: web::Data<Mutex<Bucket>>) -> HttpResponse {
    let mut bucket = bucket.lock().expect("nobody panicked with it");
    let path = request.path().to_owned();
    bucket.asked.push(format!("{} {path}", request.method()));
    if !signed(&request, &body) {
        return HttpResponse::Forbidden().body("<Error><Code>SignatureDoesNotMatch</Code></Error>");
    }
    if bucket.down {
        return HttpResponse::InternalServerError().body("<Error><Code>InternalError</Code></Error>");
    }
    let etag = ("ETag", format!("\"{}\"", name_of(&body)));
    if *request.method() == Method::PUT {
        bucket.objects.insert(path, body.to_vec());
        return HttpResponse::Ok().insert_header(etag).finish();
    }
    match bucket.objects.get(&path) {
        Some(bytes) => HttpResponse::Ok()
            .insert_header(etag)
            .insert_header(("Last-Modified", "Wed, 25 Nov 2026 14:00:00 GMT"))
            .body(bytes.clone()),
        None => HttpResponse::NotFound().body("<Error><Code>NoSuchKey</Code></Error>"),
    }
}

/// Starts the bucket on a free port.
fn bucket() -> (String, Shared) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let base = format!("http://{}", listener.local_addr().expect("an address"));
    let shared = Shared::default();
    let data = web::Data::from(Arc::clone(&shared));
    let server = HttpServer::new(move || {
        let config = web::PayloadConfig::new(64 * 1024 * 1024);
        App::new().app_data(data.clone()).app_data(config).default_service(web::to(object))
    });
    tokio::spawn(server.workers(1).disable_signals().listen(listener).expect("it listens").run());
    (base, shared)
}

on_both!(photos_are_kept_in_a_bucket, async |world: &World| {
    let (base, bucket) = bucket();
    let environment = [
        ("AWS_ENDPOINT", base.as_str()),
        ("AWS_ALLOW_HTTP", "true"),
        ("AWS_REGION", "north-1"),
        ("AWS_ACCESS_KEY_ID", "test-key"),
        ("AWS_SECRET_ACCESS_KEY", "test-secret"),
    ];
    let process = Process::serve_with(&world.location, "s3://tools/county", &environment);
    let crew = Client::new(&process.base, &world.http, &Clock::system(), &world.crew().person);
    let photo = jpeg(640, 480, 1);
    let name = name_of(&photo);
    assert_eq!(crew.put_part(&photo, 0, 5000).await.status, 202);
    let stored = crew.put_part(&photo, 5000, photo.len()).await;
    assert_eq!((stored.status, offset(&stored)), (201, photo.len()), "{}", stored.text);
    let key = format!("/tools/county/{}/{}/{name}", world.agency().id, &name[..2]);
    let thumbnail = format!("{key}.thumbnail");
    {
        let bucket = bucket.lock().unwrap();
        assert_eq!(bucket.asked, [format!("PUT {key}"), format!("PUT {thumbnail}")]);
    }
    for (ending, key) in [("", key), ("/thumbnail", thumbnail)] {
        let shown = crew.shown(&name, ending).await;
        let bucket = bucket.lock().unwrap();
        assert_eq!(bucket.objects.get(&key), Some(&shown.bytes), "{key}");
        assert_eq!(bucket.asked.last(), Some(&format!("GET {key}")));
    }
    // A store that fails: the client is told to try again, and what it sent before is still here.
    bucket.lock().unwrap().down = true;
    let other = jpeg(64, 48, 2);
    crew.put_part(&other, 0, 500).await.ok();
    crew.put_part(&other, 500, other.len()).await.refused(503, "busy");
    assert_eq!(offset(&crew.check_photo(&name_of(&other)).await), 500);
    crew.get(&format!("/v1/photos/{name}")).await.refused(503, "busy");
    bucket.lock().unwrap().down = false;
    assert_eq!(crew.put_part(&other, 500, other.len()).await.status, 201);
    process.kill();
    assert_eq!(std::fs::read_dir(photos_of(&world.location)).unwrap().count(), 0, "nothing is in the folder");
});
