//! The one door for writes.
//!
//! Every change is a [`Command`]: REST endpoints, batches, the import, the shop and the clock all build one and hand it
//! to [`Door::send`]. One writer per process takes commands in the order they come and commits them in groups: the
//! transaction starts by taking the agency's row, so that commit order is revision order, on one process or several.
//!
//! Before a command, what has run out by then is settled at its own instant (`settle`). For each command, in this order:
//! seen before? may this actor? the command's own rules and rows; what follows from it
//! (capability); revision, change log, journal. See `openapi/sync.md` for what a client may rely on.

mod ahead;
mod bring_up;
mod apply;
mod authority;
mod changes;
mod command;
mod compaction;
mod expects;
mod unit_of_work;
mod history;
mod journal;
mod writer_cache;
mod judging;
pub mod lapses;
mod lapsing;
mod loaded;
mod memory;
mod moving;
mod pulse;
mod queue;
mod raises;
mod reach;
mod reading;
mod registry;
mod settle;
mod stores;
#[cfg(test)]
mod bodies_tests;
#[cfg(test)]
mod supervised_tests;
mod wording;
mod write;
mod write_limits;
mod writer;

pub use super::auth::{Permission, Signature};
pub use ahead::Ahead;
pub use authority::{Authority, Present};
pub use bring_up::bring_up;
pub use changes::Change;
pub use command::{Act, Answer, Batch, Command, CommandKind, Head, Outcome, RecordRef, Signed, is_client_id, own_body, own_id};
pub use compaction::{Forgotten, Keep, compact};
pub use expects::{Expects, LeftBy, RevisionNeed};
pub use history::{HistoryItem, HistoryPage, happened, history, told_in_words};
pub use journal::{
    BEGUN_AGAIN, Broken, Journaled, REVISIONS_BEHIND, agencies, begin_again, each_entry, forget_unfounded, found, heads, journal_hash, received_at,
    try_to_write, verify,
};
pub use pulse::Pulse;
pub use queue::{Door, GroupLimits, Look};
pub use raises::Raise;
pub use reach::Reach;
pub use registry::{Kind, Registry, SendsEmail, Touched, permit};
pub use settle::{Lapsed, Settle};
pub use wording::{at_most, each_once, name, text};
pub use write::{Stored, Write};
pub use write_limits::WriteLimits;
