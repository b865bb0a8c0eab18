//! The signals that tell a service to stop.

use std::time::Duration;

use tokio::signal::unix::{Signal, SignalKind, signal};

/// Heard from before the service says that it answers: one that comes earlier ends the process as it would any other.
#[derive(Debug)]
pub struct StopSignals {
    terminate: Signal,
    interrupt: Signal,
    /// That a terminal was closed stops nothing: where there is something to read or to open anew that is done, and else nothing happens.
    _hangup: Signal,
}

impl StopSignals {
    /// Hears them from now on.
    pub fn listen() -> std::io::Result<Self> {
        Ok(Self {
            terminate: signal(SignalKind::terminate())?,
            interrupt: signal(SignalKind::interrupt())?,
            _hangup: signal(SignalKind::hangup())?,
        })
    }

    /// Waits for one.
    pub async fn come(&mut self) {
        tokio::select! {
            _ = self.terminate.recv() => {}
            _ = self.interrupt.recv() => {}
        }
    }

    /// Ends the process so long after one has come, whatever hangs then: a disk that does not answer, a database that is gone. It costs what
    /// a kill would, which is nothing that was acknowledged. A thread waits, since the tasks may be what hangs.
    pub async fn end_at_last(mut self, after: Duration) {
        self.come().await;
        let ends = move || {
            std::thread::sleep(after);
            tracing::warn!("something still hangs; the service ends without it");
            std::process::exit(0);
        };
        if let Err(error) = std::thread::Builder::new().name("end".into()).spawn(ends) {
            tracing::warn!(%error, "no thread could be started that ends a service which hangs");
        }
    }
}
