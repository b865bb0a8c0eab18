//! A proxy in front of the service that is wrong in one way.

use std::net::TcpListener;

use actix_web::{App, HttpRequest, HttpResponse, HttpServer, dev::ServerHandle, web};
use serde_json::{Value, json};

/// A request on its way to the service.
#[derive(Debug, Clone)]
pub struct Asked {
    pub method: String,
    pub path: String,
    pub query: String,
    pub headers: Vec<(String, String)>,
    pub body: Value,
}

/// An answer on its way back.
#[derive(Debug)]
pub struct Told {
    pub status: u16,
    pub media: String,
    pub body: Value,
}

/// One way of being wrong.
#[derive(Debug, Clone, Copy)]
pub struct Breakage {
    pub words: &'static str,
    /// The case that must find it.
    pub case: &'static str,
    ask: fn(&mut Asked),
    tell: fn(&Asked, &mut Told),
}

impl Breakage {
    pub fn none() -> Self {
        told("nothing is wrong", "", |_, _| {})
    }
}

const fn told(words: &'static str, case: &'static str, tell: fn(&Asked, &mut Told)) -> Breakage {
    Breakage {
        words,
        case,
        ask: |_| {},
        tell,
    }
}

const fn asked(words: &'static str, case: &'static str, ask: fn(&mut Asked)) -> Breakage {
    Breakage {
        words,
        case,
        ask,
        tell: |_, _| {},
    }
}

/// A list of a body, where it has one; a body without is left as it is.
fn list<'b>(body: &'b mut Value, field: &str) -> Option<&'b mut Vec<Value>> {
    body.get_mut(field)?.as_array_mut()
}

fn each_answer(told: &mut Told, change: impl Fn(&mut Value)) {
    list(&mut told.body, "answers").into_iter().flatten().for_each(change);
}

fn each_command(asked: &mut Asked, change: impl Fn(&mut Value)) {
    list(&mut asked.body, "commands").into_iter().flatten().for_each(change);
}

fn take(value: &mut Value, field: &str) {
    if let Some(fields) = value.as_object_mut() {
        fields.remove(field);
    }
}

/// Wrong answers to commands.
pub fn answers() -> Vec<Breakage> {
    vec![
        told("answers in another order", "answers-in-order", |_, told| {
            list(&mut told.body, "answers").into_iter().for_each(|answers| answers.reverse());
        }),
        told("the last answer is missing", "answers-in-order", |_, told| {
            let answers = list(&mut told.body, "answers");
            answers.filter(|answers| answers.len() > 1).into_iter().for_each(|answers| drop(answers.pop()));
        }),
        told("`repeated` is swallowed", "repeated", |_, told| {
            each_answer(told, |answer| {
                if answer["outcome"] == "repeated" {
                    answer["outcome"] = json!("applied");
                }
            });
        }),
        told("a repeated answer has lost its record", "repeated-in-a-batch", |_, told| {
            each_answer(told, |answer| {
                if answer["outcome"] == "repeated" {
                    take(answer, "record");
                }
            });
        }),
        told("a conflict does not show the record", "conflict-shows-both-sides", |_, told| {
            each_answer(told, |answer| take(answer, "current"))
        }),
        told("a reused id is taken for a repetition", "id-reused", |_, told| {
            each_answer(told, |answer| {
                if answer["problem"]["code"] == "id-reused" {
                    answer["outcome"] = json!("repeated");
                }
            });
        }),
        told("the sender's time is believed", "future-cut", |asked, told| {
            let at = asked.body["commands"][0]["at"].clone();
            if let Some(record) = told.body.pointer_mut("/answers/0/record").filter(|_| !at.is_null()) {
                record["seen_at"] = at;
            }
        }),
        told("refusals have no code", "unknown-kind", |_, told| {
            each_answer(told, |answer| answer.get_mut("problem").into_iter().for_each(|problem| take(problem, "code")))
        }),
    ]
}

