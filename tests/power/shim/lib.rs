//! Loaded by `LD_PRELOAD`: writes down, in order, what a process does to the files of one folder, so that a test can work out what a disk
//! would hold if the power had failed at any moment. The only unsafe code of this repository.
//!
//! | variable | says |
//! | --- | --- |
//! | `POWER_FOLDER` | whose files |
//! | `POWER_LOG` | the file, elsewhere, that it is written to |
//! | `POWER_DIES_AT` | the process kills itself when it has written so much down |
//!
//! One operation at a time is done and written down, under one lock, so that the log has the order of the disk. Nothing is synced in
//! earnest: that it was asked for is what counts. What is mapped into memory is not seen: SQLite maps its `-shm` alone, which holds nothing
//! that lasts.
//!
//! A line of the log: kind, descriptor, number, length of the bytes, all little-endian in 1, 4, 8 and 4 bytes, then the bytes.

use std::{
    ffi::{CStr, CString, OsString},
    mem::transmute,
    os::unix::ffi::OsStringExt as _,
    sync::{
        Mutex, MutexGuard, OnceLock, PoisonError,
        atomic::{AtomicBool, AtomicUsize, Ordering},
    },
};

use libc::{c_char, c_int, c_void, iovec, mode_t, off_t, size_t, ssize_t};

/// Descriptors that can be followed.
const MOST: usize = 1 << 16;

static FOLLOWED: [AtomicBool; MOST] = [const { AtomicBool::new(false) }; MOST];
static LOG: OnceLock<Option<Log>> = OnceLock::new();

struct Log {
    folder: Vec<u8>,
    file: c_int,
    dies_at: u64,
    written: Mutex<u64>,
}

/// The function that this one stands before.
macro_rules! real {
    ($name:ident($($argument:ty),*) -> $answer:ty) => {{
        static AT: AtomicUsize = AtomicUsize::new(0);
        let mut at = AT.load(Ordering::Relaxed);
        if at == 0 {
            // SAFETY: the name is a C string.
            at = unsafe { libc::dlsym(libc::RTLD_NEXT, concat!(stringify!($name), "\0").as_ptr().cast()) } as usize;
            assert!(at != 0, "the C library has no {}", stringify!($name));
            AT.store(at, Ordering::Relaxed);
        }
        // SAFETY: the C library's function of this name has this signature.
        unsafe { transmute::<usize, unsafe extern "C" fn($($argument),*) -> $answer>(at) }
    }};
}

fn variable(name: &str) -> Option<Vec<u8>> {
    std::env::var_os(name).map(OsString::into_vec)
}

fn log() -> Option<&'static Log> {
    let open = || {
        let (folder, file) = (variable("POWER_FOLDER")?, CString::new(variable("POWER_LOG")?).ok()?);
        let dies_at = variable("POWER_DIES_AT").and_then(|text| String::from_utf8(text).ok()?.parse().ok());
        let open = real!(open64(*const c_char, c_int, mode_t) -> c_int);
        let flags = libc::O_WRONLY | libc::O_APPEND | libc::O_CREAT | libc::O_CLOEXEC;
        // SAFETY: a C string, and the flags and mode that open takes.
        let file = unsafe { open(file.as_ptr(), flags, 0o600) };
        let log = Log {
            folder,
            file,
            dies_at: dies_at.unwrap_or(u64::MAX),
            written: Mutex::new(0),
        };
        (file >= 0).then_some(log)
    };
    LOG.get_or_init(|| {
        let log = open()?;
        let mut written = log.written.lock().unwrap_or_else(PoisonError::into_inner);
        log.write(&mut written, b'B', 0, 0, &[]);
        drop(written);
        Some(log)
    })
    .as_ref()
}

impl Log {
    fn lock(&self) -> MutexGuard<'_, u64> {
        self.written.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn holds(&self, path: &[u8]) -> bool {
        let within = path.strip_prefix(self.folder.as_slice());
        within.is_some_and(|rest| rest.is_empty() || rest.starts_with(b"/")) && !path.ends_with(b"-shm")
    }

