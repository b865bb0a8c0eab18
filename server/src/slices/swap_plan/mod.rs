//! The swap plan: which pieces to move so that full rigs reach the most demand, and the command that turns it into open
//! swaps, all of them or none. What the search proposes is judged once more as a whole before it is shown: every rig that it
//! makes full is full with all its moves, and no rig that gives a piece drops a level.

mod api;
mod day;
mod donors;
mod ops;
mod rules;
mod view;

pub use api::routes;
