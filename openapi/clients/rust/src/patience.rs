//! How long, and how often, something is tried again.

use std::time::Duration;

use crate::Error;

/// How often to try, and how long to wait in between: each pause doubles, up to the longest, and is cut by chance to
/// between half and all of it, so that many phones that lost the same mast do not come back in step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Patience {
    /// Tries in all, the first among them.
    pub tries: u32,
    /// The first pause.
    pub first: Duration,
    /// The longest pause.
    pub longest: Duration,
}

impl Patience {
    /// So many tries in all, with pauses from half a second to a minute. One try at least is made.
    pub const fn tries(tries: u32) -> Self {
        Self {
            tries,
            first: Duration::from_millis(500),
            longest: Duration::from_secs(60),
        }
    }

    /// One try.
    pub const fn once() -> Self {
        Self::tries(1)
    }

    /// The pause after so many tries that failed.
    pub fn pause(&self, failed: u32) -> Duration {
        let doubled = self.first.saturating_mul(2_u32.saturating_pow(failed.saturating_sub(1)));
        doubled.min(self.longest).mul_f64(rand::random_range(0.5..=1.0))
    }

    /// Tries until there is an answer that waiting would not change, or the tries are used up.
    pub(crate) async fn until_answered<T>(&self, mut attempt: impl AsyncFnMut() -> Result<T, Error>) -> Result<T, Error> {
        let mut failed = 0;
        loop {
            let error = match attempt().await {
                Err(error) if error.passes() => error,
                answered => return answered,
            };
            failed += 1;
            if failed >= self.tries {
                return Err(error);
            }
            let asked = match &error {
                Error::Busy {
                    retry_after: Some(seconds), ..
                } => Duration::from_secs(*seconds).min(self.longest),
                _ => Duration::ZERO,
            };
            tokio::time::sleep(self.pause(failed).max(asked)).await;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_grow_to_the_longest_and_are_never_cut_below_half() {
        let patience = Patience::tries(50);
        for (failed, whole) in [(1, 500), (2, 1000), (3, 2000), (7, 32_000), (8, 60_000), (40, 60_000), (u32::MAX, 60_000)] {
            for _ in 0..50 {
                let pause = patience.pause(failed).as_millis();
                assert!((whole / 2..=whole).contains(&pause), "{pause} ms after {failed}");
            }
        }
    }

    #[test]
    fn pauses_differ() {
        let patience = Patience::tries(2);
        let first = patience.pause(5);
        assert!((0..50).any(|_| patience.pause(5) != first));
    }
}
