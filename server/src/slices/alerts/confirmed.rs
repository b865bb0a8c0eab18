//! Whether the level that dispatch is told is confirmed, and by what not. What is sent repeats nobody's words, so reasons are told by their
//! sort and by the tag of the piece.

use fullset_calc::capability::{Level, ReasonCode};

use super::feed::Stands;
use crate::{
    platform::{door::Write, error::Fault},
    slices::{
        capability::RigStanding,
        pieces::{Piece, PieceId},
    },
};

/// The most reasons that a message names.
const MOST_REASONS: usize = 3;

/// Whether the level of a rig is confirmed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Proof {
    /// The rig has no level to confirm: it is out of service, or meets no grade.
    NoLevel,
    /// Checked pieces alone reach the level.
    Confirmed,
    /// They do not: the first reasons, in words, and how many there are in all.
    Not(Vec<String>, usize),
}

impl Proof {
    /// As it stands in the alert; none where there is no level.
    pub fn confirmed(&self) -> Option<bool> {
        match self {
            Self::NoLevel => None,
            Self::Confirmed => Some(true),
            Self::Not(..) => Some(false),
        }
    }

    /// In a sentence: "Full by the records, not confirmed: PU-111 was not tried on this rig."
    pub fn words(&self, after: Stands) -> Option<String> {
        let level = match after {
            Stands::Limited => "Limited",
            Stands::Full => "Full",
            Stands::Heavy => "Heavy",
            Stands::OutOfService | Stands::None | Stands::Short | Stands::Enough => return None,
        };
        match self {
            Self::NoLevel => None,
            Self::Confirmed => Some(format!("{level} by the records, and confirmed.")),
            Self::Not(named, _) if named.is_empty() => Some(format!("{level} by the records, not confirmed.")),
            Self::Not(named, all) => {
                let more = all.saturating_sub(named.len());
                let rest = if more == 0 { String::new() } else { format!(", and {more} more") };
                Some(format!("{level} by the records, not confirmed: {}{rest}.", named.join(", ")))
            }
        }
    }
}

/// Why a piece confirms nothing, without anybody's own words.
fn doubt_words(code: ReasonCode, tag: &str) -> String {
    match code {
        ReasonCode::NotTried => format!("{tag} was not tried on this rig"),
        ReasonCode::UsedUnchecked => format!("{tag} was used and not checked since"),
        ReasonCode::OverdueInGrace | ReasonCode::CheckOverdue => format!("a check of {tag} is overdue"),
        ReasonCode::CheckDateUnknown => format!("the date of the last check of {tag} is not known"),
        ReasonCode::NoPlan => format!("no check is planned for {tag}"),
        ReasonCode::AgeUnknown | ReasonCode::AgeAllowed => format!("the age of {tag} is not known"),
        ReasonCode::RatingUnknown => format!("the ratings of {tag} are not on record"),
        ReasonCode::HookupUnknown => format!("how {tag} is hooked up is not on record"),
        ReasonCode::PackNotOnRecord => format!("the battery packs of {tag} are not on record"),
        ReasonCode::LimitNotOnRecord => format!("{tag} was returned on a reading for which no limit is on record"),
        ReasonCode::OwnRule | ReasonCode::LooserRule => format!("{tag} counts by a rule of the agency's own"),
        ReasonCode::OpenDefect => format!("{tag} has an open defect"),
        ReasonCode::OutOfService
        | ReasonCode::Missing
        | ReasonCode::StopUse
        | ReasonCode::LifeEnded
        | ReasonCode::Quarantined
        | ReasonCode::RepairByPast
        | ReasonCode::CannotRunHere => format!("{tag} may not be used"),
    }
}

/// Whether the level of a rig in service is confirmed, by its answer as the command leaves it.
pub fn proof(write: &mut Write<'_>, standing: &RigStanding, after: Stands) -> Result<Proof, Fault> {
    if after == Stands::OutOfService || standing.answer.level <= Level::None {
        return Ok(Proof::NoLevel);
    }
    if !standing.known {
        return Ok(Proof::Not(vec!["it has not been judged since its last answer ran out".to_owned()], 1));
    }
    if standing.answer.confirmed {
        return Ok(Proof::Confirmed);
    }
    let doubts = &standing.answer.doubts;
    let mut named = Vec::new();
    for doubt in doubts.iter().take(MOST_REASONS) {
        let piece = match doubt.piece {
            Some(id) => write.look::<Piece>(PieceId(id))?,
            None => None,
        };
        named.push(doubt_words(doubt.code, piece.as_ref().map_or("a piece", |piece| piece.record.tag.as_str())));
    }
    Ok(Proof::Not(named, doubts.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_that_is_not_confirmed_says_so_and_by_what_not() {
        let named = |many: usize| (1..=many).map(|n| doubt_words(ReasonCode::NotTried, &format!("T-{n}"))).collect();
        let one = Proof::Not(named(1), 1);
        assert_eq!(
            one.words(Stands::Full).as_deref(),
            Some("Full by the records, not confirmed: T-1 was not tried on this rig.")
        );
        let many = Proof::Not(named(MOST_REASONS), MOST_REASONS + 2).words(Stands::Limited).expect("words");
        assert!(many.starts_with("Limited by the records, not confirmed: T-1 was"), "{many}");
        assert!(many.ends_with("T-3 was not tried on this rig, and 2 more."), "{many}");
        assert_eq!(Proof::Confirmed.words(Stands::Heavy).as_deref(), Some("Heavy by the records, and confirmed."));
        for stands in [Stands::OutOfService, Stands::None] {
            assert_eq!(Proof::NoLevel.words(stands), None);
        }
        assert_eq!(
            [one.confirmed(), Proof::Confirmed.confirmed(), Proof::NoLevel.confirmed()],
            [Some(false), Some(true), None]
        );
    }
}
