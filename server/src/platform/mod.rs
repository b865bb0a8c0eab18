//! What every noun stands on: databases, the door, sign-in, HTTP, TLS, errors, ids, time.
//!
//! It knows where things belong (district, station, rig), who acts (member, device) and that photos are sent in parts, because
//! scopes, sign-in and their tables are made of that. Of what the product is about it names nothing: a record is a kind and a body.
//! A module names those of its own rank and below (`tests/architecture`):
//!
//! | rank | modules |
//! | --- | --- |
//! | 0 | `canonical`, `clock`, `error`, `hex`, `histogram`, `ids`, `line`, `outward`, `patch`, `rates`, `said`, `stop_signals`, `tasks`, `tls`, `traces`, `turns` |
//! | 1 | `body`, `db`, `person` |
//! | 2 | `bodies`, `record` |
//! | 3 | `follow`, `listing`, `past` |
//! | 4 | `auth`: who acts and may do what |
//! | 5 | `door`: every write |
//! | 6 | `audit`, `backup`, `http` |

pub mod audit;
pub mod auth;
pub mod backup;
pub mod bodies;
pub mod body;
pub mod canonical;
pub mod clock;
pub mod db;
pub mod door;
pub mod error;
pub mod follow;
pub mod hex;
pub mod histogram;
pub mod http;
pub mod ids;
pub mod line;
pub mod outward;
pub mod past;
pub mod listing;
pub mod patch;
pub mod person;
pub mod rates;
pub mod record;
pub mod said;
pub mod serde_words;
pub mod stop_signals;
pub mod tasks;
pub mod tls;
pub mod traces;
pub mod turns;
