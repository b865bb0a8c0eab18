//! The power fails while the service writes: what was acknowledged is there, once. The real binary runs under a shim (`shim/`) that writes
//! down what it does to its files; `disk.rs` works out from that what a disk may hold if the power fails at any moment, which is more
//! forgetful than any real one. SQLite and photos in a folder; what PostgreSQL and an S3 store do with their files is their matter.
//!
//! `FULLSET_TEST_CUTS=400` fails so often (40 unless told), `FULLSET_TEST_SEED` says where. How the service's own work falls out differs from run to
//! run, so a failure keeps the folder that it was seen in.

mod disk;
mod recording;

use std::{
    collections::BTreeMap,
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    process::Stdio,
};

use fullset::platform::db::Location;
use uuid::Uuid;

use crate::{
    kills::check::journal,
    world::{
        Rng,
        process::{Process, command, verify},
        rng::told,
        sql,
    },
};
use disk::{Deaf, Disk, Operation, beside_the_log, operations, to_the_file};
use recording::{FILE, Lives, Place, Recording};

/// Failures of the power in `make test`.
const CUTS: u64 = 40;

/// What is wrong with a disk after a cut.
fn faults(recording: &Recording, location: &Location, cut: u64) -> Vec<String> {
    let mut faults = Vec::new();
    // It starts, whatever it finds.
    drop(Process::serve(location));
    let (holds, words) = verify(location);
    if !holds {
        faults.push(format!("fullset verify: {words}"));
    }
    let mut at: BTreeMap<Uuid, Vec<i64>> = BTreeMap::new();
    for (revision, command, _) in journal(location, recording.agency, 0) {
        at.entry(command).or_default().push(revision);
    }
    for known in recording.acknowledged.iter().filter(|known| known.mark <= cut) {
        if at.get(&known.id).is_none_or(|at| at.as_slice() != [known.revision]) {
            faults.push(format!("lost: {known:?}, and the journal has it at {:?}", at.get(&known.id)));
        }
    }
    faults.extend(
        at.iter()
            .filter(|(_, at)| at.len() > 1)
            .map(|(command, at)| format!("{command} is doubled: {at:?}")),
    );
    for (path, bytes) in recording.photos(cut) {
        let found = fs::read(recording::beside(location).join(&path));
        if found.as_ref().ok() != Some(bytes) {
            faults.push(format!("lost: the photo {} is {:?}", path.display(), found.map(|found| found.len())));
        }
    }
    faults
}

