use std::{
    fs,
    io::ErrorKind,
    os::unix::fs::PermissionsExt as _,
    path::{Path, PathBuf},
};

use chrono::{DateTime, TimeDelta, Utc};
use clap::Args;
use serde::Serialize;

use super::{
    Database, Photographs,
    keep::explain,
    keys::Sealing,
    runtime,
    serve::{Certificate, PushOptions},
    verify,
};
use crate::{
    platform::{
        auth::{kept_keys, push_key_is_sealed},
        backup::{MANIFEST, read_manifest},
        clock::Clock,
        db::{Access, Db, Location},
        door,
        error::Fault,
        record::{self, Record as _},
    },
    slices::{
        agencies::Agency,
        members::Member,
        photos::{PhotoPlace, PhotoStore},
        subscriptions,
    },
};

/// How old the newest backup may be.
const BACKUP_AGE: TimeDelta = TimeDelta::days(7);
/// How far this machine's clock may be behind the last entry of a journal.
const BEHIND: TimeDelta = TimeDelta::minutes(2);
/// The least free room on the disk of the database and of the photos: 1 GiB, and a twentieth of the disk where that is less.
const ROOM: u64 = 1024 * 1024 * 1024;

/// Say what is wrong with this installation, and what to do
#[derive(Debug, Args)]
pub struct Doctor {
    #[command(flatten)]
    database: Database,
    #[command(flatten)]
    photos: Photographs,
    #[command(flatten)]
    sealing: Sealing,
    #[command(flatten)]
    certificate: Certificate,
    #[command(flatten)]
    push: PushOptions,
    /// The folder that holds the backups, each a folder in it
    #[arg(long, value_name = "DIR")]
    backups: Option<PathBuf>,
    /// Print the findings as JSON
    #[arg(long)]
    json: bool,
}

/// What was looked at.
#[derive(Debug, Serialize)]
struct Finding {
    /// One word for it, for programs.
    about: &'static str,
    /// What is wrong.
    wrong: String,
    /// What to do.
    mend: String,
}

#[derive(Debug, Default, Serialize)]
struct Findings {
    looked_at: Vec<&'static str>,
    wrong: Vec<Finding>,
}

impl Findings {
    fn look(&mut self, about: &'static str) {
        self.looked_at.push(about);
    }

    fn add(&mut self, about: &'static str, wrong: impl Into<String>, mend: impl Into<String>) {
        self.wrong.push(Finding {
            about,
            wrong: wrong.into(),
            mend: mend.into(),
        });
    }
}

impl Doctor {
    pub fn run(self) -> anyhow::Result<()> {
        let mut found = Findings::default();
        let location = self.database.database;
        let photos = self.photos.place(&location);
        let now = Clock::system().now();
        files(&mut found, &location, &photos);
        self.sealing.look(&mut found);
        database(&mut found, &location, &photos, (now, self.push.contact().is_some()));
        found.look("tls");
        match self.certificate.files() {
            None => {}
            Some(Err(error)) => found.add("tls", format!("{error:#}"), "mend the files, or name others with --tls-cert and --tls-key"),
            Some(Ok((tls, key))) => {
                if let Some(words) = tls.trouble() {
                    found.add("tls", words, "put a new certificate in its place; a running service takes it up by itself");
                }
                guarded(&mut found, "tls", &key);
            }
        }
        if let Some(dir) = &self.backups {
            backups(&mut found, dir, now);
        }
        if self.json {
            println!("{}", serde_json::to_string_pretty(&found)?);
        } else {
            for Finding { about, wrong, mend } in &found.wrong {
                println!("{about}: {wrong}\n    What to do: {mend}");
            }
            if found.wrong.is_empty() {
                println!("Nothing is wrong. Looked at: {}.", found.looked_at.join(", "));
            }
        }
        if found.wrong.is_empty() { Ok(()) } else { std::process::exit(1) }
    }
}

