//! Which rigs take part in a swap plan, and how.

use crate::slices::rigs::{Duty, OutAt};

/// What a rig does in a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// It is mended, counts where it is full, and gives what it can spare without dropping.
    Whole,
    /// It gives whatever is aboard; nothing is brought to it.
    Gives,
    /// It is left alone.
    None,
}

/// Rigs that take part because somebody said so.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Also {
    /// Ready reserve rigs.
    pub reserves: bool,
    /// Rigs that are out of service, but not lent.
    pub out: bool,
}

/// How a rig takes part. What is aboard a rig at the mechanic may not be at hand, and a ready reserve stands in with what it has: both
/// are left alone unless somebody says otherwise. A stripped reserve needs none of its tools. A lent rig is somebody else's for now.
pub fn part(duty: Duty, in_service: bool, out_at: Option<OutAt>, also: Also) -> Part {
    match (in_service, duty) {
        (false, _) if also.out && out_at != Some(OutAt::Lent) => Part::Gives,
        (false, _) => Part::None,
        (true, Duty::FrontLine) => Part::Whole,
        (true, Duty::StrippedReserve) => Part::Gives,
        (true, Duty::ReadyReserve) if also.reserves => Part::Whole,
        (true, Duty::ReadyReserve) => Part::None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_takes_part() {
        let (no, yes) = (Also::default(), Also { reserves: true, out: true });
        for (duty, out, usually, said) in [
            (Duty::FrontLine, None, Part::Whole, Part::Whole),
            (Duty::ReadyReserve, None, Part::None, Part::Whole),
            (Duty::StrippedReserve, None, Part::Gives, Part::Gives),
            (Duty::FrontLine, Some(OutAt::Mechanic), Part::None, Part::Gives),
            (Duty::StrippedReserve, Some(OutAt::Other), Part::None, Part::Gives),
            (Duty::FrontLine, Some(OutAt::Lent), Part::None, Part::None),
        ] {
            let found = [no, yes].map(|also| part(duty, out.is_none(), out, also));
            assert_eq!(found, [usually, said], "{duty:?} {out:?}");
        }
    }
}
