//! Every integration test of Fullset, in one binary. The service is driven over HTTP, as any client would.
//!
//! | module | what it holds |
//! | --- | --- |
//! | [`world`] | a service on a fresh database with a county in it, people, builders |
//! | [`slices`] | the rules of each noun, and one walk through all of them |
//! | [`contract`] | what `/openapi.json` promises, for every operation that it lists |
//! | [`sync`] | batches, the feed, the live stream, and hundreds of simulated phones with a service that is killed |
//! | [`cli`] | the command line |
//! | [`journal`] | that tampering is found |
//! | [`schema`] | that both databases have the same tables |
//! | [`architecture`] | which file may name which |

mod architecture;
mod cli;
mod contract;
mod journal;
mod schema;
mod slices;
mod sync;
mod world;
