//! Seeded chance, and ids made of story time and chance: the same for every telling on one day.

use chrono::{DateTime, Utc};
use rand::{RngExt as _, SeedableRng as _, rngs::StdRng};
use uuid::Uuid;

/// A seeded die.
#[derive(Debug)]
pub struct Dice(StdRng);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(StdRng::seed_from_u64(seed))
    }

    /// From `low` to `high`, both among them.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high.max(low))
    }

    /// True so many times in a hundred.
    pub fn chance(&mut self, percent: i64) -> bool {
        self.between(1, 100) <= percent
    }

    /// One of them.
    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        if of.is_empty() {
            return None;
        }
        of.get(self.0.random_range(0..of.len()))
    }

    /// A version 7 id of that moment.
    pub fn id(&mut self, at: DateTime<Utc>) -> Uuid {
        let millis = u64::try_from(at.timestamp_millis()).unwrap_or_default();
        let chance: [u8; 10] = self.0.random();
        uuid::Builder::from_unix_timestamp_millis(millis, &chance).into_uuid()
    }
}
