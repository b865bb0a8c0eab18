//! The line in which searches wait: what may take seconds of a processor keeps nobody waiting for anything but a search.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex},
};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::platform::{error::Fault, ids::AgencyId};

/// A place in the line, until it is dropped.
pub type Place = [OwnedSemaphorePermit; 2];

/// Who may search: one search for an agency at a time, and no more than the machine has processors.
#[derive(Debug)]
pub struct Searches {
    all: Arc<Semaphore>,
    of: Mutex<HashMap<AgencyId, Arc<Semaphore>>>,
}

impl Default for Searches {
    fn default() -> Self {
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        Self {
            all: Arc::new(Semaphore::new(processors)),
            of: Mutex::default(),
        }
    }
}

impl Searches {
    /// Waits for a place.
    pub async fn take(&self, agency: AgencyId) -> Result<Place, Fault> {
        let own = {
            let mut of = self.of.lock().map_err(|_| anyhow::anyhow!("the line of searches is poisoned"))?;
            Arc::clone(of.entry(agency).or_insert_with(|| Arc::new(Semaphore::new(1))))
        };
        let closed = |error| anyhow::anyhow!("a place in the line was taken away: {error}");
        Ok([
            own.acquire_owned().await.map_err(closed)?,
            Arc::clone(&self.all).acquire_owned().await.map_err(closed)?,
        ])
    }
}
