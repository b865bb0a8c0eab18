//! The folder of a backup: written under another name until it is whole, and read only when every file is as the manifest says.

use std::{
    fs::{self, DirBuilder, File, OpenOptions},
    io::{BufRead as _, BufReader, BufWriter, ErrorKind, Read as _, Write as _},
    os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _},
    path::{Path, PathBuf},
};

use anyhow::{Context as _, bail, ensure};
use diesel::prelude::*;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{
    manifest::{AgencyMark, FORMAT, FileMark, MANIFEST, Manifest, PHOTOS, PhotoMark},
    tables::{self, TABLES},
};
use crate::{
    on,
    platform::{
        db::{Db, schema::agency, types::Uid},
        hex,
    },
};

/// Bytes that are read at once.
const CHUNK: usize = 256 * 1024;

/// A backup that is being written. Unless it is finished, it is taken away.
#[derive(Debug)]
pub struct Folder {
    place: PathBuf,
    unfinished: PathBuf,
    finished: bool,
}

impl Folder {
    /// Begins a backup, which will stand at `place` when it is whole. A place where something is already is refused.
    pub fn begin(place: &Path) -> anyhow::Result<Self> {
        match fs::read_dir(place) {
            Ok(mut entries) => ensure!(
                entries.next().is_none(),
                "there is something in {} already: name a folder that does not exist yet or is empty",
                place.display()
            ),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(anyhow::Error::from(error).context(format!("{} cannot be written to", place.display()))),
        }
        let name = place.file_name().with_context(|| format!("{} names no folder", place.display()))?;
        let unfinished = place.with_file_name(format!("{}.part-{}", name.to_string_lossy(), Uuid::now_v7().simple()));
        make_folder(&unfinished)?;
        Ok(Self {
            place: place.to_owned(),
            unfinished,
            finished: false,
        })
    }

    /// Opens a new file of the backup, with the folders that lead to it.
    pub fn file(&self, name: &str) -> anyhow::Result<FileWriter> {
        let path = self.unfinished.join(name);
        if let Some(folder) = path.parent() {
            make_folder(folder)?;
        }
        let open = OpenOptions::new().write(true).create_new(true).mode(0o600).open(&path);
        let file = open.with_context(|| format!("{} cannot be written", path.display()))?;
        Ok(FileWriter {
            name: name.to_owned(),
            file: BufWriter::with_capacity(CHUNK, file),
            hash: Sha256::new(),
            bytes: 0,
            rows: 0,
        })
    }

    /// Forgets a file that was begun.
    pub fn drop_file(&self, name: &str) -> anyhow::Result<()> {
        Ok(fs::remove_file(self.unfinished.join(name))?)
    }

    /// A file of the backup, to be read again.
    pub fn lines(&self, name: &str) -> anyhow::Result<impl Iterator<Item = anyhow::Result<String>> + use<>> {
        lines(&self.unfinished.join(name))
    }

    /// Writes the manifest, and gives the backup its name. From then on it is whole.
    pub fn finish(mut self, manifest: &Manifest) -> anyhow::Result<()> {
        let mut file = self.file(MANIFEST)?;
        file.write(serde_json::to_string_pretty(manifest)?.as_bytes())?;
        file.finish()?;
        sync_folders(&self.unfinished)?;
        fs::rename(&self.unfinished, &self.place).with_context(|| format!("the backup cannot be named {}", self.place.display()))?;
        self.finished = true;
        match self.place.parent().filter(|parent| !parent.as_os_str().is_empty()) {
            Some(parent) => File::open(parent)?.sync_all()?,
            None => File::open(".")?.sync_all()?,
        }
        Ok(())
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if !self.finished {
            // What cannot be taken away stays under a name that says that it is a part.
            let _ = fs::remove_dir_all(&self.unfinished);
        }
    }
}

