//! Running the service: what whoever keeps it in motion relies on, by the real binary.

mod settings;
