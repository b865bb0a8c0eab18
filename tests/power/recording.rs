//! The service as it writes for a while under the shim, with what it acknowledged and when.

use std::{
    collections::BTreeMap,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    sync::Arc,
    time::{Duration, Instant},
};

use fullset::platform::db::Location;
use reqwest::Method;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::{
    kills::writers::{Acknowledged, Line, Writer},
    world::{Engine, Ground, Rng, process, process::Process},
};

/// The database's file.
pub const FILE: &str = "harrow.sqlite";

/// The folder of photos beside a database.
pub fn beside(location: &Location) -> PathBuf {
    crate::world::photos_of(location)
}

/// A folder that is watched, and room beside it.
pub struct Place {
    pub shelf: tempfile::TempDir,
    pub folder: PathBuf,
    log: PathBuf,
}

/// What is loaded into the service: cargo leaves it beside this test's own program.
fn shim() -> PathBuf {
    let own = std::env::current_exe().expect("a test knows its own path");
    let shim = own.parent().expect("target/<profile>/deps").join("libfullset_power_shim.so");
    assert!(shim.exists(), "{} is not built: `cargo build --workspace --tests` does it", shim.display());
    shim
}

impl Place {
    pub fn new() -> Self {
        let shelf = tempfile::tempdir().expect("a folder");
        let path = shelf.path().canonicalize().expect("a folder");
        let (folder, log) = (path.join("watched"), path.join("log"));
        fs::create_dir(&folder).expect("a folder");
        Self { shelf, folder, log }
    }

    fn environment(&self, dies_at: Option<u64>) -> Vec<(&'static str, String)> {
        vec![
            ("LD_PRELOAD", shim().display().to_string()),
            ("POWER_FOLDER", self.folder.display().to_string()),
            ("POWER_LOG", self.log.display().to_string()),
            ("POWER_DIES_AT", dies_at.map_or_else(String::new, |at| at.to_string())),
            ("FULLSET_WRITES_A_MINUTE", "0".to_owned()),
        ]
    }

    /// Has a command watched. It ends by itself when it has done so much.
    pub fn watched<'c>(&self, command: &'c mut Command, dies_at: Option<u64>) -> &'c mut Command {
        command.envs(self.environment(dies_at))
    }

    /// Makes a folder as a process would that was killed before it could sync anything.
    fn makes(&self, folder: &Path) {
        fs::create_dir(folder).expect("a folder");
        let path = folder.as_os_str().as_encoded_bytes();
        let length = u32::try_from(path.len()).expect("short").to_le_bytes();
        let line = [b"M".as_slice(), &[0; 12], &length, path].concat();
        let log = fs::OpenOptions::new().create(true).append(true).open(&self.log);
        log.and_then(|mut log| log.write_all(&line)).expect("the log is there");
    }

    /// Serves, watched.
    fn serve(&self, dies_at: Option<u64>) -> Process {
        let location = Location::Sqlite(self.folder.join(FILE));
        let environment = self.environment(dies_at);
        let environment: Vec<(&str, &str)> = environment.iter().map(|(name, value)| (*name, value.as_str())).collect();
        Process::serve_with(&location, &beside(&location).display().to_string(), &environment)
    }

    /// What was written down until now.
    pub fn log(&self) -> Vec<u8> {
        fs::read(&self.log).expect("something was watched")
    }

    /// The files of the folder are these: nothing was done to them that was not seen.
    #[track_caller]
    pub fn is_as(&self, seen: &BTreeMap<PathBuf, Vec<u8>>) {
        let mut there = BTreeMap::new();
        gather(&self.folder, &self.folder, &mut there);
        assert_eq!(there.keys().collect::<Vec<_>>(), seen.keys().collect::<Vec<_>>());
        for (path, bytes) in &there {
            assert!(seen[path] == *bytes, "something wrote to {} past the shim", path.display());
        }
    }
}

