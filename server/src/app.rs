//! Wires everything once: connections, the door, routes, middleware.

use std::{net::TcpListener, sync::Arc, time::Duration};

use actix_web::{App, HttpRequest, HttpResponse, HttpServer, dev::ServerHandle, http::header, middleware, web};
use futures_util::future::BoxFuture;
use tokio::sync::OnceCell;
use tracing_actix_web::TracingLogger;

use crate::{
    platform::{
        auth::{Keys, Role, Sessions},
        clock::Clock,
        db::{self, Access, Db, Location},
        door::{Door, GroupLimits, Keep, Registry, bring_up, compact},
        error::{self, Fault},
        follow::Followed,
        http::{Api, CorsOrigins, Gate, Heads, Preface, Proxies, Searches, Shared, around::around, assets, body, health, request_id::Spans},
        tasks::Tasks,
        tls::{Authority, Tls},
    },
    slices::{
        accounts, agencies, alerts, api_keys, availability, bench, board, calendar_feeds, capability, check_plans, checks, couplings, coverage, crews, defects,
        demand, devices, districts, due_checks, effects, imports, invitations, members, models, notices, photos, pieces, receivers, reliability, reserves,
        rig_classes, rigs, service_plan, sessions, sheet, shops, stations, swap_plan, swaps, tickets, tool_sets, uses,
    },
    sync,
    tags::TAGS,
};

/// How the service runs.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Where the data is.
    pub location: Location,
    /// Where photos are kept.
    pub photos: photos::PhotoPlace,
    /// The clock.
    pub clock: Clock,
    /// Connections that read.
    pub readers: u32,
    /// Threads that answer HTTP.
    pub workers: usize,
    /// Origins that browsers may write from, besides the service's own address.
    pub origins: Vec<String>,
    /// Whose pages may ask from a browser with a bearer token, besides the service's own.
    pub cors: CorsOrigins,
    /// Whether cookies may travel over plain HTTP.
    pub plain_http: bool,
    /// The networks of proxies, whose word about a caller and the name that was asked for counts.
    pub proxies: Proxies,
    /// How long deleted records and replaced states are kept.
    pub keep: Keep,
    /// TLS of the service itself; without it the listener speaks plain HTTP.
    pub tls: Option<Arc<Tls>>,
    /// Where messages about changes may go.
    pub outward: receivers::Outward,
}

impl Settings {
    /// The usual settings for a database.
    pub fn new(location: Location) -> Self {
        let workers = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
        Self {
            photos: photos::PhotoPlace::beside(&location),
            location,
            clock: Clock::system(),
            readers: 8,
            workers,
            origins: Vec::new(),
            cors: CorsOrigins::default(),
            plain_http: true,
            proxies: Proxies::default(),
            keep: Keep::default(),
            tls: None,
            outward: receivers::Outward::default(),
        }
    }
}

/// Every route and every command kind.
fn api() -> Api {
    let mut api = Api::new(Registry::new(capability::follow, devices::AUTHORITY));
    // A noun is looked for in this order; what phones ask all day stands first.
    sync::routes(&mut api);
    agencies::routes(&mut api);
    members::routes(&mut api);
    devices::routes(&mut api);
    let limits = web::Data::new(sessions::SignInLimits::default());
    sessions::routes(&mut api, &limits);
    accounts::routes(&mut api, &limits);
    invitations::routes(&mut api);
    api_keys::routes(&mut api);
    districts::routes(&mut api);
    stations::routes(&mut api);
    shops::routes(&mut api);
    couplings::routes(&mut api);
    models::routes(&mut api);
    check_plans::routes(&mut api);
    rig_classes::routes(&mut api);
    rigs::routes(&mut api);
    pieces::routes(&mut api);
    tool_sets::routes(&mut api);
    crews::routes(&mut api);
    photos::routes(&mut api);
    defects::routes(&mut api);
    uses::routes(&mut api);
    // Before `/v1/checks/{id}`, which would take it for an id.
    due_checks::routes(&mut api);
    checks::routes(&mut api);
    calendar_feeds::routes(&mut api);
    notices::routes(&mut api);
    swaps::routes(&mut api);
    tickets::routes(&mut api);
    capability::routes(&mut api);
    receivers::routes(&mut api);
    alerts::routes(&mut api);
    effects::routes(&mut api);
    board::routes(&mut api);
    sheet::routes(&mut api);
    demand::routes(&mut api);
    coverage::routes(&mut api);
    swap_plan::routes(&mut api);
    bench::routes(&mut api);
    availability::routes(&mut api);
    let histories = Followed::default();
    reliability::routes(&mut api, &histories);
    reserves::routes(&mut api, histories);
    service_plan::routes(&mut api);
    imports::routes(&mut api);
    let open = api.registry.open_to_programs(Role::Coordinator, false);
    api.registry.provide(api_keys::ProgramKinds(open));
    api
}

