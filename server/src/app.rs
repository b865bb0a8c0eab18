//! Wires everything once: connections, the door, middleware, what goes on beside requests.

use std::{net::TcpListener, sync::Arc, time::Duration};

use actix_web::{
    App, HttpServer,
    dev::{Server, ServerHandle},
    middleware, web,
};
use futures_util::future::BoxFuture;
use tracing_actix_web::TracingLogger;

use crate::{
    documents::{Described, install, openapi},
    metrics::{self, Metrics},
    platform::{
        auth::{Keys, Sessions},
        clock::Clock,
        db::{self, Access, Db, Location},
        door::{Door, GroupLimits, Keep, Registry, bring_up, compact, heads},
        hex,
        http::{
            Gate, Heads, Health, Reads, RefusedToday, RequestBodies, Searches, Shared,
            around::{around, strict_transport},
            assets, body, health,
            request_id::Spans,
            watching::{self, Watching},
        },
        stop_signals::StopSignals,
        tasks::Tasks,
        tls::{Authority, Tls},
        traces::Exporter,
    },
    routes::api,
    slices::{alerts, capability, founding, map_tiles, photos, receivers, subscriptions},
    sync,
};
pub use crate::{
    routes::{document, registry},
    settings::Settings,
};

/// How long the first head on a connection may take to come whole; one that is slower is answered 408 and closed.
const HEAD_WITHIN: Duration = Duration::from_secs(5);

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
    /// What founds the first agency from a page, where there is none yet.
    pub founding_code: Option<String>,
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
        party,
        plain_http,
        proxies,
        keep,
        tls,
        outward,
        mailer,
        push_contact,
        bodies,
        writes,
        sealing,
        access_log,
        metrics,
        collector,
        drain,
        hsts_days,
    } = settings;
    let mut signals = StopSignals::listen()?;
    let (mut registry, addresses, routes) = api().service();
    registry.provide(outward);
    registry.provide(receivers::SendsEmail(mailer.is_some()));
    open_up(&location, &registry)?;
    let writers = db::pool(&location, Access::Write, 2)?;
    let reads = Reads::on(readers);
    let readers = db::pool(&location, Access::Read, readers)?;
    let photos = web::Data::new(photos::Photos::open(&photos, readers.clone(), writers.clone(), clock.clone())?);
    let (exporter, traces) = collector.map(Exporter::open).transpose()?.unzip();
    let exporter = exporter.map(Arc::new);
    let limits = GroupLimits {
        writes,
        traces: traces.clone(),
        ..GroupLimits::default()
    };
    let door = Door::open(&location, Arc::new(registry), clock.clone(), limits)?;
    let ended = Arc::clone(door.ended());
    let founder = web::Data::new(founding::Founder::new(writers.clone()));
    let founding_code = founder.code()?.map(str::to_owned);
    let origin = party.as_ref().map(|party| party.origin.clone());
    let phones = web::Data::new(subscriptions::Phones::new((&writers, &clock), sealing.clone(), push_contact, outward));
    let sender = web::Data::new(alerts::Sender::open(writers.clone(), clock.clone(), Arc::clone(&phones), mailer, origin));
    let pictures = web::Data::new(map_tiles::MapPictures::open(outward));
    let shared = Arc::new(Shared {
        door,
        readers,
        reads,
        health: Health::open(&location)?,
        sessions: Sessions::open(writers.clone(), clock.clone(), Arc::clone(&ended))?,
        keys: Keys::open(writers.clone(), clock.clone(), ended, sealing)?,
        clock,
        origins: origins.into_iter().chain(party.as_ref().map(|party| party.origin.clone())).collect(),
        party,
        plain_http: plain_http && tls.is_none(),
        proxies,
        searches: Searches::default(),
        tasks: Tasks::default(),
        heads: Heads::default(),
    });
    // What ran out while the service was down is settled before anybody can ask.
    capability::settle_all(&shared).await;
    let bodies = RequestBodies::new(bodies);
    let strict = hsts_days.map(strict_transport).transpose()?;
    let gate = web::Data::new(Gate {
        addresses,
        cors,
        bodies,
        strict,
    });
    let described = web::Data::new(Described::default());
    let (herald, news) = sync::news();
    let (own, clock, tasks) = (Arc::clone(&shared), shared.clock.clone(), shared.tasks.clone());
    tasks.keep("changes", move || sync::watch(Arc::clone(&own), Arc::clone(&herald)));
    let own = Arc::clone(&shared);
    tasks.keep("clock", move || capability::keep_time(Arc::clone(&own)));
    let own = Arc::clone(&shared);
    tasks.keep("keys", move || keep_keys(Arc::clone(&own)));
    if sender.sends() {
        let (own, sender) = (Arc::clone(&shared), sender.clone());
        tasks.keep("alerts", move || alerts::keep_telling(Arc::clone(&own), Arc::clone(&sender)));
    }
    tasks.keep("compaction", move || forget_daily(location.clone(), clock.clone(), keep));
    let own = Arc::clone(&photos);
    tasks.keep("photos", move || photos::keep_tidy(Arc::clone(&own)));
    if let Some(tls) = tls.clone() {
        tasks.keep("certificate", move || Arc::clone(&tls).keep());
    }
    if let Some(log) = access_log.clone() {
        tasks.keep("access log", move || log.clone().keep());
    }
    if let Some(exporter) = exporter.clone() {
        tasks.keep("traces", move || send_traces(Arc::clone(&exporter)));
    }
    let watching = web::Data::new(Watching {
        requests: metrics.is_some().then(Arc::default),
        log: access_log.clone(),
        refused: RefusedToday::default(),
        traces: traces.clone(),
    });
    let told = metrics.zip(watching.requests.clone()).map(|(listener, requests)| {
        let (shared, news) = (Arc::clone(&shared), news.clone());
        let told = Metrics {
            shared,
            writers,
            gate: gate.clone(),
            news,
            requests,
            log: access_log.clone(),
            traces,
        };
        metrics::serve(&listener, told)
    });
    let told = told.transpose()?;
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
            .app_data(watching.clone())
            .app_data(photos.clone())
            .app_data(founder.clone())
            .app_data(phones.clone())
            .app_data(sender.clone())
            .app_data(pictures.clone())
            .app_data(web::PayloadConfig::new(body::LIMIT))
            .wrap(middleware::Compress::default())
            .wrap(TracingLogger::<Spans>::new())
            .wrap(middleware::from_fn(around))
            .wrap(middleware::from_fn(watching::watch))
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
    .disable_signals()
    .shutdown_timeout(2)
    .keep_alive(Duration::from_secs(75))
    .client_request_timeout(HEAD_WITHIN)
    // A phone at the edge of its network needs several turns of seconds each.
    .tls_handshake_timeout(Duration::from_secs(15));
    let server = match &tls {
        Some(tls) => server.listen_rustls_0_23(listener, tls.config()?)?,
        None => server.listen(listener)?,
    }
    .run();
    let handle = server.handle();
    let (stop, metrics) = (server.handle(), told.as_ref().map(Server::handle));
    if let Some(told) = told {
        tokio::spawn(told);
    }
    let server = async move {
        tokio::pin!(server);
        let ended = tokio::select! {
            ended = &mut server => ended,
            () = signals.come() => {
                // From here on `/readyz` says that others are to be asked. Streams end with what tells them: a connection that is
                // open keeps a stopping server waiting.
                tasks.end();
                tracing::info!(seconds = drain.as_secs(), "told to stop; requests are answered a little longer");
                tokio::time::sleep(drain).await;
                tracing::info!("no requests are taken any more; what is under way is finished");
                let (ended, ()) = tokio::join!(server, stop.stop(true));
                ended
            }
        };
        tasks.end();
        if let Some(metrics) = metrics {
            metrics.stop(false).await;
        }
        if let Some(exporter) = exporter {
            exporter.finish().await;
        }
        if let Some(log) = access_log {
            log.finish();
        }
        tracing::info!("all requests have ended");
        ended
    };
    Ok(Running {
        handle,
        server: Box::pin(server),
        founding_code,
    })
}

async fn send_traces(exporter: Arc<Exporter>) {
    exporter.run().await;
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

/// Forgets what is past its time, and tells the log how far each journal has come, so that a log that is kept elsewhere shows whether its
/// end is still there: once the service has settled, then once a day.
async fn forget_daily(location: Location, clock: Clock, keep: Keep) {
    let settled = tokio::time::Instant::now() + Duration::from_secs(60);
    let mut day = tokio::time::interval_at(settled, Duration::from_secs(24 * 60 * 60));
    loop {
        day.tick().await;
        let (location, now) = (location.clone(), clock.now());
        let done = web::block(move || {
            let mut db = Db::open(&location, Access::Write)?;
            compact(&mut db, now, keep)?;
            anyhow::Ok(heads(&mut db)?)
        });
        match done.await {
            Ok(Ok(heads)) => {
                for (agency, revision, hash) in heads {
                    tracing::info!(%agency, revision, hash = hex::digits(&hash), "anchor of the journal, for fullset verify --anchor");
                }
            }
            Ok(Err(error)) => tracing::warn!(%error, "what is past its time could not be forgotten; the service tries again tomorrow"),
            Err(_) => {}
        }
    }
}
