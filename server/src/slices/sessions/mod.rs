//! Sign-in, refresh and sign-out, by password, second factor, passkey and code of a device; and how often each may be tried.

mod api;
mod entry;
mod limits;
mod passkey;
mod proof;
mod view;

pub use api::routes;
pub use entry::{Entry, Session, SignInRequest, begin, enter, find};
pub use limits::{CodeLimits, SignInLimits};
pub use passkey::from_base64;
pub use proof::{half, password_wrong, proven, right_code};
pub use view::{is_asked, missing};
