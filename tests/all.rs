//! Every integration test of Fullset, in one binary. The service is driven over HTTP, as any client would.
//!
//! | module | what it holds |
//! | --- | --- |
//! | [`world`] | a service on a fresh database with a county in it, people, builders |
//! | [`slices`] | the rules of each noun, and one walk through all of them |
//! | [`contract`] | what `/openapi.json` promises, for every operation that it lists |
//! | [`kills`] | nothing acknowledged is lost or doubled when the service is killed |
//! | [`power`] | nothing acknowledged is lost when the power is |
//! | [`sync`] | batches, the feed, the live stream, and hundreds of simulated phones with a service that is killed |
//! | [`cli`] | the command line |
//! | [`backups`] | backups, restoring, and what `fullset verify` finds |
//! | [`doctor`] | `fullset doctor` |
//! | [`keys`] | the keys that sign access tokens |
//! | [`conformance`] | `fullset sync-check`, against the service and against ones that are broken on purpose |
//! | [`examples`] | the examples of `openapi/sync.md`, run as they stand there |
//! | [`fuzzed`] | the corpus of the fuzz targets, held to the same properties |
//! | [`hostile`] | callers who mean harm |
//! | [`journal`] | that tampering is found |
//! | [`outside`] | other people's tools, against the document and the service |
//! | [`running`] | running the service: settings, logs, metrics, starting and stopping, the files to run it with |
//! | [`schema`] | that both databases have the same tables |
//! | [`upgrade`] | that databases which earlier schemas left open, are read and written to |
//! | [`tls`] | TLS of the service itself |
//! | [`pages`] | the dashboard's files as they are sent |
//! | [`architecture`] | which file may name which |

mod architecture;
mod backups;
mod cli;
mod conformance;
mod contract;
mod doctor;
mod examples;
mod fuzzed;
mod hostile;
mod journal;
mod keys;
mod kills;
mod lost;
mod outside;
mod pages;
mod power;
mod running;
mod schema;
mod slices;
mod sync;
mod tls;
mod upgrade;
mod world;
