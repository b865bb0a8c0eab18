//! What the answers of a check show.
//!
//! Each step is passed, failed, unknown or not answered; the check is passed only when every step that it takes is. A limit that cannot
//! be read for this piece (no rating on its plate, no acceptance test, no bound of its maker) leaves the step unknown and says what to
//! enter. This module never asks who answered: what is found must not depend on who looked.
//!
//! | file | holds |
//! | --- | --- |
//! | `answer` | what was answered, and whether it can be read |
//! | `facts` | what the register knows of the piece |
//! | `hold` | a number against one limit |
//! | `judge` | the steps and the whole |
//! | `order` | which step may be answered now |
//! | `readings` | what a passed check leaves on record |
//! | `trend` | how a reading moves |
//! | `wear` | when a reading that moves one way reaches its limit |

mod answer;
mod facts;
mod hold;
mod judge;
mod order;
mod readings;
mod trend;
mod wear;

pub use answer::{Answer, MOST_ANSWERS, MOST_NOTE, StepSaid, faults};
pub use facts::{Earlier, Facts, KnownReading, MakersBound, Sort};
pub use judge::{Outcome, StepResult, StepVerdict, Verdict, judge};
pub use order::may_answer;
pub use readings::{baseline, readings};
pub use trend::{Dated, Trend, Way, trend};
pub use wear::{Wear, wear};
