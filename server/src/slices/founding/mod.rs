//! The first agency of an installation and its admin: by the command line, or from a page with the code that the service printed.
//!
//! - Only where there is no agency yet, and by one founding at a time. The code serves until there is one, or the process ends.
//! - What the commands would refuse is refused before the first of them, so that no half of an agency is left.

mod api;
mod work;

pub use api::{Founder, routes};
pub use work::Founding;
