//! The service as a process with any arguments, whose output is heard and which is told to stop as systemd does it.

use std::{
    io::{BufRead as _, BufReader, Read},
    net::TcpListener,
    process::{Child, Command, ExitStatus, Stdio},
    sync::mpsc,
    time::{Duration, Instant},
};

use fullset::platform::{clock::Clock, db::Location};

use crate::world::{
    Client, World, photos_of,
    process::{binary, url},
};

/// How long anything may take that the service does by itself.
pub const SOON: Duration = Duration::from_secs(15);

pub struct Running {
    child: Child,
    pub base: String,
    out: mpsc::Receiver<String>,
    log: mpsc::Receiver<String>,
}

fn heard(from: impl Read + Send + 'static) -> mpsc::Receiver<String> {
    let (tell, told) = mpsc::channel();
    std::thread::spawn(move || BufReader::new(from).lines().map_while(Result::ok).all(|line| tell.send(line).is_ok()));
    told
}

/// An address with a free port, for what the service listens at besides.
pub fn free_address() -> String {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    listener.local_addr().expect("an address").to_string()
}

impl Running {
    /// Starts it on a database, on a free port unless the arguments say another, and waits until it answers.
    pub fn start(location: &Location, arguments: &[&str]) -> Self {
        let mut command = Command::new(binary());
        command.args(["serve", "--readers", "4", "--alerts", "off", "--database", &url(location)]);
        command.args(["--photos", &photos_of(location).display().to_string()]);
        if !arguments.contains(&"--listen") {
            command.args(["--listen", "127.0.0.1:0"]);
        }
        if !arguments.contains(&"--access-log") {
            command.args(["--access-log", "off"]);
        }
        command.args(arguments);
        Self::run(command)
    }

    /// Starts a command line that serves.
    pub fn run(mut command: Command) -> Self {
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the service starts");
        let out = heard(child.stdout.take().expect("a pipe"));
        let log = heard(child.stderr.take().expect("a pipe"));
        let Ok(line) = out.recv_timeout(Duration::from_secs(60)) else {
            let _ = child.kill();
            panic!("the service ended, or says nothing: {:?}", log.iter().collect::<Vec<_>>());
        };
        let base = line.rsplit(' ').next().filter(|base| base.starts_with("http"));
        let base = base.unwrap_or_else(|| panic!("no address in '{line}'")).to_owned();
        Self { child, base, out, log }
    }

    /// A member of the world's agency, at this process.
    pub fn member(&self, world: &World, name: &str) -> Client {
        Client::new(&self.base, &world.http, &Clock::system(), &world.agency().people[name])
    }

    pub fn signal(&self, name: &str) {
        let sent = Command::new("kill").args([name, &self.child.id().to_string()]).status().expect("kill runs");
        assert!(sent.success());
    }

    /// Whether it still runs.
    pub fn lives(&mut self) -> bool {
        self.child.try_wait().expect("it is ours").is_none()
    }

    /// The next line on standard output.
    pub fn says(&self) -> String {
        self.out.recv_timeout(SOON).expect("a line")
    }

    /// What it logged until now.
    pub fn logged(&self) -> String {
        self.log.try_iter().collect::<Vec<_>>().join("\n")
    }

    /// Waits until it has ended by itself; after how long.
    pub async fn ends(&mut self) -> (ExitStatus, Duration) {
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("it is ours") {
                return (status, began.elapsed());
            }
            assert!(began.elapsed() < SOON, "it does not end");
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }

    /// Has it end as systemd would; answers what it logged.
    pub async fn told_to_stop(mut self) -> String {
        self.signal("-TERM");
        self.ends().await;
        self.log.iter().collect::<Vec<_>>().join("\n")
    }

    /// Has it end as systemd would.
    pub async fn stop(mut self) {
        self.signal("-TERM");
        let (status, _) = self.ends().await;
        assert!(status.success(), "{status}: {}", self.logged());
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended by itself; either way it is gone after this.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
