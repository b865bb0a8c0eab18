//! Work that goes on beside the requests for as long as the service runs. A task that ends or panics is started again after a
//! wait, and `/readyz` tells of it.

use std::{
    collections::BTreeMap,
    panic::AssertUnwindSafe,
    sync::{Arc, Mutex, PoisonError},
    time::{Duration, Instant},
};

use futures_util::FutureExt as _;
use serde::Serialize;
use tokio::task::AbortHandle;
use utoipa::ToSchema;

/// The wait after a first failure; doubled each time.
const FIRST_WAIT: Duration = if cfg!(test) { Duration::from_millis(20) } else { Duration::from_secs(1) };
/// The longest wait after a failure. A task that ran for longer begins with the first wait again.
const LONGEST_WAIT: Duration = Duration::from_secs(60);

/// How a background task fares.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct TaskState {
    /// Whether it runs now; a task that failed waits before it is started again, a minute at most.
    pub running: bool,
    /// How often it has failed since the service started.
    pub failures: u32,
}

/// The background tasks of a service.
#[derive(Debug, Clone, Default)]
pub struct Tasks(Arc<Mutex<TaskList>>);

#[derive(Debug, Default)]
struct TaskList {
    states: BTreeMap<&'static str, TaskState>,
    handles: Vec<AbortHandle>,
    ended: bool,
}

impl Tasks {
    /// Keeps a task going; `make` makes it anew each time.
    pub fn keep<F: Future<Output = ()> + Send + 'static>(&self, name: &'static str, make: impl Fn() -> F + Send + 'static) {
        let tasks = self.clone();
        let kept = tokio::spawn(async move {
            let mut wait = Duration::ZERO;
            loop {
                tasks.with(|kept| kept.states.entry(name).or_default().running = true);
                let begun = Instant::now();
                let ended = AssertUnwindSafe(make()).catch_unwind().await;
                wait = next_wait(wait, begun.elapsed());
                tasks.with(|kept| {
                    let state = kept.states.entry(name).or_default();
                    state.running = false;
                    state.failures = state.failures.saturating_add(1);
                });
                tracing::error!(
                    task = name,
                    panicked = ended.is_err(),
                    seconds = wait.as_secs(),
                    "a background task ended; it is started again"
                );
                tokio::time::sleep(wait).await;
            }
        });
        self.with(|all| all.handles.push(kept.abort_handle()));
    }

    /// How each task fares, by name.
    pub fn states(&self) -> BTreeMap<&'static str, TaskState> {
        self.with(|kept| kept.states.clone())
    }

    /// Ends all tasks.
    pub fn end(&self) {
        self.with(|kept| {
            kept.ended = true;
            kept.handles.drain(..).for_each(|handle| handle.abort());
        });
    }

    /// Whether they were ended: the service stops.
    pub fn ended(&self) -> bool {
        self.with(|kept| kept.ended)
    }

    fn with<T>(&self, work: impl FnOnce(&mut TaskList) -> T) -> T {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// The wait after a failure, by the wait after the one before and how long the task ran in between.
fn next_wait(before: Duration, ran: Duration) -> Duration {
    if ran > LONGEST_WAIT {
        FIRST_WAIT
    } else {
        (before * 2).clamp(FIRST_WAIT, LONGEST_WAIT)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    #[tokio::test]
    async fn a_task_that_panics_or_ends_is_started_again() {
        let (tasks, runs) = (Tasks::default(), Arc::new(AtomicU32::new(0)));
        let counted = Arc::clone(&runs);
        tasks.keep("test", move || {
            let run = counted.fetch_add(1, Ordering::SeqCst);
            async move {
                match run {
                    0 => panic!("on purpose"),
                    1 => {}
                    _ => std::future::pending().await,
                }
            }
        });
        let runs_on = TaskState { running: true, failures: 2 };
        while tasks.states().get("test") != Some(&runs_on) {
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
        assert_eq!(runs.load(Ordering::SeqCst), 3);
        tasks.end();
    }

    #[test]
    fn the_wait_grows_with_each_failure_and_begins_anew_once_a_task_ran_well() {
        let soon = Duration::from_millis(1);
        let (mut waits, mut wait) = (Vec::new(), Duration::ZERO);
        for _ in 0..4 {
            wait = next_wait(wait, soon);
            waits.push(wait);
        }
        assert_eq!(waits, [1, 2, 4, 8].map(|times| FIRST_WAIT * times));
        assert_eq!(next_wait(LONGEST_WAIT, soon), LONGEST_WAIT);
        assert_eq!(next_wait(LONGEST_WAIT, LONGEST_WAIT * 2), FIRST_WAIT);
    }
}
