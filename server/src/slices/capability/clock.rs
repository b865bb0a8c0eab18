//! The clock, a source of commands like any other: it sends one for each rig whose answer has run out. The command's id
//! is made from the rig and the instant, so that several server processes send it once.

use std::{sync::Arc, time::Duration};

use serde_json::json;

use super::rows;
use crate::platform::{
    auth::Actor,
    door::{Command, own_body, own_id},
    error::Fault,
    http::Shared,
};

/// How long the clock sleeps between looks at the next instant that runs out; a look is one indexed query.
const STEP: Duration = Duration::from_secs(1);
/// The most rigs that one look takes up.
const MOST: i64 = 200;

/// Runs until it is dropped.
pub async fn keep_time(shared: Arc<Shared>) {
    loop {
        tokio::time::sleep(STEP).await;
        if let Err(fault) = tick(&shared).await {
            tracing::warn!(cause = ?fault.cause, %fault, "the clock could not refresh capability");
        }
    }
}

async fn tick(shared: &Arc<Shared>) -> Result<(), Fault> {
    let now = shared.clock.now();
    let due = shared.read(move |db| rows::due(db, now, MOST)).await?;
    for (agency, rig, held_until) in due {
        let body = own_body(&json!({ "rig": rig, "held_until": held_until }))?;
        let id = own_id(&format!("capability.refresh/{agency}/{rig}/{}", held_until.timestamp_micros()));
        let command = Command {
            id,
            kind: "capability.refresh".into(),
            at: None,
            expects: None,
            after: None,
            by: None,
            body,
        };
        shared.door.send(Arc::new(Actor::service(agency, "the clock")), None, vec![command]).await?;
    }
    Ok(())
}
