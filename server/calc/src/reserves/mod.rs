//! How many spare pieces to keep, and what the next one is worth.
//!
//! Pieces away for repair are Poisson with mean *failures per day times mean days away*, whatever the spread of the days away
//! (Palm's theorem), as long as every failed piece goes its way alone. Compatible pieces share one pipeline: hand in one
//! [`Family`] for all pieces that can take each other's slots.
//!
//! Two figures that are often mixed up, for `s` spares and `X` pieces away:
//! - **fill rate**, P(X <= s - 1): the share of failures that find a spare on the shelf;
//! - **ready rate**, P(X <= s): the share of the time in which no rig waits for a spare.
//!
//! They differ by one spare. **Shortage** is the mean number of slots that wait, the sum of P(X > j) over j >= s.
//!
//! [`curve`] buys one piece at a time, always where it takes away most weighted shortage per price. The next spare of a family takes
//! away `P(X > s)`, which only falls as `s` grows: shortage is convex, families do not touch each other, so no other stock with the
//! same total price or a lower one has less shortage than a point of that curve (a swap of bought pieces for others could only trade
//! higher returns for lower ones). Between two points some budget may be left; how much better a stock for the whole of
//! it could be at most is told with it.
//!
//! [`finite`] is for small fleets: a piece that is away cannot fail, and rigs that wait do not wear out theirs.

mod curve;
mod fleet;
mod pipeline;
mod queue;

pub use curve::{Bought, Curve, Family, curve};
pub use fleet::{Finite, Layers, TwoEchelon, finite, two_echelon};
pub use pipeline::{Stock, Target, needed, pipeline, stock};
pub use queue::{erlang_b, erlang_c, offered_load};