fn make_folder(path: &Path) -> anyhow::Result<()> {
    DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(path)
        .with_context(|| format!("the folder {} cannot be made", path.display()))
}

/// Has the names of all files reach the disk.
fn sync_folders(path: &Path) -> anyhow::Result<()> {
    for entry in fs::read_dir(path)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            sync_folders(&entry.path())?;
        }
    }
    Ok(File::open(path)?.sync_all()?)
}

/// A file of a backup that is being written.
#[derive(Debug)]
pub struct FileWriter {
    name: String,
    file: BufWriter<File>,
    hash: Sha256,
    bytes: u64,
    rows: u64,
}

impl FileWriter {
    /// Writes some bytes.
    pub fn write(&mut self, bytes: &[u8]) -> anyhow::Result<()> {
        self.hash.update(bytes);
        self.bytes += u64::try_from(bytes.len())?;
        Ok(self.file.write_all(bytes)?)
    }

    /// Writes a line.
    pub fn line(&mut self, line: &str) -> anyhow::Result<()> {
        self.rows += 1;
        self.write(line.as_bytes())?;
        self.write(b"\n")
    }

    /// Has it reach the disk; answers what the manifest says of it.
    pub fn finish(self) -> anyhow::Result<FileMark> {
        self.file.into_inner().map_err(|error| error.into_error())?.sync_all()?;
        Ok(FileMark {
            name: self.name,
            rows: self.rows,
            bytes: self.bytes,
            sha256: hex::digits(&self.hash.finalize()),
        })
    }
}

/// Writes every table as the transaction of the connection sees it; answers how far each agency had come, and the files.
pub fn write_tables(db: &mut Db, folder: &Folder, told: &dyn Fn(&FileMark)) -> anyhow::Result<(Vec<AgencyMark>, Vec<FileMark>)> {
    let mut files = Vec::with_capacity(TABLES.len());
    for table in TABLES {
        let mut file = folder.file(&file_of(table))?;
        tables::read(db, table, &mut |line| file.line(&line)).with_context(|| format!("the table {table} cannot be read"))?;
        let mark = file.finish()?;
        told(&mark);
        files.push(mark);
    }
    Ok((heads(db)?, files))
}

fn file_of(table: &str) -> String {
    format!("tables/{table}.jsonl")
}

fn heads(db: &mut Db) -> anyhow::Result<Vec<AgencyMark>> {
    let heads: Vec<(Uid, i64, Vec<u8>)> = on!(db, conn => agency::table.select((agency::id, agency::rev, agency::journal_head)).order(agency::id).load(conn))?;
    let mark = |(id, rev, hash): (Uid, i64, Vec<u8>)| AgencyMark {
        id: id.0,
        rev,
        hash: hex::digits(&hash),
    };
    Ok(heads.into_iter().map(mark).collect())
}

/// A backup of which every file is as its manifest says.
#[derive(Debug)]
pub struct Checked {
    place: PathBuf,
    /// What it holds.
    pub manifest: Manifest,
}

impl Checked {
    /// Reads a backup's manifest and holds every file to it.
    pub fn open(place: &Path, told: &dyn Fn(&FileMark)) -> anyhow::Result<Self> {
        let manifest = read_manifest(place)?;
        for table in TABLES {
            ensure!(
                manifest.tables.iter().any(|file| file.name == file_of(table)),
                "the backup has no file of the table {table}: it was written by another version ({}); restore it with that one, then start this one on it",
                manifest.version
            );
        }
        for file in manifest.tables.iter().chain([&manifest.photos]) {
            held_to(place, &file.name, (file.bytes, &file.sha256))?;
            told(file);
        }
        for photo in lines(&place.join(PHOTOS))? {
            let photo: PhotoMark = serde_json::from_str(&photo?)?;
            held_to(place, &photo.file(), (photo.bytes, &photo.sha256))?;
        }
        Ok(Self {
            place: place.to_owned(),
            manifest,
        })
    }

