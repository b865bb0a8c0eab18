//! RequestBodies on their way: how slowly one may come, and how much all of them may hold together. A caller who sends a byte a second
//! would else keep a connection, and one who sends many large ones at once the memory.

use std::{
    io,
    pin::Pin,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    task::{Context, Poll, ready},
    time::Duration,
};

use actix_web::{
    HttpMessage as _,
    dev::{Payload, ServiceRequest},
    error::PayloadError,
    web::Bytes,
};
use futures_util::Stream;
use tokio::time::{Instant, Sleep, sleep_until};

use crate::platform::error::{self, Fault};

/// What bodies may take.
#[derive(Debug, Clone, Copy)]
pub struct BodyLimits {
    /// How long any body may take, however slowly it comes.
    pub grace: Duration,
    /// How many bytes a second it has to bring after that, over all of its time.
    pub slowest: u32,
    /// How many bytes of bodies that are not whole yet are held at once, in all.
    pub under_way: usize,
}

impl Default for BodyLimits {
    /// Twenty seconds, then 2 kB a second: a phone at the edge of its network is faster. 256 MiB in all.
    fn default() -> Self {
        Self {
            grace: Duration::from_secs(20),
            slowest: 2_000,
            under_way: 256 * 1024 * 1024,
        }
    }
}

/// The bodies of a service that are on their way.
#[derive(Debug, Default)]
pub struct RequestBodies {
    limits: BodyLimits,
    held: Arc<AtomicUsize>,
}

impl RequestBodies {
    /// RequestBodies within limits.
    pub fn new(limits: BodyLimits) -> Self {
        Self { limits, ..Self::default() }
    }

    /// How many bytes of bodies are held now.
    pub fn held(&self) -> usize {
        self.held.load(Ordering::Relaxed)
    }

    /// Has the body of a request watched. A request without one is left as it is.
    pub fn watch(&self, request: &mut ServiceRequest) {
        match request.take_payload() {
            Payload::None => {}
            body => {
                let began = Instant::now();
                let watched = Watched {
                    body: Box::pin(body),
                    limits: self.limits,
                    began,
                    late: Box::pin(sleep_until(began + self.limits.grace)),
                    taken: 0,
                    held: Arc::clone(&self.held),
                };
                request.set_payload(Payload::Stream { payload: Box::pin(watched) });
            }
        }
    }
}

/// A body that ends with a failure where it comes too slowly, or where too much is held already.
struct Watched {
    body: Pin<Box<Payload>>,
    limits: BodyLimits,
    began: Instant,
    late: Pin<Box<Sleep>>,
    taken: usize,
    held: Arc<AtomicUsize>,
}

impl Stream for Watched {
    type Item = Result<Bytes, PayloadError>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        if self.late.as_mut().poll(context).is_ready() {
            return Poll::Ready(Some(Err(PayloadError::Io(io::ErrorKind::TimedOut.into()))));
        }
        let bytes = match ready!(self.body.as_mut().poll_next(context)) {
            Some(Ok(bytes)) => bytes,
            ended => return Poll::Ready(ended),
        };
        self.taken += bytes.len();
        if self.held.fetch_add(bytes.len(), Ordering::Relaxed) + bytes.len() > self.limits.under_way {
            return Poll::Ready(Some(Err(PayloadError::Io(io::ErrorKind::OutOfMemory.into()))));
        }
        let earned = Duration::from_secs((self.taken / self.limits.slowest.max(1) as usize) as u64);
        let end = self.began + self.limits.grace + earned;
        self.late.as_mut().reset(end);
        Poll::Ready(Some(Ok(bytes)))
    }
}

impl Drop for Watched {
    fn drop(&mut self) {
        self.held.fetch_sub(self.taken, Ordering::Relaxed);
    }
}

/// Why a body could not be read, for its sender.
pub fn unread(cause: &actix_web::Error) -> Fault {
    match cause.as_error::<PayloadError>() {
        Some(PayloadError::Io(cause)) if cause.kind() == io::ErrorKind::TimedOut => Fault::new(
            error::BODY_SLOW,
            "The body came too slowly; send it again where the signal is better, or less at once",
        ),
        Some(PayloadError::Io(cause)) if cause.kind() == io::ErrorKind::OutOfMemory => {
            Fault::new(error::BUSY, "Too many bodies are on their way to the service; send this one again in a moment").again_in(5)
        }
        Some(PayloadError::Incomplete(_) | PayloadError::Io(_)) => Fault::new(error::BODY_UNREADABLE, "The body broke off; send it again"),
        _ => Fault::new(error::BODY_TOO_LARGE, "The body is larger than this address takes; send less at once"),
    }
}
