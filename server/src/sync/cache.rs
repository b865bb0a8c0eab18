//! The pages of the feed that were read at an agency's latest revision. A page is true for as long as nothing is written, so
//! that many phones that ask the same cost one read, and a phone that finds nothing new costs none.

use std::{
    collections::HashMap,
    sync::{PoisonError, RwLock},
};

use actix_web::web::Bytes;

use crate::platform::ids::AgencyId;

/// What was asked.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Key {
    /// Id of the agency.
    pub agency: AgencyId,
    /// The scope in its one spelling.
    pub scope: String,
    /// The token.
    pub since: Option<String>,
    /// The most changes.
    pub limit: i64,
}

/// A page as it is answered.
#[derive(Debug, Clone)]
pub struct CachedPage {
    /// The agency's revision when it was read.
    pub revision: i64,
    /// Whether nothing has changed.
    pub is_empty: bool,
    /// Its JSON.
    pub body: Bytes,
}

/// The most that is kept for one agency, in bytes.
const MOST: usize = 8 << 20;

/// Pages by what was asked.
#[derive(Debug, Default)]
pub struct Cache(RwLock<HashMap<AgencyId, AgencyPages>>);

#[derive(Debug, Default)]
struct AgencyPages {
    revision: i64,
    bytes: usize,
    pages: HashMap<Key, CachedPage>,
}

impl Cache {
    /// The page, when it was read at this revision.
    pub fn find(&self, key: &Key, revision: i64) -> Option<CachedPage> {
        let kept = self.0.read().unwrap_or_else(PoisonError::into_inner);
        kept.get(&key.agency).filter(|kept| kept.revision == revision)?.pages.get(key).cloned()
    }

    /// Keeps a page that was read at a revision.
    pub fn keep(&self, key: Key, page: CachedPage) {
        let revision = page.revision;
        let mut all = self.0.write().unwrap_or_else(PoisonError::into_inner);
        let kept = all.entry(key.agency).or_default();
        let cost = page.body.len() + 512;
        if kept.revision > revision || cost > MOST {
            return;
        }
        if kept.revision < revision || kept.bytes + cost > MOST {
            *kept = AgencyPages {
                revision,
                ..AgencyPages::default()
            };
        }
        kept.bytes += cost;
        kept.pages.insert(key, page);
    }
}
