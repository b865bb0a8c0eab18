use std::collections::BTreeSet;

use anyhow::{Context as _, bail, ensure};
use clap::Args;

use super::{Database, Photographs, keep::explain, runtime};
use crate::{
    app,
    platform::{
        audit::{self, Compared, Finding, Report, about},
        backup::{self, Manifest},
        db::{Access, Db, Location},
        door::{self, Broken},
        error::Fault,
        hex,
    },
    slices::{
        api_keys, capability, members,
        photos::{PhotoPlace, PhotoRow, PhotoStore},
    },
};

/// Look whether the journal holds, hold what is kept against it and against each other, and say what could not be compared
#[derive(Debug, Args)]
pub struct Verify {
    #[command(flatten)]
    database: Database,
    #[command(flatten)]
    photos: Photographs,
    /// Only the journal's chain of hashes
    #[arg(long, conflicts_with = "read_photos")]
    quick: bool,
    /// Read every photo and hash it, instead of looking at its length: takes as long as reading the store
    #[arg(long)]
    read_photos: bool,
    /// Print each agency's last revision and hash, to be kept elsewhere: AGENCY REVISION HASH
    #[arg(long)]
    print_anchor: bool,
    /// A hash that was printed before, a file of such lines, or a backup's manifest.json: the journal must still hold it
    #[arg(long, value_name = "HASH|FILE")]
    anchor: Vec<String>,
}

/// What was looked at, and what was found.
#[derive(Debug, Default)]
struct Looked {
    entries: i64,
    broken: Option<Broken>,
    lost: Vec<Vec<u8>>,
    records: u64,
    members: u64,
    /// What was held against the journal's commands, one by one.
    compared: Compared,
    answers: u64,
    unsettled: u64,
    photos: u64,
    /// Photos from before hashes of them were kept, where they were to be hashed.
    unhashed: u64,
    report: Report,
}

/// How closely photos are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PhotoLook {
    Length,
    Hash,
}

/// Looks at all of it, and fails where anything is not as it must be.
pub fn whole(location: &Location, photos: &PhotoPlace) -> anyhow::Result<()> {
    looked(location, Some((photos, PhotoLook::Length)), BTreeSet::new())?.told(false)
}

impl Verify {
    pub fn run(self) -> anyhow::Result<()> {
        let location = self.database.database;
        let photos = self.photos.place(&location);
        let mut anchors = BTreeSet::new();
        for anchor in &self.anchor {
            anchors.extend(read_anchor(anchor)?);
        }
        let look = if self.read_photos { PhotoLook::Hash } else { PhotoLook::Length };
        looked(&location, (!self.quick).then_some((&photos, look)), anchors)?.told(self.quick)?;
        if !self.anchor.is_empty() {
            println!("The journal holds every anchor.");
        }
        if self.print_anchor {
            for (agency, rev, hash) in door::heads(&mut Db::open(&location, Access::Read)?)? {
                println!("{agency} {rev} {}", hex::digits(&hash));
            }
        }
        Ok(())
    }
}

/// The hashes of an anchor: itself one, a file that holds some, or a backup's manifest.
fn read_anchor(anchor: &str) -> anyhow::Result<Vec<Vec<u8>>> {
    let hash = |word: &str| hex::bytes(word).filter(|bytes| bytes.len() == 32);
    if let Some(hash) = hash(anchor) {
        return Ok(vec![hash]);
    }
    let text = std::fs::read_to_string(anchor).with_context(|| format!("'{anchor}' is no hash of 64 digits and no file that can be read"))?;
    let found: Vec<Vec<u8>> = match serde_json::from_str::<Manifest>(&text) {
        Ok(manifest) => manifest.agencies.iter().filter_map(|agency| hash(&agency.hash)).collect(),
        Err(_) => text.split_whitespace().filter_map(hash).collect(),
    };
    ensure!(
        !found.is_empty(),
        "there is no hash in {anchor}: each line is AGENCY REVISION HASH, as --print-anchor prints it"
    );
    Ok(found)
}

fn looked(location: &Location, photos: Option<(&PhotoPlace, PhotoLook)>, anchors: BTreeSet<Vec<u8>>) -> anyhow::Result<Looked> {
    let mut db = Db::open(location, Access::Read).context("the database cannot be opened")?;
    db.has_this_schema()?;
    db.take_time()?;
    let mut looked = Looked::default();
    // One state of all tables, whoever writes meanwhile.
    db.transaction(Access::Read, |db| {
        looked.chain(db, anchors)?;
        if photos.is_some() {
            looked.rest(db)?;
        }
        Ok::<_, Fault>(())
    })
    .map_err(|fault| explain(&fault))?;
    if let Some((place, look)) = photos {
        let store = PhotoStore::open(place)?;
        runtime()?.block_on(looked.photos(&mut db, &store, look))?;
    }
    Ok(looked)
}

impl Looked {
    fn chain(&mut self, db: &mut Db, mut anchors: BTreeSet<Vec<u8>>) -> Result<(), Fault> {
        let held = door::verify(db, |hash| {
            anchors.remove(hash);
        })?;
        match held {
            Ok(entries) => {
                self.entries = entries;
                self.lost = anchors.into_iter().collect();
            }
            Err(broken) => self.broken = Some(broken),
        }
        Ok(())
    }

