//! Register files: each read in by one command that can be undone; the register written out so that it reads back in.
//!
//! What a file says is `fullset_register`'s to find out, on plain values: its bytes are read before the writer is held
//! (`AddImport::prepare`), its lines against what the agency has inside the command. `undo.rs` takes an import back,
//! `progress.rs` says how far one is while it lasts, `export.rs` takes the register out of the agency.

mod api;
mod export;
mod feed;
mod load;
mod names;
mod ops;
mod progress;
mod undo;

pub use api::routes;
pub use export::export;
pub use feed::{Import, Report};
pub use load::{AgencyNames, Choices};
