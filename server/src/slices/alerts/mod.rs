//! Telling dispatch, and officers by their phones. A change of a rig's level, or of whether a district has enough full rigs, is an alert: one record with whom it was
//! told, by what way, when, and who acknowledged it.
//!
//! - An alert is written in the transaction of the change itself, with a row for each receiver (`telling`) that says what is yet to be
//!   sent: a service that is killed between commit and sending sends it later, from any process.
//! - It is sent at least once, under one id and with one content: a receiver that has the id has the message.
//! - What is sent names no person and repeats nobody's words.
//! - Nothing counts as acknowledged because it was taken: a person's or desk's word says so, in the answer, by the message's code, or
//!   through a member.
//! - An agency that tells nobody has no alerts, and its commands cost one query more where they turn a rig: whose phones there are.

mod acts;
mod api;
mod feed;
mod letter;
mod mail;
mod message;
mod ops;
mod outward;
mod confirmed;
mod rows;
mod rules;
mod watch;
mod work;

pub use api::routes;
pub use feed::{Alert, AlertId};
pub use mail::{MailFrom, MailRelay, Mailer};
pub use outward::Sender;
pub use watch::watch;
pub use work::keep_telling;
