//! The access log: one line of JSON for each request that was answered. It is written by a thread of its own; where that cannot keep
//! up, or the disk is full, lines are dropped and counted, and no request waits.

use std::{
    fs::{File, OpenOptions},
    io::{self, BufWriter, Write},
    net::IpAddr,
    os::unix::fs::OpenOptionsExt as _,
    path::PathBuf,
    str::FromStr,
    sync::{
        Arc,
        atomic::{AtomicBool, AtomicU64, Ordering},
        mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel},
    },
    thread,
    time::Duration,
};

use chrono::{DateTime, Utc};
use fullset_calc::instant;
use serde::Serialize;
use tokio::signal::unix::{SignalKind, signal};
use uuid::Uuid;

use super::refusals::Refusals;
use crate::platform::{clock::Clock, ids::MemberId};

/// Lines that wait for the thread.
const WAITING: usize = 8192;
/// How often an idle thread looks whether the file is to be opened anew.
const LOOK: Duration = Duration::from_millis(500);

/// Where the log is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LogPlace {
    /// To standard output.
    StandardOutput,
    /// To a file, behind what it holds.
    File(PathBuf),
}

impl FromStr for LogPlace {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "" => Err("name a file, or - for standard output".into()),
            "-" => Ok(Self::StandardOutput),
            file => Ok(Self::File(file.into())),
        }
    }
}

impl LogPlace {
    /// A new file is its owner's alone: it says who asked from where.
    fn open(&self) -> io::Result<Out> {
        Ok(match self {
            Self::StandardOutput => BufWriter::new(Box::new(io::stdout())),
            Self::File(path) => {
                let file: File = OpenOptions::new().create(true).append(true).mode(0o600).open(path)?;
                BufWriter::new(Box::new(file))
            }
        })
    }
}

/// What was said about the access log: where it goes, or that there is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogChoice(pub Option<LogPlace>);

impl FromStr for LogChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "off" => Ok(Self(None)),
            place => place.parse().map(Some).map(Self),
        }
    }
}

type Out = BufWriter<Box<dyn Write + Send>>;

/// One request that was answered.
#[derive(Debug, Serialize)]
pub struct Entry {
    /// When it came.
    #[serde(serialize_with = "instant::serialize")]
    pub time: DateTime<Utc>,
    /// How it asked.
    pub method: String,
    /// The pattern of its address, or none where no address of the service fits.
    pub route: Option<String>,
    /// What was asked for, where there is no pattern.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// The status it was answered with.
    pub status: u16,
    /// The bytes of the answer's body that were sent.
    pub bytes: u64,
    /// Milliseconds until the last of them.
    pub ms: u64,
    /// Its id.
    pub request_id: Option<String>,
    /// The id of its trace, where that is kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trace: Option<String>,
    /// The member who asked, where one signed in.
    pub member: Option<MemberId>,
    /// The enrolled device that it came from: a shared tablet stands here without a member.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub device: Option<Uuid>,
    /// The program's key that it came with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<Uuid>,
    /// What was refused, by its code: the request, or how many commands of its batch.
    #[serde(skip_serializing_if = "Refusals::is_empty")]
    pub refused: Refusals,
    /// Where from.
    pub address: Option<IpAddr>,
}

enum Message {
    Entry(Box<Entry>),
    /// Everything before it is to be written; answered when it is.
    Finish(SyncSender<()>),
}

/// The log that is being written.
#[derive(Debug, Clone)]
pub struct AccessLog {
    queue: SyncSender<Message>,
    marks: Arc<Marks>,
}

#[derive(Debug, Default)]
struct Marks {
    dropped: AtomicU64,
    reopen: AtomicBool,
}

impl AccessLog {
    /// Opens the log and starts its thread, which ends with the last handle.
    pub fn open(place: LogPlace) -> io::Result<Self> {
        let out = place.open()?;
        let (queue, messages) = sync_channel(WAITING);
        let marks = Arc::new(Marks::default());
        let writer = LogWriter {
            place,
            out,
            marks: Arc::clone(&marks),
            held: 0,
            told: 0,
            failing: false,
        };
        thread::Builder::new().name("access log".into()).spawn(move || writer.run(&messages))?;
        Ok(Self { queue, marks })
    }

    /// Hands an entry in.
    pub fn write(&self, entry: Entry) {
        if self.queue.try_send(Message::Entry(Box::new(entry))).is_err() {
            self.marks.dropped.fetch_add(1, Ordering::Relaxed);
        }
    }

    /// How many entries were dropped since the start.
    pub fn dropped(&self) -> u64 {
        self.marks.dropped.load(Ordering::Relaxed)
    }