fn gather(root: &Path, folder: &Path, all: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            gather(root, &path, all);
        } else if !path.to_string_lossy().ends_with("-shm") {
            let within = path.strip_prefix(root).expect("within").to_owned();
            all.insert(within, fs::read(&path).expect("a file"));
        }
    }
}

/// A photo that was acknowledged.
struct Photo {
    name: String,
    mark: u64,
}

/// Sends small photos, each another one, until it is over.
async fn send_photos(line: Arc<Line>, mut rng: Rng) -> Vec<Photo> {
    let mut sent = Vec::new();
    while !line.over() {
        let shade = rng.next().to_le_bytes();
        let mut bytes = std::io::Cursor::new(Vec::new());
        let picture = image::RgbImage::from_fn(48, 32, |x, y| image::Rgb([shade[(x / 6) as usize], shade[(y / 4) as usize], shade[0]]));
        image::DynamicImage::from(picture)
            .write_to(&mut bytes, image::ImageFormat::Png)
            .expect("a picture can be written");
        let bytes = bytes.into_inner();
        let name: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        let path = format!("/v1/photos/{name}");
        let send = || line.ask(0, Method::PUT, &path, |request| request.header("Content-Type", "image/png").body(bytes.clone()));
        while send().await.is_none() {
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        sent.push(Photo { name, mark: line.mark() });
        tokio::time::sleep(Duration::from_millis(40)).await;
    }
    sent
}

/// A log, and what was acknowledged at which place of it.
pub struct Recording {
    pub place: Place,
    /// A copy of the folder as it was when the log began.
    pub before: PathBuf,
    pub log: Vec<u8>,
    pub agency: Uuid,
    pub acknowledged: Vec<Acknowledged>,
    photos: Vec<Photo>,
    pictures: BTreeMap<PathBuf, Vec<u8>>,
}

impl std::fmt::Debug for Recording {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (commands, photos, bytes) = (self.acknowledged.len(), self.photos.len(), self.log.len());
        write!(f, "{commands} commands and {photos} photos acknowledged in {bytes} bytes of log")
    }
}

/// How the service lives that is recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lives {
    /// Four lives, in none of which its log grows so long that SQLite brings it into the file by itself.
    Short,
    /// One in which SQLite does so and begins its log anew, and the one that gives everybody their answer.
    PastTheCheckpoint,
}

/// What is written down until SQLite has brought its log into the file and has begun it anew: the log may hold 8,000 pages of 4,096 bytes,
/// photos come on top.
const PAST_THE_CHECKPOINT: u64 = 45_000_000;

