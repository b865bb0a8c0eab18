//! Where a span stands: its trace, and its own id; as the header `traceparent` of W3C Trace Context (level 1) carries it.

use crate::platform::hex;

tokio::task_local! {
    static CURRENT: Context;
}

/// A place in a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Context {
    /// The trace's id; never 0.
    pub trace: u128,
    /// The span's id; never 0.
    pub span: u64,
}

/// What a caller says of the trace that it is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Called {
    /// Nothing that can be read.
    Untold,
    /// It is in this trace.
    Within(Context),
    /// It is in a trace that nobody keeps.
    Unkept,
}

/// The flag of a trace that is kept.
const SAMPLED: u8 = 1;

impl Context {
    /// The first of a trace of its own.
    pub fn new() -> Self {
        Self {
            trace: rand::random_range(1..=u128::MAX),
            span: rand::random_range(1..=u64::MAX),
        }
    }

    /// Another place in the same trace.
    #[must_use]
    pub fn child(&self) -> Self {
        Self {
            trace: self.trace,
            ..Self::new()
        }
    }

    /// The trace's id as it is written.
    pub fn trace_digits(&self) -> String {
        hex::digits(&self.trace.to_be_bytes())
    }

    /// Does work in its name.
    pub async fn during<T>(self, work: impl Future<Output = T>) -> T {
        CURRENT.scope(self, work).await
    }
}

impl Default for Context {
    fn default() -> Self {
        Self::new()
    }
}

/// The place of the request that is being answered.
pub fn current() -> Option<Context> {
    CURRENT.try_with(|context| *context).ok()
}

impl Called {
    /// Reads `traceparent`. What cannot be read counts as not said, as the specification has it.
    pub fn read(header: &str) -> Self {
        Self::parts(header).unwrap_or(Self::Untold)
    }

    fn parts(header: &str) -> Option<Self> {
        let mut parts = header.split('-');
        let (version, trace, span, flags) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        // A later version may say more behind.
        let whole = version != "00" || parts.next().is_none();
        let lower = |text: &str, length: usize| text.len() == length && text.bytes().all(|sign| matches!(sign, b'0'..=b'9' | b'a'..=b'f'));
        if !whole || version == "ff" || !lower(version, 2) || !lower(trace, 32) || !lower(span, 16) || !lower(flags, 2) {
            return None;
        }
        let context = Context {
            trace: u128::from_str_radix(trace, 16).ok().filter(|id| *id != 0)?,
            span: u64::from_str_radix(span, 16).ok().filter(|id| *id != 0)?,
        };
        let kept = u8::from_str_radix(flags, 16).ok()? & SAMPLED != 0;
        Some(if kept { Self::Within(context) } else { Self::Unkept })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of W3C Trace Context, section 3.2.2.4 (from memory), and what its section on `traceparent` forbids.
    #[test]
    fn traceparent_is_read_as_the_specification_says() {
        let context = Context {
            trace: 0x4bf9_2f35_77b3_4da6_a3ce_929d_0e0e_4736,
            span: 0x00f0_67aa_0ba9_02b7,
        };
        let read = |text: &str| Called::read(text);
        assert_eq!(read("00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"), Called::Within(context));
        assert_eq!(read("00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-03"), Called::Within(context));
        assert_eq!(
            read("cc-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01-what-comes"),
            Called::Within(context)
        );
        assert_eq!(read("00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-00"), Called::Unkept);
        for bad in [
            "",
            "00",
            "ff-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01",
            "00-00000000000000000000000000000000-00f067aa0ba902b7-01",
            "00-4bf92f3577b34da6a3ce929d0e0e4736-0000000000000000-01",
            "00-4BF92F3577B34DA6A3CE929D0E0E4736-00f067aa0ba902b7-01",
            "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01-more",
            "00-4bf92f3577b34da6a3ce929d0e0e473-00f067aa0ba902b7-01",
            "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-0x",
            "00-4bf92f3577b34da6a3ce929d0e0e47+6-00f067aa0ba902b7-01",
        ] {
            assert_eq!(read(bad), Called::Untold, "{bad}");
        }
        let child = context.child();
        assert!(child.trace == context.trace && child.span != context.span && child.span != 0);
        assert_eq!(context.trace_digits(), "4bf92f3577b34da6a3ce929d0e0e4736");
    }
}
