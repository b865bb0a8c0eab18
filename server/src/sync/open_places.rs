//! How many questions of one asker may be open at once.

use std::{
    collections::{HashMap, hash_map::Entry},
    sync::{Arc, Mutex, PoisonError},
};

use uuid::Uuid;

/// Places for open questions: so many for each asker.
#[derive(Debug, Clone)]
pub struct OpenPlaces {
    each: Arc<Mutex<HashMap<Uuid, usize>>>,
    most: usize,
}

/// The place of one open question; given back when it is dropped.
#[derive(Debug)]
pub struct OpenPlace {
    places: OpenPlaces,
    asker: Uuid,
}

impl OpenPlaces {
    /// So many for each.
    pub fn new(most: usize) -> Self {
        Self { each: Arc::default(), most }
    }

    /// A place for one more, unless the asker has as many open as it may.
    pub fn take(&self, asker: Uuid) -> Option<OpenPlace> {
        let mut open = self.each.lock().unwrap_or_else(PoisonError::into_inner);
        let own = open.entry(asker).or_default();
        if *own >= self.most {
            return None;
        }
        *own += 1;
        Some(OpenPlace { places: self.clone(), asker })
    }
}

impl Drop for OpenPlace {
    fn drop(&mut self) {
        let mut open = self.places.each.lock().unwrap_or_else(PoisonError::into_inner);
        if let Entry::Occupied(mut own) = open.entry(self.asker) {
            *own.get_mut() = own.get().saturating_sub(1);
            if *own.get() == 0 {
                own.remove();
            }
        }
    }
}