/// Waits until a process has ended by itself.
async fn ends(process: &mut Process) {
    let begun = Instant::now();
    while process.lives() {
        assert!(begun.elapsed() < Duration::from_secs(600), "it does not end");
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}

impl Recording {
    pub fn make(seed: u64, lives: Lives) -> Self {
        // Shown where anything fails.
        println!("again: FULLSET_TEST_SEED={seed} cargo test -p fullset-tests power::");
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
        runtime.expect("threads start").block_on(Self::made(lives, &mut Rng::new(seed)))
    }

    async fn made(lives: Lives, rng: &mut Rng) -> Self {
        let agency = Ground::on(Engine::Sqlite).await.harrow;
        let place = Place::new();
        let Location::Sqlite(ground) = Ground::copy(Engine::Sqlite) else {
            panic!("a file")
        };
        let before = place.shelf.path().join("before");
        fs::create_dir(&before).expect("a folder");
        fs::copy(&ground, before.join(FILE)).expect("the ground can be copied");
        fs::rename(&ground, place.folder.join(FILE))
            .or_else(|_| fs::copy(&ground, place.folder.join(FILE)).map(drop))
            .expect("the ground can be copied");
        let photos = beside(&Location::Sqlite(place.folder.join(FILE)));
        place.makes(&photos);
        place.makes(&photos.join(agency.id.to_string()));

        let log = place.log.clone();
        let line = Line::new(&agency.people["coordinator"], 1, move || fs::metadata(&log).map_or(0, |log| log.len()));
        let line = Arc::new(line);
        let writing: Vec<_> = Writer::each(&agency.county, rng)
            .into_iter()
            .map(|writer| tokio::spawn(writer.write(Arc::clone(&line))))
            .collect();
        let sending: Vec<_> = (0..2).map(|_| tokio::spawn(send_photos(Arc::clone(&line), rng.fork()))).collect();
        let last = match lives {
            Lives::Short => place.lives(&line, rng).await,
            Lives::PastTheCheckpoint => place.lives_long(&line).await,
        };
        let (mut acknowledged, mut photos) = (Vec::new(), Vec::new());
        for writer in writing {
            acknowledged.extend(writer.await.expect("a writer").acknowledged);
        }
        for sender in sending {
            photos.extend(sender.await.expect("a sender"));
        }
        drop(last);
        let mut pictures = BTreeMap::new();
        let own = beside(&Location::Sqlite(place.folder.join(FILE)));
        gather(&own, &own, &mut pictures);
        Self {
            log: place.log(),
            place,
            before,
            agency: agency.id,
            acknowledged,
            photos,
            pictures,
        }
    }

    /// The files of the photos that were acknowledged by then.
    pub fn photos(&self, cut: u64) -> impl Iterator<Item = (PathBuf, &Vec<u8>)> {
        self.photos.iter().filter(move |photo| photo.mark <= cut).flat_map(move |photo| {
            ["", ".thumbnail"].map(|ending| {
                let path = Path::new(&self.agency.to_string())
                    .join(&photo.name[..2])
                    .join(format!("{}{ending}", photo.name));
                let bytes = self.pictures.get(&path).unwrap_or_else(|| panic!("no {}", path.display()));
                (path, bytes)
            })
        })
    }

    /// Leaves its folders for whoever looks at a failure.
    pub fn keep(self) -> PathBuf {
        self.place.shelf.keep()
    }
}

impl Place {
    /// A long life, and the one that gives everybody their answer.
    async fn lives_long(&self, line: &Line) -> Process {
        let mut first = self.serve(Some(PAST_THE_CHECKPOINT));
        line.is_up(0, &first.base);
        ends(&mut first).await;
        line.is_down(0);
        let last = self.serve(None);
        line.is_up(0, &last.base);
        line.is_over();
        last
    }

    /// Four lives of a service: killed, stopped and brought into one file, killed again, and the one that gives everybody their answer.
    async fn lives(&self, line: &Line, rng: &mut Rng) -> Process {
        let much = |rng: &mut Rng| Some(u64::try_from(1_000_000 + rng.roll(1_500_000)).expect("small"));
        let mut first = self.serve(much(rng));
        line.is_up(0, &first.base);
        ends(&mut first).await;
        line.is_down(0);

        let mut second = self.serve(None);
        line.is_up(0, &second.base);
        tokio::time::sleep(Duration::from_millis(1_000)).await;
        let told = Command::new("kill").args(["-TERM", &second.id().to_string()]).status().expect("kill runs");
        assert!(told.success());
        ends(&mut second).await;
        line.is_down(0);
        // Whoever closes the file last brings into it what the write-ahead log holds, and takes that away.
        let location = Location::Sqlite(self.folder.join(FILE));
        let said = self
            .watched(&mut process::command("migrate", &location), None)
            .stdout(Stdio::null())
            .status()
            .expect("it starts");
        assert!(said.success() && !self.folder.join(format!("{FILE}-wal")).exists());

        let mut third = self.serve(much(rng));
        line.is_up(0, &third.base);
        ends(&mut third).await;
        line.is_down(0);

        let last = self.serve(None);
        line.is_up(0, &last.base);
        line.is_over();
        last
    }
}
