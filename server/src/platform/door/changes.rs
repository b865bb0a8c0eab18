//! What a command has changed, for what watches commands.

use std::any::Any;

use uuid::Uuid;

use super::{Stored, Write, write::stored};
use crate::platform::{error::Fault, record::Record};

/// A record that the command has changed.
#[derive(Debug, Clone)]
pub struct Change<R> {
    /// As it was before; none where there was none.
    pub before: Option<Stored<R>>,
    /// As the command leaves it; none where it is gone.
    pub after: Option<Stored<R>>,
}

impl Write<'_> {
    /// Whether the command has changed a record of one of these kinds so that its state is another, it is new or gone, or belongs
    /// elsewhere. Looks at nothing but what is in memory, unless the record had to be written meanwhile.
    pub fn turned<R: Record>(&mut self) -> Result<Vec<Uuid>, Fault> {
        let mut turned = Vec::new();
        for n in 0..self.touched.len() {
            let Some(touched) = self.touched.get(n).filter(|touched| touched.kind == R::KIND) else {
                continue;
            };
            let id = touched.id;
            let before = self.before.get(n).cloned().flatten().filter(|row| !row.gone);
            let after = self.row::<R>(id)?.filter(|row| !row.gone);
            let same = match (&before, &after) {
                (Some(before), Some(after)) => before.state == after.state && before.scope() == after.scope(),
                (None, None) => true,
                _ => false,
            };
            if !same {
                turned.push(id);
            }
        }
        Ok(turned)
    }

    /// A record before and after the command, which may not have changed it.
    pub fn change_of<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<Change<R>, Fault> {
        let id = id.into();
        let after = self.look::<R>(id)?;
        let touched = self.touched.iter().position(|touched| touched.kind == R::KIND && touched.id == id);
        let before = match touched {
            None => after.clone(),
            Some(n) => match self.before.get(n).and_then(Option::as_ref) {
                Some(row) if !row.gone => Some(stored(row)?),
                _ => None,
            },
        };
        Ok(Change { before, after })
    }

    /// The records of a kind that the command has touched, by id.
    pub fn touched_of<R: Record>(&self) -> Vec<Uuid> {
        let of_kind = self.touched.iter().filter(|touched| touched.kind == R::KIND);
        of_kind.map(|touched| touched.id).collect()
    }

    /// What the service was told of how it runs, where it was told.
    pub fn provided<T: Any>(&self) -> Option<&T> {
        self.provided.get(&std::any::TypeId::of::<T>()).and_then(|value| value.downcast_ref())
    }
}