/// Where the power fails: anywhere from an operation on, and as often at one of those that are named.
fn moments(all: &[Operation<'_>], (from, named): (usize, &[usize]), cuts: u64, rng: &mut Rng) -> Vec<usize> {
    let mut moments: Vec<usize> = (0..cuts)
        .map(|n| match n % 2 {
            0 => from + rng.roll(all.len() - from),
            _ => *rng.pick(named).expect("some"),
        })
        .collect();
    moments.sort_unstable();
    moments
}

/// Has the power fail anywhere, and as often where something else is done than to write to the log of SQLite.
fn fails(recording: &Recording, deaf: Deaf, cuts: u64, seed: u64) -> Vec<Vec<String>> {
    let mut rng = Rng::new(seed);
    let all = operations(&recording.log);
    let moments = moments(&all, (0, &beside_the_log(&all)), cuts, &mut rng);
    fails_at(recording, deaf, moments, &mut rng)
}

/// Has the power fail at some moments; answers what was wrong after each.
fn fails_at(recording: &Recording, deaf: Deaf, moments: Vec<usize>, rng: &mut Rng) -> Vec<Vec<String>> {
    let all = operations(&recording.log);
    let mut disk = Disk::of(&recording.before, deaf).at(&recording.place.folder);
    let (mut done, mut seen) = (0, Vec::new());
    for (number, moment) in moments.into_iter().enumerate() {
        all[done..=moment].iter().for_each(|operation| disk.does(operation));
        done = moment + 1;
        let luck = *rng.pick(&[0, 10, 50, 90, 100]).expect("some");
        let left = recording.place.shelf.path().join(format!("cut-{number}"));
        disk.fails(&left, luck, rng);
        let end = all[moment].end;
        let location = Location::Sqlite(left.join(FILE));
        let found = catch_unwind(AssertUnwindSafe(|| faults(recording, &location, end)))
            .unwrap_or_else(|_| vec!["it does not start, or its tables cannot be read: see above".to_owned()]);
        if found.is_empty() || deaf != Deaf::No {
            fs::remove_dir_all(&left).expect("its own folder");
        }
        seen.push(found.into_iter().map(|words| format!("cut {number} at {end}, luck {luck}: {words}")).collect());
    }
    all[done..].iter().for_each(|operation| disk.does(operation));
    if deaf == Deaf::No {
        recording.place.is_as(&disk.now());
    }
    seen
}

#[test]
fn nothing_that_was_acknowledged_is_lost_with_the_power() {
    let (seed, cuts) = (told("FULLSET_TEST_SEED").unwrap_or(1), told("FULLSET_TEST_CUTS").unwrap_or(CUTS));
    let recording = Recording::make(seed, Lives::Short);
    let found = fails(&recording, Deaf::No, cuts, seed);
    println!("seed {seed}: {cuts} cuts of {} operations; {recording:?}", operations(&recording.log).len());
    nothing_is_wrong(recording, found, seed);
}

#[track_caller]
fn nothing_is_wrong(recording: Recording, found: Vec<Vec<String>>, seed: u64) {
    let found: Vec<String> = found.into_iter().flatten().collect();
    if !found.is_empty() {
        let kept = recording.keep();
        panic!(
            "seed {seed}, the disks are kept in {}:\n{}",
            kept.display(),
            found.into_iter().take(20).collect::<Vec<_>>().join("\n")
        );
    }
}

/// Writes more than SQLite keeps in its log, and has the power fail while the log is brought into the file, and after it has begun anew.
#[test]
#[ignore = "make nightly runs it: it writes 45 MB, and each disk has as much"]
fn nothing_is_lost_while_sqlite_brings_its_log_into_the_file() {
    let (seed, cuts) = (told("FULLSET_TEST_SEED").unwrap_or(1), (told("FULLSET_TEST_CUTS").unwrap_or(0) / 10).max(CUTS));
    let recording = Recording::make(seed, Lives::PastTheCheckpoint);
    let all = operations(&recording.log);
    // What opens the file at the start is none.
    let checkpoint: Vec<usize> = to_the_file(&all, FILE).into_iter().filter(|at| all[*at].end > 1_000_000).collect();
    let (first, last) = (checkpoint[0], checkpoint[checkpoint.len() - 1]);
    println!(
        "seed {seed}: {cuts} cuts of {} operations, {} of them in the file itself, {} to {}; {recording:?}",
        all.len(),
        checkpoint.len(),
        all[first].end,
        all[last].end
    );
    // The last process brings its part in too, at the end.
    let followed = checkpoint.iter().filter(|at| **at + 1_000 < all.len()).count();
    assert!(followed > 500, "the log was not brought into the file, or nothing came after it: {followed}");
    let mut rng = Rng::new(seed);
    let moments = moments(&all, (first, &checkpoint), cuts, &mut rng);
    let found = fails_at(&recording, Deaf::No, moments, &mut rng);
    nothing_is_wrong(recording, found, seed);
}

#[test]
fn it_is_seen_when_nothing_is_synced() {
    let recording = Recording::make(2, Lives::Short);
    for (deaf, what) in [(Deaf::ToTheLog, "lost: Acknowledged"), (Deaf::ToFolders, "lost: the photo")] {
        // A disk that has lost the whole database tells of no photo: other cuts are tried, so many at most.
        let seen = (3..8).any(|seed| {
            let found = fails(&recording, deaf, 8, seed);
            let lost = found.iter().flatten().filter(|words| words.contains(what)).count();
            println!("{deaf:?}, seed {seed}: {lost} lost in {} cuts", found.len());
            lost > 0
        });
        assert!(seen, "{deaf:?}: nobody saw '{what}'");
    }
}

#[test]
fn an_agency_is_there_as_soon_as_setup_says_so() {
    let place = Place::new();
    let location = Location::Sqlite(place.folder.join(FILE));
    let setup = |location: &Location, name: &str| {
        let mut setup = command("setup", location);
        // With nobody to ask, it makes a password.
        setup.args(["--agency", name, "--admin", &format!("admin@{}.example", name.to_lowercase())]);
        setup.stdin(Stdio::null()).stdout(Stdio::null());
        setup
    };
    assert!(place.watched(&mut setup(&location, "Tallow"), None).status().expect("it starts").success());
    let log = place.log();
    let all = operations(&log);
    let empty = tempfile::tempdir().expect("a folder");
    let mut disk = Disk::of(empty.path(), Deaf::No).at(&place.folder);
    let mut rng = Rng::new(1);
    for (at, operation) in all.iter().enumerate() {
        disk.does(operation);
        // Half done, it is begun again.
        if at % (all.len() / 4) == 1 {
            let left = place.shelf.path().join(format!("half-{at}"));
            disk.fails(&left, 50, &mut rng);
            assert!(setup(&Location::Sqlite(left.join(FILE)), "Other").status().expect("it starts").success());
        }
    }
    place.is_as(&disk.now());
    let left = place.shelf.path().join("done");
    disk.fails(&left, 0, &mut rng);
    let location = Location::Sqlite(left.join(FILE));
    assert_eq!(sql::number(&location, "SELECT count(*) AS n FROM agency"), 1);
    let (holds, words) = verify(&location);
    assert!(holds, "{words}");
}