    /// Writes an operation down that was done.
    fn write(&self, written: &mut u64, kind: u8, descriptor: c_int, number: i64, bytes: &[u8]) {
        let mut line = Vec::with_capacity(17 + bytes.len());
        line.push(kind);
        line.extend(descriptor.to_le_bytes());
        line.extend(number.to_le_bytes());
        line.extend(u32::try_from(bytes.len()).unwrap_or(u32::MAX).to_le_bytes());
        line.extend(bytes);
        let real = real!(write(c_int, *const c_void, size_t) -> ssize_t);
        let mut rest = line.as_slice();
        while !rest.is_empty() {
            // SAFETY: the bytes are there.
            let done = unsafe { real(self.file, rest.as_ptr().cast(), rest.len()) };
            let Ok(done) = usize::try_from(done) else { dies() };
            rest = &rest[done..];
        }
        *written += u64::try_from(line.len()).unwrap_or_default();
        if *written >= self.dies_at {
            dies();
        }
    }
}

/// Ends the process as a killer would.
fn dies() -> ! {
    // SAFETY: a signal to itself.
    unsafe { libc::kill(libc::getpid(), libc::SIGKILL) };
    loop {
        std::thread::park();
    }
}

fn place(descriptor: c_int) -> Option<&'static AtomicBool> {
    FOLLOWED.get(usize::try_from(descriptor).ok()?)
}

/// The log, where this descriptor is followed.
fn follows(descriptor: c_int) -> Option<&'static Log> {
    place(descriptor)?.load(Ordering::Acquire).then(log)?
}

fn text<'a>(path: *const c_char) -> &'a [u8] {
    // SAFETY: whoever calls the C library gives a C string.
    unsafe { CStr::from_ptr(path) }.to_bytes()
}

/// Does something to the names of a folder and writes it down.
fn renames(kind: u8, paths: &[*const c_char], done: impl FnOnce() -> c_int) -> c_int {
    let paths: Vec<&[u8]> = paths.iter().map(|path| text(*path)).collect();
    match log().filter(|log| paths.iter().any(|path| log.holds(path))) {
        None => done(),
        Some(log) => {
            let mut written = log.lock();
            let answer = done();
            if answer == 0 {
                log.write(&mut written, kind, 0, 0, &paths.join(&0));
            }
            answer
        }
    }
}

fn opens(path: *const c_char, flags: c_int, done: impl FnOnce() -> c_int) -> c_int {
    let path = text(path);
    let Some(log) = log().filter(|log| log.holds(path)) else {
        let answer = done();
        if let Some(place) = place(answer) {
            place.store(false, Ordering::Release);
        }
        return answer;
    };
    let mut written = log.lock();
    let answer = done();
    if let Some(place) = place(answer) {
        log.write(&mut written, b'O', answer, flags.into(), path);
        place.store(true, Ordering::Release);
    }
    answer
}

/// Writes and writes it down, at a place or where the file stands.
fn writes(descriptor: c_int, at: Option<off_t>, bytes: impl FnOnce() -> Vec<u8>, done: impl FnOnce() -> ssize_t) -> ssize_t {
    let Some(log) = follows(descriptor) else { return done() };
    let mut written = log.lock();
    let answer = done();
    if let Ok(count) = usize::try_from(answer) {
        // SAFETY: where the file stands changes nothing.
        let at = at.unwrap_or_else(|| unsafe { libc::lseek(descriptor, 0, libc::SEEK_CUR) } - i64::try_from(count).unwrap_or_default());
        let bytes = bytes();
        log.write(&mut written, b'W', descriptor, at, &bytes[..count]);
    }
    answer
}

fn cuts(descriptor: c_int, length: off_t, done: impl FnOnce() -> c_int) -> c_int {
    let Some(log) = follows(descriptor) else { return done() };
    let mut written = log.lock();
    let answer = done();
    if answer == 0 {
        log.write(&mut written, b'T', descriptor, length, &[]);
    }
    answer
}

fn syncs(descriptor: c_int, done: impl FnOnce() -> c_int) -> c_int {
    let Some(log) = follows(descriptor) else { return done() };
    log.write(&mut log.lock(), b'S', descriptor, 0, &[]);
    0
}