    fn rest(&mut self, db: &mut Db) -> Result<(), Fault> {
        audit::rows(db, &mut self.report)?;
        self.records = audit::bodies(db, &app::registry(), &mut self.report)?;
        for (agency, rev, _) in door::heads(db)? {
            let (members, findings) = members::rights(db, agency)?;
            self.members += members;
            self.report.add(findings);
            let told = members::MembersTold::read(db, agency)?;
            for mut compared in [members::as_told(db, agency, &told)?, api_keys::as_told(db, agency, &told)?] {
                self.report.add(std::mem::take(&mut compared.findings));
                self.compared.add(compared);
            }
            // No earlier than the last judging: what has run out since then waits for the clock.
            if let Some(at) = door::received_at(db, agency, rev)? {
                let judged = capability::judge_again(db, agency, at)?;
                self.answers += judged.answers;
                self.unsettled += judged.unsettled;
                self.report.add(judged.findings);
            }
        }
        Ok(())
    }

    async fn photos(&mut self, db: &mut Db, store: &PhotoStore, look: PhotoLook) -> anyhow::Result<()> {
        let (named, findings) = photos_astray(db, store, look).await?;
        self.photos = u64::try_from(named.len())?;
        if look == PhotoLook::Hash {
            self.unhashed = u64::try_from(named.iter().filter(|photo| photo.kept_hash.is_none()).count())?;
        }
        self.report.add(findings);
        Ok(())
    }

    /// Says what was held against the journal's commands, and what could not be.
    fn compared_in_words(&self) {
        let Compared {
            records,
            states,
            forgotten,
            unread,
            ..
        } = &self.compared;
        println!("Held {records} members and keys of programs, in {states} states, against the journal's commands: they are what those make of them.");
        if *forgotten > 0 {
            println!("Not compared: {forgotten} earlier states of them, which are kept no more.");
        }
        if *unread > 0 {
            println!("Not compared: {unread} members or keys, of which this version does not read every command.");
        }
        println!(
            "Not compared with the journal: what the other records say, which was only held against their rows and each other; and passwords, \
             PINs, second factors and passkeys, which stand in no journal."
        );
    }

    /// Says what was looked at; fails with what was found.
    fn told(self, quick: bool) -> anyhow::Result<()> {
        let mut wrong = Vec::new();
        if let Some(Broken { agency, rev, why }) = self.broken {
            wrong.push(format!("the journal of agency {agency} does not hold from entry {rev} on: {why}"));
        }
        for hash in &self.lost {
            wrong.push(format!(
                "the journal does not hold the anchor {}: its end was cut off or written anew after that, or it was put back to an earlier backup",
                hex::digits(hash)
            ));
        }
        for Finding { agency, what, place, mend } in &self.report.findings {
            wrong.push(format!("{what}: {place}, agency {agency}. What to do: {mend}"));
        }
        if self.report.more > 0 {
            wrong.push(format!("and {} more of these sorts", self.report.more));
        }
        if !wrong.is_empty() {
            bail!("{}", wrong.join("\n"));
        }
        println!("The journal holds: {} entries, each chained to the one before.", self.entries);
        if !quick {
            println!(
                "Looked at {} records, {} members and {} photos, and worked out {} answers again ({} wait for the clock): all as they must be.",
                self.records, self.members, self.photos, self.answers, self.unsettled
            );
            self.compared_in_words();
            if self.unhashed > 0 {
                println!(
                    "{} photos are from before hashes of them were kept: only their lengths were looked at.",
                    self.unhashed
                );
            }
        }
        Ok(())
    }
}

/// How many photos are not in the store as they were kept.
pub async fn photos_missing(db: &mut Db, store: &PhotoStore) -> anyhow::Result<u64> {
    Ok(u64::try_from(photos_astray(db, store, PhotoLook::Length).await?.1.len())?)
}

/// Looks whether each picture that is named is in the store, by its length or its hash; answers those that are named.
async fn photos_astray(db: &mut Db, store: &PhotoStore, look: PhotoLook) -> anyhow::Result<(Vec<PhotoRow>, Vec<Finding>)> {
    let mut named: Vec<PhotoRow> = Vec::new();
    backup::read_rows(db, "photo", &mut |row| {
        named.push(serde_json::from_str(&row)?);
        Ok(())
    })?;
    let mut findings: Vec<Finding> = Vec::new();
    for photo in &named {
        let (picture, thumbnail) = (store.length(photo, false).await?, store.length(photo, true).await?);
        let what = match (picture, thumbnail) {
            (None, _) => "its picture is not in the photo store",
            (_, None) => "its thumbnail is not in the photo store",
            (Some(picture), Some(thumbnail)) if i64::try_from(picture + thumbnail).ok() == Some(photo.kept_bytes) => {
                if look == PhotoLook::Length || photo.kept_hash.is_none() || store.hash(photo).await? == photo.kept_hash {
                    continue;
                }
                "its picture in the photo store is another one than was kept"
            }
            _ => "its picture in the photo store has another length than when it was kept",
        };
        findings.push(Finding {
            place: format!("photo {}", photo.sha256.as_str()),
            ..about(photo.agency.into(), "photo", photo.agency, what, MEND_PHOTO)
        });
    }
    Ok((named, findings))
}

const MEND_PHOTO: &str = "look at --photos for a slip; else put the photos of a backup back, or let who took it send it again";
