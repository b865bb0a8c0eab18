//! `fullset sync-check`: the hard cases of the sync protocol, put to any server that claims to speak it. It knows the server by
//! HTTP alone, and nothing here is shared with the server's own code.

#![allow(clippy::indexing_slicing, reason = "a JSON value answers null for what is not there; no list is indexed")]

mod feed;
mod ground;
mod manners;
mod probe;
mod scopes;
mod writes;

use anyhow::{Context as _, bail};
use clap::Args;
use futures_util::future::BoxFuture;

use super::runtime;
use probe::Probe;

/// Put the hard cases of the sync protocol to a server, and print which of them hold
#[derive(Args)]
pub struct SyncCheck {
    /// The server, for example https://fullset.example
    url: String,
    /// A member of an agency made for this: a coordinator or an admin
    #[arg(long)]
    email: String,
    /// The member's password
    #[arg(long, env = "FULLSET_PASSWORD", hide_env_values = true)]
    password: String,
    /// Also put the cases that write: they leave a district, two stations, a model, a retired piece and its history behind
    #[arg(long)]
    writes: bool,
    /// Only the cases whose names begin so; may be said again
    #[arg(long = "only", value_name = "NAME")]
    only: Vec<String>,
}

impl std::fmt::Debug for SyncCheck {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SyncCheck")
            .field("url", &self.url)
            .field("email", &self.email)
            .finish_non_exhaustive()
    }
}

/// What a case found: nothing amiss, or what was, in words.
type CaseResult = Result<(), String>;

/// One case.
struct Case {
    /// Its name, which never changes.
    name: &'static str,
    /// What a right server does.
    expected: &'static str,
    /// Whether it leaves something behind.
    writes: bool,
    run: for<'p> fn(&'p Probe) -> BoxFuture<'p, CaseResult>,
}

/// Names the cases of a file: `name, "what is expected", function;`.
macro_rules! cases {
    ($writes:literal: $($name:literal, $expected:literal, $run:ident;)*) => {
        /// The cases of this file, in the order in which they are put.
        pub fn cases() -> Vec<super::Case> {
            vec![$(super::Case { name: $name, expected: $expected, writes: $writes, run: |probe| Box::pin($run(probe)) },)*]
        }
    };
}
use cases;

/// Fails a case in words, unless something holds.
macro_rules! must {
    ($holds:expr, $($words:tt)*) => {
        if !$holds {
            return Err(format!($($words)*));
        }
    };
}
use must;

impl SyncCheck {
    pub fn run(self) -> anyhow::Result<()> {
        runtime()?.block_on(self.check())
    }

    async fn check(self) -> anyhow::Result<()> {
        let probe = Probe::new(&self.url, &self.email, &self.password).await.map_err(anyhow::Error::msg)?;
        let cases: Vec<Case> = (manners::cases().into_iter())
            .chain(feed::cases())
            .chain(writes::cases())
            .chain(scopes::cases())
            .filter(|case| self.only.is_empty() || self.only.iter().any(|only| case.name.starts_with(only.as_str())))
            .collect();
        if cases.is_empty() {
            bail!("no case begins with {}", self.only.join(" or "));
        }
        if self.writes {
            probe
                .lay_ground()
                .await
                .map_err(anyhow::Error::msg)
                .context("the test records could not be made")?;
        }
        let (mut put, mut failed, mut left_out) = (0, 0, 0);
        for case in cases {
            if case.writes && !self.writes {
                left_out += 1;
                continue;
            }
            put += 1;
            match (case.run)(&probe).await {
                Ok(()) => println!("ok      {}", case.name),
                Err(found) => {
                    failed += 1;
                    println!("not ok  {}\n        expected: {}\n        found:    {found}", case.name, case.expected);
                }
            }
        }
        if self.writes {
            println!("{}", probe.clear_ground().await);
        }
        if left_out > 0 {
            println!("{left_out} cases that write were left out: say --writes to put them, in an agency made for this");
        }
        println!("{} of {put} cases hold", put - failed);
        if failed > 0 {
            bail!("{failed} of {put} cases do not hold at {}", self.url);
        }
        Ok(())
    }
}
