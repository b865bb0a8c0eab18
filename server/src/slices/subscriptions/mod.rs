//! Phones of officers that get notices (web push): where a browser is reached, as it gave it away, and for whom notices are sealed.
//!
//! - A subscription belongs to one member and to the sign-in within which it was made. When that ends, however it does, or the member's
//!   role or reach closes a change to them, the phone is told nothing more; nobody has to take it back.
//! - Where a phone is reached and what notices to it are sealed with stand in a table of their own: in no record, feed, journal or backup.
//! - It is for who decides for rigs (`Permission::Handle`), and each is told of what is within the own reach, by the rules of receivers: who
//!   is bound to a station hears of its rigs and of no district.
//! - A browser's address that another member's sign-in has is taken from nobody.
//! - Without a contact for push services (`--push-contact`) nothing of it is offered.

mod api;
mod cipher;
mod rows;
mod rules;
mod store;

pub use api::routes;
pub use cipher::{MOST_PLAIN, SealedFor, seal};
pub use rows::{end, find, forget_ended, live};
pub use rules::{MOST_OF_AGENCY, PushContact, Subscription, SubscriptionId, hears};
pub use store::Phones;
