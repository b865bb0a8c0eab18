//! How a long search is watched, stopped and held to a budget, without a clock and without threads.

/// Told now and then how far a search is.
pub trait Watch {
    /// `done`: looks spent so far; `bound`: no answer is better than this; `best`: the best answer yet. False: stop, and take the best answer.
    fn step(&mut self, done: u64, bound: f64, best: f64) -> bool;
}

impl<F: FnMut(u64, f64, f64) -> bool> Watch for F {
    fn step(&mut self, done: u64, bound: f64, best: f64) -> bool {
        self(done, bound, best)
    }
}

/// Nobody watches: the search ends when it is done or its budget is spent.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwatched;

impl Watch for Unwatched {
    fn step(&mut self, _: u64, _: f64, _: f64) -> bool {
        true
    }
}

/// Looks between two calls of the watcher: some milliseconds.
const BETWEEN: u64 = 2_000_000;

/// The work of one search. A look is one number read from a table, in the order of a nanosecond: the same input and budget give the
/// same answer on every machine.
pub(crate) struct Work<'w> {
    budget: u64,
    /// Looks that the whole had spent when this part of it began.
    before: u64,
    done: u64,
    next: u64,
    watch: &'w mut dyn Watch,
    stopped: bool,
}

impl<'w> Work<'w> {
    pub(crate) fn new(budget: u64, watch: &'w mut dyn Watch) -> Self {
        Self {
            budget,
            before: 0,
            done: 0,
            next: 0,
            watch,
            stopped: false,
        }
    }

    /// Spends looks; false when the search must end now.
    pub(crate) fn spend(&mut self, looks: usize, bound: f64, best: f64) -> bool {
        self.done = self.done.saturating_add(u64::try_from(looks).unwrap_or(u64::MAX));
        if self.done >= self.budget {
            self.stopped = true;
        } else if self.done >= self.next && !self.stopped {
            self.next = self.done.saturating_add(BETWEEN);
            self.stopped = !self.watch.step(self.before.saturating_add(self.done), bound, best);
        }
        !self.stopped
    }

    pub(crate) const fn is_stopped(&self) -> bool {
        self.stopped
    }

    /// Looks that may still be spent.
    pub(crate) const fn left(&self) -> u64 {
        self.budget.saturating_sub(self.done)
    }

    /// A part of the work with a budget of its own; its looks count here too. What stops the part need not stop the whole.
    pub(crate) fn part<R>(&mut self, budget: u64, part: impl FnOnce(&mut Work<'_>) -> R) -> R {
        let left = self.budget.saturating_sub(self.done).min(budget);
        let mut inner = Work {
            budget: left,
            before: self.before.saturating_add(self.done),
            done: 0,
            next: self.next.saturating_sub(self.done),
            watch: &mut *self.watch,
            stopped: self.stopped,
        };
        let answer = part(&mut inner);
        let (done, cancelled) = (inner.done, inner.stopped && inner.done < left);
        self.done = self.done.saturating_add(done);
        self.next = self.next.max(self.done);
        self.stopped = self.stopped || cancelled || self.done >= self.budget;
        answer
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_of_a_part_counts_what_was_spent_before_it() {
        let mut told = Vec::new();
        let mut watch = |done: u64, _: f64, _: f64| {
            told.push(done);
            true
        };
        let mut work = Work::new(u64::MAX, &mut watch);
        work.spend(5_000_000, 0.0, 0.0);
        work.part(u64::MAX, |work| {
            work.spend(3_000_000, 0.0, 0.0);
            work.part(u64::MAX, |work| work.spend(2_000_000, 0.0, 0.0))
        });
        work.spend(4_000_000, 0.0, 0.0);
        assert_eq!(told, [5_000_000, 8_000_000, 10_000_000, 14_000_000]);
    }
}
