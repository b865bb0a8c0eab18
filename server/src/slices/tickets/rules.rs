//! Which step may follow which, and when a piece may come back.

use super::feed::{Test, TicketState};

/// A step of the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// The shop takes the ticket.
    Accept,
    /// A mechanic works on it.
    Work,
    /// It has to wait.
    Wait,
    /// The piece is tested.
    Test,
    /// The piece goes back to service.
    Return,
}

/// The most defects of one ticket.
pub const MOST_DEFECTS: usize = 50;
/// The most lines of one ticket.
pub const MOST_LINES: usize = 200;
/// The most tests of one ticket.
pub const MOST_TESTS: usize = 50;

/// Whether the step may be taken; if not, why. What a test must show stands in `fullset_calc::release`.
pub fn may(step: Step, state: TicketState, tests: &[Test]) -> Result<(), &'static str> {
    use TicketState::{Accepted, Closed, OnHold, Tested, Waiting, Working};
    match (step, state) {
        (_, Closed) => Err("This ticket is closed; open a new one"),
        (Step::Accept, Waiting) => Ok(()),
        (Step::Accept, _) => Err("This ticket has been accepted already"),
        (_, Waiting) => Err("Accept the ticket first, so that one mechanic has it"),
        (Step::Work, Accepted | OnHold | Tested) => Ok(()),
        (Step::Work, Working) => Err("Work on this ticket has begun already"),
        (Step::Wait, Accepted | Working | Tested) => Ok(()),
        (Step::Wait, OnHold) => Err("This ticket is waiting already; edit what for by starting work first"),
        (Step::Test, _) if tests.len() >= MOST_TESTS => Err("This ticket has 50 tests; close it and open a new one"),
        (Step::Test, _) => Ok(()),
        (Step::Return, Tested) => match tests.last() {
            Some(last) if last.passed && !last.evidence.readings.is_empty() => Ok(()),
            Some(last) if last.passed => Err("The test has no measured value; record what the gauge showed"),
            _ => Err("The last test did not pass"),
        },
        (Step::Return, _) => Err("A piece comes back after a test that passed, with its reading; record the test first"),
    }
}

#[cfg(test)]
mod tests {
    use fullset_calc::release::{Evidence, Measure, Reading};

    use super::*;

    fn test(passed: bool, readings: usize) -> Test {
        Test {
            at: chrono::DateTime::UNIX_EPOCH,
            by: "mechanic".into(),
            passed,
            evidence: Evidence {
                readings: vec![Reading::said(Measure::SoundToLook, true); readings],
                ..Evidence::default()
            },
            annual: false,
            without_limit: Vec::new(),
        }
    }

    #[test]
    fn a_ticket_has_fifty_tests_at_most() {
        let tests = vec![test(false, 0); MOST_TESTS];
        assert!(may(Step::Test, TicketState::Working, &tests[1..]).is_ok());
        assert!(may(Step::Test, TicketState::Working, &tests).is_err());
    }

    #[test]
    fn a_piece_comes_back_only_after_a_passed_test_with_a_reading() {
        assert!(
            may(Step::Return, TicketState::Working, &[test(true, 1)]).is_err(),
            "more work was done since the test"
        );
        assert!(may(Step::Return, TicketState::Tested, &[]).is_err());
        assert!(may(Step::Return, TicketState::Tested, &[test(true, 0)]).is_err());
        assert!(
            may(Step::Return, TicketState::Tested, &[test(true, 1), test(false, 1)]).is_err(),
            "the last test counts"
        );
        assert!(may(Step::Return, TicketState::Tested, &[test(false, 1), test(true, 1)]).is_ok());
    }

    #[test]
    fn nothing_happens_to_a_ticket_before_it_is_accepted_or_after_it_is_closed() {
        for step in [Step::Work, Step::Wait, Step::Test, Step::Return] {
            assert!(may(step, TicketState::Waiting, &[]).is_err());
            assert!(may(step, TicketState::Closed, &[test(true, 1)]).is_err());
        }
    }
}
