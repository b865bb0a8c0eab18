//! Whether a rig is full, limited or none; slot by slot; why; what mends it; until when the answer holds.
//!
//! - A piece is *usable* when it is in service, no stop-use notice hits it, it is within its life and no check is overdue
//!   beyond the policy's grace. What is unknown is not capable and is said as unknown.
//! - A slot is filled by one usable piece of its kinds that meets its minimums and has a hook-up on this rig where it
//!   needs one. The sources that fill the power slots are the rig's *system*: hoses and hose-fed tools must hook up to
//!   one of them, so two half-systems never make one set. Without a power slot any usable source aboard serves.
//! - Sources, then slots, are chosen so that the most core slots are filled, then the most required, then the most
//!   optional; among equals the lowest tag wins. The order in which pieces are handed in never matters.
//! - **full**: every required slot is filled and enough tools run at once. **limited**: every core slot is filled and a
//!   tool can run. **none**: less, or the rig is out of service, or no complement is set.
//! - Tools at once are counted over all usable pieces aboard, whether or not they fill a slot.
//!
//! At most 128 pieces that matter to the complement or to a hook-up are looked at, usable ones first; beyond that the
//! rest is not counted, and the answer says so. Work is bounded far beyond what a rig needs, so that a register full of
//! nonsense holds nothing up: what is cut off by a bound is never said to be more than it is (`margin_at_least`,
//! `restore_is_smallest`, and a level that may then be too low but not too high).
//!
//! This module never reads who made a check or a report: the answer must not depend on who looked. It knows no
//! districts, no people and no clock.

mod assess;
mod board;
mod fill;
mod gaps;
mod holds;
mod input;
mod margin;
mod restore;
mod stand_in;
mod wire;
mod words;

pub use assess::{Answer, assess, level};
pub use input::{Batteries, Complement, DueCheck, Life, Need, Notice, Piece, Policy, Rig, Slot, State, UnknownAge, life_ends};
pub use stand_in::{Fit, WithPiece, fits, with_piece, without_piece};
pub use wire::{Act, ActKind, Assessment, Compete, Fact, Filling, Gap, Level, Near, NearCode, Via};
pub use words::Voice;
