//! One door for writes, one feed for reads: what a client may rely on.

mod batch;
mod belongs;
mod broken;
mod chains;
mod feed;
mod homes;
mod known;
pub mod live;
mod model;
mod phones;
mod processes;
mod queries;
mod replica;
mod scopes;
mod times;
mod unsettled;
mod verdicts;
mod waiting;

pub use replica::Replica;
