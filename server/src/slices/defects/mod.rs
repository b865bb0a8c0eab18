//! Defects: something wrong with a piece. Reporting one only adds, so it never conflicts; one that puts the piece out of
//! service takes effect at once and holds it until a person closes it, on the evidence that its class asks for. One that leaves the piece
//! usable carries a limit and a day by which it is repaired. Seen again, it is a note on the open one, which may worsen it, never better it.
//! Fluids that were mixed aboard a rig take out every wet piece of it, each by a defect of its own.

mod acts;
mod api;
mod feed;
mod mixed;
mod notes;
mod ops;
mod retire;
mod rules;

pub use acts::NoteDefect;
pub use api::routes;
pub use feed::{Defect, DefectId, DefectState, Severity};
pub use notes::DefectNote;
pub use ops::{ReportDefect, close, tie};
