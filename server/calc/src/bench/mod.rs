//! In which order the shop should take its tickets.
//!
//! For each open ticket: how much weighted capability returns when its piece goes home, or, of a reserve piece, could return with it aboard the rig that it
//! lifts most. A ticket that gives a district its only full rig back stands first,
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
    /// Where its piece goes when it is repaired.
    pub back: Back,
    /// Days since it was opened.
    pub age_days: f64,
}

/// Where a piece goes when it is repaired.
#[derive(Debug, Clone, PartialEq)]
pub enum Back {
    /// To the rig where it is at home.
    Home(Home),
    /// To a shelf: the rigs below full that it could go aboard, each with its level then. The one that it lifts most counts; another
    /// ticket's piece may mend the same rig.
    Reserve(Vec<Home>),
    /// To a shelf, and nobody looked which rig could use it.
    NotLookedAt,
}

impl Back {
    /// The rig where the piece is at home.
    const fn home(&self) -> Option<&Home> {
        match self {
            Self::Home(home) => Some(home),
            Self::Reserve(_) | Self::NotLookedAt => None,
        }
    }

    /// Every rig that is told of.
    fn rigs(&self) -> &[Home] {
        match self {
            Self::Home(home) => std::slice::from_ref(home),
            Self::Reserve(rigs) => rigs,
            Self::NotLookedAt => &[],
        }
    }
}

/// A rig that a piece would go aboard.
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
        let mut heaviest = 0;
        for home in ticket.back.rigs() {
            heaviest = heaviest.max(crate::amount::whole(home.weight, &format!("the weight of {}", home.rig))?);
        }
        let one = rank(ticket);
        let returns = crate::amount::whole(one.returns, "what returns")?;
        // Of tickets by which nothing returns alone, one that is nearer to something comes first.
        let missing = ticket.back.home().map_or(usize::MAX, |home| home.others_missing);
        let near = if one.standing == Rank::Waits {
            (missing, Reverse(heaviest))
        } else {
            (0, Reverse(0))
        };
        // And of two that lift as much, one whose piece goes aboard without a swap.
        let swap = ticket.back.home().is_none();
        ranked.push((
            (one.standing, Reverse(returns), near, swap, Reverse(age), ticket.number.clone(), ticket.id),
            one,
        ));
    }
    ranked.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(ranked.into_iter().map(|(_, one)| one).collect())
}

fn rank(ticket: &Ticket) -> Ranked {
    let ranked = |(standing, returns, words)| Ranked {
        ticket: ticket.id,
        standing,
        returns,
        words,
    };
    match &ticket.back {
        Back::Home(home) => ranked(rank_home(home)),
        Back::Reserve(rigs) => {
            let lifts = rigs.iter().filter(|rig| rig.then > rig.now).map(rank_reserve);
            let best = lifts.min_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)).then(a.2.cmp(&b.2)));
            ranked(best.unwrap_or_else(|| (Rank::Waits, 0.0, "Its piece goes to a shelf: no rig waits for it.".to_owned())))
        }
        Back::NotLookedAt => ranked((
            Rank::Waits,
            0.0,
            "Its piece goes to a shelf. So many rigs are below full that it was not looked at which of them could use it.".to_owned(),
        )),
    }
}

/// What of full capability comes back with a rig's own piece.
fn lift(home: &Home) -> f64 {
    home.weight * (part(home.then) - part(home.now)).max(0.0)
}

/// Where a rig stands that would be lifted.
fn standing_of(home: &Home) -> Rank {
    let full = home.then.is_full() && !home.now.is_full();
    match home.district_full {
        0 if full => Rank::OnlyFullRig,
        n if full && n < home.district_minimum => Rank::UnderMinimum,
        _ => Rank::Returns,
    }
}

fn against_minimum(home: &Home) -> String {
    let (n, rigs) = (home.district_full, if home.district_full == 1 { "rig" } else { "rigs" });
    format!("{} has {n} full {rigs} of at least {}", home.district, home.district_minimum)
}

fn rank_reserve(home: &Home) -> (Rank, f64, String) {
    let (rig, district, now, then) = (&home.rig, &home.district, home.now.word(), home.then.word());
    let standing = standing_of(home);
    let words = match standing {
        Rank::OnlyFullRig => format!("A reserve piece: aboard {rig} it would give {district} its only full rig back, from {now} to {then}."),
        Rank::UnderMinimum => format!("A reserve piece: {rig} from {now} to {then} with it aboard; {}.", against_minimum(home)),
        Rank::Returns | Rank::Waits => format!("A reserve piece: {rig} from {now} to {then} with it aboard."),
    };
    (standing, lift(home), words)
}

fn rank_home(home: &Home) -> (Rank, f64, String) {
    let (rig, district, now, then) = (&home.rig, &home.district, home.now.word(), home.then.word());
    if home.then > home.now {
        let standing = standing_of(home);
        let words = match standing {
            Rank::OnlyFullRig => format!("Gives {district} its only full rig back: {rig} from {now} to {then}."),
            Rank::UnderMinimum => format!("{rig} from {now} to {then}; {}.", against_minimum(home)),
            Rank::Returns | Rank::Waits => format!("{rig} from {now} to {then}."),
        };
        return (standing, lift(home), words);
    }
    let words = match home.others_missing {
        _ if home.now.is_full() => format!("{rig} is full without it."),
        0 => format!("{rig} stays {now} with it."),
        1 => format!("{rig} stays {now} until one more piece is back."),
        n => format!("{rig} stays {now} until {n} more pieces are back."),
    };
    (Rank::Waits, 0.0, words)
}