    /// The photos, each with its file.
    pub fn photos(&self) -> anyhow::Result<impl Iterator<Item = anyhow::Result<(PhotoMark, PathBuf)>>> {
        Ok(lines(&self.place.join(PHOTOS))?.map(|line| {
            let photo: PhotoMark = serde_json::from_str(&line?)?;
            let file = self.place.join(photo.file());
            Ok((photo, file))
        }))
    }
}

/// What a backup says of itself, its files not looked at.
pub fn read_manifest(place: &Path) -> anyhow::Result<Manifest> {
    let path = place.join(MANIFEST);
    let text = fs::read_to_string(&path).with_context(|| format!("{} is no whole backup: it has no {MANIFEST} that can be read", place.display()))?;
    let format = serde_json::from_str::<serde_json::Value>(&text)?;
    let format = format.get("format").and_then(serde_json::Value::as_u64);
    ensure!(
        format == Some(u64::from(FORMAT)),
        "{} is a backup of a form that this version does not read: restore it with the version that wrote it",
        place.display()
    );
    serde_json::from_str(&text).with_context(|| format!("{} cannot be understood", path.display()))
}

/// Holds a file to its length and its SHA-256.
fn held_to(place: &Path, name: &str, (bytes, sha256): (u64, &str)) -> anyhow::Result<()> {
    let path = place.join(name);
    let mut file = File::open(&path).with_context(|| format!("the backup's file {} cannot be read", path.display()))?;
    let (mut hash, mut length) = (Sha256::new(), 0);
    let mut chunk = vec![0; CHUNK];
    loop {
        let read = file.read(&mut chunk)?;
        let Some(read) = chunk.get(..read).filter(|read| !read.is_empty()) else {
            break;
        };
        hash.update(read);
        length += u64::try_from(read.len())?;
    }
    if length != bytes || hex::digits(&hash.finalize()) != sha256 {
        bail!(
            "the backup's file {} is not the one that was written (its length or its SHA-256 is another): take another backup of the same time",
            path.display()
        );
    }
    Ok(())
}

fn lines(path: &Path) -> anyhow::Result<impl Iterator<Item = anyhow::Result<String>> + use<>> {
    let file = File::open(path).with_context(|| format!("{} cannot be read", path.display()))?;
    Ok(BufReader::with_capacity(CHUNK, file).lines().map(|line| Ok(line?)))
}

/// Refuses a database that holds anything: tables of somebody else's, or an agency, to which every row of ours belongs.
pub fn is_empty(db: &mut Db) -> anyhow::Result<()> {
    if db.schema()?.is_empty() {
        let there = db.tables()?;
        ensure!(
            there.is_empty(),
            "there are tables in this database already ({}): a backup is restored into an empty one only",
            there.join(", ")
        );
        return Ok(());
    }
    let there: i64 = on!(db, conn => agency::table.count().get_result(conn))?;
    ensure!(
        there == 0,
        "there is an agency in this database already: a backup is restored into an empty one only"
    );
    Ok(())
}

/// Puts every row of a backup into the tables, which must be empty.
pub fn read_tables(db: &mut Db, backup: &Checked, told: &dyn Fn(&FileMark)) -> anyhow::Result<()> {
    is_empty(db)?;
    for table in TABLES {
        let name = file_of(table);
        let rows = tables::put(db, table, &mut lines(&backup.place.join(&name))?).with_context(|| format!("{name} cannot be restored"))?;
        let mark = backup.manifest.tables.iter().find(|file| file.name == name);
        let mark = mark.with_context(|| format!("the backup has no {name}"))?;
        ensure!(rows == mark.rows, "{name} has {rows} rows, and {} by the manifest", mark.rows);
        told(mark);
    }
    ensure!(
        heads(db)? == backup.manifest.agencies,
        "the tables' agencies are not those of the manifest: the backup was put together from several"
    );
    Ok(())
}
