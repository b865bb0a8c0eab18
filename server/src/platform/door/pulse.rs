//! Whether the writer is alive and how it fares: read by `/readyz`, beaten by the writer.

use std::{
    any::Any,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{
        Arc,
        atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};

use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::{
    error::Fault,
    histogram::{Counts, Histogram},
};

/// A group of commands takes milliseconds; a writer that is at one for longer than this stands still.
const LONGEST_GROUP: Duration = Duration::from_secs(20);

/// How the writer of this process fares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Pulse {
    /// Whether it takes commands: its thread lives and has not been at one group for longer than 20 seconds.
    pub alive: bool,
    /// Jobs that wait for it now.
    pub waiting: usize,
    /// For how many milliseconds it has been at the present group; 0 while it rests.
    pub busy_ms: u64,
    /// Commands that failed through a fault of the service since its start; each was refused alone.
    pub failed: u64,
}

/// What the writer and its door share.
#[derive(Debug)]
pub(super) struct Beat {
    start: Instant,
    /// Milliseconds after `start` at which the present group was begun, plus one; 0 while the writer rests.
    since: AtomicU64,
    waiting: AtomicUsize,
    failed: AtomicU64,
    ended: AtomicBool,
    groups: Histogram<8>,
}

/// Bounds of how many commands were in a group.
const GROUPS: [u64; 8] = [0, 1, 2, 5, 10, 50, 200, 500];

impl Default for Beat {
    fn default() -> Self {
        Self {
            start: Instant::now(),
            since: AtomicU64::new(0),
            waiting: AtomicUsize::new(0),
            failed: AtomicU64::new(0),
            ended: AtomicBool::new(false),
            groups: Histogram::new(&GROUPS),
        }
    }
}

impl Beat {
    fn now(&self) -> u64 {
        u64::try_from(self.start.elapsed().as_millis()).unwrap_or(u64::MAX).saturating_add(1)
    }

    pub(super) fn queued(&self) {
        self.waiting.fetch_add(1, Ordering::Relaxed);
    }

    pub(super) fn taken(&self, jobs: usize) {
        self.waiting.fetch_sub(jobs, Ordering::Relaxed);
    }

    pub(super) fn begins(&self, commands: usize) {
        self.groups.add(u64::try_from(commands).unwrap_or(u64::MAX));
        self.since.store(self.now(), Ordering::Relaxed);
    }

    pub(super) fn rests(&self) {
        self.since.store(0, Ordering::Relaxed);
    }

    pub(super) fn failed(&self) {
        self.failed.fetch_add(1, Ordering::Relaxed);
    }

    pub(super) fn groups(&self) -> Counts {
        self.groups.read()
    }

    pub(super) fn read(&self) -> Pulse {
        let busy_ms = match self.since.load(Ordering::Relaxed) {
            0 => 0,
            since => self.now().saturating_sub(since),
        };
        let stands_still = u128::from(busy_ms) > LONGEST_GROUP.as_millis();
        Pulse {
            alive: !stands_still && !self.ended.load(Ordering::Relaxed),
            waiting: self.waiting.load(Ordering::Relaxed),
            busy_ms,
            failed: self.failed.load(Ordering::Relaxed),
        }
    }
}

/// Says that the writer's thread has ended, however it ends.
pub(super) struct LastBeat(pub(super) Arc<Beat>);

impl Drop for LastBeat {
    fn drop(&mut self) {
        self.0.ended.store(true, Ordering::Relaxed);
    }
}

/// Runs work in which a panic is a failure like any other. What the work had in hand must be thrown away then.
pub(super) fn survive<T>(work: impl FnOnce() -> Result<T, Fault>) -> Result<T, Fault> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| Err(panicked(panic.as_ref()).into()))
}

/// A panic's words.
fn panicked(panic: &(dyn Any + Send)) -> anyhow::Error {
    let words = panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str));
    anyhow::anyhow!("panicked: {}", words.unwrap_or("without words"))
}
