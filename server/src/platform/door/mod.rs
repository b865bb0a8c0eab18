//! The one door for writes.
//!
//! Every change is a [`Command`]: REST endpoints, batches, the import, the shop and the clock all build one and hand it
//! to [`Door::send`]. One writer per process takes commands in the order they come and commits them in groups: the
//! transaction starts by taking the agency's row, so that commit order is revision order, on one process or several.
//!
//! For each command, in this order: seen before? may this actor? the command's own rules and rows; what follows from it
//! (capability); revision, change log, journal. See `openapi/sync.md` for what a client may rely on.

mod apply;
mod command;
mod compaction;
mod history;
mod journal;
mod moving;
mod reading;
mod registry;
mod write;
mod writer;

pub use command::{Act, Answer, Batch, Command, Head, Outcome, Permission, RecordRef, Signature, Signed, own_body, own_id};
pub use compaction::{Forgotten, Keep, compact};
pub use history::{HistoryItem, HistoryPage, happened, history, told_in_words};
pub use journal::{Broken, agencies, found, journal_hash, verify};
pub use registry::{Registry, permit};
pub use write::{Stored, Write, name, text};
pub use writer::{Door, GroupLimits};