impl Sealing {
    fn look(&self, found: &mut Findings) {
        found.look("sealing_key");
        if let Err(error) = self.read() {
            found.add("sealing_key", format!("{error:#}"), "put the key right; the service does not start without it");
        }
        if let Some(file) = self.file() {
            guarded(found, "sealing_key", file);
        }
    }
}

/// Finds what others than its owner may read or write.
fn guarded(found: &mut Findings, about: &'static str, path: &Path) {
    let Ok(held) = fs::metadata(path) else { return };
    let mode = held.permissions().mode() & 0o777;
    if mode & 0o077 != 0 {
        let right = if held.is_dir() { "700" } else { "600" };
        found.add(
            about,
            format!("{} can be read or written by others than its owner (mode {mode:o})", path.display()),
            format!("chmod {right} {}", path.display()),
        );
    }
}

/// Files of the installation: who may read them, and the room around them.
fn files(found: &mut Findings, location: &Location, photos: &PhotoPlace) {
    found.look("files");
    found.look("room");
    if let Location::Sqlite(path) = location {
        for beside in ["", "-wal", "-shm"] {
            guarded(found, "files", Path::new(&format!("{}{beside}", path.display())));
        }
        room(found, path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new(".")));
    }
    if let PhotoPlace::Folder(folder) = photos
        && folder.exists()
    {
        guarded(found, "files", folder);
        room(found, folder);
    }
}

fn room(found: &mut Findings, folder: &Path) {
    let Ok(disk) = rustix::fs::statvfs(folder) else { return };
    let (free, all) = (disk.f_bavail * disk.f_frsize, disk.f_blocks * disk.f_frsize);
    if free < ROOM.min(all / 20) {
        found.add(
            "room",
            format!("only {} MB are free where {} is", free / 1024 / 1024, folder.display()),
            "make room, or move it to a larger disk; a full disk stops every write",
        );
    }
}

/// `pushes`: whether notices go to phones.
fn database(found: &mut Findings, location: &Location, photos: &PhotoPlace, (now, pushes): (DateTime<Utc>, bool)) {
    found.look("database");
    if let Some(words) = location.may_be_plain() {
        return found.add(
            "database",
            format!("{location} may be spoken to in plain text"),
            format!("say sslmode: {words}"),
        );
    }
    let mut db = match Db::open(location, Access::Write) {
        Ok(db) => db,
        Err(error) => {
            return found.add(
                "database",
                format!("{location} cannot be opened: {error:#}"),
                "look at --database, and whether the server runs",
            );
        }
    };
    found.look("schema");
    if let Err(error) = db.has_this_schema() {
        return found.add(
            "schema",
            format!("{error:#}"),
            "start the service once, or run fullset migrate; take a backup before",
        );
    }
    // Undone at once: it only shows whether it would be done.
    let writes = db.begin(Access::Write).and_then(|()| door::try_to_write(&mut db));
    db.rollback();
    if let Err(error) = writes {
        found.add(
            "database",
            format!("{location} cannot be written to: {error}"),
            "look at the rights of the file and its folder, or of the database's user, and at the disk",
        );
    }
    if let Err(fault) = content(found, &mut db, now).and_then(|()| phones(found, &mut db, now, pushes)) {
        found.add(
            "database",
            format!("it cannot be read: {:#}", explain(&fault)),
            "run fullset verify, which says more",
        );
    }
    found.look("photos");
    let missing = (|| -> anyhow::Result<u64> {
        let store = PhotoStore::open(photos)?;
        runtime()?.block_on(verify::photos_missing(&mut db, &store))
    })();
    match missing {
        Ok(0) => {}
        Ok(missing) => found.add(
            "photos",
            format!("{missing} photos that were kept are not in the photo store as they were"),
            "look at --photos for a slip; fullset verify names each",
        ),
        Err(error) => found.add(
            "photos",
            format!("{error:#}"),
            "look at --photos, and at the AWS_ variables where it is a bucket",
        ),
    }
}

