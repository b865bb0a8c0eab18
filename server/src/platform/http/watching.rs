//! What is kept of each request for whoever runs the service: counts for `/metrics`, and a line of the access log. It goes around
//! everything else, and costs nothing where neither was asked for.

use std::{
    collections::BTreeMap,
    pin::Pin,
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicUsize, Ordering},
    },
    task::{Context, Poll},
    time::Instant,
};

use actix_web::{
    HttpMessage as _, HttpRequest,
    body::{BodySize, BoxBody, MessageBody},
    dev::{ServiceRequest, ServiceResponse},
    http::ConnectionType,
    middleware::Next,
    web::{self, Bytes},
};

use super::{
    Refusals, RefusedToday, Shared,
    access_log::{AccessLog, Entry},
    caller_of,
    request_id::{RequestId, without_secret},
};
use crate::platform::{
    auth::Actor,
    error::ProblemCode,
    histogram::{Counts, Histogram},
    traces::{Attribute, Begun, Called, SpanKind, Traces},
};

/// Bounds of how long an answer took, in microseconds.
const BOUNDS: [u64; 10] = [1_000, 5_000, 10_000, 25_000, 50_000, 100_000, 250_000, 1_000_000, 5_000_000, 30_000_000];
/// The most characters of an unknown path that the log holds.
const LONGEST_PATH: usize = 200;
/// What counts as a route where no address of the service fits.
const ELSEWHERE: &str = "elsewhere";
/// What counts as a method that nobody needs.
const OTHER: &str = "other";

/// By route, method and class of status.
type Key = (String, &'static str, u16);

/// What was counted of requests.
#[derive(Debug, Default)]
pub struct Requests {
    times: Mutex<BTreeMap<Key, Arc<Histogram<10>>>>,
    refused: Mutex<BTreeMap<(u16, ProblemCode), u64>>,
    under_way: AtomicUsize,
}

impl Requests {
    /// How long answers took until they began, in microseconds, by route, method and the hundreds of the status.
    pub fn times(&self) -> Vec<(Key, Counts)> {
        let times = self.times.lock().unwrap_or_else(PoisonError::into_inner);
        times.iter().map(|(key, histogram)| (key.clone(), histogram.read())).collect()
    }

    /// How often it was answered that there are too many, by status and reason.
    pub fn refused(&self) -> Vec<((u16, ProblemCode), u64)> {
        let refused = self.refused.lock().unwrap_or_else(PoisonError::into_inner);
        refused.iter().map(|(key, count)| (*key, *count)).collect()
    }

    /// Requests that are not answered yet.
    pub fn under_way(&self) -> usize {
        self.under_way.load(Ordering::Relaxed)
    }

    fn count(&self, key: Key, micros: u64, refused: Option<(u16, ProblemCode)>) {
        let mut times = self.times.lock().unwrap_or_else(PoisonError::into_inner);
        let histogram = Arc::clone(times.entry(key).or_insert_with(|| Arc::new(Histogram::new(&BOUNDS))));
        drop(times);
        histogram.add(micros);
        if let Some(refused) = refused {
            *self.refused.lock().unwrap_or_else(PoisonError::into_inner).entry(refused).or_default() += 1;
        }
    }
}

/// What a service keeps of its requests.
#[derive(Debug, Default)]
pub struct Watching {
    /// What is counted, where somebody asks.
    pub requests: Option<Arc<Requests>>,
    /// The access log, where one is written.
    pub log: Option<AccessLog>,
    /// What was refused to whom today.
    pub refused: RefusedToday,
    /// Where spans are handed in, where somebody asked for traces.
    pub traces: Option<Traces>,
}

impl Watching {
    /// The span of a request, where traces are asked for and its caller does not say that nobody keeps this one.
    fn begun(&self, request: &ServiceRequest) -> Option<Begun> {
        self.traces.as_ref()?;
        let header = request.headers().get("traceparent").and_then(|value| value.to_str().ok());
        match header.map_or(Called::Untold, Called::read) {
            Called::Untold => Some(Begun::within(None)),
            Called::Within(caller) => Some(Begun::within(Some(&caller))),
            Called::Unkept => None,
        }
    }

    /// Hands the span of an answered request in.
    fn answered(&self, begun: Begun, method: &'static str, answer: &ServiceResponse<BoxBody>) {
        let Some(traces) = &self.traces else { return };
        let (route, status) = (answer.request().match_pattern(), answer.status().as_u16());
        let mut told = vec![
            ("http.request.method", Attribute::Word(method.to_owned())),
            ("http.response.status_code", Attribute::Number(status.into())),
        ];
        if let Some(code) = answer.response().extensions().get::<ProblemCode>() {
            told.push(("error.type", Attribute::Word(code.word().to_owned())));
        }
        let name = match &route {
            Some(route) => format!("{method} {route}"),
            None => method.to_owned(),
        };
        told.extend(route.map(|route| ("http.route", Attribute::Word(route))));
        traces.hand_in(begun.end(SpanKind::Server, name, told, status >= 500));
    }
}

/// One request under way.
struct UnderWay<'a>(Option<&'a Requests>);

