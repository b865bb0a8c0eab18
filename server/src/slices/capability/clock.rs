//! The clock: whatever runs out while nobody does anything is settled by it, at start and from then on. It asks the door,
//! agency by agency; one that cannot be settled does not stall the others.

use std::{sync::Arc, time::Duration};

use crate::platform::{door::lapses, error::Fault, http::Shared};

/// How long the clock sleeps between looks at what is due; a look is one indexed query.
const STEP: Duration = Duration::from_secs(1);

/// Runs until it is dropped.
pub async fn keep_time(shared: Arc<Shared>) {
    loop {
        tokio::select! {
            () = tokio::time::sleep(STEP) => {}
            () = shared.door.left_to_clock() => {}
        }
        settle_all(&shared).await;
    }
}

/// Settles all that is due now. An agency's turn is one short piece of work, so that its commands and the other agencies
/// do not wait for all of it.
pub async fn settle_all(shared: &Arc<Shared>) {
    loop {
        match settle_turn(shared).await {
            Ok(true) => {}
            Ok(false) => return,
            Err(fault) => {
                tracing::warn!(cause = ?fault.cause, %fault, "the clock could not see what is due");
                return;
            }
        }
    }
}

/// One piece of work for each agency that has some; whether any was done.
async fn settle_turn(shared: &Arc<Shared>) -> Result<bool, Fault> {
    let now = shared.clock.now();
    let mut done = false;
    for agency in shared.read(move |db| Ok(lapses::agencies_due(db, now)?)).await? {
        match shared.door.settle_slice(agency).await {
            Ok(batch) => done |= !batch.answers.is_empty(),
            Err(fault) => tracing::warn!(%agency, cause = ?fault.cause, %fault, "the clock could not settle an agency; it tries again in a moment"),
        }
    }
    Ok(done)
}
