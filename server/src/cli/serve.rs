use std::net::TcpListener;

use anyhow::Context as _;
use clap::Args;

use super::{Database, compact::Kept, runtime};
use crate::{
    app::{self, Settings},
    slices::photos::PhotoPlace,
};

/// Answer HTTP
#[derive(Debug, Args)]
pub struct Serve {
    #[command(flatten)]
    database: Database,
    /// Address and port
    #[arg(long, env = "FULLSET_LISTEN", default_value = "127.0.0.1:8080")]
    listen: String,
    /// Where photos are kept: a folder, or s3://BUCKET/PREFIX with the usual AWS_ variables (AWS_ENDPOINT for a store of your
    /// own); FILE.photos beside a SQLite file and the folder photos otherwise
    #[arg(long, env = "FULLSET_PHOTOS")]
    photos: Option<PhotoPlace>,
    /// An origin that browsers may write from, besides the service's own address; may be said again
    #[arg(long = "origin", env = "FULLSET_ORIGINS", value_delimiter = ',')]
    origins: Vec<String>,
    /// The service stands behind a proxy that speaks TLS: cookies travel over TLS alone
    #[arg(long, env = "FULLSET_BEHIND_TLS")]
    behind_tls: bool,
    /// Connections that read
    #[arg(long, env = "FULLSET_READERS", default_value_t = 8)]
    readers: u32,
    #[command(flatten)]
    keep: Kept,
    /// Write logs as JSON
    #[arg(long, env = "FULLSET_LOG_JSON")]
    log_json: bool,
}

/// Starts the log on standard error; `RUST_LOG` chooses what is logged.
pub fn log(json: bool) {
    let filter = tracing_subscriber::EnvFilter::try_from_default_env().unwrap_or_else(|_| "warn,fullset=info,tracing_actix_web=error".into());
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    // A second start in one process keeps the first log.
    let _ = if json { log.json().try_init() } else { log.try_init() };
}

/// Listens, or says what stands in the way.
pub fn listen(address: &str) -> anyhow::Result<TcpListener> {
    TcpListener::bind(address).with_context(|| format!("cannot listen on {address}: is another service there? Choose another with --listen ADDRESS:PORT"))
}

impl Serve {
    pub fn run(self) -> anyhow::Result<()> {
        log(self.log_json);
        let listener = listen(&self.listen)?;
        let address = listener.local_addr()?;
        runtime()?.block_on(async move {
            let usual = Settings::new(self.database.database);
            let settings = Settings {
                photos: self.photos.unwrap_or_else(|| usual.photos.clone()),
                readers: self.readers,
                origins: self.origins,
                keep: self.keep.into(),
                plain_http: !self.behind_tls,
                ..usual
            };
            let running = app::start(listener, settings).await?;
            println!("Fullset answers at http://{address}");
            Ok(running.server.await?)
        })
    }
}
