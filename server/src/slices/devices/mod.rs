//! Devices: a member's own phone, or a tablet that a station shares. A device is enrolled by a code and ends when it is revoked.
//!
//! A phone acts as its member. A tablet has a sign-in of its own, of a role that may do nothing: it reads, and sends what
//! members have signed with their PIN. The signer acts with the own role and reach, and must reach the tablet's station.

mod api;
mod feed;
mod ops;
mod signing;

pub use api::routes;
pub use feed::{Device, DeviceKind, DeviceState};
pub use signing::AUTHORITY;