/// Commands that are not taken as they were sent.
pub fn commands() -> Vec<Breakage> {
    vec![
        asked("`after` is passed over", "after", |asked| each_command(asked, |command| take(command, "after"))),
        asked("the Idempotency-Key is passed over", "one-door", |asked| {
            asked.headers.retain(|(name, _)| name != "idempotency-key");
        }),
        asked("the skew is not measured", "skew-corrected", |asked| {
            if asked.body["sent_at"].is_string() {
                asked.body["sent_at"] = json!(chrono::Utc::now());
            }
        }),
        asked("a return needs no revision", "revision-needed", |asked| {
            each_command(asked, |command| {
                if command["kind"] == "piece.return" && command["expects"].is_null() {
                    // As a server that decides by itself.
                    command["kind"] = json!("piece.take_out");
                    command["body"] = json!({ "id": command["body"]["id"], "reason": "none" });
                }
            });
        }),
        asked("what is noted with no signal does not take a piece out", "out-of-service-wins", |asked| {
            each_command(asked, |command| {
                if command["body"]["reason"].as_str().is_some_and(|reason| reason.contains("no signal")) {
                    command["kind"] = json!("piece.edit");
                }
            });
        }),
        asked("what is too much is cut off", "too-many-commands", |asked| {
            list(&mut asked.body, "commands").into_iter().for_each(|commands| commands.truncate(500));
        }),
    ]
}

/// The case that finds a stream which tells nothing.
const SILENT: &str = "live-tells";

/// A feed with holes.
pub fn feed() -> Vec<Breakage> {
    vec![
        told("the last change of a small page is lost", "snapshot-hands-over", |asked, told| {
            if asked.query.contains("limit=5") {
                let changes = list(&mut told.body, "changes");
                changes.into_iter().for_each(|changes| drop(changes.pop()));
            }
        }),
        told("a change is lost where pages meet", "snapshot-whole", |asked, told| {
            if asked.query.contains("limit=7") && asked.query.contains("since") {
                let changes = list(&mut told.body, "changes");
                changes
                    .filter(|changes| changes.len() > 1)
                    .into_iter()
                    .for_each(|changes| drop(changes.remove(0)));
            }
        }),
        told("a record comes twice on a page", "each-record-once", |_, told| {
            let changes = list(&mut told.body, "changes");
            changes.into_iter().for_each(|changes| changes.extend(changes.last().cloned()));
        }),
        told("pages are not in the order of revisions", "snapshot-whole", |_, told| {
            list(&mut told.body, "changes").into_iter().for_each(|changes| changes.reverse());
        }),
        told("what is deleted is not told", "gone", |_, told| {
            let changes = list(&mut told.body, "changes");
            changes.into_iter().for_each(|changes| changes.retain(|change| change["gone"].is_null()));
        }),
        told("what moves away is not told", "out-of-scope", |_, told| {
            let changes = list(&mut told.body, "changes");
            changes
                .into_iter()
                .for_each(|changes| changes.retain(|change| change["gone"] != "out_of_scope"));
        }),
        asked("a scope is passed over", "token-of-another-scope", |asked| {
            if let Some((before, rest)) = asked.query.clone().split_once("&scope=") {
                asked.query = format!("{before}{}", rest.find('&').map_or("", |at| &rest[at..]));
            }
        }),
        asked("a token that cannot be read is taken for none", "token-of-nonsense", |asked| {
            if asked.query.contains("since=nonsense") {
                asked.query = "limit=1".into();
            }
        }),
        asked("a token serves once", "token-twice", |asked| {
            static SEEN: std::sync::Mutex<Vec<String>> = std::sync::Mutex::new(Vec::new());
            let mut seen = SEEN.lock().expect("nobody panicked");
            if asked.query.contains("since") && seen.contains(&asked.query) {
                asked.query = "limit=3".into();
            }
            seen.push(asked.query.clone());
        }),
        // The proxy itself keeps the events back.
        told("the stream is silent", SILENT, |_, _| {}),
    ]
}

