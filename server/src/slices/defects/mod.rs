//! Defects: something wrong with a piece. Reporting one only adds, so it never conflicts; one that puts the piece out of
//! service takes effect at once and holds it until a person closes it. Seen again, it joins the open one.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{Defect, DefectId, DefectState};
pub use ops::{close, tie};
