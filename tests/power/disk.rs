//! What a disk holds when the power fails, worked out from the log of the shim: what was synced is there; of the rest any part may be,
//! in sectors of 512 bytes and in any order. A name is there for sure only once its folder was synced, which is as little as POSIX promises.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

use crate::world::Rng;

const SECTOR: usize = 512;
/// `O_TRUNC` of Linux, as its headers have it for x86-64 and AArch64.
const TRUNCATES: i64 = 0o1000;

/// One operation of the log.
#[derive(Debug, Clone, Copy)]
pub struct Operation<'l> {
    kind: u8,
    descriptor: i32,
    number: i64,
    bytes: &'l [u8],
    /// How long the log is with it.
    pub end: u64,
}

fn taken<'l, const N: usize>(rest: &mut &'l [u8]) -> Option<&'l [u8; N]> {
    let (first, later) = rest.split_first_chunk()?;
    *rest = later;
    Some(first)
}

/// Every operation that the log has whole.
pub fn operations(log: &[u8]) -> Vec<Operation<'_>> {
    let mut rest = log;
    let mut next = || {
        let [kind] = *taken(&mut rest)?;
        let descriptor = i32::from_le_bytes(*taken(&mut rest)?);
        let number = i64::from_le_bytes(*taken(&mut rest)?);
        let length = u32::from_le_bytes(*taken(&mut rest)?);
        let (bytes, later) = rest.split_at_checked(length as usize)?;
        rest = later;
        let end = (log.len() - rest.len()) as u64;
        Some(Operation {
            kind,
            descriptor,
            number,
            bytes,
            end,
        })
    };
    std::iter::from_fn(&mut next).collect()
}

/// Which operations, but for opening and closing, are done to files whose names end so, or to others.
fn done_to(all: &[Operation<'_>], ending: &str, wanted: bool) -> Vec<usize> {
    let mut such: BTreeSet<i32> = BTreeSet::new();
    let mut found = Vec::new();
    for (at, operation) in all.iter().enumerate() {
        match operation.kind {
            b'O' if operation.bytes.ends_with(ending.as_bytes()) => drop(such.insert(operation.descriptor)),
            b'O' | b'C' => drop(such.remove(&operation.descriptor)),
            _ if such.contains(&operation.descriptor) == wanted => found.push(at),
            _ => {}
        }
    }
    found
}

/// Which operations are something else than to write to SQLite's write-ahead log, or to sync it.
pub fn beside_the_log(all: &[Operation<'_>]) -> Vec<usize> {
    done_to(all, "-wal", false)
}

/// Which operations write to a file of that name, or sync it.
pub fn to_the_file(all: &[Operation<'_>], name: &str) -> Vec<usize> {
    done_to(all, name, true)
}

enum Change<'l> {
    Write(usize, &'l [u8]),
    Cut(usize),
}

type Names = BTreeMap<String, usize>;
/// What names became, together or not at all.
type Renamed = Vec<(String, Option<usize>)>;

/// A file or a folder.
#[derive(Default)]
struct Node<'l> {
    is_folder: bool,
    /// A file's bytes that are on the disk for sure, and what was written since.
    kept: Vec<u8>,
    since: Vec<Change<'l>>,
    /// A folder's names that are on the disk for sure, what was done to them since, and how they are now.
    names: Names,
    renamed: Vec<Renamed>,
    now: Names,
}

/// Whose syncs do nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Deaf {
    No,
    /// Those of SQLite's write-ahead log.
    ToTheLog,
    /// Those of folders.
    ToFolders,
}

/// A disk with one folder on it.
pub struct Disk<'l> {
    folder: PathBuf,
    deaf: Deaf,
    /// The folder is the first.
    nodes: Vec<Node<'l>>,
    open: BTreeMap<i32, (usize, bool)>,
}

fn grown(bytes: &mut Vec<u8>, length: usize, filler: u8) {
    if bytes.len() < length {
        bytes.resize(length, filler);
    }
}

fn put(bytes: &mut Vec<u8>, at: usize, written: &[u8], filler: u8) {
    grown(bytes, at + written.len(), filler);
    bytes[at..at + written.len()].copy_from_slice(written);
}

fn apply(names: &mut Names, renamed: &Renamed) {
    for (name, node) in renamed {
        match node {
            Some(node) => drop(names.insert(name.clone(), *node)),
            None => drop(names.remove(name)),
        }
    }
}