/// What the document says beside the routes.
const PREFACE: Preface = Preface {
    tags: TAGS,
    examples: include_str!("../../openapi/examples.json"),
};

/// The OpenAPI document.
pub fn document() -> Result<serde_json::Value, Fault> {
    api().document(PREFACE)
}

/// Brings tables and bodies up to this version.
fn open_up(location: &Location, registry: &Registry) -> anyhow::Result<()> {
    let mut db = Db::open(location, Access::Write)?;
    db.migrate()?;
    let bodies = bring_up(&mut db, registry)?;
    if bodies > 0 {
        tracing::info!(bodies, "records were written anew as this version writes them");
    }
    Ok(())
}

/// A door without HTTP around it, for the command line.
pub fn door(location: &Location, clock: Clock) -> anyhow::Result<Door> {
    let (registry, ..) = api().service();
    open_up(location, &registry)?;
    Door::open(location, Arc::new(registry), clock, GroupLimits::default())
}

/// A service that is running.
#[allow(missing_debug_implementations)]
pub struct Running {
    /// Stops it.
    pub handle: ServerHandle,
    /// Ends when it has stopped.
    pub server: BoxFuture<'static, std::io::Result<()>>,
}

/// Starts the service on a listener. The answer's `server` is to be awaited.
pub async fn start(listener: TcpListener, settings: Settings) -> anyhow::Result<Running> {
    let Settings {
        location,
        photos,
        clock,
        readers,
        workers,
        origins,
        cors,
        plain_http,
        proxies,
        keep,
        tls,
        outward,
    } = settings;
    let (mut registry, addresses, routes) = api().service();
    registry.provide(outward);
    open_up(&location, &registry)?;
    let writers = db::pool(&location, Access::Write, 2)?;
    let readers = db::pool(&location, Access::Read, readers)?;
    let photos = web::Data::new(photos::Photos::open(&photos, readers.clone(), writers.clone(), clock.clone())?);
    let door = Door::open(&location, Arc::new(registry), clock.clone(), GroupLimits::default())?;
    let ended = Arc::clone(door.ended());
    let sender = Arc::new(alerts::Sender::open(writers.clone(), clock.clone(), outward));
    let shared = Arc::new(Shared {
        door,
        readers,
        sessions: Sessions::open(writers.clone(), clock.clone(), Arc::clone(&ended))?,
        keys: Keys::open(writers, clock.clone(), ended)?,
        clock,
        origins,
        plain_http: plain_http && tls.is_none(),
        proxies,
        searches: Searches::default(),
        tasks: Tasks::default(),
        heads: Heads::default(),
    });
    // What ran out while the service was down is settled before anybody can ask.
    capability::settle_all(&shared).await;
    let gate = web::Data::new(Gate { addresses, cors });
    let described = web::Data::new(Described::default());
    let (herald, news) = sync::news();
    let (own, clock, tasks) = (Arc::clone(&shared), shared.clock.clone(), shared.tasks.clone());
    tasks.keep("changes", move || sync::watch(Arc::clone(&own), Arc::clone(&herald)));
    let own = Arc::clone(&shared);
    tasks.keep("clock", move || capability::keep_time(Arc::clone(&own)));
    let own = Arc::clone(&shared);
    tasks.keep("keys", move || keep_keys(Arc::clone(&own)));
    if sender.sends() {
        let own = Arc::clone(&shared);
        tasks.keep("alerts", move || alerts::keep_telling(Arc::clone(&own), Arc::clone(&sender)));
    }
    tasks.keep("compaction", move || forget_daily(location.clone(), clock.clone(), keep));
    let own = Arc::clone(&photos);
    tasks.keep("photos", move || photos::keep_tidy(Arc::clone(&own)));
    if let Some(tls) = tls.clone() {
        tasks.keep("certificate", move || Arc::clone(&tls).keep());
    }
    let news = web::Data::new(news);
    let routes = Arc::new(routes);
    let shared = web::Data::from(shared);
    let authority = tls
        .as_deref()
        .and_then(Tls::authority)
        .map(Authority::certificate)
        .transpose()?
        .map(web::Bytes::from);
    let server = HttpServer::new(move || {
        let (routes, authority) = (Arc::clone(&routes), authority.clone());
        App::new()
            .app_data(shared.clone())
            .app_data(described.clone())
            .app_data(news.clone())
            .app_data(gate.clone())
            .app_data(photos.clone())
            .app_data(web::PayloadConfig::new(body::LIMIT))
            .app_data(web::QueryConfig::default().error_handler(|error, _| Fault::new(error::QUERY_INVALID, error.to_string()).into()))
            .wrap(middleware::Compress::default())
            .wrap(TracingLogger::<Spans>::new())
            .wrap(middleware::from_fn(around))
            .route("/openapi.json", web::get().to(openapi))
            .route("/openapi.json", web::head().to(openapi))
            .configure(health::routes)
            .configure(move |config| {
                routes(config);
                if let Some(authority) = authority {
                    config.route("/ca.crt", web::get().to(move || install(authority.clone())));
                }
            })
            .default_service(web::to(assets::serve))
    })
    .workers(workers)
    .tcp_nodelay(true)
    .shutdown_timeout(5)
    .keep_alive(Duration::from_secs(75))
    // A phone at the edge of its network needs several turns of seconds each.
    .tls_handshake_timeout(Duration::from_secs(15));
    let server = match &tls {
        Some(tls) => server.listen_rustls_0_23(listener, tls.config()?)?,
        None => server.listen(listener)?,
    }
    .run();
    let handle = server.handle();
    let server = async move {
        tokio::pin!(server);
        let ended = tokio::select! {
            ended = &mut server => ended,
            () = asked_to_stop() => {
                // Streams end with what tells them: a connection that is open keeps a stopping server waiting.
                tasks.end();
                server.await
            }
        };
        tasks.end();
        ended
    };
    Ok(Running {
        handle,
        server: Box::pin(server),
    })
}

