//! The only source of time. Everything else is given an instant.

use std::sync::{
    Arc,
    atomic::{AtomicI64, Ordering},
};

use chrono::{DateTime, Utc};

/// A clock that is either the machine's, or one that a test or the demo story moves by hand.
#[derive(Debug, Clone, Default)]
pub struct Clock(Option<Arc<AtomicI64>>);

impl Clock {
    /// The machine's clock.
    pub fn system() -> Self {
        Self(None)
    }

    /// A clock that stands at `at` until [`Clock::set`] moves it.
    pub fn manual(at: DateTime<Utc>) -> Self {
        Self(Some(Arc::new(AtomicI64::new(at.timestamp_micros()))))
    }

    /// Whether it is moved by hand.
    pub fn is_by_hand(&self) -> bool {
        self.0.is_some()
    }

    /// Moves a manual clock; the machine's clock cannot be moved and stays as it is.
    pub fn set(&self, at: DateTime<Utc>) {
        if let Some(micros) = &self.0 {
            micros.store(at.timestamp_micros(), Ordering::SeqCst);
        }
    }

    /// Now, cut to microseconds: the finest that PostgreSQL keeps.
    pub fn now(&self) -> DateTime<Utc> {
        let micros = self.0.as_ref().map(|micros| micros.load(Ordering::SeqCst)).filter(|micros| *micros != i64::MIN);
        let micros = micros.unwrap_or_else(system_micros);
        DateTime::from_timestamp_micros(micros).unwrap_or(DateTime::UNIX_EPOCH)
    }
}

fn system_micros() -> i64 {
    std::time::SystemTime::now()
        .duration_since(std::time::UNIX_EPOCH)
        .ok()
        .and_then(|since| i64::try_from(since.as_micros()).ok())
        .unwrap_or_default()
}
