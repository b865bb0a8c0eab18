//! In which order the shop should take its tickets.
//!
//! For each open ticket: how much weighted capability returns when its piece goes home. A ticket that gives a district its only full rig back stands first,
//! then one that lifts a district to its minimum of full rigs, then by what returns, then by age, then by number. The caller computes the levels with
//! [`crate::capability`] (`with_piece`): the rig's level now, and with this piece back.

use crate::capability::Level;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;
use uuid::Uuid;

/// An open ticket.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticket {
    /// UUID that the ticket was made with; it never changes.
    pub id: Uuid,
    /// Its number, as people call it; decides among equals.
    pub number: String,
    /// The rig where its piece is at home; `None`: a shelf, nothing returns.
    pub rig: Option<Home>,
    /// Days since it was opened.
    pub age_days: f64,
}

/// The rig where a piece is at home.
#[derive(Debug, Clone, PartialEq)]
pub struct Home {
    /// What people call it.
    pub rig: String,
    /// What its full capability counts, such as the demand that it reaches first; 1 when nothing is known.
    pub weight: f64,
    /// The rig's level now, without the piece.
    pub now: Level,
    /// Its level with this piece back.
    pub then: Level,
    /// Further pieces that must come back as well before it is full: said, and shared in the worth.
    pub others_missing: usize,
    /// Its district, as people call it.
    pub district: String,
    /// Full rigs of the district now.
    pub district_full: usize,
    /// Least number of full rigs that the district wants.
    pub district_minimum: usize,
}

/// What counts first in the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Rank {
    /// Gives a district its only full rig back.
    OnlyFullRig,
    /// Gives a full rig to a district that is under its minimum.
    UnderMinimum,
    /// Lifts a rig, or brings it nearer.
    Returns,
    /// Nothing returns by it alone.
    Waits,
}

/// A ticket in its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Ranked {
    /// The repair ticket that stands in this place.
    pub ticket: Uuid,
    /// What counts first in the order; then what returns, then age.
    pub standing: Rank,
    /// Weighted capability that returns: the weight times 1 from none to full, 0.5 from none to limited or from limited to full.
    pub returns: f64,
    /// Why it stands here, in a sentence for people.
    pub words: String,
}

/// How much of full capability a level is.
const fn part(level: Level) -> f64 {
    match level {
        Level::NotJudged | Level::None => 0.0,
        Level::Limited => 0.5,
        Level::Full | Level::Heavy => 1.0,
    }
}

/// The tickets in the order in which the shop should take them.
///
/// # Errors
/// A weight or an age that is no number or below 0.
pub fn order(tickets: &[Ticket]) -> Result<Vec<Ranked>, Unfit> {
    let mut ranked = Vec::with_capacity(tickets.len());
    for ticket in tickets {
        let age = crate::amount::whole(ticket.age_days, &format!("the age of ticket {}", ticket.number))?;
        let weight = match &ticket.rig {
            Some(home) => crate::amount::whole(home.weight, &format!("the weight of {}", home.rig))?,
            None => 0,
        };
        let one = rank(ticket);
        let returns = crate::amount::whole(one.returns, "what returns")?;
        // Of tickets by which nothing returns alone, one that is nearer to something comes first.
        let missing = ticket.rig.as_ref().map_or(usize::MAX, |home| home.others_missing);
        let near = if one.standing == Rank::Waits {
            (missing, Reverse(weight))
        } else {
            (0, Reverse(0))
        };
        ranked.push(((one.standing, Reverse(returns), near, Reverse(age), ticket.number.clone(), ticket.id), one));
    }
    ranked.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(ranked.into_iter().map(|(_, one)| one).collect())
}

fn rank(ticket: &Ticket) -> Ranked {
    let Some(home) = &ticket.rig else {
        return Ranked {
            ticket: ticket.id,
            standing: Rank::Waits,
            returns: 0.0,
            words: "Its piece goes to a shelf: no rig waits for it.".to_owned(),
        };
    };
    let lifts = home.then > home.now;
    let full = lifts && home.then.is_full() && !home.now.is_full();
    let (rig, district, now, then) = (&home.rig, &home.district, home.now.word(), home.then.word());
    let (standing, words) = if full && home.district_full == 0 {
        (
            Rank::OnlyFullRig,
            format!("Gives {district} its only full rig back: {rig} from {now} to {then}."),
        )
    } else if full && home.district_full < home.district_minimum {
        (
            Rank::UnderMinimum,
            format!(
                "{rig} from {now} to {then}; {district} has {} full {} of at least {}.",
                home.district_full,
                if home.district_full == 1 { "rig" } else { "rigs" },
                home.district_minimum
            ),
        )
    } else if lifts {
        (Rank::Returns, format!("{rig} from {now} to {then}."))
    } else if home.now.is_full() {
        (Rank::Waits, format!("{rig} is full without it."))
    } else {
        let n = home.others_missing;
        let words = match n {
            0 => format!("{rig} stays {now} with it."),
            1 => format!("{rig} stays {now} until one more piece is back."),
            _ => format!("{rig} stays {now} until {n} more pieces are back."),
        };
        (Rank::Waits, words)
    };
    let returns = if lifts { home.weight * (part(home.then) - part(home.now)) } else { 0.0 };
    Ranked {
        ticket: ticket.id,
        standing,
        returns,
        words,
    }
}
