//! Pairing slots with pieces: no piece twice, as many slots as can be, and which slots compete when it is not enough.
//!
//! Slots are offered one after the other and each looks for an augmenting path. Filled slots stay filled, so the
//! order of offering is an order of priority, and the filled set is the best one for it (the sets of slots that
//! can be filled together are a transversal matroid, on which greedy is exact). Everything is decided lowest
//! number first: the same input gives the same pairing.
//!
//! This module knows neither what a slot asks nor what a piece is.

use crate::sets::{self, CAPACITY, Set};

const NOBODY: u16 = u16::MAX;

/// A pairing under way. Candidates are given anew at each call, as one bit set of pieces per slot.
#[derive(Debug, Clone)]
pub struct Matching {
    by_slot: Vec<u16>,
    by_piece: [u16; CAPACITY],
    taken: Set,
}

/// Slots that compete: together they can be filled by fewer pieces than they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Competition {
    /// The slots, in ascending order.
    pub slots: Vec<usize>,
    /// Every piece that fits any of them, in ascending order.
    pub pieces: Vec<usize>,
    /// How many of the slots stay empty whatever is done: slots less pieces.
    pub deficiency: usize,
}

impl Matching {
    /// Nothing paired yet.
    #[must_use]
    pub fn new(slots: usize) -> Self {
        Self {
            by_slot: vec![NOBODY; slots],
            by_piece: [NOBODY; CAPACITY],
            taken: 0,
        }
    }

    /// The largest pairing, offering the slots in their order. `candidates[s]` has bit `p` set where piece `p` fits slot `s`.
    #[must_use]
    pub fn largest(candidates: &[u128]) -> Self {
        let mut matching = Self::new(candidates.len());
        for slot in 0..candidates.len() {
            matching.fill(candidates, slot);
        }
        matching
    }

    /// Fills a slot if that can be done with every filled slot staying filled. True when the slot is filled afterwards.
    pub fn fill(&mut self, candidates: &[u128], slot: usize) -> bool {
        if self.piece(slot).is_some() {
            return true;
        }
        let mut seen = 0;
        self.seek_piece(candidates, slot, &mut seen)
    }

    fn seek_piece(&mut self, candidates: &[u128], slot: usize, seen: &mut Set) -> bool {
        let wanted = sets::pick(candidates, slot);
        if let Some(free) = sets::first(wanted & !self.taken & !*seen) {
            self.pair(slot, free);
            return true;
        }
        while let Some(piece) = sets::first(wanted & !*seen) {
            *seen |= sets::one(piece);
            let Some(other) = self.slot(piece) else { continue };
            if self.seek_piece(candidates, other, seen) {
                self.pair(slot, piece);
                return true;
            }
        }
        false
    }

    /// Puts a piece to use, filling one more slot among those allowed, if that can be done with every used piece staying used.
    pub fn place(&mut self, candidates: &[u128], piece: usize, allowed: impl Fn(usize) -> bool + Copy) -> bool {
        if self.slot(piece).is_some() {
            return true;
        }
        let mut seen = vec![false; self.by_slot.len()];
        self.seek_slot(candidates, piece, allowed, &mut seen)
    }

    fn seek_slot(&mut self, candidates: &[u128], piece: usize, allowed: impl Fn(usize) -> bool + Copy, seen: &mut [bool]) -> bool {
        let bit = sets::one(piece);
        for slot in 0..candidates.len() {
            if sets::pick(candidates, slot) & bit == 0 || !allowed(slot) {
                continue;
            }
            let Some(mark) = seen.get_mut(slot) else { continue };
            if std::mem::replace(mark, true) {
                continue;
            }
            let free = match self.piece(slot) {
                None => true,
                Some(other) => self.seek_slot(candidates, other, allowed, seen),
            };
            if free {
                self.pair(slot, piece);
                return true;
            }
        }
        false
    }

