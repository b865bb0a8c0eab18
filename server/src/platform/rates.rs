//! How often somebody may do something: so many times at once, then so many a minute.

use std::{
    hash::Hash,
    num::NonZeroU32,
    sync::atomic::{AtomicU64, Ordering},
    time::{Instant, SystemTime, UNIX_EPOCH},
};

use governor::{Quota, RateLimiter, clock::Clock as _, middleware::NoOpMiddleware, nanos::Nanos, state::keyed::DefaultKeyedStateStore};

use super::clock::Clock;

/// How many keys are kept before those that have rested are forgotten.
pub const MOST_KEYS: usize = 100_000;

/// So many at once, and then so many a minute; at least one of each.
pub fn quota(burst: u32, per_minute: u32) -> Quota {
    let at_least_one = |n: u32| NonZeroU32::new(n).unwrap_or(NonZeroU32::MIN);
    Quota::per_minute(at_least_one(per_minute)).allow_burst(at_least_one(burst))
}

/// The time that rates go by: of the machine how long it runs, which nobody sets back; of a clock that is moved by hand, that clock.
#[derive(Debug, Clone)]
struct Pace {
    begun: Instant,
    by_hand: Option<Clock>,
}

impl governor::clock::Clock for Pace {
    type Instant = Nanos;

    fn now(&self) -> Nanos {
        let nanos = match &self.by_hand {
            Some(clock) => clock.now().timestamp_nanos_opt().and_then(|nanos| u64::try_from(nanos).ok()),
            None => u64::try_from(self.begun.elapsed().as_nanos()).ok(),
        };
        Nanos::new(nanos.unwrap_or(u64::MAX))
    }
}

/// What each key has left. The keys are bounded by [`MOST_KEYS`], but for those that are in use.
pub struct Rates<K: Clone + Eq + Hash> {
    each: RateLimiter<K, DefaultKeyedStateStore<K>, Pace, NoOpMiddleware<Nanos>>,
    most: u32,
    /// The second in which those that have rested were forgotten last.
    swept: AtomicU64,
}

impl<K: Clone + Eq + Hash> Rates<K> {
    /// So many at once for each key, and then so many a minute.
    pub fn new(burst: u32, per_minute: u32) -> Self {
        Self::by(&Clock::system(), burst, per_minute)
    }

    /// As [`Rates::new`], by the minutes of the service's clock.
    pub fn by(clock: &Clock, burst: u32, per_minute: u32) -> Self {
        let pace = Pace {
            begun: Instant::now(),
            by_hand: clock.is_by_hand().then(|| clock.clone()),
        };
        Self {
            each: RateLimiter::new(quota(burst, per_minute), DefaultKeyedStateStore::default(), pace),
            most: burst.max(1),
            swept: AtomicU64::new(0),
        }
    }

    /// Takes so many of a key's; more than there can be at once count as all of them.
    ///
    /// # Errors
    /// After how many seconds so many are there, and none was taken.
    pub fn take(&self, key: &K, count: u32) -> Result<(), u64> {
        let count = NonZeroU32::new(count.min(self.most)).unwrap_or(NonZeroU32::MIN);
        // No more than there can be at once: so there is always an instant at which they are there.
        let taken = self.each.check_key_n(key, count).unwrap_or(Ok(()));
        if self.each.len() > MOST_KEYS {
            // Walking all keys each time would be dearer than what is limited.
            let second = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
            if self.swept.swap(second, Ordering::Relaxed) != second {
                self.each.retain_recent();
            }
        }
        taken.map_err(|until| until.wait_time_from(self.each.clock().now()).as_secs() + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_is_moved_by_hand_gives_back_as_it_goes() {
        let clock = Clock::manual(chrono::DateTime::UNIX_EPOCH + chrono::TimeDelta::days(20_000));
        let rates = Rates::by(&clock, 2, 60);
        assert_eq!((rates.take(&"a", 2), rates.take(&"a", 1)), (Ok(()), Err(2)));
        clock.set(clock.now() + chrono::TimeDelta::seconds(2));
        assert_eq!(rates.take(&"a", 2), Ok(()));
    }

    #[test]
    fn each_key_has_its_own_and_is_told_when_there_is_more() {
        let rates = Rates::new(10, 60);
        assert_eq!(rates.take(&"a", 10), Ok(()));
        assert_eq!(rates.take(&"a", 1), Err(1), "one comes back each second");
        assert!((8..=10).contains(&rates.take(&"a", 9).unwrap_err()));
        assert_eq!(rates.take(&"b", 7), Ok(()));
        assert_eq!(rates.take(&"b", 3), Ok(()));
        assert!(rates.take(&"c", 1000).is_ok(), "more than all are all");
        assert!(rates.take(&"c", 1000).unwrap_err() >= 9);
    }
}
