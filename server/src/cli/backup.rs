use std::{
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use anyhow::Context as _;
use clap::Args;

use super::{Database, Photographs, runtime};
use crate::{
    platform::{
        backup::{self, FORMAT, FileMark, Folder, Manifest, PHOTOS, PhotoMark},
        clock::Clock,
        db::{Access, Db, Location},
    },
    slices::photos::{PhotoPlace, PhotoRow, PhotoStore},
};

/// How often it is said how far the photos have come.
const TOLD_EACH: Duration = Duration::from_secs(5);

/// Copy everything that is kept into a folder, also while the service runs
#[derive(Debug, Args)]
pub struct Backup {
    /// The folder, which must not exist yet or be empty
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    #[command(flatten)]
    database: Database,
    #[command(flatten)]
    photos: Photographs,
}

/// What is said of a file that is written or read, on standard error.
pub fn tell(file: &FileMark) {
    eprintln!("{}: {} rows, {} bytes", file.name, file.rows, file.bytes);
}

impl Backup {
    pub fn run(self) -> anyhow::Result<()> {
        let location = self.database.database;
        let photos = self.photos.place(&location);
        let manifest = runtime()?.block_on(back_up(&self.dir, &location, &photos))?;
        println!("Backed up to {}: {} agencies.", self.dir.display(), manifest.agencies.len());
        for agency in &manifest.agencies {
            println!("{} {} {}", agency.id, agency.rev, agency.hash);
        }
        if manifest.photos_missing > 0 {
            println!(
                "{} pictures that the database names are not in the photo store and so not in the backup; fullset verify names them.",
                manifest.photos_missing
            );
        }
        Ok(())
    }
}

async fn back_up(dir: &Path, location: &Location, photos: &PhotoPlace) -> anyhow::Result<Manifest> {
    let mut db = Db::open(location, Access::Read).context("the database cannot be opened")?;
    let schema = db.has_this_schema()?;
    db.take_time()?;
    let store = PhotoStore::open(photos)?;
    let folder = Folder::begin(dir)?;
    // One state of all tables; whoever writes goes on meanwhile.
    db.begin(Access::Read)?;
    let taken_at = Clock::system().now();
    let written = backup::write_tables(&mut db, &folder, &tell);
    db.rollback();
    let (agencies, tables) = written?;
    let (photos, photos_missing) = copy_photos(&folder, &store).await?;
    tell(&photos);
    let manifest = Manifest {
        format: FORMAT,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        schema,
        database: db.word().to_owned(),
        taken_at,
        agencies,
        tables,
        photos,
        photos_missing,
    };
    folder.finish(&manifest)?;
    Ok(manifest)
}

/// Copies the pictures of all photos that the copied table names. They never change, and none is ever taken away by the service.
async fn copy_photos(folder: &Folder, store: &PhotoStore) -> anyhow::Result<(FileMark, u64)> {
    let mut list = folder.file(PHOTOS)?;
    let (mut missing, mut copied, mut told) = (0, 0_u64, Instant::now());
    for row in folder.lines("tables/photo.jsonl")? {
        let photo: PhotoRow = serde_json::from_str(&row?)?;
        for thumbnail in [false, true] {
            let mut mark = PhotoMark {
                agency: photo.agency,
                name: photo.sha256.as_str().to_owned(),
                thumbnail,
                bytes: 0,
                sha256: String::new(),
            };
            let name = mark.file();
            let mut file = folder.file(&name)?;
            if store.read(&photo, thumbnail, |part| file.write(part)).await? {
                let written = file.finish()?;
                (mark.bytes, mark.sha256) = (written.bytes, written.sha256);
                list.line(&serde_json::to_string(&mark)?)?;
            } else {
                folder.drop_file(&name)?;
                missing += 1;
            }
        }
        copied += 1;
        if told.elapsed() >= TOLD_EACH {
            eprintln!("photos: {copied} so far");
            told = Instant::now();
        }
    }
    Ok((list.finish()?, missing))
}
