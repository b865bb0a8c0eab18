//! Chance that comes again: what a test does, all from one seed.

use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Numbers that look random and are the same for the same seed (splitmix64).
#[derive(Debug, Clone, Copy)]
pub struct Rng(u64);

impl Rng {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Numbers of its own for a part of the plan, so that the parts do not disturb each other.
    pub fn fork(&mut self) -> Self {
        Self(self.next())
    }

    pub fn roll(&mut self, sides: usize) -> usize {
        usize::try_from(self.next() >> 33).expect("31 bits") % sides.max(1)
    }

    pub fn chance(&mut self, percent: usize) -> bool {
        self.roll(100) < percent
    }

    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get(self.roll(of.len()))
    }

    pub fn shuffle<T>(&mut self, of: &mut [T]) {
        for at in (1..of.len()).rev() {
            of.swap(at, self.roll(at + 1));
        }
    }

    /// An id as phones make them.
    pub fn id(&mut self, at: DateTime<Utc>) -> Uuid {
        let mut bytes = [0; 10];
        bytes[..8].copy_from_slice(&self.next().to_be_bytes());
        let millis = u64::try_from(at.timestamp_millis()).expect("after 1970");
        uuid::Builder::from_unix_timestamp_millis(millis, &bytes).into_uuid()
    }
}

/// A number that the environment gives a test.
pub fn told(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(text.parse().unwrap_or_else(|_| panic!("{name} is a number, not '{text}'")))
}
