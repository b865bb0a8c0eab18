//! How far a member must reach. This is the whole rule:
//!
//! - What the agency decides as one (models, grades, shops, settings) is closed to whoever is bounded to a district or a station.
//! - What is *acted on* is within reach where it is now. What lies at no station, in a shop or with a vendor, is within everybody's:
//!   so a shop takes from every station, and works on what it has.
//! - *Sending* to another station takes nothing more: on its way a piece counts nowhere, and whoever reaches the far end confirms it.
//!   *Putting down* there, a home there, or a rig's new station there takes reaching it.
//! - What the register says of a piece that lies at no station is for those who reach its home.
//! - Who *decides for* a place or a member (edits it, adds it, gives it a reach) has it inside the own bounds as a whole: nobody gives
//!   or takes more reach than he has, and a member of a station does not decide for its district.
//! - What speaks against a piece, and that it was used, is open to everybody everywhere: crews are detailed to other houses.
//!
//! A command's [`Reach`] says which of these it is; it has no default, so that a new one must say it. One that says
//! [`Reach::Within`] and asks for nothing is refused to whoever is bounded.

use super::Write;
use crate::platform::{
    auth::Actor,
    error::{self, Fault},
    record::Scope,
};

/// How far whoever sends a command must reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// It decides for the whole agency: refused to whoever is bounded.
    WholeAgency,
    /// It acts within the sender's reach, for which `apply` asks where it has found what it acts on.
    Within,
    /// It is open for everything of the agency. With the reason.
    Anywhere(&'static str),
    /// Only the service itself sends it.
    Service,
}

impl Reach {
    /// How the documents say it, after the roles.
    pub fn words(self) -> &'static str {
        match self {
            Self::WholeAgency => " who reach the whole agency",
            Self::Within => " within their reach",
            Self::Anywhere(_) => " for everything of the agency",
            Self::Service => "",
        }
    }

    /// Whether a member may send it at all, wherever it acts.
    pub fn is_open_to(self, bounded: bool) -> bool {
        !(bounded && self == Self::WholeAgency)
    }

    /// Refuses a bounded member what the agency decides as one.
    pub(super) fn permit(self, actor: &Actor, kind: &str) -> Result<(), Fault> {
        if self.is_open_to(actor.is_bounded()) {
            return Ok(());
        }
        let words = format!("{kind} decides for the whole agency, and you act in one part of it; ask a member of the whole agency");
        Err(Fault::new(error::OUT_OF_REACH, words))
    }
}

fn refusal() -> Fault {
    Fault::new(
        error::OUT_OF_REACH,
        "This is outside your station or district; ask an officer there, or the coordinator",
    )
}

impl Write<'_> {
    fn asked(&self, within: bool) -> Result<(), Fault> {
        self.asked.set(true);
        if within { Ok(()) } else { Err(refusal()) }
    }

    /// Refuses a member who does not reach what is acted on: where it is, or where it is put down.
    pub fn reach(&self, scope: Scope) -> Result<(), Fault> {
        self.asked(self.actor.reaches(scope))
    }

    /// Refuses a member who may not change what the register says of a thing: where it lies at no station, its home decides.
    pub fn reach_kept(&self, scope: Scope) -> Result<(), Fault> {
        let home = scope.home.filter(|_| scope.station.is_none() && scope.district.is_none());
        self.reach(home.map_or(scope, |home| Scope {
            district: home.district,
            station: home.station,
            ..Scope::default()
        }))
    }

    /// Refuses a member whose own bounds do not hold the whole of a place, or of another member's reach.
    pub fn decide_for(&self, scope: Scope) -> Result<(), Fault> {
        self.asked(self.actor.holds(scope))
    }

    /// Refuses a bounded member's act that should have asked for reach and did not.
    pub(super) fn has_asked(&self, reach: Reach) -> Result<(), Fault> {
        if reach == Reach::Within && self.actor.is_bounded() && !self.asked.get() {
            return Err(refusal());
        }
        Ok(())
    }
}
