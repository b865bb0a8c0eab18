//! Which step may follow which, and when a piece may come back.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::feed::{Line, LineKind, Sums, Test, Ticket, TicketState};

/// A step of the shop, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = TicketStep)]
pub enum Step {
    /// The shop takes the ticket.
    #[serde(rename = "ticket.accept")]
    Accept,
    /// A mechanic works on it.
    #[serde(rename = "ticket.work")]
    Work,
    /// It has to wait.
    #[serde(rename = "ticket.wait")]
    Wait,
    /// Somebody is to work on it, or nobody any more.
    #[serde(rename = "ticket.assign")]
    Assign,
    /// The shop says when the piece is ready.
    #[serde(rename = "ticket.promise")]
    Promise,
    /// More defects of the piece are dealt with.
    #[serde(rename = "ticket.include")]
    Include,
    /// A part or labour is recorded.
    #[serde(rename = "ticket.line")]
    Line,
    /// What it came from is said; also afterwards.
    #[serde(rename = "ticket.cause")]
    Cause,
    /// The piece is tested.
    #[serde(rename = "ticket.test")]
    Test,
    /// The piece goes back to service.
    #[serde(rename = "ticket.return")]
    Return,
    /// It is closed without the piece.
    #[serde(rename = "ticket.drop")]
    Drop,
}

impl Step {
    const ALL: [Self; 11] = [
        Self::Accept,
        Self::Work,
        Self::Wait,
        Self::Assign,
        Self::Promise,
        Self::Include,
        Self::Line,
        Self::Cause,
        Self::Test,
        Self::Return,
        Self::Drop,
    ];
}

/// What decides it.
#[derive(Debug, Clone, Copy)]
pub struct TicketFacts<'a> {
    /// How far the shop is.
    pub state: TicketState,
    /// Its tests, oldest first.
    pub tests: &'a [Test],
    /// How many parts and labours it has.
    pub lines: usize,
    /// How many defects it deals with.
    pub defects: usize,
}

impl<'a> TicketFacts<'a> {
    /// The facts of a ticket on record.
    pub fn of(ticket: &'a Ticket) -> Self {
        Self {
            state: ticket.state,
            tests: &ticket.tests,
            lines: ticket.lines.len(),
            defects: ticket.defects.len(),
        }
    }
}

/// The most defects of one ticket.
pub const MOST_DEFECTS: usize = 50;
/// The most lines of one ticket.
pub const MOST_LINES: usize = 200;
/// The most tests of one ticket.
pub const MOST_TESTS: usize = 50;