fn joined(parts: *const iovec, count: c_int) -> Vec<u8> {
    // SAFETY: whoever calls the C library gives so many parts, each of so many bytes.
    let parts = unsafe { std::slice::from_raw_parts(parts, usize::try_from(count).unwrap_or_default()) };
    parts
        .iter()
        // SAFETY: as above.
        .flat_map(|part| unsafe { std::slice::from_raw_parts(part.iov_base.cast::<u8>(), part.iov_len) })
        .copied()
        .collect()
}

fn copied(bytes: *const c_void, count: size_t) -> Vec<u8> {
    // SAFETY: whoever calls the C library gives so many bytes.
    unsafe { std::slice::from_raw_parts(bytes.cast::<u8>(), count) }.to_vec()
}

/// A function of the C library under its own name.
macro_rules! stands_before {
    ($($name:ident($($argument:ident: $kind:ty),*) -> $answer:ty = |$real:ident| $do:expr;)*) => {$(
        /// As the C library's.
        ///
        /// # Safety
        /// As the C library's.
        #[unsafe(no_mangle)]
        pub unsafe extern "C" fn $name($($argument: $kind),*) -> $answer {
            let before = real!($name($($kind),*) -> $answer);
            // SAFETY: what came in is handed on as it is.
            let $real = || unsafe { before($($argument),*) };
            $do
        }
    )*};
}

stands_before! {
    open(path: *const c_char, flags: c_int, mode: mode_t) -> c_int = |real| opens(path, flags, real);
    open64(path: *const c_char, flags: c_int, mode: mode_t) -> c_int = |real| opens(path, flags, real);
    creat(path: *const c_char, mode: mode_t) -> c_int = |real| opens(path, libc::O_CREAT | libc::O_WRONLY | libc::O_TRUNC, real);
    write(file: c_int, bytes: *const c_void, count: size_t) -> ssize_t = |real| writes(file, None, || copied(bytes, count), real);
    pwrite(file: c_int, bytes: *const c_void, count: size_t, at: off_t) -> ssize_t = |real| writes(file, Some(at), || copied(bytes, count), real);
    pwrite64(file: c_int, bytes: *const c_void, count: size_t, at: off_t) -> ssize_t = |real| writes(file, Some(at), || copied(bytes, count), real);
    writev(file: c_int, parts: *const iovec, count: c_int) -> ssize_t = |real| writes(file, None, || joined(parts, count), real);
    pwritev(file: c_int, parts: *const iovec, count: c_int, at: off_t) -> ssize_t = |real| writes(file, Some(at), || joined(parts, count), real);
    pwritev64(file: c_int, parts: *const iovec, count: c_int, at: off_t) -> ssize_t = |real| writes(file, Some(at), || joined(parts, count), real);
    ftruncate(file: c_int, length: off_t) -> c_int = |real| cuts(file, length, real);
    ftruncate64(file: c_int, length: off_t) -> c_int = |real| cuts(file, length, real);
    fsync(file: c_int) -> c_int = |real| syncs(file, real);
    fdatasync(file: c_int) -> c_int = |real| syncs(file, real);
    rename(from: *const c_char, to: *const c_char) -> c_int = |real| renames(b'R', &[from, to], real);
    link(from: *const c_char, to: *const c_char) -> c_int = |real| renames(b'L', &[from, to], real);
    linkat(of: c_int, from: *const c_char, at: c_int, to: *const c_char, flags: c_int) -> c_int = |real| renames(b'L', &[from, to], real);
    unlink(path: *const c_char) -> c_int = |real| renames(b'U', &[path], real);
    mkdir(path: *const c_char, mode: mode_t) -> c_int = |real| renames(b'M', &[path], real);
    rmdir(path: *const c_char) -> c_int = |real| renames(b'U', &[path], real);
    close(file: c_int) -> c_int = |real| closes(file, real);
}

fn closes(descriptor: c_int, done: impl FnOnce() -> c_int) -> c_int {
    let Some(log) = follows(descriptor) else { return done() };
    let mut written = log.lock();
    log.write(&mut written, b'C', descriptor, 0, &[]);
    if let Some(place) = place(descriptor) {
        place.store(false, Ordering::Release);
    }
    done()
}
