//! The service as people run it: the real binary, its command line, a process that can be killed.

use std::{
    io::{BufRead as _, BufReader},
    path::PathBuf,
    process::{Child, Command, Output, Stdio},
};

use fullset::platform::db::Location;

/// The binary that `cargo build -p fullset` leaves beside this test's own.
pub fn binary() -> PathBuf {
    let own = std::env::current_exe().expect("a test knows its own path");
    let binary = own.parent().and_then(|deps| deps.parent()).expect("target/<profile>/deps").join("fullset");
    assert!(
        binary.exists(),
        "the service is not built: run `cargo build -p fullset` first (`make integration` does)"
    );
    binary
}

/// The database as the command line takes it.
pub fn url(location: &Location) -> String {
    match location {
        Location::Sqlite(path) => format!("sqlite:{}", path.display()),
        Location::Postgres(url) => url.clone(),
    }
}

/// A command of the service on a database, ready to be run.
pub fn command(name: &str, location: &Location) -> Command {
    let mut command = Command::new(binary());
    command.args([name, "--database", &url(location)]);
    command
}

/// Runs a command of the service on a database and its photos and answers what it said.
pub fn fullset(location: &Location, name: &str, more: &[&str]) -> Output {
    let photos = super::photos_of(location).display().to_string();
    command(name, location)
        .args(["--photos", &photos])
        .args(more)
        .output()
        .expect("the service starts")
}

/// Asks `fullset verify`: whether all is as it must be, and its words.
pub fn verify(location: &Location) -> (bool, String) {
    let said = fullset(location, "verify", &[]);
    (
        said.status.success(),
        String::from_utf8_lossy(if said.status.success() { &said.stdout } else { &said.stderr })
            .trim()
            .to_owned(),
    )
}

/// The service in a process of its own.
pub struct Process {
    child: Child,
    pub base: String,
}

impl Process {
    /// Starts it on a free port and waits until it says where it answers.
    pub fn serve(location: &Location) -> Self {
        Self::serve_with(location, &super::photos_of(location).display().to_string(), &[])
    }

    /// As [`Process::serve`], with another place for photos and more in its environment.
    pub fn serve_with(location: &Location, photos: &str, environment: &[(&str, &str)]) -> Self {
        let mut child = Command::new(binary())
            .args([
                "serve",
                "--listen",
                "127.0.0.1:0",
                "--readers",
                "4",
                "--access-log",
                "off",
                "--database",
                &url(location),
                "--photos",
                photos,
            ])
            .envs(environment.iter().copied())
            .env("RUST_LOG", "error")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the service starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("a pipe"))
            .read_line(&mut line)
            .expect("the service speaks");
        let base = line
            .trim()
            .rsplit(' ')
            .next()
            .filter(|base| base.starts_with("http"))
            .unwrap_or_else(|| panic!("no address in '{line}'"))
            .to_owned();
        Self { child, base }
    }

    /// The process's id.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Whether it still runs.
    pub fn lives(&mut self) -> bool {
        self.child.try_wait().expect("it is ours").is_none()
    }

    /// Ends it at once, whatever it does.
    pub fn end(&mut self) {
        // It may have ended by itself; either way it is gone after this.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// As [`Process::end`], for good.
    pub fn kill(self) {
        drop(self);
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        self.end();
    }
}