/// Bad manners.
pub fn manners() -> Vec<Breakage> {
    vec![
        told("problems are told as plain JSON", "problems", |_, told| told.media = "application/json".into()),
        told("problems say nothing to a person", "unreadable-body", |_, told| take(&mut told.body, "detail")),
        asked("unknown parameters are passed over", "unknown-query", |asked| {
            if asked.query.contains("nonsense") {
                asked.query.clear();
            }
        }),
        told("a refresh token is not spent", "sign-in", |asked, told| {
            if asked.path.ends_with("/refresh") {
                told.body["refresh_token"] = asked.body["refresh_token"].clone();
            }
        }),
        told("a body that is too large is a fault of the server", "body-too-large", |_, told| {
            if told.status == 413 {
                told.status = 500;
            }
        }),
        asked("no client is too old", "client-too-old", |asked| {
            asked.headers.retain(|(name, _)| name != "fullset-protocol")
        }),
        asked("nonsense for a token is anybody", "sign-in-refused", |asked| {
            static TOKEN: std::sync::Mutex<String> = std::sync::Mutex::new(String::new());
            let mut known = TOKEN.lock().expect("nobody panicked");
            for (name, value) in &mut asked.headers {
                if name == "authorization" && value.contains("nonsense") {
                    value.clone_from(&known);
                } else if name == "authorization" {
                    known.clone_from(value);
                }
            }
        }),
    ]
}

/// The proxy.
pub struct Proxy {
    pub base: String,
    handle: ServerHandle,
}

impl Drop for Proxy {
    fn drop(&mut self) {
        drop(self.handle.stop(false));
    }
}

impl Proxy {
    /// Starts it on a free port.
    pub async fn start(to: &str, breakage: &Breakage) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let base = format!("http://{}", listener.local_addr().expect("an address"));
        let (to, breakage, http) = (to.to_owned(), *breakage, reqwest::Client::new());
        let server = HttpServer::new(move || {
            let (to, http) = (to.clone(), http.clone());
            App::new()
                .app_data(web::PayloadConfig::new(16 * 1024 * 1024))
                .default_service(web::to(move |request: HttpRequest, body: web::Bytes| {
                    pass(request, body, to.clone(), http.clone(), breakage)
                }))
        })
        .workers(1)
        .disable_signals()
        .listen(listener)
        .expect("it listens")
        .run();
        let handle = server.handle();
        tokio::spawn(server);
        Self { base, handle }
    }
}

const PASSED_ON: [&str; 5] = ["authorization", "content-type", "idempotency-key", "if-match", "fullset-protocol"];

async fn pass(request: HttpRequest, bytes: web::Bytes, to: String, http: reqwest::Client, breakage: Breakage) -> HttpResponse {
    let header = |name: &str| {
        request
            .headers()
            .get(name)
            .and_then(|value| value.to_str().ok())
            .map(|value| (name.to_owned(), value.to_owned()))
    };
    let original = Asked {
        method: request.method().to_string(),
        path: request.path().to_owned(),
        query: request.query_string().to_owned(),
        headers: PASSED_ON.into_iter().filter_map(header).collect(),
        body: serde_json::from_slice(&bytes).unwrap_or(Value::Null),
    };
    let mut asked = original.clone();
    (breakage.ask)(&mut asked);
    let mark = if asked.query.is_empty() { "" } else { "?" };
    let mut on = http.request(asked.method.parse().expect("a method"), format!("{to}{}{mark}{}", asked.path, asked.query));
    for (name, value) in &asked.headers {
        on = on.header(name, value);
    }
    // What is no JSON goes as it is.
    let on = on.body(if asked.body == original.body {
        bytes.to_vec()
    } else {
        asked.body.to_string().into_bytes()
    });
    let answer = on.send().await.expect("the service answers");
    let mut told = Told {
        status: answer.status().as_u16(),
        media: answer
            .headers()
            .get("content-type")
            .and_then(|value| value.to_str().ok())
            .unwrap_or_default()
            .to_owned(),
        body: Value::Null,
    };
    if told.media == "text/event-stream" {
        let silent = breakage.case == SILENT;
        let stream = futures_util::StreamExt::filter(answer.bytes_stream(), move |_| std::future::ready(!silent));
        return HttpResponse::Ok().content_type(told.media).streaming(Box::pin(stream));
    }
    let bytes = answer.bytes().await.expect("the service answers");
    let before: Value = serde_json::from_slice(&bytes).unwrap_or(Value::Null);
    told.body.clone_from(&before);
    (breakage.tell)(&asked, &mut told);
    let mut back = HttpResponse::build(actix_web::http::StatusCode::from_u16(told.status).expect("a status"));
    let back = back.content_type(told.media);
    if told.body == before {
        back.body(bytes)
    } else {
        back.body(told.body.to_string())
    }
}