/// Whether the step may be taken; if not, why. What a test must show stands in `fullset_calc::release`.
pub fn may(step: Step, facts: TicketFacts<'_>) -> Result<(), &'static str> {
    use TicketState::{Accepted, Closed, OnHold, Tested, Waiting, Working};
    let tests = facts.tests;
    match (step, facts.state) {
        (Step::Cause, Closed) => Ok(()),
        (Step::Drop, Closed) => Err("This ticket is closed already"),
        (_, Closed) => Err("This ticket is closed; open a new one"),
        (Step::Accept, Waiting) => Ok(()),
        (Step::Accept, _) => Err("This ticket has been accepted already"),
        (Step::Drop, _) => Ok(()),
        (_, Waiting) => Err("Accept the ticket first, so that one mechanic has it"),
        (Step::Line, _) if facts.lines >= MOST_LINES => Err("This ticket has 200 lines; put several parts on one line"),
        (Step::Include, _) if facts.defects >= MOST_DEFECTS => Err("This ticket deals with 50 defects; open another one when it is closed"),
        (Step::Line | Step::Assign | Step::Promise | Step::Include | Step::Cause, _) => Ok(()),
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

/// What the ticket allows as it is, apart from who asks.
pub fn allows(ticket: &Ticket) -> Vec<Step> {
    let facts = TicketFacts::of(ticket);
    Step::ALL.into_iter().filter(|step| may(*step, facts).is_ok()).collect()
}

/// What the lines come to. Of labour only the minutes count, unless it has a cost.
pub fn sums(lines: &[Line]) -> Sums {
    let cents: f64 = lines
        .iter()
        .filter_map(|line| Some((line.unit_cost? * line.quantity.unwrap_or(1.0) * 100.0).round()))
        .fold(0.0, |all, one| all + one);
    let unpriced = lines.iter().filter(|line| line.kind != LineKind::Labour && line.unit_cost.is_none()).count();
    Sums {
        cost: cents / 100.0,
        unpriced: u32::try_from(unpriced).unwrap_or(u32::MAX),
        minutes: lines.iter().filter_map(|line| line.minutes).map(u64::from).sum(),
    }
}

#[cfg(test)]
mod tests {
    use fullset_calc::release::{Evidence, Measure, Reading};

    use super::*;

    fn test(passed: bool, readings: usize) -> Test {
        Test {
            at: chrono::DateTime::UNIX_EPOCH,
            by: crate::platform::person::Person {
                id: None,
                name: "mechanic".into(),
            },
            passed,
            evidence: Evidence {
                readings: vec![Reading::said(Measure::SoundToLook, true); readings],
                ..Evidence::default()
            },
            annual: false,
            without_limit: Vec::new(),
        }
    }

    fn allowed(step: Step, state: TicketState, tests: &[Test]) -> bool {
        let facts = TicketFacts {
            state,
            tests,
            lines: 199,
            defects: 49,
        };
        may(step, facts).is_ok()
    }

    #[test]
    fn a_ticket_has_fifty_tests_fifty_defects_and_two_hundred_lines_at_most() {
        let tests = vec![test(false, 0); MOST_TESTS];
        assert!(allowed(Step::Test, TicketState::Working, &tests[1..]));
        assert!(!allowed(Step::Test, TicketState::Working, &tests));
        let full = TicketFacts {
            state: TicketState::Working,
            tests: &tests,
            lines: MOST_LINES,
            defects: MOST_DEFECTS,
        };
        for step in [Step::Line, Step::Include] {
            assert!(allowed(step, TicketState::Working, &tests));
            assert!(may(step, full).is_err(), "{step:?}");
        }
    }

    #[test]
    fn a_piece_comes_back_only_after_a_passed_test_with_a_reading() {
        assert!(
            !allowed(Step::Return, TicketState::Working, &[test(true, 1)]),
            "more work was done since the test"
        );
        assert!(!allowed(Step::Return, TicketState::Tested, &[]));
        assert!(!allowed(Step::Return, TicketState::Tested, &[test(true, 0)]));
        assert!(
            !allowed(Step::Return, TicketState::Tested, &[test(true, 1), test(false, 1)]),
            "the last test counts"
        );
        assert!(allowed(Step::Return, TicketState::Tested, &[test(false, 1), test(true, 1)]));
    }

    #[test]
    fn a_ticket_is_accepted_before_all_else_or_dropped_and_closed_for_good_but_for_its_cause() {
        for step in Step::ALL {
            let first = matches!(step, Step::Accept | Step::Drop);
            assert_eq!(allowed(step, TicketState::Waiting, &[]), first, "{step:?}");
            let last = step == Step::Cause;
            assert_eq!(allowed(step, TicketState::Closed, &[test(true, 1)]), last, "{step:?}");
        }
    }

    #[test]
    fn lines_are_summed_to_the_cent_and_what_has_no_price_is_counted() {
        let line = |kind, quantity, unit_cost, minutes| Line {
            kind,
            what: "seal kit".into(),
            quantity,
            unit_cost,
            minutes,
            vendor: None,
        };
        let lines = [
            line(LineKind::Part, Some(3.0), Some(0.1), None),
            line(LineKind::Part, None, Some(41.5), None),
            line(LineKind::Part, Some(2.0), None, None),
            line(LineKind::Outside, None, None, None),
            line(LineKind::Labour, None, None, Some(45)),
            line(LineKind::Labour, None, Some(20.0), Some(30)),
        ];
        let sums = sums(&lines);
        assert_eq!((sums.cost, sums.unpriced, sums.minutes), (61.8, 2, 75));
    }
}
