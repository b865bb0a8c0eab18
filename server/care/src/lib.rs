//! What keeps a set ready: what a check asks, what its answers show, when the next is due, which pieces a notice is about.
//!
//! Pure: no clock, no randomness, no database, no I/O; `now` is an argument. What is not known is said as unknown and never passes.
//!
//! | module | answers |
//! | --- | --- |
//! | [`plan`] | what a check plan is, whether it can be kept so, what a change of it loosens |
//! | [`check`] | what the answers of a check show, step by step and as a whole; how a reading moves |
//! | [`due`] | when a piece's next check is due, and which were missed |
//! | [`recurrence`] | rules of RFC 5545 and their occurrences in a zone |
//! | [`zone`] | what a wall clock's reading means, where a duty day begins |
//! | [`starter`] | plans to begin with, for every kind |
//! | [`life`] | when a piece, or a part of it, has served its time |
//! | [`notice`] | which pieces a safety notice is about |
//! | [`crew`] | which gear aboard nobody of a crew is signed off on |

pub mod check;
pub mod crew;
pub mod due;
pub mod life;
pub mod notice;
pub mod plan;
pub mod recurrence;
#[cfg(all(test, feature = "openapi"))]
mod schema_tests;
pub mod starter;
pub mod zone;

/// What cannot be taken, where it stands and what to do.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Fault {
    /// The field, for example `steps[2].ask.limits[0]`.
    pub path: String,
    /// A sentence for the person who wrote it.
    pub words: String,
}

impl Fault {
    fn new(path: impl Into<String>, words: impl Into<String>) -> Self {
        Self {
            path: path.into(),
            words: words.into(),
        }
    }
}
