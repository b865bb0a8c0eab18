use std::{path::PathBuf, time::Duration};

use anyhow::Context as _;
use clap::Args;
use fullset_calc::units::Units;

use super::{keep, runtime, serve};
use crate::{
    app::{self, Settings},
    platform::{clock::Clock, db::Location},
    slices::{agencies::Locale, founding::Founding},
};

/// Start with an invented county on a fresh SQLite file, and print its sign-ins
#[derive(Debug, Args)]
pub struct Demo {
    /// Address and port
    #[arg(long, default_value = "127.0.0.1:8080")]
    listen: String,
    #[command(flatten)]
    certificate: serve::Certificate,
    #[command(flatten)]
    public: serve::PublicUrl,
    #[command(flatten)]
    push: serve::PushOptions,
    /// The SQLite file; one that is there is used as it is
    #[arg(long, default_value = "demo.sqlite")]
    file: PathBuf,
    /// Tell the story and stop
    #[arg(long)]
    seed_only: bool,
}

impl Demo {
    pub fn run(self) -> anyhow::Result<()> {
        serve::log(serve::LogFormat::Text);
        let listener = serve::listen(&self.listen)?;
        let address = listener.local_addr()?;
        let tls = self.certificate.open(address)?;
        let location = Location::Sqlite(self.file.clone());
        runtime()?.block_on(async move {
            if !self.file.exists() {
                eprintln!("telling the county's story ...");
                if let Err(error) = tell(&location).await {
                    // A half-told county would be taken for a whole one at the next start.
                    std::fs::remove_file(&self.file).ok();
                    return Err(error.context("the demo county could not be told"));
                }
            }
            let settings = Settings {
                tls: tls.clone(),
                party: self.public.party(),
                push_contact: self.push.contact(),
                // Nobody shares its work.
                drain: Duration::ZERO,
                ..Settings::new(location)
            };
            let running = app::start(listener, settings).await?;
            println!();
            serve::say(address, tls.as_deref())?;
            println!("\nSign-ins of the invented county, all with the password {}:", seed_demo::PASSWORD);
            for person in seed_demo::SIGN_INS {
                println!("  {:<12} {:<28} {}", person.role, person.email, person.name);
            }
            let server = tokio::spawn(running.server);
            if self.seed_only {
                running.handle.stop(true).await;
            }
            server.await.context("the server ended early")??;
            Ok(())
        })
    }
}

/// Founds the county and tells its story to a service of its own, which nobody else reaches and whose clock the story moves.
async fn tell(location: &Location) -> anyhow::Result<()> {
    let end = Clock::system().now();
    let clock = Clock::manual(seed_demo::begins(end));
    let founding = Founding {
        agency: seed_demo::AGENCY.into(),
        time_zone: seed_demo::TIME_ZONE.parse().map_err(|error| anyhow::anyhow!("{error}"))?,
        units: Units::Us,
        // The story, the handbook and the browser tests are told in these words.
        locale: Some(Locale::EnGb),
        name: seed_demo::ADMIN.name.into(),
        email: seed_demo::ADMIN.email.into(),
        password: seed_demo::PASSWORD.into(),
    };
    keep::found(founding, location, clock.clone()).await?;
    let listener = serve::listen("127.0.0.1:0")?;
    let address = listener.local_addr()?;
    let settings = Settings {
        clock: clock.clone(),
        ..Settings::new(location.clone())
    };
    let running = app::start(listener, settings).await?;
    let server = tokio::spawn(running.server);
    let told = seed_demo::tell(&format!("http://{address}"), end, |at| clock.set(at)).await;
    running.handle.stop(false).await;
    server.await.context("the server ended early")??;
    told
}
