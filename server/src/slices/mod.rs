//! The nouns of the trade, one folder each. A slice names only slices above it in this list, and only through their `mod.rs`.
//!
//! | file | holds |
//! | --- | --- |
//! | `mod.rs` | what the noun is, its invariants, the few names that others may use |
//! | `feed.rs` | its record: the JSON that goes over the wire, and what it is found by |
//! | `ops.rs` | its commands: load, decide, save |
//! | `rules.rs` | its decisions, on plain values |
//! | `rows.rs` | its own tables, where it has any |
//! | `api.rs` | its addresses |

pub mod agencies;
pub mod districts;
pub mod stations;
pub mod members;
pub mod devices;
pub mod sessions;
pub mod accounts;
pub mod invitations;
pub mod api_keys;
pub mod shops;
pub mod couplings;
pub mod models;
pub mod check_plans;
pub mod rig_classes;
pub mod rigs;
pub mod pieces;
pub mod tool_sets;
pub mod crews;
pub mod photos;
pub mod operating_cards;
pub mod shifts;
pub mod defects;
pub mod uses;
pub mod checks;
pub mod notices;
pub mod mishaps;
pub mod handovers;
pub mod field_trials;
pub mod tickets;
pub mod capability;
pub mod rollouts;
pub mod due_checks;
pub mod calendar_feeds;
pub mod receivers;
pub mod subscriptions;
pub mod alerts;
pub mod swaps;
pub mod board;
pub mod effects;
pub mod sheet;
pub mod demand;
pub mod map_lines;
pub mod map_tiles;
pub mod coverage;
pub mod swap_plan;
pub mod bench;
pub mod availability;
pub mod reliability;
pub mod reserves;
pub mod service_lives;
pub mod replacements;
pub mod safety;
pub mod service_plan;
pub mod founding;
pub mod imports;
