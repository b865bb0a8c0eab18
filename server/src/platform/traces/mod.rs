//! Traces, where somebody asked for them: a span for each request and for each group of the writer, sent to a collector as OTLP in JSON over
//! HTTP. What is handed in waits in a queue of a fixed length; where that is full the span is dropped and counted, and no request waits.
//! A span holds patterns, counts and codes: no id of a record, nobody's name, no address, nothing that somebody sent.

mod context;
mod exporter;
mod otlp;

use std::sync::{
    Arc,
    atomic::{AtomicU64, Ordering},
};

pub use context::{Called, Context, current};
pub use exporter::{Collector, Exporter};
use tokio::sync::mpsc::{Receiver, Sender, channel};

use super::clock::Clock;

/// Spans that wait for the collector.
const WAITING: usize = 4096;
/// The most spans of other traces that a span names.
pub const MOST_LINKS: usize = 64;

/// What a span is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpanKind {
    /// Work within the process.
    Internal,
    /// A request that is answered.
    Server,
}

/// What is told of a span besides its times.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Attribute {
    /// A word of the service's own.
    Word(String),
    /// A number.
    Number(i64),
}

/// Work that is done.
#[derive(Debug, Clone)]
pub struct Span {
    pub(super) context: Context,
    pub(super) parent: Option<u64>,
    pub(super) links: Vec<Context>,
    pub(super) name: String,
    pub(super) kind: SpanKind,
    pub(super) began: u64,
    pub(super) ended: u64,
    pub(super) attributes: Vec<(&'static str, Attribute)>,
    pub(super) failed: bool,
}

/// Work that has begun.
#[derive(Debug, Clone)]
pub struct Begun {
    /// Its own place in its trace.
    pub context: Context,
    parent: Option<u64>,
    links: Vec<Context>,
    began: u64,
}

impl Begun {
    /// Within the trace of another span, which may be of another program, or of one of its own.
    pub fn within(parent: Option<&Context>) -> Self {
        Self {
            context: parent.map_or_else(Context::new, Context::child),
            parent: parent.map(|parent| parent.span),
            links: Vec::new(),
            began: now(),
        }
    }

    /// For several at once: in the trace of the first of them, naming the others.
    pub fn within_all(all: &[Context]) -> Self {
        let (first, others) = all.split_first().map_or((None, [].as_slice()), |(first, others)| (Some(first), others));
        Self {
            links: others.iter().take(MOST_LINKS).copied().collect(),
            ..Self::within(first)
        }
    }

    /// Ends it.
    pub fn end(self, kind: SpanKind, name: String, attributes: Vec<(&'static str, Attribute)>, failed: bool) -> Span {
        Span {
            context: self.context,
            parent: self.parent,
            links: self.links,
            name,
            kind,
            began: self.began,
            ended: now().max(self.began),
            attributes,
            failed,
        }
    }
}

/// Nanoseconds since the start of 1970.
fn now() -> u64 {
    let nanos = Clock::system().now().timestamp_nanos_opt();
    nanos.and_then(|nanos| u64::try_from(nanos).ok()).unwrap_or_default()
}

/// Where spans are handed in.
#[derive(Debug, Clone)]
pub struct Traces {
    queue: Sender<Span>,
    counts: Arc<SpanCounts>,
}

/// What became of spans.
#[derive(Debug, Default)]
struct SpanCounts {
    sent: AtomicU64,
    dropped: AtomicU64,
}

impl Traces {
    /// A queue, and its other end.
    fn new() -> (Self, Receiver<Span>) {
        let (queue, spans) = channel(WAITING);
        let counts = Arc::default();
        (Self { queue, counts }, spans)
    }

    /// Hands a span in, or drops it.
    pub fn hand_in(&self, span: Span) {
        if self.queue.try_send(span).is_err() {
            self.dropped_more(1);
        }
    }

    fn dropped_more(&self, spans: usize) {
        self.counts.dropped.fetch_add(u64::try_from(spans).unwrap_or(u64::MAX), Ordering::Relaxed);
    }

    fn sent_more(&self, spans: usize) {
        self.counts.sent.fetch_add(u64::try_from(spans).unwrap_or(u64::MAX), Ordering::Relaxed);
    }

    /// How many spans the collector took, and how many nobody has.
    pub fn counts(&self) -> (u64, u64) {
        (self.counts.sent.load(Ordering::Relaxed), self.counts.dropped.load(Ordering::Relaxed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_queue_cannot_take_is_dropped_and_counted() {
        let (traces, mut spans) = Traces::new();
        for _ in 0..WAITING + 3 {
            traces.hand_in(Begun::within(None).end(SpanKind::Internal, "work".into(), Vec::new(), false));
        }
        assert_eq!(traces.counts(), (0, 3));
        let mut waiting = 0;
        while spans.try_recv().is_ok() {
            waiting += 1;
        }
        assert_eq!(waiting, WAITING);
    }

    #[test]
    fn one_of_several_is_the_parent_and_the_others_are_named() {
        let all: Vec<Context> = (0..100).map(|_| Context::new()).collect();
        let span = Begun::within_all(&all).end(SpanKind::Internal, "work".into(), Vec::new(), false);
        assert_eq!((span.context.trace, span.parent), (all[0].trace, Some(all[0].span)));
        assert_eq!(span.links, all[1..=MOST_LINKS]);
        let alone = Begun::within_all(&[]).end(SpanKind::Internal, "work".into(), Vec::new(), false);
        assert_eq!((alone.parent, alone.links.len()), (None, 0));
    }
}
