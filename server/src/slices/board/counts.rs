//! The board's numbers by themselves, to be put beside those of another moment.

use fullset_calc::capability::Completeness;
use serde::Serialize;
use utoipa::ToSchema;

use super::view::{Apart, Board, Headline, Totals};
use crate::slices::rigs::Duty;

/// The board's numbers.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = BoardCounts)]
pub struct Counts {
    /// Front-line rigs that should be able to do a full extrication, and how many can.
    headline: Headline,
    /// Front-line rigs by level.
    totals: Totals,
    /// Rigs that stand in no count.
    apart: Apart,
    /// Front-line rigs whose list is whole.
    complete: u32,
    /// Front-line rigs whose list is not.
    incomplete: u32,
    /// Districts with fewer full rigs than they need.
    short_districts: u32,
}

impl From<&Board> for Counts {
    fn from(board: &Board) -> Self {
        let mut counts = Self {
            headline: board.headline,
            totals: board.totals,
            apart: board.apart,
            ..Self::default()
        };
        for district in &board.districts {
            counts.short_districts += u32::from(district.short);
            for line in district.rigs.iter().filter(|line| line.out.is_none() && line.duty == Duty::FrontLine) {
                counts.complete += u32::from(line.completeness == Completeness::Complete);
                counts.incomplete += u32::from(line.completeness == Completeness::Incomplete);
            }
        }
        counts
    }
}

impl Counts {
    /// What is another number then, in words.
    #[must_use]
    pub fn changes(&self, then: &Self) -> Vec<String> {
        let mut all = Vec::new();
        let (was, is) = (self.headline, then.headline);
        if (was.able, was.expected) != (is.able, is.expected) {
            let of = if was.expected == is.expected {
                String::new()
            } else {
                format!(" of {}", is.expected)
            };
            all.push(format!(
                "Rigs that can do a full extrication: {} of {} now, {}{of} after",
                was.able, was.expected, is.able
            ));
        }
        let front = |totals: Totals| totals.all();
        for (what, before, after) in [
            ("Front-line rigs", front(self.totals), front(then.totals)),
            ("Rigs whose list is complete", self.complete, then.complete),
            ("Rigs whose list is incomplete", self.incomplete, then.incomplete),
            ("Districts short of full rigs", self.short_districts, then.short_districts),
        ] {
            if before != after {
                all.push(format!("{what}: {before} now, {after} after"));
            }
        }
        all
    }
}
