//! Field trials: before an agency buys tools, members try candidates, answer weighted questions about each, and measure them. What the
//! answers come to is worked out in `fullset_calc::field_trial`.
//!
//! - An evaluator does not read what others have answered before he has handed in his own answers about each candidate. The service holds
//!   it: answers stand in a table of their own (`trial_sheet`), in no record, feed, list or history, and are read at
//!   `GET /v1/field-trials/{id}/result` alone, by whoever may see them (`rules.rs`). Records say only that they were handed in.
//! - What was handed in is not changed; whoever has seen others' answers can no longer shape his own.
//! - Who keeps the programme may read while a trial is open, unless he is an evaluator himself, and is not made one once anything was
//!   handed in.
//! - A missing answer is missing, never nothing.
//! - Closing freezes: nothing is handed in, measured or struck afterwards. The answers are read by every member then.

mod acts;
mod api;
mod entries;
mod feed;
mod ops;
mod rows;
mod rules;
mod view;

pub use api::routes;
pub use entries::{TrialAnswer, TrialAnswerId, TrialReading, TrialReadingId};
pub use feed::{FieldTrial, FieldTrialId, FieldTrialState, TrialCandidate, TrialMeasurement, TrialQuestion};
