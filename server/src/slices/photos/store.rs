//! The photo store by itself: for copies of it, and to look whether what is named is there.

use std::{io::Read, sync::Arc};

use futures_util::TryStreamExt as _;
use object_store::{ObjectStore, ObjectStoreExt as _, WriteMultipart, path::Path};
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{PhotoName, PhotoPlace, ops::key};
use crate::platform::{hex, ids::AgencyId};

/// Bytes that are sent at once; what is larger goes in parts of this size, as S3 asks for (5 MiB at least).
const PART: usize = 8 * 1024 * 1024;

/// Where photos are kept.
#[derive(Debug)]
pub struct PhotoStore(Arc<dyn ObjectStore>);

/// What a row says of a photo that is here.
#[derive(Debug, Clone, Deserialize)]
pub struct PhotoRow {
    /// The agency.
    pub agency: Uuid,
    /// Its name.
    pub sha256: PhotoName,
    /// Bytes that are kept, the thumbnail's among them.
    pub kept_bytes: i64,
    /// The SHA-256 of the picture's bytes and then the thumbnail's; none of a photo from before it was kept.
    #[serde(default)]
    pub kept_hash: Option<String>,
}

impl PhotoRow {
    fn key(&self, thumbnail: bool) -> Path {
        key(AgencyId(self.agency), &self.sha256, thumbnail)
    }
}

impl PhotoStore {
    /// Opens it.
    pub fn open(place: &PhotoPlace) -> anyhow::Result<Self> {
        Ok(Self(place.open()?))
    }

    /// How many bytes of a picture or its thumbnail are here, if it is.
    pub async fn length(&self, photo: &PhotoRow, thumbnail: bool) -> anyhow::Result<Option<u64>> {
        match self.0.head(&photo.key(thumbnail)).await {
            Ok(found) => Ok(Some(found.size)),
            Err(object_store::Error::NotFound { .. }) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Tells the bytes of a picture or its thumbnail, a part at a time; false when it is not here.
    pub async fn read(&self, photo: &PhotoRow, thumbnail: bool, mut each: impl FnMut(&[u8]) -> anyhow::Result<()>) -> anyhow::Result<bool> {
        let found = match self.0.get(&photo.key(thumbnail)).await {
            Ok(found) => found,
            Err(object_store::Error::NotFound { .. }) => return Ok(false),
            Err(error) => return Err(error.into()),
        };
        let mut parts = found.into_stream();
        while let Some(part) = parts.try_next().await? {
            each(&part)?;
        }
        Ok(true)
    }

    /// The hash of what is here of a photo, as a row keeps it; none when something is not here.
    pub async fn hash(&self, photo: &PhotoRow) -> anyhow::Result<Option<String>> {
        let mut hash = Sha256::new();
        for thumbnail in [false, true] {
            let feed = |bytes: &[u8]| {
                hash.update(bytes);
                Ok(())
            };
            if !self.read(photo, thumbnail, feed).await? {
                return Ok(None);
            }
        }
        Ok(Some(hex::digits(&hash.finalize())))
    }

    /// Keeps a picture or its thumbnail, a part at a time.
    pub async fn put(&self, photo: &PhotoRow, thumbnail: bool, mut from: impl Read) -> anyhow::Result<()> {
        let key = photo.key(thumbnail);
        let mut part = filled(&mut from)?;
        if part.len() < PART {
            self.0.put(&key, part.into()).await?;
            return Ok(());
        }
        let mut parts = WriteMultipart::new_with_chunk_size(self.0.put_multipart(&key).await?, PART);
        while !part.is_empty() {
            parts.write(&part);
            parts.wait_for_capacity(1).await?;
            part = filled(&mut from)?;
        }
        parts.finish().await?;
        Ok(())
    }
}

/// The next part, short only at the end.
fn filled(from: &mut impl Read) -> anyhow::Result<Vec<u8>> {
    let mut part = Vec::new();
    from.take(u64::try_from(PART)?).read_to_end(&mut part)?;
    Ok(part)
}