impl<'a> UnderWay<'a> {
    fn begin(requests: Option<&'a Requests>) -> Self {
        if let Some(requests) = requests {
            requests.under_way.fetch_add(1, Ordering::Relaxed);
        }
        Self(requests)
    }
}

impl Drop for UnderWay<'_> {
    fn drop(&mut self) {
        if let Some(requests) = self.0 {
            requests.under_way.fetch_sub(1, Ordering::Relaxed);
        }
    }
}

/// The way around everything.
pub async fn watch(request: ServiceRequest, next: Next<impl MessageBody + 'static>) -> Result<ServiceResponse<BoxBody>, actix_web::Error> {
    let watching = request.app_data::<web::Data<Watching>>().cloned();
    let shared = request.app_data::<web::Data<Shared>>().cloned();
    let (began, method) = (Instant::now(), request.method().clone());
    let came = shared.as_ref().map(|shared| shared.clock.now());
    let requests = watching.as_ref().and_then(|watching| watching.requests.clone());
    let under_way = UnderWay::begin(requests.as_deref());
    let begun = watching.as_ref().and_then(|watching| watching.begun(&request));
    let trace = begun.as_ref().map(|begun| begun.context);
    let answer = match trace {
        Some(context) => context.during(next.call(request)).await,
        None => next.call(request).await,
    };
    let mut answer = answer?.map_into_boxed_body();
    drop(under_way);
    if shared.as_ref().is_some_and(|shared| shared.tasks.ended()) {
        // Whoever asks next asks a process that stays.
        answer.response_mut().head_mut().set_connection_type(ConnectionType::Close);
    }
    let refused = Refusals::carried(&answer);
    if let Some((watching, shared)) = watching.as_ref().zip(shared.as_ref()) {
        watching.refused.note(answer.request(), shared, &refused);
    }
    let known = ["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"];
    let known = known.into_iter().find(|known| *known == method.as_str());
    if let Some((watching, begun)) = watching.as_ref().zip(begun) {
        watching.answered(begun, known.unwrap_or("_OTHER"), &answer);
    }
    let Some(watching) = watching.filter(|watching| watching.requests.is_some() || watching.log.is_some()) else {
        return Ok(answer);
    };
    let (route, status) = (answer.request().match_pattern(), answer.status().as_u16());
    if let Some(requests) = requests {
        let code = answer.response().extensions().get::<ProblemCode>().copied();
        let too_many = code.filter(|_| matches!(status, 429 | 503));
        let key = (route.clone().unwrap_or_else(|| ELSEWHERE.to_owned()), known.unwrap_or(OTHER), status / 100);
        requests.count(key, micros(began), too_many.map(|code| (status, code)));
    }
    let Some((log, (shared, came))) = watching.log.clone().zip(shared.zip(came)) else {
        return Ok(answer);
    };
    let actor = answer.request().extensions().get::<Arc<Actor>>().cloned();
    let entry = Entry {
        time: came,
        method: method.to_string().chars().take(16).collect(),
        path: route.is_none().then(|| unknown_path(answer.request())),
        route,
        status,
        bytes: 0,
        ms: 0,
        trace: trace.map(|trace| trace.trace_digits()),
        request_id: answer.request().extensions().get::<RequestId>().map(ToString::to_string),
        member: actor.as_ref().and_then(|actor| actor.member),
        device: actor.as_ref().and_then(|actor| actor.device),
        key: actor.and_then(|actor| actor.key.as_ref().map(|key| key.id)),
        refused,
        address: caller_of(answer.request(), &shared),
    };
    Ok(answer.map_body(|_, body| {
        BoxBody::new(LoggedBody {
            body,
            began,
            log,
            entry: Some(entry),
        })
    }))
}

fn micros(began: Instant) -> u64 {
    u64::try_from(began.elapsed().as_micros()).unwrap_or(u64::MAX)
}

fn unknown_path(request: &HttpRequest) -> String {
    without_secret(request.path()).chars().take(LONGEST_PATH).collect()
}

/// A body that tells the log when the last of it is sent, or nobody takes it any more.
struct LoggedBody {
    body: BoxBody,
    began: Instant,
    log: AccessLog,
    entry: Option<Entry>,
}

impl MessageBody for LoggedBody {
    type Error = Box<dyn std::error::Error>;

    fn size(&self) -> BodySize {
        self.body.size()
    }

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Result<Bytes, Self::Error>>> {
        let polled = Pin::new(&mut self.body).poll_next(context);
        if let (Poll::Ready(Some(Ok(bytes))), Some(entry)) = (&polled, &mut self.entry) {
            entry.bytes = entry.bytes.saturating_add(u64::try_from(bytes.len()).unwrap_or(u64::MAX));
        }
        polled
    }
}

impl Drop for LoggedBody {
    fn drop(&mut self) {
        if let Some(mut entry) = self.entry.take() {
            entry.ms = micros(self.began) / 1_000;
            self.log.write(entry);
        }
    }
}
