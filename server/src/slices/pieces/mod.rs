//! Pieces: one tracked thing with an asset tag.
//!
//! - A piece is in one place. Moving it is one act with two ends; until the far end confirms, it is in transit and
//!   counts nowhere.
//! - *Out of service* always wins. Only a named person opens the other way, on the revision that was seen, and not
//!   while an open defect or ticket holds the piece; on the evidence that `fullset_calc::release` asks for by what it went out for.
//! - An open defect that leaves it usable carries a limit and a repair-by instant, which the piece shows.
//! - A missing piece keeps its last place, is not usable and is not moved; found, it is out of service until a person returns it.
//! - What comes aboard a rig after its registration is not confirmed there until somebody has tried it on that rig: `Piece::put_at` is the
//!   only way to another place.
//! - Its dates lie in no future, and none before its make: `fullset_calc::plate::dates`, through every door.
//! - How long it serves, as a whole and by its parts, is worked out in one place (`lives`) from its dates, its model and the policy.
//! - Nothing comes aboard that could be joined to something of another fluid, by whatever door: `fluids::refuse_mix`; the fluid on
//!   record is changed by the shop, on a piece that is out of service (`piece.refill`), never by typing. What a register file says is aboard is written down and judged.
//! - What is kept for a rig's changeover in a rollout goes aboard no rig before it, by whatever door: `fluids::refuse_mix` asks that first.
//! - A later service day is never typed: `piece.serviced` records it with its evidence.
//! - No two live pieces of a model share a serial number.
//! - Tags are never used again, not even after retirement.
//! - What it allows as it is stands on its record: `rules::may`, by which the commands go too.

mod acts;
mod api;
mod clearing;
mod condition;
mod dates;
mod editing;
mod exchange;
mod feed;
mod fluids;
mod marks;
mod ops;
mod place;
mod refill;
mod remodel;
mod rules;
mod trying;

pub use api::routes;
pub use clearing::{Clearance, Purpose, Subject, clear, read_evidence};
pub use condition::{
    Outage, PassedCheck, accept, allowed, bring_back, bring_to, drop_limit, end_holds, hold, mark_checked, mark_notice, mark_passed, mark_serviced, mark_used,
    note_released, put_out, retire, set_limit, unmark_used,
};
pub use dates::lives;
pub use feed::{Hold, HoldBy, Piece, PieceId, PieceLimit, PieceState, ToolSetId, Unanswered};
pub use fluids::refuse_mix;
pub use marks::{BaselineValue, CycleCount, Lender, NoticeMark, NoticeState, Pass, Released, Trial};
pub use ops::scope_at;
pub use place::{Place, carry_over, check_dates, check_place, destination, keep_for, settled_home};
pub use rules::{PieceAct, role_of};
