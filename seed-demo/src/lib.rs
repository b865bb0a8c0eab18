//! The invented demo county, told through the HTTP API as a seeded story.
//!
//! Everything here is made up: the county, its people, the makers and their models. The story is a `Plan`
//! first, the same for every telling on one day, and is only then told: each member signs in and acts in its own role,
//! at the instant at which the plan says so. This crate knows the service by its HTTP interface alone.
//!
//! | file | what it tells |
//! | --- | --- |
//! | `places` | districts, stations, rigs |
//! | `catalogue` | models with their ratings |
//! | `classes` | what each rig class must carry and is expected to reach |
//! | `grades` | what the county calls limited, full and heavy |
//! | `cards` | how some of the models are run |
//! | `prices` | what some of the models cost |
//! | `people` | members and how far they reach |
//! | `rollout` | newer battery sets for the older ones, rig by rig |
//! | `county` | the register as it stands on the first day |
//! | `dice` | seeded chance and the ids |
//! | `when` | story time: days ago by the wall clock, minutes ago for the last hours |
//! | `deeds` | what members do, as data, and the command that each deed is |
//! | `evidence` | what is wrong with a piece, and what its return rests on |
//! | `kit` | what each rig carries, and what lies on the shelves |
//! | `faults` | what goes wrong in an ordinary half year |
//! | `words` | what crews report and how it was mended |
//! | `gauge` | what the shop's tests show |
//! | `story` | the pen: puts deeds in order, keeps pieces from being in two tales at once |
//! | `today` | the tales that end on the last day, and make it what it is |
//! | `lately` | what happened in the last days alone |
//! | `tales` | older tales that are over |
//! | `events` | the everyday: small defects, repairs, annual services |
//! | `ledger`, `stand` | the story read by somebody who trusts nobody |
//! | `trials` | what came aboard a rig is tried there |
//! | `plan` | all of it, in the order of time |
//! | `client`, `tell` | sign-in and batches; the telling |

mod benches;
mod candidates;
mod cards;
mod care;
mod catalogue;
mod classes;
mod client;
mod county;
mod crews;
mod deeds;
mod dice;
mod events;
mod evidence;
mod faults;
mod gauge;
mod grades;
mod kit;
mod lately;
mod ledger;
mod people;
mod places;
mod plan;
mod prices;
mod rollout;
mod stand;
mod story;
mod tales;
mod tell;
mod today;
mod trials;
mod when;
mod words;
mod zones;

#[cfg(test)]
mod release_tests;
#[cfg(test)]
mod tests;

use chrono::{DateTime, Utc};

pub use tell::tell;

/// Somebody who may sign in.
#[derive(Debug, PartialEq, Eq)]
pub struct Person {
    /// The role.
    pub role: &'static str,
    /// The email.
    pub email: &'static str,
    /// The name.
    pub name: &'static str,
}

/// The agency's name.
pub const AGENCY: &str = "Tamarrow County Fire & Rescue";
/// Its time zone.
pub const TIME_ZONE: &str = "America/Denver";
/// Everybody's password.
pub const PASSWORD: &str = "county-demo-only";
/// The admin.
pub const ADMIN: &Person = &people::ADMIN;
/// Who may sign in: one for each role. The other members of the county have the same password.
pub const SIGN_INS: &[&Person] = &[&people::CREW, &people::OFFICER, &people::SHOP, &people::CHIEF, &people::COORDINATOR, ADMIN];

/// When the story begins: a morning half a year before the day on which it ends.
pub fn begins(end: DateTime<Utc>) -> DateTime<Utc> {
    when::begins(when::today(end))
}
