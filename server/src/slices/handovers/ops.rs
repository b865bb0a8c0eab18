use chrono::{DateTime, TimeDelta, Utc};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    feed::{Handover, HandoverId, HandoverPart, HandoverState},
    rules::{self, HandoverAct, may},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, text},
        error::Fault,
        record::Scope,
    },
    slices::{districts::District, stations::Station},
};

/// The longest that a sheet looks back, in days.
const LONGEST: i64 = 14;

/// Where a handover belongs: to its station, or to its district.
fn place(write: &mut Write<'_>, id: HandoverId) -> Result<Scope, Fault> {
    if let Some(station) = write.look::<Station>(id.0)? {
        return Ok(station.scope);
    }
    Ok(write.find::<District>(id.0)?.scope)
}

/// Gives the next shift of a station or district what changed, what is at risk, what is promised and what to fetch, as the giver has just read
/// it. The copy stays on record as it is sent; nothing works it out again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GiveHandover {
    /// The station or district whose shift changes; the record has the same id.
    pub id: HandoverId,
    /// From when on the sheet tells what changed: in the past, at most 14 days ago.
    pub since: DateTime<Utc>,
    /// The sheet as it stands on the giver's screen, at most 24 parts and 40,000 characters.
    #[schema(min_items = 1, max_items = 24)]
    pub parts: Vec<HandoverPart>,
    /// What the giver says beside it: 1 to 4,000 characters; null: nothing.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for GiveHandover {
    const KIND: &'static str = "handover.give";
    const SUMMARY: &'static str = "Hand a shift over: what was read stays on record";
    const DONE: &'static str = "Shift handed over";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        let parts = rules::parts(std::mem::take(&mut self.parts));
        self.parts = parts.map_err(|(field, words)| Fault::field(format!("body.{field}"), words))?;
        let said = self.note.take().filter(|words| !words.trim().is_empty());
        self.note = said.map(|words| text("body.note", &words)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let scope = place(write, self.id)?;
        write.decide_for(scope)?;
        let at = write.head.at;
        if self.since > at || self.since < at - TimeDelta::days(LONGEST) {
            return Err(Fault::field(
                "body.since",
                format!("Say a time of the last {LONGEST} days: when this shift began"),
            ));
        }
        let before = write.look::<Handover>(self.id)?.map(|stored| stored.record);
        // Sent late, from a phone that had no signal: what was given since stays.
        if before.as_ref().is_some_and(|before| before.given_at > at) {
            return Err(Fault::rule(
                "A later handover of this place is on record; give a new one if there is more to say",
            ));
        }
        let handover = Handover {
            id: self.id,
            state: HandoverState::Given,
            since: self.since,
            parts: self.parts,
            note: self.note,
            given_at: at,
            given_by: write.actor.person(),
            taken_at: None,
            taken_by: None,
            withdrawn_reason: None,
            follows_untaken: before.is_some_and(|before| before.state == HandoverState::Given),
            allows: Vec::new(),
            rev: 0,
        };
        write.save(handover, scope)
    }
}

/// Takes a handover over: whoever does has read it, and is not who gave it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeHandover {
    /// The station or district whose handover was read; one that waits.
    pub id: HandoverId,
}

impl Act for TakeHandover {
    const KIND: &'static str = "handover.take";
    const SUMMARY: &'static str = "Take a handover over, as somebody else than who gave it";
    const DONE: &'static str = "Handover taken";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("handover");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Handover>(self.id)?;
        write.decide_for(stored.scope)?;
        write.expects(&stored)?;
        may(HandoverAct::Take, stored.record.state).map_err(Fault::rule)?;
        if stored.record.given_by.id == write.actor.member {
            return Err(Fault::rule("Who gave a handover does not take it; somebody of the next shift does"));
        }
        let handover = Handover {
            state: HandoverState::Taken,
            taken_at: Some(write.head.at),
            taken_by: Some(write.actor.person()),
            ..stored.record
        };
        write.save(handover, stored.scope)
    }
}

/// Takes a handover back that nobody has taken yet.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawHandover {
    /// The station or district whose handover is withdrawn; one that waits, and that the sender gave.
    pub id: HandoverId,
    /// Why: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for WithdrawHandover {
    const KIND: &'static str = "handover.withdraw";
    const SUMMARY: &'static str = "Take a handover back that nobody has taken yet";
    const DONE: &'static str = "Handover withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("handover");

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        self.reason = text("body.reason", &self.reason)?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Handover>(self.id)?;
        write.decide_for(stored.scope)?;
        write.expects(&stored)?;
        may(HandoverAct::Withdraw, stored.record.state).map_err(Fault::rule)?;
        if stored.record.given_by.id != write.actor.member {
            return Err(Fault::rule(format!(
                "{} gave this handover, and alone withdraws it; give a new one if it is wrong",
                stored.record.given_by.name
            )));
        }
        let handover = Handover {
            state: HandoverState::Withdrawn,
            withdrawn_reason: Some(self.reason),
            ..stored.record
        };
        write.save(handover, stored.scope)
    }
}
