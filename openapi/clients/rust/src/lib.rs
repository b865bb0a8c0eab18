//! The sync protocol of Fullset for programs in Rust; `openapi/sync.md` is the protocol in prose.
//!
//! Three plain values are the caller's to store: the [`Session`] of a sign-in, the [`Outbox`] of commands that are not
//! answered yet, and the [`Replica`] that follows the feed. Everything else can be forgotten at any moment.
//!
//! ```no_run
//! use fullset_client::{Client, Command, Outbox, Patience, Replica};
//! use serde_json::json;
//! use uuid::Uuid;
//!
//! # async fn example(piece: Uuid) -> Result<(), fullset_client::Error> {
//! let client = Client::new("https://fullset.example")?;
//! client.sign_in("crew@agency.example", "three unrelated words").await?;
//!
//! // Written down with no signal; the caller keeps `outbox` on disk before it says "noted" to anybody.
//! let mut outbox = Outbox::default();
//! let report = json!({ "id": Uuid::now_v7(), "piece": piece, "what": "leak at the handle", "severity": "out_of_service" });
//! outbox.add(Command::new("defect.report", &report)?);
//!
//! // With a signal: sent under the same ids until it is answered, eight tries at most.
//! client.drain(&mut outbox, Patience::tries(8)).await?;
//! for undone in &outbox.undone {
//!     println!("{} was not done: {:?}", undone.command.kind, undone.answer.problem);
//! }
//!
//! // And what others did. The caller keeps `replica` on disk, its token together with its records.
//! let mut replica = Replica::of("agency");
//! client.pull(&mut replica, Patience::tries(8)).await?;
//! println!("{} pieces", replica.kind("piece").count());
//! # Ok(())
//! # }
//! ```
//!
//! The records themselves are kept as the JSON that came, so that kinds and fields that this program does not know
//! survive it; [`Replica::read`] makes a typed value of one.
//!
//! ```
//! use fullset_client::{Page, Replica};
//! use uuid::Uuid;
//!
//! let page: Page = serde_json::from_str(r#"{
//!     "revision": 7, "next": "opaque", "more": false,
//!     "changes": [{ "kind": "piece", "id": "01936f2e-7b1c-7c11-8a55-2f7c1b0c9d11", "rev": 7,
//!                   "record": { "tag": "E1-CUT", "state": "in_service", "a_field_of_tomorrow": [1, 2] } }]
//! }"#)?;
//! let mut replica = Replica::of("agency");
//! replica.take(page);
//!
//! #[derive(serde::Deserialize)]
//! struct Piece { tag: String }
//! let id = "01936f2e-7b1c-7c11-8a55-2f7c1b0c9d11".parse::<Uuid>()?;
//! assert_eq!(replica.read::<Piece>("piece", id)?.map(|piece| piece.tag), Some("E1-CUT".into()));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod client;
mod command;
mod error;
mod feed;
mod live;
mod patience;
mod photo;
mod session;
mod signing;

pub use client::{Client, PROTOCOL};
pub use command::{Answer, By, Command, Expects, MOST, Outbox, Outcome, RecordRef, Undone};
pub use error::{Error, FieldFault, Problem};
pub use feed::{Change, GoneReason, Page, Replica, Stub, Unsettled, UnsettledAnswer};
pub use live::Live;
pub use patience::Patience;
pub use session::Session;
pub use signing::{PinKey, Signer};
