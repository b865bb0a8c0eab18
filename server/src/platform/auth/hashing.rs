//! The line before what takes a processor and 19 MiB for some hundredths of a second: hashing passwords and PINs.
//!
//! Half of the processors hash at once, and so many wait; whoever comes after them is told to come again at once, before anything
//! was done for them. So a flood of sign-ins costs a known amount of memory and leaves the other half of the machine to everybody else.
//! Whoever is signed in has two places, so that nobody keeps all others from signing in.

use std::sync::Arc;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use uuid::Uuid;

use crate::platform::{
    error::{self, Fault},
    line::{Line, LinePlace},
};

/// How many may wait or hash, each a request with a password or a batch with some.
const MOST_WAITING: usize = 64;
/// How many of one who is signed in.
const MOST_EACH: usize = 2;

/// The line, one for each process.
#[derive(Debug)]
pub struct Hashing {
    places: Arc<Semaphore>,
    each: Line,
    permits: Arc<Semaphore>,
}

/// A place in the line.
#[derive(Debug)]
pub struct HashingPlace {
    permits: Arc<Semaphore>,
    _place: OwnedSemaphorePermit,
    _own: Option<LinePlace>,
}

impl Default for Hashing {
    fn default() -> Self {
        let processors = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
        Self::new((processors / 2).max(1), MOST_WAITING)
    }
}

impl Hashing {
    /// So many at once, and so many in the line with them.
    pub fn new(at_once: usize, most: usize) -> Self {
        Self {
            places: Arc::new(Semaphore::new(most)),
            each: Line::new(most, MOST_EACH),
            permits: Arc::new(Semaphore::new(at_once)),
        }
    }

    /// A place in the line, or at once the answer that there is none. `sender`: who is signed in and asks; none at a sign-in.
    ///
    /// # Errors
    /// `slow-down` for a sender who has two places, `busy` when all are taken.
    pub fn place(&self, sender: Option<Uuid>) -> Result<HashingPlace, Fault> {
        let own = sender.map(|sender| self.each.take(sender)).transpose().map_err(|_| {
            let words = "Two of your passwords or PINs are being worked on; nothing was done. Send this when one is done";
            Fault::new(error::SLOW_DOWN, words).again_in(2)
        })?;
        let place = Arc::clone(&self.places)
            .try_acquire_owned()
            .map_err(|_| Fault::new(error::BUSY, "Too many passwords are being checked; nothing was done. Try again in a moment").again_in(2))?;
        Ok(HashingPlace {
            permits: Arc::clone(&self.permits),
            _place: place,
            _own: own,
        })
    }
}

impl HashingPlace {
    /// Waits for the turn.
    pub async fn turn(&self) -> Result<OwnedSemaphorePermit, Fault> {
        let turn = Arc::clone(&self.permits).acquire_owned().await;
        turn.map_err(|error| anyhow::anyhow!("the line of passwords was closed: {error}").into())
    }

    /// Does work in its turn, on a thread that may block: each password of a batch waits for a turn of its own, so that a batch
    /// of many keeps nobody else waiting for all of them.
    pub fn in_turn<T>(&self, work: impl FnOnce() -> Result<T, Fault>) -> Result<T, Fault> {
        let _turn = match tokio::runtime::Handle::try_current() {
            Ok(runtime) => Some(runtime.block_on(self.turn())?),
            Err(_) => None,
        };
        work()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn who_finds_no_place_is_told_at_once() {
        let line = Hashing::new(1, 2);
        let (one, two) = (line.place(None).unwrap(), line.place(None).unwrap());
        let fault = line.place(None).unwrap_err();
        assert_eq!((fault.code, fault.retry_after), (error::BUSY, Some(2)));
        let turn = one.turn().await.unwrap();
        let waiting = tokio::time::timeout(std::time::Duration::from_millis(20), two.turn()).await;
        assert!(waiting.is_err(), "one hashes at a time");
        drop(turn);
        drop(two.turn().await.unwrap());
        drop(one);
        line.place(None).unwrap();
    }

    #[test]
    fn one_sender_leaves_places_to_the_others() {
        let line = Hashing::new(1, 64);
        let own = Some(Uuid::now_v7());
        let two = [line.place(own).unwrap(), line.place(own).unwrap()];
        let fault = line.place(own).unwrap_err();
        assert_eq!((fault.code, fault.retry_after), (error::SLOW_DOWN, Some(2)));
        line.place(None).unwrap();
        line.place(Some(Uuid::now_v7())).unwrap();
        drop(two);
        line.place(own).unwrap();
    }
}
