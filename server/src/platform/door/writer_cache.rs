//! What the writer keeps in memory between transactions.

use std::{
    any::{Any, TypeId},
    borrow::Cow,
    collections::HashMap,
};

use crate::platform::ids::AgencyId;

/// What a slice keeps parsed between commands, by type. It is forgotten whenever a transaction is undone; whether it is
/// still true is the slice's to check, because another process may have written since.
#[derive(Default)]
pub(super) struct WriterCache {
    pub(super) parsed: HashMap<(AgencyId, TypeId), Box<dyn Any + Send>>,
    pub(super) lately: HashMap<AgencyId, Lately>,
}

/// What this writer knows of the changes to an agency since a revision from which on nobody else has written.
#[derive(Debug, Default)]
pub(super) struct Lately {
    pub(super) from: i64,
    /// The agency's revision after the last transaction.
    at: i64,
    /// By record kind, the last revision that changed one.
    pub(super) kinds: HashMap<Cow<'static, str>, i64>,
}

impl WriterCache {
    pub(super) fn forget(&mut self) {
        self.parsed.clear();
        self.lately.clear();
    }

    /// A transaction has found the agency at a revision. Answers whether what was known of it still holds: nobody else has
    /// written since.
    pub(super) fn begins(&mut self, agency: AgencyId, rev: i64) -> bool {
        let lately = self.lately.entry(agency).or_default();
        let holds = lately.at == rev && lately.from != 0;
        if !holds {
            *lately = Lately {
                from: rev,
                at: rev,
                kinds: HashMap::new(),
            };
        }
        holds
    }

    /// A transaction has left the agency at a revision.
    pub(super) fn ends(&mut self, agency: AgencyId, rev: i64) {
        if let Some(lately) = self.lately.get_mut(&agency) {
            lately.at = rev;
        }
    }
}
