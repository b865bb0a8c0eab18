//! The latest revision of an agency, read from the database for many askers at once. Whoever asks is answered by a read that
//! began after the question, so that nobody is told less than what was acknowledged before; while one read is under way, all
//! who ask meanwhile wait for the next one together.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use diesel::prelude::*;
use tokio::sync::oneshot;

use super::Shared;
use crate::{
    on,
    platform::{
        db::{schema::agency, types::Uid},
        error::Fault,
        ids::AgencyId,
    },
};

/// What one asker is told: none where the read failed.
type Asker = oneshot::Sender<Option<i64>>;

/// Those who wait for the next read, by agency. An agency stands here while a read is under way.
#[derive(Debug, Default)]
pub struct Heads(Mutex<HashMap<AgencyId, Vec<Asker>>>);

impl Heads {
    fn lock(&self) -> MutexGuard<'_, HashMap<AgencyId, Vec<Asker>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Joins those who wait; answers whether the asker must have the reading begun.
    fn join(&self, agency: AgencyId, asker: Asker) -> bool {
        let mut waiting = self.lock();
        let begins = !waiting.contains_key(&agency);
        waiting.entry(agency).or_default().push(asker);
        begins
    }

    /// Those whom the next read answers; none, and the reading ends.
    fn next(&self, agency: AgencyId) -> Vec<Asker> {
        let mut waiting = self.lock();
        let askers = waiting.get_mut(&agency).map(std::mem::take).unwrap_or_default();
        if askers.is_empty() {
            waiting.remove(&agency);
        }
        askers
    }
}

impl Shared {
    /// The agency's latest revision: known without a look where this process is the only writer, else read.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn revision(self: &Arc<Self>, agency: AgencyId) -> Result<i64, Fault> {
        if let Some(known) = self.door.revision(agency) {
            return Ok(known);
        }
        let (asker, told) = oneshot::channel();
        if self.heads.join(agency, asker) {
            let shared = Arc::clone(self);
            tokio::spawn(async move { shared.read_heads(agency).await });
        }
        let read = told.await.ok().flatten();
        read.ok_or_else(|| anyhow::anyhow!("the agency's revision could not be read").into())
    }

    async fn read_heads(self: &Arc<Self>, agency: AgencyId) {
        loop {
            let askers = self.heads.next(agency);
            if askers.is_empty() {
                return;
            }
            let read = self
                .read(move |db| Ok(on!(db, conn => agency::table.find(Uid::from(agency)).select(agency::rev).first(conn))?))
                .await;
            if let Err(fault) = &read {
                tracing::warn!(%agency, %fault, cause = ?fault.cause, "an agency's revision could not be read");
            }
            for asker in askers {
                let _ = asker.send(read.as_ref().ok().copied());
            }
        }
    }
}
