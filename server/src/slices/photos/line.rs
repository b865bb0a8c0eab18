//! The line of photos that are being sent: each holds up to twice its bytes in memory until it is kept.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use uuid::Uuid;

use crate::platform::error::{self, Fault};

/// How many photos, or parts of some, are being sent or worked on at once in this process.
const MOST: usize = 16;
/// How many of one sign-in.
const MOST_EACH: usize = 2;

/// Who stands in line, by sign-in.
#[derive(Debug, Clone, Default)]
pub struct Line(Arc<Mutex<HashMap<Uuid, usize>>>);

/// A place in the line, given back when it is dropped.
#[derive(Debug)]
pub struct Place {
    line: Line,
    sign_in: Uuid,
}

impl Line {
    /// A place, or at once the answer that there is none.
    pub fn take(&self, sign_in: Uuid) -> Result<Place, Fault> {
        let mut standing = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (all, own) = (standing.values().sum::<usize>(), standing.get(&sign_in).copied().unwrap_or_default());
        if own >= MOST_EACH {
            return Err(Fault::new(error::SLOW_DOWN, "This sign-in sends two photos already; send the next when one has arrived").again_in(2));
        }
        if all >= MOST {
            return Err(Fault::new(error::BUSY, "Many photos are being sent just now; send this one again in a moment"));
        }
        standing.insert(sign_in, own + 1);
        Ok(Place { line: self.clone(), sign_in })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut standing = self.line.0.lock().unwrap_or_else(PoisonError::into_inner);
        match standing.get_mut(&self.sign_in) {
            Some(own) if *own > 1 => *own -= 1,
            _ => drop(standing.remove(&self.sign_in)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sign_in_has_two_places_and_all_have_sixteen() {
        let line = Line::default();
        let own = Uuid::now_v7();
        let two = [line.take(own).unwrap(), line.take(own).unwrap()];
        assert_eq!(line.take(own).unwrap_err().code, error::SLOW_DOWN);
        let others: Vec<Place> = (0..14).map(|_| line.take(Uuid::now_v7()).unwrap()).collect();
        assert_eq!(line.take(Uuid::now_v7()).unwrap_err().code, error::BUSY);
        drop(others);
        drop(two);
        assert!(line.0.lock().unwrap().is_empty(), "nobody is kept who stands nowhere");
    }
}
