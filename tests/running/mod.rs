//! Running the service: what whoever keeps it in motion relies on, by the real binary.

mod access_log;
mod files;
mod handbook;
mod kit;
mod metrics;
mod postgres_tls;
mod restart;
mod settings;
mod stopping;
mod traces;