/// Learns of keys that other processes have made, and makes the next one in time.
async fn keep_keys(shared: Arc<Shared>) {
    let mut look = tokio::time::interval(Duration::from_secs(2));
    look.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        look.tick().await;
        if let Err(fault) = shared.slow(|shared| shared.keys.refresh()).await {
            tracing::warn!(cause = ?fault.cause, %fault, "the signing keys could not be looked at; the service tries again");
        }
    }
}

/// Forgets what is past its time: once the service has settled, then once a day.
async fn forget_daily(location: Location, clock: Clock, keep: Keep) {
    let settled = tokio::time::Instant::now() + Duration::from_secs(60);
    let mut day = tokio::time::interval_at(settled, Duration::from_secs(24 * 60 * 60));
    loop {
        day.tick().await;
        let (location, now) = (location.clone(), clock.now());
        let done = web::block(move || anyhow::Ok(compact(&mut Db::open(&location, Access::Write)?, now, keep)?)).await;
        if let Ok(Err(error)) = done {
            tracing::warn!(%error, "what is past its time could not be forgotten; the service tries again tomorrow");
        }
    }
}

/// Waits for the signal that stops a service.
async fn asked_to_stop() {
    let terminated = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => drop(signal.recv().await),
            Err(_) => std::future::pending().await,
        }
    };
    tokio::select! {
        () = terminated => {}
        _ = tokio::signal::ctrl_c() => {}
    }
}

/// The OpenAPI document as it is served, written when it is first asked for.
#[derive(Debug, Default)]
struct Described(OnceCell<web::Bytes>);

async fn openapi(described: web::Data<Described>, _: HttpRequest) -> Result<HttpResponse, Fault> {
    let write = || async {
        let written = web::block(|| Ok::<_, Fault>(serde_json::to_vec(&document()?)?)).await;
        Ok::<_, Fault>(web::Bytes::from(written.map_err(anyhow::Error::from)??))
    };
    let document = described.0.get_or_try_init(write).await?;
    Ok(HttpResponse::Ok()
        .content_type("application/json")
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(document.clone()))
}

/// The machine's own authority, for a phone to install.
async fn install(certificate: web::Bytes) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/x-x509-ca-cert")
        .insert_header((header::CONTENT_DISPOSITION, "attachment; filename=\"fullset-ca.crt\""))
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(certificate)
}
