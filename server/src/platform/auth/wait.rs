//! How long somebody waits between tries.

/// How many tries are free, and how long the wait is after each further one.
#[derive(Debug, Clone, Copy)]
pub struct Wait {
    /// So many are free.
    pub free: u32,
    /// Seconds after the first that is not; doubled with each.
    pub first: i64,
    /// Seconds at most.
    pub most: i64,
}

/// Tries at one account: five, then a wait of six seconds, doubled with each, a quarter of an hour at most.
pub const ONE_ACCOUNT: Wait = Wait { free: 5, first: 6, most: 900 };

impl Wait {
    /// Seconds that pass after so many failures before the next try, none while they are free.
    pub fn after(self, failures: u32) -> i64 {
        let Some(over) = failures.checked_sub(self.free) else { return 0 };
        let doubled = 1_i64.checked_shl(over).unwrap_or(i64::MAX);
        self.first.saturating_mul(doubled.clamp(1, self.most)).min(self.most)
    }
}
