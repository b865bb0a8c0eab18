//! What changes its place with another record. Each carries a new revision, so that feeds tell it anew.

use std::{borrow::Cow, sync::Arc};

use uuid::Uuid;

use super::{Write, loaded::Loaded, unit_of_work::By};
use crate::platform::{
    db::types::Doc,
    error::Fault,
    record::{self, Of, Row, Scope},
};

impl Write<'_> {
    /// Carries everything that belongs to a rig or a station along: the rig came to another station, or the station to another
    /// district. `to`: where it is now.
    pub fn rescope(&mut self, of: Of, to: Scope) -> Result<(), Fault> {
        let agency = self.agency;
        let rows = record::of_scope(self.reading()?, agency, of)?
            .into_iter()
            .map(|row| Arc::new(Loaded::from(row)))
            .collect();
        self.give(rows, |scope| scope.carried(of, to))
    }

    /// Gives what follows a record the record's new scope.
    pub(super) fn take_along(&mut self, parent: Uuid, scope: Scope) -> Result<(), Fault> {
        for (kind, state) in self.followers {
            let found = record::of_parent(self.db, self.agency, kind, parent)?;
            let mut rows = self.held.matching(self.agency, kind, found, By::Parent(parent));
            rows.retain(|row| row.state == *state);
            self.give(rows, |_| scope)?;
        }
        Ok(())
    }

    fn give(&mut self, rows: Vec<Arc<Loaded>>, scope: impl Fn(Scope) -> Scope) -> Result<(), Fault> {
        for before in rows {
            let new = scope(before.scope());
            if new == before.scope() {
                continue;
            }
            let mut body: serde_json::Value = serde_json::from_str(&before.body.0)?;
            if let Some(fields) = body.as_object_mut() {
                fields.insert("rev".into(), self.rev.into());
            }
            let mut row = Row {
                rev: self.rev,
                body: Doc(body.to_string()),
                ..before.row().clone()
            };
            row.put_in(new);
            self.put(Cow::Owned(before.kind.clone()), Some(before), row)?;
        }
        Ok(())
    }
}
