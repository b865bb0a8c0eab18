//! Who outside the service is told when a rig's level changes or a district falls short: a program at dispatch that takes webhooks, or a desk
//! that reads e-mail.
//!
//! - What a program is told is signed with a secret that the client makes, as it makes ids, so that a lost answer loses no secret. It is
//!   in no record, no answer and no journal.
//! - Its address is https and leads to the public internet, unless whoever runs the service allows more ([`Outward`]). That is asked when
//!   the address is set and again, of what the name resolves to, at each sending (`slices/alerts`).
//! - A receiver that answers 410 is switched off and says so; only a person switches it on again. What it would have been told meanwhile is
//!   on record all the same, as not told.

mod api;
mod feed;
mod ops;
mod rows;
mod rules;

pub use api::routes;
pub use feed::{ChangeKind, Receiver, ReceiverId, SwitchedOff, Way};
pub use ops::{secret, switch_off};
pub use rules::SendsEmail;

pub use crate::platform::outward::Outward;
