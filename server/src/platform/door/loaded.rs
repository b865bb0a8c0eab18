//! A row as the writer holds it: with its record, once somebody has read it.

use std::{any::Any, ops::Deref, sync::OnceLock};

use crate::platform::{
    error::Fault,
    record::{Record, Row},
};

/// A row, and the record that its body says.
pub(super) struct Loaded {
    row: Row,
    /// Read from the body at the first asking: one row is judged by many commands.
    record: OnceLock<Box<dyn Any + Send + Sync>>,
}

impl Loaded {
    /// The row itself.
    pub(super) fn row(&self) -> &Row {
        &self.row
    }

    /// The record.
    pub(super) fn read<R: Record>(&self) -> Result<R, Fault> {
        if let Some(known) = self.record.get().and_then(|record| record.downcast_ref::<R>()) {
            return Ok(known.clone());
        }
        let record: R = self.row.read()?;
        // Another type that reads the same kind keeps its place; this one is then read anew each time.
        let _ = self.record.set(Box::new(record.clone()));
        Ok(record)
    }
}

impl From<Row> for Loaded {
    fn from(row: Row) -> Self {
        Self { row, record: OnceLock::new() }
    }
}

impl Deref for Loaded {
    type Target = Row;

    fn deref(&self) -> &Row {
        &self.row
    }
}

impl std::fmt::Debug for Loaded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.row.fmt(f)
    }
}
