use std::{sync::Arc, time::Duration};

use chrono::TimeDelta;
use object_store::{GetResult, ObjectStore, ObjectStoreExt as _, path::Path};
use sha2::{Digest as _, Sha256};
use tokio::sync::Semaphore;

use super::{
    PhotoName, PhotoPlace,
    picture::{self, Picture},
    rows::{self, Row},
};
use crate::{
    platform::{
        auth::{Actor, Role},
        clock::Clock,
        db::{
            self, Access, Db, Pool,
            types::{Moment, Uid},
        },
        door::Permission,
        error::{self, Fault},
        hex,
        ids::AgencyId,
        line::{Line, LinePlace, NoPlace},
        record::{self, Record as _},
    },
    slices::agencies::{Agency, Policy},
};

/// The most bytes of a photo as it is sent: 12 MB.
pub const MOST_BYTES: usize = 12 * 1024 * 1024;
/// How long the parts of an unfinished photo are kept.
const UNFINISHED: TimeDelta = TimeDelta::days(1);
/// Pictures that are worked on at once. One takes up to 200 MB as pixels and as much again while it is turned.
const AT_ONCE: usize = 2;
/// How many photos, or parts of some, are being sent or worked on at once in this process.
const MOST_SENT: usize = 16;
/// How many of one sender.
const MOST_SENT_EACH: usize = 2;
/// How long the tidying sleeps.
const TIDY: Duration = Duration::from_secs(60 * 60);

/// A part of a photo, as RFC 9110 section 14.4 numbers its bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Its first byte.
    pub first: usize,
    /// Its last byte.
    pub last: usize,
    /// Bytes of the whole photo.
    pub total: usize,
}

/// How sending a photo or a part of it ended, with how many of its bytes are here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UploadResult {
    /// It is whole and stored.
    Stored(i64),
    /// It was here before.
    There(i64),
    /// More parts are to come.
    Partly(i64),
    /// The part does not begin where the upload stands.
    Elsewhere(i64),
}

/// What stands before a photo is looked at.
enum Standing {
    Ends(UploadResult),
    /// The parts that came before the last.
    Whole(Vec<Vec<u8>>),
    /// The parts before it were of a photo of another length; they are forgotten.
    OfAnotherLength,
}

/// The photos of all agencies.
///
/// Parts of an unfinished photo are rows of the database, not objects in the store: the key of a part holds its first byte,
/// so that of two processes which are sent the same part one alone keeps it, and any process can go on where another left
/// off. A store has no such transaction, and S3-compatible ones differ in what they promise instead. The price is that up
/// to 12 MB pass through the database, for a photo that is sent in parts alone, and for a day at most.
#[allow(missing_debug_implementations)]
pub struct Photos {
    place: PhotoPlace,
    store: Arc<dyn ObjectStore>,
    readers: Pool,
    writers: Pool,
    clock: Clock,
    hands: Arc<Semaphore>,
    line: Line,
}

fn too_large() -> Fault {
    Fault::new(error::PHOTO_TOO_LARGE, "A photo holds 12 MB at most; send it smaller")
}

/// A photo's place in the store.
pub(super) fn key(agency: AgencyId, name: &PhotoName, thumbnail: bool) -> Path {
    let name = name.as_str();
    let shelf = name.get(..2).unwrap_or_default();
    let ending = if thumbnail { ".thumbnail" } else { "" };
    Path::from(format!("{agency}/{shelf}/{name}{ending}"))
}

fn stored_badly(cause: object_store::Error) -> Fault {
    Fault {
        cause: Some(cause.into()),
        ..Fault::new(error::BUSY, "The photo store does not answer; try again in a moment")
    }
}

impl Photos {
    /// Opens the place where photos are kept.
    pub fn open(place: &PhotoPlace, readers: Pool, writers: Pool, clock: Clock) -> anyhow::Result<Self> {
        Ok(Self {
            place: place.clone(),
            store: place.open()?,
            readers,
            writers,
            clock,
            hands: Arc::new(Semaphore::new(AT_ONCE)),
            line: Line::new(MOST_SENT, MOST_SENT_EACH),
        })
    }

    /// A place for a photo that is being sent, taken before its bytes are read: it holds up to twice its bytes in memory until it is kept.
    pub(super) fn place(&self, actor: &Actor) -> Result<LinePlace, Fault> {
        self.line.take(actor.sender().unwrap_or_default()).map_err(|full| match full {
            NoPlace::Own => Fault::new(error::SLOW_DOWN, "You send two photos already; send the next when one has arrived").again_in(2),
            NoPlace::All => Fault::new(error::BUSY, "Many photos are being sent just now; send this one again in a moment"),
        })
    }

