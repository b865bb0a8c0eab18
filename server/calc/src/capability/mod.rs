//! Three answers about one rig, never mixed; and "may I use it?" for one piece.
//!
//! - **Level**: the highest of the agency's own grades ([`Grades`]) whose needs are all met together, no piece counted twice,
//!   every tool on a line that runs. A grade is judged on all that is aboard, whatever the rig's class; a level is reached when that
//!   grade and all lower ones are met. While nobody has chosen the grades, nothing is judged ([`Level::NotJudged`]).
//! - **Complete**: whether everything is aboard that the rig's class lists, usable and of this rig's families. It says nothing of the
//!   level: a cutter whose pump is at the shop is aboard.
//! - **Confirmed**: whether pieces alone that records say were checked as they must be, and tried since they came aboard, reach the same level.
//!
//! A piece counts when it is usable: in service, found, within its life, under no notice or quarantine, no check overdue beyond the
//! policy's grace, no repair date past. What is unknown is not capable and is said as unknown.
//!
//! Tools at once, margin, critical pieces and restoring sets mean the level alone. At most 128 pieces are looked at, those that
//! could do something first; beyond that the rest is not counted, and the answer says so. Work is bounded far beyond what a rig
//! needs: what is cut off by a bound counts as not met and is never said to be more than it is (`margin_at_least`,
//! `restore_is_smallest`, `at_once_exact`).
//!
//! This module never reads who made a check or a report: the answer must not depend on who looked. It knows no districts, no
//! people and no clock.

mod act;
mod assess;
mod belongs;
mod beside;
mod board;
mod confirm;
mod faults;
mod fill;
mod gaps;
mod grade;
mod holds;
mod hookups;
mod input;
mod margin;
mod meet;
mod mends;
mod reason;
mod restore;
mod serve;
mod slot_gaps;
mod stand_in;
mod suits;
mod templates;
mod verdict;
mod wire;
mod words;
mod work;

pub use act::{Act, ActKind};
pub use assess::{Answer, assess, assess_with_pieces, level};
pub use beside::{Compete, RunsAgain};
pub use grade::{Alternative, Cover, Drive, Grade, GradeFault, Grades, MOST_ALTERNATIVES, MOST_NEEDS, MOST_PARTS, Need, Part};
pub use input::{
    Batteries, Complement, DueCheck, LastRelease, Life, LifeOf, Limit, LooserRule, Notice, Overdue, Piece, Policy, RatedAt, Rig, Rules, Slot, State, life_ends,
};
pub use mends::{MOST_PIECES, MendSet, Mends, Spares, Stock, Undecided, mends, spares, stands};
pub use reason::{PieceAnswer, Reason, ReasonCode, Verdict};
pub use stand_in::{Fit, Wet, fits, fits_anywhere, is_of_use, target, with_piece, without_piece, would_mix};
pub use templates::Template;
pub use verdict::{verdict, verdicts};
pub use wire::{Assessment, Completeness, Driven, Fact, Filling, Gap, GapIn, Level, Near, NearCode, NeedAnswer, Via};
pub use words::Voice;
pub use work::{Work, count_work};
