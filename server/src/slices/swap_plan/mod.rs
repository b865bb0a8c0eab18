//! The swap plan: which pieces to move so that full rigs reach the most demand, and the command that turns it into open
//! swaps, all of them or none. Which pieces make a rig full is asked of the judge, set by set, and what a plan does to each rig
//! is judged as a whole (`calc::swaps`): every rig that it makes full is full with all its moves, and no rig that gives a piece drops a level.

mod api;
mod day;
mod donors;
mod ops;
mod rules;
mod view;

pub use api::routes;