    async fn with_db<T: Send + 'static>(&self, access: Access, work: impl FnOnce(&mut Db) -> Result<T, Fault> + Send + 'static) -> Result<T, Fault> {
        let pool = match access {
            Access::Read => self.readers.clone(),
            Access::Write => self.writers.clone(),
        };
        blocking(move || db::transaction(&pool, access, work)).await
    }

    /// Takes a photo whole, or one part of it. The last part makes it whole.
    pub async fn put(&self, actor: &Actor, name: PhotoName, part: Option<Part>, bytes: Vec<u8>) -> Result<UploadResult, Fault> {
        // What a tablet sends counts for nothing until a signed command names it.
        let sends = actor.role == Role::Tablet || [Permission::Report, Permission::Repair].iter().any(|needed| actor.role.grants(*needed));
        if !sends {
            return Err(Fault::new(error::NOT_ALLOWED, format!("The role '{}' may not send photos", actor.role)));
        }
        let (first, total) = part.map_or((0, bytes.len()), |part| (part.first, part.total));
        if total > MOST_BYTES || bytes.len() > MOST_BYTES {
            return Err(too_large());
        }
        let ends = part.is_none_or(|part| part.last + 1 == part.total);
        if first == 0 {
            // What is no picture is refused before the rest of it is sent.
            picture::sniff(&bytes)?;
        }
        let (agency, now) = (actor.agency, self.clock.now());
        if let Some(row) = self.found(agency, &name).await? {
            return Ok(UploadResult::There(row.bytes));
        }
        let (first, total) = (number(first)?, number(total)?);
        let (named, bytes) = (name.clone(), Arc::new(bytes));
        let part_bytes = Arc::clone(&bytes);
        let standing = self
            .with_db(Access::Write, move |db| {
                rows::drop_unfinished(db, now - UNFINISHED)?;
                if let Some(row) = rows::find(db, agency, &named)? {
                    // Another process has stored it in the meantime.
                    return Ok(Standing::Ends(UploadResult::There(row.bytes)));
                }
                if part.is_some() && rows::is_of_another_length(db, agency, &named, total)? {
                    rows::forget(db, agency, &named)?;
                    return Ok(Standing::OfAnotherLength);
                }
                let offset = if part.is_none() { 0 } else { rows::offset(db, agency, &named)? };
                if first != offset {
                    return Ok(Standing::Ends(UploadResult::Elsewhere(offset)));
                }
                let quota = quota(db, agency)?;
                // What several members send at the same moment may go a little over; it is counted from then on.
                if rows::taken(db, agency, &named)? + total > quota * 1024 * 1024 {
                    let words = format!("The agency's {quota} MB for photos are used up; an admin can allow more in the agency's policy");
                    return Err(Fault::new(error::PHOTO_QUOTA, words));
                }
                if ends {
                    let before = if part.is_none() { Vec::new() } else { rows::parts(db, agency, &named)? };
                    if before.iter().map(Vec::len).sum::<usize>() != usize::try_from(first).unwrap_or_default() {
                        // Another process has made it whole between the two looks, and the parts are gone.
                        return Ok(Standing::Ends(match rows::find(db, agency, &named)? {
                            Some(row) => UploadResult::There(row.bytes),
                            None => UploadResult::Elsewhere(rows::offset(db, agency, &named)?),
                        }));
                    }
                    return Ok(Standing::Whole(before));
                }
                Ok(Standing::Ends(if rows::add_part(db, agency, &named, (first, total), &part_bytes, now)? {
                    UploadResult::Partly(first + number(part_bytes.len())?)
                } else {
                    UploadResult::Elsewhere(rows::offset(db, agency, &named)?)
                }))
            })
            .await?;
        match standing {
            Standing::Ends(sent) => Ok(sent),
            Standing::OfAnotherLength => Err(Fault::new(
                error::PHOTO_MISMATCH,
                "TOTAL is not the one that the parts before named; what came before is forgotten. Send the photo again from its beginning",
            )),
            Standing::Whole(mut parts) => {
                parts.push(Arc::unwrap_or_clone(bytes));
                self.keep(actor, name, parts.concat()).await
            }
        }
    }

    /// Keeps a photo that is whole.
    async fn keep(&self, actor: &Actor, name: PhotoName, bytes: Vec<u8>) -> Result<UploadResult, Fault> {
        let (agency, sent) = (actor.agency, number(bytes.len())?);
        let picture = match self.made(name.clone(), bytes).await {
            Ok(picture) => picture,
            Err(fault) => {
                // Bytes that are wrong stay wrong: the next try begins anew.
                if !fault.is_ours() {
                    self.with_db(Access::Write, move |db| rows::forget(db, agency, &name)).await?;
                }
                return Err(fault);
            }
        };
        let row = Row {
            agency: agency.into(),
            sha256: name.as_str().to_owned(),
            bytes: sent,
            kept_bytes: number(picture.bytes.len() + picture.thumbnail.len())?,
            media: picture.media.name().to_owned(),
            width: picture.width.into(),
            height: picture.height.into(),
            member: actor.member.map(|member| Uid(member.0)),
            stored_at: Moment(self.clock.now()),
            kept_hash: Some(hex::digits(
                &Sha256::new().chain_update(&picture.bytes).chain_update(&picture.thumbnail).finalize(),
            )),
        };
        // The row comes last: what is found has its picture. Without it these are written over by the next try.
        for (thumbnail, bytes) in [(false, picture.bytes), (true, picture.thumbnail)] {
            self.store.put(&key(agency, &name, thumbnail), bytes.into()).await.map_err(stored_badly)?;
        }
        let (place, key) = (self.place.clone(), key(agency, &name, false));
        blocking(move || Ok(place.settle(&key).map_err(anyhow::Error::from)?)).await?;
        let new = self.with_db(Access::Write, move |db| rows::store(db, &row)).await?;
        Ok(if new { UploadResult::Stored(sent) } else { UploadResult::There(sent) })
    }

    /// Holds the bytes to their name and makes them fit to be kept, a few pictures at a time.
    async fn made(&self, name: PhotoName, bytes: Vec<u8>) -> Result<Picture, Fault> {
        let hands = Arc::clone(&self.hands).acquire_owned().await.map_err(anyhow::Error::from)?;
        blocking(move || {
            let _hands = hands;
            let hash = hex::digits(&Sha256::digest(&bytes));
            if hash != name.as_str() {
                let words = format!(
                    "These bytes hash to {hash}, not to the name in the address; what came before is forgotten. Send the photo again from its beginning"
                );
                return Err(Fault::new(error::PHOTO_MISMATCH, words));
            }
            picture::made(&bytes)
        })
        .await
    }

    /// A photo that is here. One whose picture is lost, perhaps because the database alone was restored from a copy, is
    /// awaited again: whoever still has it may send it.
    async fn found(&self, agency: AgencyId, name: &PhotoName) -> Result<Option<Row>, Fault> {
        let named = name.clone();
        let Some(row) = self.with_db(Access::Read, move |db| rows::find(db, agency, &named)).await? else {
            return Ok(None);
        };
        match self.store.head(&key(agency, name, false)).await {
            Ok(_) => Ok(Some(row)),
            Err(object_store::Error::NotFound { .. }) => {
                let named = name.clone();
                self.with_db(Access::Write, move |db| rows::lose(db, agency, &named)).await?;
                Ok(None)
            }
            Err(cause) => Err(stored_badly(cause)),
        }
    }

    /// How much of a photo is here: all of it, or how many bytes of its parts.
    pub async fn standing(&self, agency: AgencyId, name: PhotoName) -> Result<Result<i64, i64>, Fault> {
        match self.found(agency, &name).await? {
            Some(row) => Ok(Ok(row.bytes)),
            None => Ok(Err(self.with_db(Access::Read, move |db| rows::offset(db, agency, &name)).await?)),
        }
    }

    /// A photo, or its thumbnail, with its media type.
    pub async fn open_photo(&self, agency: AgencyId, name: PhotoName, thumbnail: bool) -> Result<(String, GetResult), Fault> {
        let named = name.clone();
        let row = self.with_db(Access::Read, move |db| rows::find(db, agency, &named)).await?;
        let row = row.ok_or_else(awaited)?;
        let media = if thumbnail { picture::Media::Jpeg.name().to_owned() } else { row.media };
        match self.store.get(&key(agency, &name, thumbnail)).await {
            Ok(found) => Ok((media, found)),
            Err(object_store::Error::NotFound { .. }) => Err(awaited()),
            Err(cause) => Err(stored_badly(cause)),
        }
    }
}

