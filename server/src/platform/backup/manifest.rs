use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// The manifest's name in the folder.
pub const MANIFEST: &str = "manifest.json";
/// The name of the file that lists the photos.
pub const PHOTOS: &str = "photos.jsonl";
/// The form of a backup that this version writes and reads.
pub const FORMAT: u32 = 1;

/// What a backup holds. It is written when all else is on the disk.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// The form of the backup.
    pub format: u32,
    /// The version of Fullset that wrote it.
    pub version: String,
    /// The migrations that its tables have been through.
    pub schema: Vec<String>,
    /// `sqlite` or `postgres`: what it was taken from. Either takes it back.
    pub database: String,
    /// When its state was read.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub taken_at: DateTime<Utc>,
    /// How far each agency had come.
    pub agencies: Vec<AgencyMark>,
    /// The tables' files.
    pub tables: Vec<FileMark>,
    /// The list of photos.
    pub photos: FileMark,
    /// How many photos the tables name whose pictures were not in the store.
    pub photos_missing: u64,
}

/// How far an agency had come.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AgencyMark {
    /// The agency.
    pub id: Uuid,
    /// Its last revision.
    pub rev: i64,
    /// The journal's hash at it, in hexadecimal.
    pub hash: String,
}

/// A file of the backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileMark {
    /// Its name in the folder.
    pub name: String,
    /// Its lines.
    pub rows: u64,
    /// Its bytes.
    pub bytes: u64,
    /// Its SHA-256, in hexadecimal.
    pub sha256: String,
}

/// A line of the list of photos: a picture or its thumbnail.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoMark {
    /// The agency.
    pub agency: Uuid,
    /// The photo's name.
    pub name: String,
    /// Whether it is the thumbnail.
    pub thumbnail: bool,
    /// Its bytes.
    pub bytes: u64,
    /// Their SHA-256, in hexadecimal.
    pub sha256: String,
}

impl PhotoMark {
    /// Its file in the folder.
    pub fn file(&self) -> String {
        let ending = if self.thumbnail { ".thumbnail" } else { "" };
        format!("photos/{}/{}{ending}", self.agency, self.name)
    }
}