    /// Opens the file anew at each SIGHUP: what took the old one away has another to write to.
    pub async fn keep(self) {
        let Ok(mut asked) = signal(SignalKind::hangup()) else { return };
        while asked.recv().await.is_some() {
            self.marks.reopen.store(true, Ordering::Relaxed);
        }
    }

    /// Waits until what was handed in is written, for a second at most.
    pub fn finish(&self) {
        let (done, written) = sync_channel(1);
        if self.queue.send(Message::Finish(done)).is_ok() {
            let _ = written.recv_timeout(Duration::from_secs(1));
        }
    }
}

struct LogWriter {
    place: LogPlace,
    out: Out,
    marks: Arc<Marks>,
    /// Lines that may not have left this process yet.
    held: u64,
    /// Of how many dropped entries the log tells.
    told: u64,
    failing: bool,
}

impl LogWriter {
    fn run(mut self, messages: &Receiver<Message>) {
        loop {
            let message = messages.recv_timeout(LOOK);
            if self.marks.reopen.swap(false, Ordering::Relaxed) {
                self.reopen();
            }
            let mut next = match message {
                Ok(message) => Some(message),
                Err(RecvTimeoutError::Timeout) => None,
                Err(RecvTimeoutError::Disconnected) => return,
            };
            let mut asked = Vec::new();
            while let Some(message) = next {
                match message {
                    Message::Entry(entry) => self.line(&*entry),
                    Message::Finish(done) => asked.push(done),
                }
                next = messages.try_recv().ok();
            }
            self.tell_dropped();
            self.flush();
            for done in asked {
                // Who asked may not wait any longer.
                let _ = done.send(());
            }
        }
    }

    fn reopen(&mut self) {
        self.flush();
        match self.place.open() {
            Ok(out) => self.out = out,
            Err(error) => tracing::error!(%error, "the access log cannot be opened anew; it goes on where it was"),
        }
    }

    fn line(&mut self, line: &impl Serialize) {
        self.held += 1;
        let written = serde_json::to_vec(line).map_err(io::Error::from).and_then(|mut text| {
            text.push(b'\n');
            self.out.write_all(&text)
        });
        if let Err(error) = written {
            self.drop_held(&error);
        }
    }

    fn flush(&mut self) {
        if self.held == 0 {
            return;
        }
        match self.out.flush() {
            Ok(()) => {
                self.held = 0;
                if std::mem::take(&mut self.failing) {
                    tracing::info!("the access log is written again");
                }
            }
            Err(error) => self.drop_held(&error),
        }
    }

    /// Gives up what could not be written, which would else be tried again with each line.
    fn drop_held(&mut self, error: &io::Error) {
        self.marks.dropped.fetch_add(std::mem::take(&mut self.held), Ordering::Relaxed);
        if !std::mem::replace(&mut self.failing, true) {
            tracing::error!(%error, "the access log cannot be written; its lines are dropped until it can");
        }
        if let Ok(out) = self.place.open() {
            let _ = std::mem::replace(&mut self.out, out).into_parts();
        }
    }

    /// A gap in the log says so itself.
    fn tell_dropped(&mut self) {
        #[derive(Serialize)]
        struct Gap {
            #[serde(serialize_with = "instant::serialize")]
            time: DateTime<Utc>,
            dropped: u64,
        }
        let dropped = self.marks.dropped.load(Ordering::Relaxed);
        if dropped > self.told && !self.failing {
            let gap = Gap {
                time: Clock::system().now(),
                dropped: dropped - self.told,
            };
            self.told = dropped;
            self.line(&gap);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(n: u64) -> Entry {
        Entry {
            time: DateTime::UNIX_EPOCH,
            method: "GET".into(),
            route: Some("/livez".into()),
            path: None,
            status: 200,
            bytes: n,
            ms: 0,
            request_id: None,
            trace: None,
            member: None,
            device: None,
            key: None,
            refused: Refusals::default(),
            address: None,
        }
    }

    #[test]
    fn what_the_thread_cannot_take_is_dropped_and_counted() {
        let (queue, messages) = sync_channel(2);
        let log = AccessLog { queue, marks: Arc::default() };
        (0..5).for_each(|n| log.write(entry(n)));
        assert_eq!((log.dropped(), messages.try_iter().count()), (3, 2));
    }

    #[test]
    fn a_full_disk_drops_lines_and_stops_nothing() {
        let log = AccessLog::open(LogPlace::File("/dev/full".into())).expect("it opens");
        (0..100).for_each(|n| log.write(entry(n)));
        log.finish();
        assert_eq!(log.dropped(), 100);
        log.write(entry(100));
        log.finish();
        assert_eq!(log.dropped(), 101);
    }
}