/// What the tables say of the installation.
fn content(found: &mut Findings, db: &mut Db, now: DateTime<Utc>) -> Result<(), Fault> {
    found.look("signing_keys");
    if kept_keys(db)?.iter().any(|key| !key.sealed) {
        found.add(
            "signing_keys",
            "the keys that sign access tokens are kept in the clear: who reads a copy of the database can sign in as anybody",
            "start the service with FULLSET_KEY or FULLSET_KEY_FILE (openssl rand -hex 32 makes a key); it seals them",
        );
    }
    for about in ["clock", "agency", "admin", "grades"] {
        found.look(about);
    }
    let heads = door::heads(db)?;
    if heads.is_empty() {
        found.add(
            "agency",
            "no agency was founded here",
            "found one with fullset setup --agency NAME --admin EMAIL",
        );
    }
    for (agency, rev, _) in heads {
        let kept = record::find(db, agency, Agency::KIND, agency.0)?.map(|row| row.read::<Agency>()).transpose()?;
        let name = kept.as_ref().map_or_else(|| agency.to_string(), |kept| kept.name.clone());
        if let Some(last) = door::received_at(db, agency, rev)?
            && last > now + BEHIND
        {
            found.add(
                "clock",
                format!(
                    "this machine's clock is behind the last entry of {name}, which is of {}",
                    last.format("%Y-%m-%d %H:%M:%S UTC")
                ),
                "set the clock by NTP; what is due is judged by it",
            );
        }
        if kept.is_none_or(|kept| kept.grades.is_none()) {
            found.add(
                "grades",
                format!("{name} has not chosen its grades: no rig is judged"),
                "choose them in the dashboard under Grades",
            );
        }
        if !record::read_all::<Member>(db, agency)?.iter().any(Member::keeps_agency) {
            found.add(
                "admin",
                format!("{name} has no active admin of the whole agency"),
                "add one with fullset member add --role admin",
            );
        }
    }
    Ok(())
}

/// Whether members' phones are told what they asked for, and by a key that is kept sealed.
fn phones(found: &mut Findings, db: &mut Db, now: DateTime<Utc>, pushes: bool) -> Result<(), Fault> {
    found.look("phones");
    if push_key_is_sealed(db)? == Some(false) {
        found.add(
            "phones",
            "the key by which push services know this service is kept in the clear: who reads a copy of the database can send notices in its name",
            "start the service with FULLSET_KEY or FULLSET_KEY_FILE; it seals the key when it next sends a notice",
        );
    }
    let mut waiting = 0;
    for (agency, ..) in door::heads(db)? {
        waiting += subscriptions::live(db, agency, now)?.len();
    }
    if waiting > 0 && !pushes {
        found.add(
            "phones",
            format!("{waiting} phones are to get notices, and none are sent: the service has no contact for push services"),
            "say --push-contact (FULLSET_PUSH_CONTACT) to the service and to this command, or tell the members that none come",
        );
    }
    Ok(())
}

/// The age of the newest backup of a folder.
fn backups(found: &mut Findings, dir: &Path, now: DateTime<Utc>) {
    found.look("backups");
    let entries = match fs::read_dir(dir) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            return found.add("backups", format!("there is no folder {}", dir.display()), "take a backup with fullset backup");
        }
        Err(error) => return found.add("backups", format!("{} cannot be read: {error}", dir.display()), "look at its rights"),
    };
    let mut newest = None;
    for place in entries.flatten().map(|entry| entry.path()).chain([dir.to_owned()]) {
        if !place.join(MANIFEST).exists() {
            continue;
        }
        guarded(found, "backups", &place);
        match read_manifest(&place) {
            Ok(manifest) => newest = newest.max(Some(manifest.taken_at)),
            Err(error) => found.add("backups", format!("{error:#}"), "take another, and throw this one away"),
        }
    }
    match newest {
        None => found.add(
            "backups",
            format!("there is no whole backup in {}", dir.display()),
            "take one with fullset backup",
        ),
        Some(at) if now - at > BACKUP_AGE => found.add(
            "backups",
            format!("the newest backup in {} is {} days old", dir.display(), (now - at).num_days()),
            "take one with fullset backup, and look why the timer does not",
        ),
        Some(_) => {}
    }
}
