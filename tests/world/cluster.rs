//! One PostgreSQL cluster for a whole run, on a socket in the run's directory: no port, no network. The benchmark leaves fsync on; the
//! tests kill processes, which loses nothing that was written, and do without.
//!
//! It is made by the first test that needs it and stopped by the run's watcher when the run is over.

use std::{
    fs,
    os::unix::fs::{MetadataExt as _, PermissionsExt as _, chown},
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use diesel::{Connection as _, PgConnection, RunQueryDsl as _, connection::SimpleConnection as _};

use super::run;

const MISSING: &str = "PostgreSQL is missing, and half of these tests run on it: install it (on Debian `apt-get install postgresql`), \
                       so that initdb and pg_ctl are on the PATH or under /usr/lib/postgresql. `make install-test` does it.";

/// Where initdb and pg_ctl are: on the PATH, or where Debian keeps each version; the newest one.
fn programs() -> PathBuf {
    let on_path = std::env::var_os("PATH")
        .into_iter()
        .flat_map(|path| std::env::split_paths(&path).collect::<Vec<_>>());
    let mut versions: Vec<(u32, PathBuf)> = fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| Some((entry.file_name().to_str()?.parse().ok()?, entry.path().join("bin"))))
        .collect();
    versions.sort();
    let of_debian = versions.into_iter().rev().map(|(_, path)| path);
    on_path
        .chain(of_debian)
        .find(|dir| dir.join("initdb").exists() && dir.join("pg_ctl").exists())
        .unwrap_or_else(|| panic!("{MISSING}"))
}

fn number(flag: &str) -> u32 {
    let said = Command::new("id").args([flag, "postgres"]).output().expect("id runs");
    let text = String::from_utf8_lossy(&said.stdout).trim().to_owned();
    text.parse()
        .unwrap_or_else(|_| panic!("Tests that run as root need the system user `postgres`, which PostgreSQL's package makes. {MISSING}"))
}

/// A command that PostgreSQL will take: it refuses to run as root.
fn as_its_user(program: &Path) -> Vec<String> {
    let root = fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0);
    let program = program.display().to_string();
    if root {
        ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", "--", &program]
            .map(str::to_owned)
            .to_vec()
    } else {
        vec![program]
    }
}

fn told(home: &Path, line: &[String]) {
    // Its output goes into a file: a server that keeps our pipe open would look like a test that never ends.
    let log = home.join("said");
    let file = fs::File::create(&log).expect("the run's directory is writable");
    let (program, rest) = line.split_first().expect("a command");
    let status = Command::new(program)
        .args(rest)
        .current_dir("/")
        .stdin(Stdio::null())
        .stdout(file.try_clone().expect("a second handle"))
        .stderr(file)
        .status()
        .unwrap_or_else(|error| panic!("{program} does not start: {error}. {MISSING}"));
    assert!(status.success(), "{} failed:\n{}", line.join(" "), fs::read_to_string(&log).unwrap_or_default());
}

/// Gives a file or a folder to the user that PostgreSQL runs as.
pub fn give(path: &Path) {
    if as_its_user(path).len() > 1 {
        chown(path, Some(number("-u")), Some(number("-g"))).expect("root may");
    }
}

/// Makes a cluster in a folder of the run and starts it with these settings; `arm` sees its data before. The run's watcher stops it.
pub fn start(home: &Path, settings: &str, arm: impl FnOnce(&Path)) {
    let programs = programs();
    let data = home.join("data");
    fs::create_dir_all(home).expect("the run's directory is writable");
    // What a start that failed has left.
    let _ = fs::remove_dir_all(&data);
    fs::create_dir(&data).expect("a fresh directory");
    fs::set_permissions(&data, fs::Permissions::from_mode(0o700)).expect("own directory");
    give(home);
    give(&data);
    let place = data.display().to_string();
    let line = |program: &str, rest: &[&str]| {
        let mut line = as_its_user(&programs.join(program));
        line.extend(rest.iter().map(ToString::to_string));
        line
    };
    let log = format!("{}/log", home.display());
    let settings = format!(
        "-c unix_socket_directories={} -c unix_socket_permissions=0700 -c max_connections=200 -c shared_buffers=64MB {settings}",
        home.display()
    );
    told(
        home,
        &line("initdb", &["-D", &place, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-instructions"]),
    );
    arm(&data);
    let quoted: Vec<String> = line("pg_ctl", &["-D", &place, "-m", "immediate", "-w", "stop"])
        .iter()
        .map(|word| format!("'{word}'"))
        .collect();
    fs::write(home.join("stop"), quoted.join(" ")).expect("the run's directory is writable");
    told(home, &line("pg_ctl", &["-D", &place, "-l", &log, "-w", "-t", "60", "-o", &settings, "start"]));
}

/// Stops a cluster before the run is over.
#[allow(dead_code, reason = "the benchmark does not; it shares this file with the tests")]
pub fn stop(home: &Path) {
    let stop = home.join("stop");
    let stopped = Command::new("sh")
        .arg(&stop)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .status()
        .expect("sh starts");
    assert!(stopped.success());
    fs::remove_file(stop).expect("the run's directory is writable");
}

/// The running cluster's directory; starts it where it does not run yet.
fn started() -> PathBuf {
    let home = run::dir().join("cluster");
    run::once("cluster", || {
        let fsync = if cfg!(test) { "off" } else { "on" };
        start(&home, &format!("-c listen_addresses= -c fsync={fsync}"), |_| {});
    });
    home
}

/// The address of one of the cluster's databases.
pub fn url(database: &str) -> String {
    let socket = started().display().to_string().replace('/', "%2F");
    format!("postgres://postgres@{socket}/{database}")
}

/// Runs a statement on the cluster itself: make a database, drop one.
pub fn command(statement: &str) {
    let mut conn = PgConnection::establish(&url("postgres")).expect("the cluster answers");
    conn.batch_execute(statement).unwrap_or_else(|error| panic!("{statement}: {error}"));
}

/// A database as statements that make it anew.
#[allow(dead_code, reason = "the benchmark does not ask; it shares this file with the tests")]
pub fn dump(url: &str) -> String {
    let beside = programs().join("pg_dump");
    let said = Command::new(if beside.exists() { beside } else { "pg_dump".into() })
        .args(["--no-owner", "--no-privileges", "--inserts", "--rows-per-insert=100", url])
        .output()
        .expect("pg_dump starts");
    assert!(said.status.success(), "pg_dump failed:\n{}", String::from_utf8_lossy(&said.stderr));
    let text = String::from_utf8(said.stdout).expect("it writes UTF-8");
    // Without what only this version's own programs understand. A key in PEM has a line that begins with hyphens.
    let lines = text
        .lines()
        .filter(|line| !line.starts_with('\\') && *line != "--" && !line.starts_with("-- ") && !line.starts_with("SET ") && !line.is_empty());
    lines.map(|line| format!("{line}\n")).collect()
}

/// The bytes that a database takes on the disk.
#[allow(dead_code, reason = "the benchmark asks; it shares this file with the tests")]
pub fn size(database: &str) -> i64 {
    let mut conn = PgConnection::establish(&url("postgres")).expect("the cluster answers");
    diesel::select(diesel::dsl::sql::<diesel::sql_types::BigInt>(&format!("pg_database_size('{database}')")))
        .first(&mut conn)
        .expect("the database is there")
}
