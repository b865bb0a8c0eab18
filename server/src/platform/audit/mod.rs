//! What is kept, held against the journal and against itself: `fullset verify`. Nothing is written, and what is read is read a piece at a
//! time.
//!
//! | what | is held against |
//! | --- | --- |
//! | the journal's entries | the chain of their hashes; one that was worked out anew to its end is found by an anchor alone |
//! | members and keys of programs, each state that is kept, and what the keys answer by | what the journal's commands make of them |
//! | each record's row | what its body says; the journal by revision alone |
//! | answers, indexes, intervals, the rows beside the records | the records that they follow from |
//!
//! No hash ties any other record's body to the journal, so one that was rewritten whole, and fits its row, is not found. Nor are
//! passwords, PINs, second factors and passkeys that were exchanged: they stand in no journal.

mod bodies;
mod compared;
mod rows;

use uuid::Uuid;

pub use bodies::bodies;
pub use compared::{Compared, KeptState, forgotten, states};
pub use rows::{rows, rules};

use crate::platform::ids::AgencyId;

/// The most findings of one sort that are named.
pub const MOST: usize = 20;

/// Something that is not as it must be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The agency.
    pub agency: AgencyId,
    /// What is wrong.
    pub what: String,
    /// Where: a record, a member, a photo.
    pub place: String,
    /// What to do.
    pub mend: &'static str,
}

/// What to do where rows that follow from the journal are not what they must be.
pub const PUT_BACK: &str = "somebody or something wrote past the service: find out who, and restore the last backup that fullset verify accepts";
/// What to do where a kept answer is not the one that is worked out.
pub const JUDGE_AGAIN: &str = "change anything in the agency's policy and back: every rig and piece is then judged anew";

/// What was found, and how much was looked at.
#[derive(Debug, Default)]
pub struct Report {
    /// What was found.
    pub findings: Vec<Finding>,
    /// Findings that are not named, because there are too many of their sort.
    pub more: usize,
}

impl Report {
    /// Adds findings of one sort, of which the first are named.
    pub fn add(&mut self, findings: impl IntoIterator<Item = Finding>) {
        for (n, finding) in findings.into_iter().enumerate() {
            if n < MOST {
                self.findings.push(finding);
            } else {
                self.more += 1;
            }
        }
    }
}

/// A finding about a record.
pub fn about(agency: AgencyId, kind: &str, id: Uuid, what: impl Into<String>, mend: &'static str) -> Finding {
    Finding {
        agency,
        what: what.into(),
        place: format!("{kind} {id}"),
        mend,
    }
}