/// The parts of a write that fall into one sector each.
fn sectors(at: usize, bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let first = (SECTOR - at % SECTOR).min(bytes.len());
    let (head, rest) = bytes.split_at(first);
    std::iter::once((at, head)).chain(rest.chunks(SECTOR).enumerate().map(move |(n, part)| (at + first + n * SECTOR, part)))
}

impl<'l> Disk<'l> {
    /// A folder as it is now, all of it synced.
    pub fn of(folder: &Path, deaf: Deaf) -> Self {
        let mut disk = Self {
            folder: folder.to_owned(),
            deaf,
            nodes: Vec::new(),
            open: BTreeMap::new(),
        };
        disk.read(folder);
        disk
    }

    /// The same under another path.
    pub fn at(self, folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            ..self
        }
    }

    fn read(&mut self, path: &Path) -> usize {
        let own = self.nodes.len();
        self.nodes.push(Node {
            is_folder: path.is_dir(),
            ..Node::default()
        });
        if !path.is_dir() {
            self.nodes[own].kept = fs::read(path).expect("a file");
            return own;
        }
        for entry in fs::read_dir(path).expect("a folder") {
            let entry = entry.expect("an entry");
            let node = self.read(&entry.path());
            let name = entry.file_name().into_string().expect("plain names");
            self.nodes[own].names.insert(name, node);
        }
        self.nodes[own].now = self.nodes[own].names.clone();
        own
    }

    /// The folder that a path's name is in, and the name; none for the folder itself.
    fn place(&self, path: &[u8]) -> Option<(usize, String)> {
        let path = Path::new(std::str::from_utf8(path).expect("plain names"));
        let within = path.strip_prefix(&self.folder).expect("what is followed lies in the folder");
        let mut names: Vec<&str> = within.iter().map(|name| name.to_str().expect("plain names")).collect();
        let last = names.pop()?;
        let folder = names.iter().try_fold(0, |folder: usize, name| self.nodes[folder].now.get(*name).copied());
        Some((folder.unwrap_or_else(|| panic!("no folder for {}", path.display())), last.to_owned()))
    }

    fn rename(&mut self, folder: usize, renamed: Renamed) {
        apply(&mut self.nodes[folder].now, &renamed);
        self.nodes[folder].renamed.push(renamed);
    }

    fn add(&mut self, folder: usize, name: String, is_folder: bool) -> usize {
        self.nodes.push(Node { is_folder, ..Node::default() });
        let node = self.nodes.len() - 1;
        self.rename(folder, vec![(name, Some(node))]);
        node
    }

    fn opened(&mut self, path: &[u8], flags: i64) -> usize {
        let Some((folder, name)) = self.place(path) else { return 0 };
        let node = match self.nodes[folder].now.get(&name) {
            Some(node) => *node,
            None => self.add(folder, name, false),
        };
        if flags & TRUNCATES != 0 {
            self.nodes[node].since.push(Change::Cut(0));
        }
        node
    }

    fn synced(&mut self, node: usize) {
        let node = &mut self.nodes[node];
        for change in node.since.drain(..) {
            match change {
                Change::Write(at, bytes) => put(&mut node.kept, at, bytes, 0),
                Change::Cut(length) => node.kept.resize(length, 0),
            }
        }
        for renamed in node.renamed.drain(..) {
            apply(&mut node.names, &renamed);
        }
    }

    /// Does one operation more.
    pub fn does(&mut self, operation: &Operation<'l>) {
        let Operation {
            kind,
            descriptor,
            number,
            bytes,
            ..
        } = *operation;
        let at = || usize::try_from(number).expect("not negative");
        let known = |disk: &Self| disk.open.get(&descriptor).copied().expect("an open file");
        match kind {
            b'B' => self.open.clear(),
            b'O' => {
                let node = self.opened(bytes, number);
                let deaf = match self.deaf {
                    Deaf::No => false,
                    Deaf::ToTheLog => bytes.ends_with(b"-wal"),
                    Deaf::ToFolders => self.nodes[node].is_folder,
                };
                self.open.insert(descriptor, (node, deaf));
            }
            b'C' => drop(self.open.remove(&descriptor)),
            b'W' => {
                let (node, _) = known(self);
                self.nodes[node].since.push(Change::Write(at(), bytes));
            }
            b'T' => {
                let (node, _) = known(self);
                self.nodes[node].since.push(Change::Cut(at()));
            }
            b'S' => {
                if let (node, false) = known(self) {
                    self.synced(node);
                }
            }
            b'M' => {
                let (folder, name) = self.place(bytes).expect("a folder within");
                self.add(folder, name, true);
            }
            b'U' => {
                let (folder, name) = self.place(bytes).expect("a file within");
                self.rename(folder, vec![(name, None)]);
            }
            b'L' | b'R' => {
                let middle = bytes.iter().position(|byte| *byte == 0).expect("two names");
                self.moved(&bytes[..middle], &bytes[middle + 1..], kind == b'R');
            }
            _ => panic!("no operation is called {kind}"),
        }
    }

    fn moved(&mut self, from: &[u8], to: &[u8], leaves: bool) {
        let ((old, from), (new, to)) = (self.place(from).expect("a file"), self.place(to).expect("a file"));
        let node = self.nodes[old].now.get(&from).copied().expect("a file that is there");
        let (comes, goes) = ((to, Some(node)), (from, None));
        match (leaves, old == new) {
            (false, _) => self.rename(new, vec![comes]),
            // Within one folder a rename is one step, on every file system that is in use.
            (true, true) => self.rename(new, vec![goes, comes]),
            (true, false) => {
                self.rename(new, vec![comes]);
                self.rename(old, vec![goes]);
            }
        }
    }

    /// Every file as it is for whoever asks before the power fails.
    pub fn now(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let mut all = BTreeMap::new();
        self.gather(0, Path::new(""), &mut all);
        all
    }

    fn gather(&self, folder: usize, path: &Path, all: &mut BTreeMap<PathBuf, Vec<u8>>) {
        for (name, node) in &self.nodes[folder].now {
            let (path, node) = (path.join(name), *node);
            if self.nodes[node].is_folder {
                self.gather(node, &path, all);
                continue;
            }
            let mut bytes = self.nodes[node].kept.clone();
            for change in &self.nodes[node].since {
                match change {
                    Change::Write(at, written) => put(&mut bytes, *at, written, 0),
                    Change::Cut(length) => bytes.resize(*length, 0),
                }
            }
            all.insert(path, bytes);
        }
    }

    /// Writes to a folder what is there after the power failed now. `luck` is how much of what was not synced is there, in percent.
    pub fn fails(&self, to: &Path, luck: usize, rng: &mut Rng) {
        self.leave(0, to, luck, rng, &mut BTreeMap::new());
    }

    fn leave(&self, folder: usize, to: &Path, luck: usize, rng: &mut Rng, left: &mut BTreeMap<usize, Vec<u8>>) {
        fs::create_dir(to).expect("a folder");
        let mut names = self.nodes[folder].names.clone();
        // Some file systems keep the order of names, some do not.
        let in_order = rng.chance(50);
        for renamed in &self.nodes[folder].renamed {
            match (rng.chance(luck), in_order) {
                (true, _) => apply(&mut names, renamed),
                (false, true) => break,
                (false, false) => {}
            }
        }
        for (name, node) in names {
            let to = to.join(name);
            if self.nodes[node].is_folder {
                self.leave(node, &to, luck, rng, left);
            } else {
                let bytes = left.entry(node).or_insert_with(|| self.nodes[node].left(luck, rng));
                fs::write(to, bytes).expect("a file");
            }
        }
    }
}

impl Node<'_> {
    fn left(&self, luck: usize, rng: &mut Rng) -> Vec<u8> {
        let mut bytes = self.kept.clone();
        // Where a file grew and its bytes did not come, there is nothing, or what the disk held there before.
        let filler = if rng.chance(50) { 0 } else { 0xa5 };
        for change in &self.since {
            match change {
                Change::Cut(length) if rng.chance(luck) => bytes.resize(*length, filler),
                Change::Cut(_) => {}
                Change::Write(at, written) => {
                    for (at, part) in sectors(*at, written) {
                        if rng.chance(luck) {
                            put(&mut bytes, at, part, filler);
                        } else if rng.chance(luck / 2) {
                            grown(&mut bytes, at + part.len(), filler);
                        }
                    }
                }
            }
        }
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_write_is_cut_at_sectors() {
        let bytes: Vec<u8> = (0..1200u32).map(|n| n as u8).collect();
        let parts: Vec<(usize, usize)> = sectors(500, &bytes).map(|(at, part)| (at, part.len())).collect();
        assert_eq!(parts, [(500, 12), (512, 512), (1024, 512), (1536, 164)]);
    }
}
