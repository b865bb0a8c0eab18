//! Fullset, the service: which rigs can do a full extrication now, and what is missing on the others.
//!
//! | rank | module | what it is |
//! | --- | --- | --- |
//! | 0 | [`platform`] | databases, the one door for writes, sign-in, HTTP, errors; knows no noun of the product |
//! | 1 | [`slices`] | one folder per noun of the trade |
//! | 2 | [`sync`] | the batch endpoint, the change feed, the live stream |
//! | 3 | [`app`], `routes`, `settings`, `metrics`, `documents` | pools, middleware and routes, wired once; what it may be told; what is told and served whole |
//!
//! A file names only its own rank or lower; between slices only leftward in the order of [`slices`].

pub mod app;
pub mod cli;
mod documents;
mod metrics;
pub mod platform;
mod routes;
mod settings;
pub mod slices;
pub mod sync;
mod tags;
