//! Lines in which agencies, or senders, wait for their turn at what takes long: the work of one keeps nobody waiting for anything but work
//! of the kind, and leaves room for the others'.

use std::{
    collections::HashMap,
    hash::Hash,
    sync::{Arc, Mutex},
};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use super::{error::Fault, ids::AgencyId};

/// A place in the line, until it is dropped.
pub type Place = [OwnedSemaphorePermit; 2];

/// Who is at it: so many for an agency, or whoever else `K` names, at a time, and so many in all.
#[derive(Debug)]
pub struct Turns<K = AgencyId> {
    all: Arc<Semaphore>,
    each: usize,
    of: Mutex<HashMap<K, Arc<Semaphore>>>,
}

impl<K: Eq + Hash> Turns<K> {
    /// A line of so many in all, and so many for each.
    pub fn new(all: usize, each: usize) -> Self {
        Self {
            all: Arc::new(Semaphore::new(all.min(Semaphore::MAX_PERMITS))),
            each,
            of: Mutex::default(),
        }
    }

    /// One for each, and no more than the machine has processors: for what keeps one busy for seconds.
    pub fn of_processors() -> Self {
        Self::new(std::thread::available_parallelism().map_or(1, std::num::NonZero::get), 1)
    }

    /// Waits for a place.
    pub async fn take(&self, key: K) -> Result<Place, Fault> {
        let own = {
            let mut of = self.of.lock().map_err(|_| anyhow::anyhow!("a line is poisoned"))?;
            Arc::clone(of.entry(key).or_insert_with(|| Arc::new(Semaphore::new(self.each))))
        };
        let closed = |error| anyhow::anyhow!("a place in the line was taken away: {error}");
        Ok([
            own.acquire_owned().await.map_err(closed)?,
            Arc::clone(&self.all).acquire_owned().await.map_err(closed)?,
        ])
    }
}
