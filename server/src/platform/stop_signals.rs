//! The signals that tell a service to stop.

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
}
