//! The pages of the feed that were read at an agency's latest revision. A page is true for as long as nothing is written, so
//! that many phones that ask the same cost one read, and a phone that finds nothing new costs none.

use actix_web::web::Bytes;
use moka::policy::EvictionPolicy;

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

/// The most that is kept for all agencies, in bytes.
const MOST: u64 = 16 << 20;
/// What a page takes besides its JSON, in bytes: about its key and its places in the tables.
const ASIDE: usize = 512;

/// Pages by what was asked. The one that was asked for least lately goes first, and with it those that something written has made untrue.
#[derive(Debug)]
pub struct Cache(moka::sync::Cache<Key, CachedPage>);

impl Default for Cache {
    fn default() -> Self {
        Self(
            moka::sync::Cache::builder()
                .max_capacity(MOST)
                .weigher(|_, page: &CachedPage| u32::try_from(page.body.len() + ASIDE).unwrap_or(u32::MAX))
                .eviction_policy(EvictionPolicy::lru())
                .build(),
        )
    }
}

impl Cache {
    /// The page, when it was read at this revision.
    pub fn find(&self, key: &Key, revision: i64) -> Option<CachedPage> {
        self.0.get(key).filter(|page| page.revision == revision)
    }

    /// Keeps a page that was read at a revision, in the place of an earlier one.
    pub fn keep(&self, key: Key, page: CachedPage) {
        self.0.insert(key, page);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(agency: u128, limit: i64) -> Key {
        Key {
            agency: AgencyId(uuid::Uuid::from_u128(agency)),
            scope: "all".into(),
            since: None,
            limit,
        }
    }

    fn page(revision: i64, bytes: usize) -> CachedPage {
        CachedPage {
            revision,
            is_empty: false,
            body: Bytes::from(vec![b' '; bytes]),
        }
    }

    #[test]
    fn a_page_is_found_at_its_revision_alone() {
        let cache = Cache::default();
        cache.keep(key(1, 10), page(7, 20));
        assert!(cache.find(&key(1, 10), 7).is_some());
        assert!(cache.find(&key(1, 10), 8).is_none());
        assert!(cache.find(&key(2, 10), 7).is_none());
        cache.keep(key(1, 10), page(8, 20));
        assert!(cache.find(&key(1, 10), 8).is_some());
    }

    #[test]
    fn many_agencies_together_keep_no_more_than_the_most() {
        let cache = Cache::default();
        for agency in 0..100 {
            cache.keep(key(agency, 10), page(1, 1 << 20));
        }
        cache.0.run_pending_tasks();
        assert!(cache.0.weighted_size() <= MOST, "{}", cache.0.weighted_size());
        assert!(cache.find(&key(99, 10), 1).is_some(), "the latest is there");
        assert!(cache.find(&key(0, 10), 1).is_none(), "the earliest has gone");
    }
}
