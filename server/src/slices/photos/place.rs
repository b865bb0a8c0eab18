//! Where photos are kept: a folder, or a bucket of a store that speaks S3.

use std::{os::unix::fs::DirBuilderExt as _, path::PathBuf, str::FromStr, sync::Arc, time::Duration};

use anyhow::Context as _;
use object_store::{ObjectStore, RetryConfig, aws::AmazonS3Builder, local::LocalFileSystem, path::Path, prefix::PrefixStore};

use crate::platform::db::Location;

/// Where photos are kept. Server processes that share a database share it too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PhotoPlace {
    /// A folder; it is made where there is none.
    Folder(PathBuf),
    /// `s3://BUCKET/PREFIX`; region, keys and endpoint come from the usual `AWS_` variables of the environment.
    Bucket {
        /// The bucket's name.
        bucket: String,
        /// What every key in it begins with; may be empty.
        prefix: String,
    },
}

/// Has the names in a folder on the disk.
fn sync(folder: &std::path::Path) -> std::io::Result<()> {
    // Above a single name is the folder that the process stands in.
    let folder = if folder.as_os_str().is_empty() { std::path::Path::new(".") } else { folder };
    std::fs::File::open(folder)?.sync_all()
}

impl PhotoPlace {
    /// The usual place for a database: beside the SQLite file, or the folder `photos`.
    pub fn beside(location: &Location) -> Self {
        match location {
            Location::Sqlite(file) => {
                let mut folder = file.clone().into_os_string();
                folder.push(".photos");
                Self::Folder(folder.into())
            }
            Location::Postgres(_) => Self::Folder("photos".into()),
        }
    }

    /// Has the folders that lead to a key on the disk for sure. The store syncs the last of them and those that it made for this key; one
    /// that somebody else has just made, or made before being killed, nobody may have synced.
    pub(super) fn settle(&self, key: &Path) -> std::io::Result<()> {
        let Self::Folder(folder) = self else { return Ok(()) };
        let mut folder = folder.clone();
        sync(&folder)?;
        let folders = key.parts().count().saturating_sub(2);
        for part in key.parts().take(folders) {
            let part: &str = part.as_ref();
            folder.push(part);
            sync(&folder)?;
        }
        Ok(())
    }

    pub(super) fn open(&self) -> anyhow::Result<Arc<dyn ObjectStore>> {
        match self {
            Self::Folder(folder) => {
                let open = || -> anyhow::Result<LocalFileSystem> {
                    // Nobody but its owner reads what is in it, whatever the umask.
                    let above: Vec<&std::path::Path> = folder.ancestors().skip(1).collect();
                    let made = above.iter().position(|above| above.exists()).unwrap_or(above.len());
                    std::fs::DirBuilder::new().recursive(true).mode(0o700).create(folder)?;
                    // Neither does a power cut take the folder itself away.
                    above.iter().take(made + 1).try_for_each(|above| sync(above))?;
                    // A photo that was answered as stored survives a power cut.
                    Ok(LocalFileSystem::new_with_prefix(folder)?.with_fsync(true))
                };
                let store = open().with_context(|| format!("photos cannot be kept in {}: choose another folder with --photos", folder.display()))?;
                Ok(Arc::new(store))
            }
            Self::Bucket { bucket, prefix } => {
                // Somebody waits for the answer: better told soon that it failed than kept waiting for minutes.
                let patience = RetryConfig {
                    max_retries: 3,
                    retry_timeout: Duration::from_secs(20),
                    ..RetryConfig::default()
                };
                let store = AmazonS3Builder::from_env()
                    .with_bucket_name(bucket)
                    .with_retry(patience)
                    .build()
                    .with_context(|| format!("photos cannot be kept in the bucket {bucket}: look at the AWS_ variables of the environment"))?;
                Ok(Arc::new(PrefixStore::new(store, Path::parse(prefix)?)))
            }
        }
    }
}

impl FromStr for PhotoPlace {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if let Some(rest) = text.strip_prefix("s3://") {
            let (bucket, prefix) = rest.split_once('/').unwrap_or((rest, ""));
            let prefix = prefix.trim_matches('/');
            if bucket.is_empty() || Path::parse(prefix).is_err() {
                return Err(format!("'{text}' names no bucket: use s3://BUCKET/PREFIX"));
            }
            return Ok(Self::Bucket {
                bucket: bucket.to_owned(),
                prefix: prefix.to_owned(),
            });
        }
        if text.is_empty() || text.contains("://") {
            return Err(format!("'{text}' is no place for photos: use a folder, or s3://BUCKET/PREFIX"));
        }
        Ok(Self::Folder(text.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_a_folder_or_a_bucket() {
        let bucket = |bucket: &str, prefix: &str| PhotoPlace::Bucket {
            bucket: bucket.into(),
            prefix: prefix.into(),
        };
        for (text, place) in [
            ("photos", Ok(PhotoPlace::Folder("photos".into()))),
            ("/srv/fullset/photos", Ok(PhotoPlace::Folder("/srv/fullset/photos".into()))),
            ("s3://tools", Ok(bucket("tools", ""))),
            ("s3://tools/county/photos/", Ok(bucket("tools", "county/photos"))),
            ("s3://", Err(())),
            ("s3:///county", Err(())),
            ("https://store.example/tools", Err(())),
            ("", Err(())),
        ] {
            assert_eq!(text.parse::<PhotoPlace>().map_err(|_| ()), place, "{text}");
        }
    }

    #[test]
    fn photos_are_beside_the_file() {
        let file = Location::Sqlite("data/county.sqlite".into());
        assert_eq!(PhotoPlace::beside(&file), PhotoPlace::Folder("data/county.sqlite.photos".into()));
    }
}
