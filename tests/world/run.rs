//! What the tests of one run share: a directory, in which each shared thing is made once, by whichever test needs it first.
//!
//! nextest gives each test a process, `cargo test` one process to all of them. A watcher outlives the run: when the runner
//! is gone, however it went, it stops the clusters and takes the directory away.

use std::{
    fs::{self, File},
    os::unix::{
        fs::PermissionsExt as _,
        process::{CommandExt as _, parent_id},
    },
    path::{Path, PathBuf},
    process::{Command, Stdio, id},
    sync::OnceLock,
};

static DIR: OnceLock<PathBuf> = OnceLock::new();

const WATCH: &str = r#"tail --pid="$1" -f /dev/null; for stop in "$0"/*/stop; do [ -f "$stop" ] && . "$stop"; done; rm -rf "$0""#;

/// Bytes of memory that must be free where a run is to take place in it.
const ROOM: u64 = 6 << 30;

/// Where the tests' directories are: in memory where there is room, unless `TMPDIR` says where; the benchmark is about a disk. Seven hundred copies of a database of
/// PostgreSQL, of 300 files each, were a third of the time that the tests took on a disk.
fn place() -> PathBuf {
    let memory = PathBuf::from("/dev/shm");
    let free = || rustix::fs::statvfs(&memory).map_or(0, |room| room.f_bavail * room.f_frsize);
    if cfg!(test) && std::env::var_os("TMPDIR").is_none() && free() > ROOM {
        memory
    } else {
        std::env::temp_dir()
    }
}

/// The run's directory.
pub fn dir() -> &'static Path {
    DIR.get_or_init(|| {
        let (name, runner) = match std::env::var("NEXTEST_RUN_ID") {
            Ok(run) => (run, parent_id()),
            Err(_) => (id().to_string(), id()),
        };
        let dir = place().join(format!("fullset-tests-{name}"));
        fs::create_dir_all(&dir).expect("the temporary directory is writable");
        // The database's own user has to pass through.
        fs::set_permissions(&dir, fs::Permissions::from_mode(0o711)).expect("own directory");
        #[allow(clippy::zombie_processes, reason = "it outlives this process on purpose: it cleans up after the whole run")]
        made_once(&dir, "watcher", || {
            // It is waited for by nobody: outliving us is what it is for.
            #[expect(clippy::zombie_processes)]
            Command::new("sh")
                .args(["-c", WATCH])
                .arg(&dir)
                .arg(runner.to_string())
                .current_dir("/")
                .process_group(0)
                .stdin(Stdio::null())
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("sh starts");
        });
        dir
    })
}

fn locked(dir: &Path, name: &str) -> File {
    let file = File::create(dir.join(format!("{name}.lock"))).expect("the run's directory is writable");
    file.lock().expect("the file can be locked");
    file
}

fn made_once(dir: &Path, name: &str, make: impl FnOnce()) {
    let _lock = locked(dir, name);
    let done = dir.join(format!("{name}.done"));
    if !done.exists() {
        make();
        fs::write(done, "").expect("the run's directory is writable");
    }
}

/// Makes something once in a run, however many tests ask for it at once.
pub fn once(name: &str, make: impl FnOnce()) {
    made_once(dir(), name, make);
}

/// As [`once`], for what takes waiting; answers the text that was made.
pub async fn once_told(name: &str, make: impl AsyncFnOnce() -> String) -> String {
    let _lock = locked(dir(), name);
    let kept = dir().join(format!("{name}.json"));
    if let Ok(text) = fs::read_to_string(&kept) {
        return text;
    }
    let text = make().await;
    fs::write(kept, &text).expect("the run's directory is writable");
    text
}
