//! One door for writes, one feed for reads: what a client may rely on.

mod batch;
mod feed;
mod killed;
mod live;
mod model;
mod processes;
mod queries;
mod scopes;
mod times;
