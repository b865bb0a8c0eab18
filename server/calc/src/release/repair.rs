//! A defect that may stay usable: under which limit, until when, and for how much longer at most.

use super::{
    AgencyRules, DefectClass,
    own::Cell,
    rule::{RepairWithin, Role, SayUsable},
};
use crate::ratings::Kind;
use chrono::{Days, NaiveDate};

/// What a usable defect carries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limit {
    /// What the crew must not do, and what to do instead.
    pub words: String,
    /// How long the repair may be put off.
    pub within: RepairWithin,
    /// The same in days.
    pub days: u32,
    /// Why the agency's own rule lets the piece stay in use, where the table would not, or not for so long.
    pub own_rule: Option<String>,
}

/// Why not, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Why it is refused.
    pub reason: String,
    /// What to do instead.
    pub instead: String,
}

/// Whether a piece with such a defect may stay usable, said by this role; with which limit.
///
/// # Errors
/// Why it may not, and what to do.
pub fn may_stay_usable(kind: Kind, class: DefectClass, role: Role, rules: &AgencyRules) -> Result<Limit, Refusal> {
    let (word, wrong) = (kind.word(), class.words());
    let out = "Take it out of service";
    let Some(cell) = rules.cell(kind, class) else {
        return Err(Refusal {
            reason: format!("A {word} cannot be {wrong}"),
            instead: "Choose what is wrong with it, or 'other'".to_owned(),
        });
    };
    if cell.rule.usable == SayUsable::Nobody && cell.shipped.usable > SayUsable::Nobody {
        return Err(Refusal {
            reason: format!("A {word} {wrong} is never usable: the agency has decided so"),
            instead: out.to_owned(),
        });
    }
    match cell.rule.usable {
        SayUsable::Nobody => Err(Refusal {
            reason: format!("A {word} {wrong} is never usable"),
            instead: out.to_owned(),
        }),
        SayUsable::Officer if !role.is_officer() => Err(Refusal {
            reason: format!("Only an officer may say that a {word} {wrong} can still be used"),
            instead: format!("{out}, or ask an officer"),
        }),
        SayUsable::Officer | SayUsable::Crew => limit(&cell, may_say(cell.shipped.usable, role)).ok_or_else(|| Refusal {
            reason: format!("No limit is laid down for a {word} {wrong}"),
            instead: out.to_owned(),
        }),
    }
}

const fn may_say(by: SayUsable, role: Role) -> bool {
    match by {
        SayUsable::Nobody => false,
        SayUsable::Officer => role.is_officer(),
        SayUsable::Crew => true,
    }
}

/// The limit of a cell. `by_table`: whether the table lets it be said too; the agency's reason is then told only for a longer time.
fn limit(cell: &Cell<'_>, by_table: bool) -> Option<Limit> {
    let (words, within) = (cell.limit?, cell.rule.within?);
    let own_rule = cell.why_usable().filter(|_| !by_table || Some(within) > cell.shipped.within);
    Some(Limit {
        words: words.to_owned(),
        within,
        days: within.days(),
        own_rule: own_rule.map(str::to_owned),
    })
}

/// The limit that holds, whoever asks; `None` where nobody may use the piece.
#[must_use]
pub fn limit_for(kind: Kind, class: DefectClass, rules: &AgencyRules) -> Option<Limit> {
    let cell = rules.cell(kind, class)?;
    limit(&cell, cell.rule.usable <= cell.shipped.usable)
}

/// The day at whose start the piece stops being usable: the day of discovery is not counted, then come the days (CHECKS A4b).
/// `None` beyond the calendar.
#[must_use]
pub fn repair_by(discovered: NaiveDate, days: u32) -> Option<NaiveDate> {
    discovered.checked_add_days(Days::new(u64::from(days) + 1))
}

/// Why a repair is not put off a second time.
pub const PUT_OFF_ONCE: &str = "This repair was put off once already; it is not put off again";

/// The new day of a repair that is put off once more: as many days again from the old one.
///
/// # Errors
/// Why it may not: not an officer, extended already, past already, or without a reason.
pub fn may_extend(repair_by: NaiveDate, days: u32, extended_before: bool, reason: &str, role: Role, today: NaiveDate) -> Result<NaiveDate, Refusal> {
    let refuse = |reason: &str| {
        Err(Refusal {
            reason: reason.to_owned(),
            instead: "Take the piece out of service and have it repaired".to_owned(),
        })
    };
    if !role.is_officer() {
        return Err(Refusal {
            reason: "Only an officer may put a repair off".to_owned(),
            instead: "Ask an officer".to_owned(),
        });
    }
    if extended_before {
        return refuse(PUT_OFF_ONCE);
    }
    if today >= repair_by {
        return refuse("The repair-by date has passed; what has lapsed is not put off");
    }
    if reason.trim().is_empty() {
        return Err(Refusal {
            reason: "A repair is put off for a reason".to_owned(),
            instead: "Say why it cannot be done by the date".to_owned(),
        });
    }
    repair_by
        .checked_add_days(Days::new(u64::from(days)))
        .map_or_else(|| refuse("That day is beyond the calendar"), Ok)
}
