//! The service with one client, and how long its answers take.

use std::{net::TcpListener, sync::Arc, time::Instant};

use fullset::{
    app::{self, Settings},
    platform::{clock::Clock, db::Location},
};

use super::{fleet, goal, load};

/// A service that answers one client.
pub struct Service {
    handle: actix_web::dev::ServerHandle,
    server: tokio::task::JoinHandle<std::io::Result<()>>,
    pub address: std::net::SocketAddr,
    pub client: load::Client,
    pub token: Arc<str>,
}

/// Starts it and signs the admin in.
pub async fn start(location: &Location, clock: Clock) -> Service {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("an address");
    let settings = Settings {
        clock,
        ..Settings::new(location.clone())
    };
    let running = app::start(listener, settings).await.expect("a service");
    let server = tokio::spawn(running.server);
    let mut client = load::Client::connect(address).await;
    let token = fleet::sign_in(&mut client).await;
    Service {
        handle: running.handle,
        server,
        address,
        client,
        token,
    }
}

impl Service {
    pub async fn stop(self) {
        drop(self.client);
        self.handle.stop(true).await;
        self.server.await.expect("the service ends").expect("the service ends well");
    }

    /// Milliseconds that each of these takes, in order, and the bytes of the last.
    async fn times(&mut self, paths: &[String]) -> (Vec<f64>, usize) {
        let (mut times, mut bytes) = (Vec::new(), 0);
        for path in paths {
            let ask = load::request("GET", path, &self.token, "");
            let start = Instant::now();
            let (status, body) = self.client.ask(&ask).await;
            times.push(start.elapsed().as_secs_f64() * 1000.0);
            assert_eq!(status, 200, "{path}: {}", String::from_utf8_lossy(&body));
            bytes = body.len();
        }
        times.sort_by(f64::total_cmp);
        (times, bytes)
    }

    /// Prints the median and the 95th percentile of the times that these take; the first is asked once before.
    pub async fn say(&mut self, what: &str, paths: &[String], most: Option<&str>) {
        self.times(&paths[..1]).await;
        let (times, bytes) = self.times(paths).await;
        let (middle, late) = (times[times.len() / 2], times[times.len() * 95 / 100]);
        goal(what, &format!("{middle:.1} ms"), most);
        goal("  95 % within; megabytes", &format!("{late:.1} ms; {:.2}", bytes as f64 / 1e6), None);
    }
}