/// Nobody can tell a photo that is on its way from one that was never taken.
pub fn awaited() -> Fault {
    Fault::new(
        error::PHOTO_AWAITED,
        "This photo is not here yet, or was never sent; the phone that took it sends it when it has a signal",
    )
}

fn number(bytes: usize) -> Result<i64, Fault> {
    Ok(i64::try_from(bytes).map_err(anyhow::Error::from)?)
}

/// The agency's room for photos, in MB.
fn quota(db: &mut Db, agency: AgencyId) -> Result<i64, Fault> {
    let row = record::find(db, agency, Agency::KIND, agency.0)?;
    let policy = row
        .map(|row| row.read::<Agency>())
        .transpose()?
        .map_or_else(Policy::default, |agency| agency.policy);
    Ok(policy.photo_quota_mb.into())
}

async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Fault> + Send + 'static) -> Result<T, Fault> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| anyhow::anyhow!("a worker ended early: {error}"))?
}

/// Forgets unfinished photos, on its own where nobody sends any; runs until it is dropped.
pub async fn keep_tidy(photos: Arc<Photos>) {
    loop {
        let before = photos.clock.now() - UNFINISHED;
        if let Err(fault) = photos.with_db(Access::Write, move |db| rows::drop_unfinished(db, before)).await {
            tracing::warn!(cause = ?fault.cause, %fault, "unfinished photos could not be forgotten");
        }
        tokio::time::sleep(TIDY).await;
    }
}
