//! How much work an answer takes, in counted steps rather than time: the same on every machine, for tests and benches.
//!
//! Every search is bounded by steps, so an answer is the same however busy the machine is. What is given up counts as not met, not
//! proved or not smallest, and is said so:
//!
//! | what | bound | what is said beyond it |
//! | --- | --- | --- |
//! | the longest line to a tool | `hookup/longest` | counts as shorter: "not every way was tried" |
//! | tools at once | `hookup/at_once`, `hookup/packing` | "more could not be worked out" |
//! | a filling of the needs | `meet` | counts as none: "not every way was tried" |
//! | critical pieces, margin | `margin` | `margin_at_least` |
//! | restoring acts | `restore` | none, or `restore_is_smallest` is false |
//! | sets of pieces that mend | `mends` | `Mends::undecided` |
//! | what alone a need lacks | `restore/again` | nothing |
//! | which doubts matter | `assess` | some that do not |
//! | why a tool does not run | `hookups` | "no line aboard leads to it" |
//! | the lines shown | `hookup/line` | none |

use super::assess::{answer, at_instant};
use super::board::Board;
use super::input::{Rig, Rules};
use super::verdict;
use super::words::Voice;
use chrono::{DateTime, Utc};

/// Steps of work that the answers about one rig take. A step is some tens of nanoseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Work {
    /// Of the three answers without reasons.
    pub level: usize,
    /// Of the whole answer with those of all pieces.
    pub answer: usize,
}

/// Works out the answers about a rig and counts the steps.
#[must_use]
pub fn count_work(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Work {
    let short = Board::new(rig, rules, at);
    let _ = answer(rig, &short);
    let whole = Board::new(rig, rules, at);
    drop(at_instant(rig, &whole, at, voice));
    drop(verdict::of_board(rig, &whole, at, voice));
    Work {
        level: short.work(),
        answer: whole.work(),
    }
}