    /// Brings a piece into the pairing in the place of one that need not be in it, with the same slots staying filled.
    /// True when the piece is used afterwards.
    pub fn bring_in(&mut self, candidates: &[u128], piece: usize, keep: u128) -> bool {
        if self.slot(piece).is_some() {
            return true;
        }
        let mut seen = vec![false; self.by_slot.len()];
        self.displace(candidates, piece, keep, &mut seen)
    }

    fn displace(&mut self, candidates: &[u128], piece: usize, keep: u128, seen: &mut [bool]) -> bool {
        let bit = sets::one(piece);
        for slot in 0..candidates.len() {
            if sets::pick(candidates, slot) & bit == 0 {
                continue;
            }
            let Some(mark) = seen.get_mut(slot) else { continue };
            if std::mem::replace(mark, true) {
                continue;
            }
            let Some(other) = self.piece(slot) else { continue };
            if keep & sets::one(other) == 0 || self.displace(candidates, other, keep, seen) {
                if keep & sets::one(other) == 0 {
                    self.release(other);
                }
                self.pair(slot, piece);
                return true;
            }
        }
        false
    }

    fn pair(&mut self, slot: usize, piece: usize) {
        if let (Some(s), Some(p)) = (self.by_slot.get_mut(slot), self.by_piece.get_mut(piece)) {
            *s = u16::try_from(piece).unwrap_or(NOBODY);
            *p = u16::try_from(slot).unwrap_or(NOBODY);
            self.taken |= sets::one(piece);
        }
    }

    fn release(&mut self, piece: usize) {
        if let Some(p) = self.by_piece.get_mut(piece) {
            *p = NOBODY;
        }
        self.taken &= !sets::one(piece);
    }

    /// The piece in a slot.
    #[must_use]
    pub fn piece(&self, slot: usize) -> Option<usize> {
        self.by_slot.get(slot).filter(|p| **p != NOBODY).map(|p| usize::from(*p))
    }

    /// The slot that a piece fills.
    #[must_use]
    pub fn slot(&self, piece: usize) -> Option<usize> {
        self.by_piece.get(piece).filter(|s| **s != NOBODY).map(|s| usize::from(*s))
    }

    /// The pieces in use.
    #[must_use]
    pub const fn used(&self) -> u128 {
        self.taken
    }

    /// How many slots are filled.
    #[must_use]
    pub const fn size(&self) -> usize {
        sets::count(self.taken)
    }

    /// The slots that compete, as seen from one empty slot: all that could pass a piece on to it, and all their pieces.
    ///
    /// Only says something when the pairing is a largest one; `None` for a filled slot.
    #[must_use]
    pub fn competition_of(&self, candidates: &[u128], slot: usize) -> Option<Competition> {
        if slot >= self.by_slot.len() || self.piece(slot).is_some() {
            return None;
        }
        self.reach(candidates, &[slot])
    }

    /// All slots that compete anywhere (a Hall violator); `None` when every slot is filled.
    #[must_use]
    pub fn competition(&self, candidates: &[u128]) -> Option<Competition> {
        let empty: Vec<usize> = (0..self.by_slot.len()).filter(|slot| self.piece(*slot).is_none()).collect();
        if empty.is_empty() { None } else { self.reach(candidates, &empty) }
    }

    fn reach(&self, candidates: &[u128], from: &[usize]) -> Option<Competition> {
        let mut slots = from.to_vec();
        let mut pieces: Set = 0;
        let mut next = 0;
        while let Some(slot) = slots.get(next).copied() {
            next += 1;
            for piece in sets::each(sets::pick(candidates, slot) & !pieces) {
                pieces |= sets::one(piece);
                if let Some(other) = self.slot(piece).filter(|other| !slots.contains(other)) {
                    slots.push(other);
                }
            }
        }
        slots.sort_unstable();
        let deficiency = slots.len().checked_sub(sets::count(pieces))?;
        Some(Competition {
            slots,
            pieces: sets::each(pieces).collect(),
            deficiency,
        })
    }
}
