//! The signals that tell a service to stop.

use std::{
    io,
    sync::mpsc::{RecvTimeoutError, sync_channel},
    thread,
    time::Duration,
};

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
    pub fn listen() -> io::Result<Self> {
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

/// How long the last words may take: whoever does not read the log may be why the service hangs.
const LAST_WORDS: Duration = Duration::from_millis(100);

/// Ends the process so long after a signal has come, whatever hangs then: a disk that does not answer, a database that is gone, a log that
/// nobody reads. It costs what a kill would, which is nothing that was acknowledged. A thread of its own hears the signal and waits, since
/// every other may be what hangs.
pub fn end_at_last(after: Duration) -> io::Result<()> {
    let (tell, told) = sync_channel(1);
    let wait = move || {
        let heard = tokio::runtime::Builder::new_current_thread().enable_io().build().and_then(|runtime| {
            let signals = runtime.block_on(async { StopSignals::listen() })?;
            Ok((runtime, signals))
        });
        let (runtime, mut signals) = match heard {
            Ok(heard) => heard,
            Err(error) => {
                let _ = tell.send(Err(error));
                return;
            }
        };
        let _ = tell.send(Ok(()));
        runtime.block_on(signals.come());
        thread::sleep(after);
        let (said, silence) = sync_channel::<()>(1);
        let last = thread::Builder::new().name("last words".into()).spawn(move || {
            tracing::warn!("something still hangs; the service ends without it");
            drop(said);
        });
        if last.is_ok() {
            let _: Result<(), RecvTimeoutError> = silence.recv_timeout(LAST_WORDS);
        }
        std::process::exit(0);
    };
    thread::Builder::new().name("end".into()).spawn(wait)?;
    told.recv()
        .unwrap_or_else(|_| Err(io::Error::other("the thread that ends a service ended itself")))
}
