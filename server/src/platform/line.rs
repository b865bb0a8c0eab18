//! Lines before work that costs much: so many may stand in one at once, and so many of them of one sender, so that nobody fills it alone.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use uuid::Uuid;

/// Why there is no place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPlace {
    /// The sender has as many as one may have.
    Own,
    /// All are taken.
    All,
}

/// Who stands in a line.
#[derive(Debug, Clone)]
pub struct Line {
    most: usize,
    most_each: usize,
    standing: Arc<Mutex<HashMap<Uuid, usize>>>,
}

/// A place in a line, given back when it is dropped.
#[derive(Debug)]
pub struct LinePlace {
    line: Line,
    sender: Uuid,
}

impl Line {
    /// A line of so many places, and so many of one sender.
    pub fn new(most: usize, most_each: usize) -> Self {
        Self {
            most,
            most_each,
            standing: Arc::default(),
        }
    }

    /// A place, or at once why there is none.
    ///
    /// # Errors
    /// When all places are taken, or all that one sender may have.
    pub fn take(&self, sender: Uuid) -> Result<LinePlace, NoPlace> {
        let mut standing = self.standing.lock().unwrap_or_else(PoisonError::into_inner);
        let (all, own) = (standing.values().sum::<usize>(), standing.get(&sender).copied().unwrap_or_default());
        if own >= self.most_each {
            return Err(NoPlace::Own);
        }
        if all >= self.most {
            return Err(NoPlace::All);
        }
        standing.insert(sender, own + 1);
        Ok(LinePlace { line: self.clone(), sender })
    }
}

impl Drop for LinePlace {
    fn drop(&mut self) {
        let mut standing = self.line.standing.lock().unwrap_or_else(PoisonError::into_inner);
        match standing.get_mut(&self.sender) {
            Some(own) if *own > 1 => *own -= 1,
            _ => drop(standing.remove(&self.sender)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sender_has_two_places_and_all_have_sixteen() {
        let line = Line::new(16, 2);
        let own = Uuid::now_v7();
        let two = [line.take(own).unwrap(), line.take(own).unwrap()];
        assert_eq!(line.take(own).unwrap_err(), NoPlace::Own);
        let others: Vec<LinePlace> = (0..14).map(|_| line.take(Uuid::now_v7()).unwrap()).collect();
        assert_eq!(line.take(Uuid::now_v7()).unwrap_err(), NoPlace::All);
        drop(others);
        drop(two);
        assert!(line.standing.lock().unwrap().is_empty(), "nobody is kept who stands nowhere");
    }
}
