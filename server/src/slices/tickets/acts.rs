//! What a shop writes down beside the steps of a repair: who works on it, until when, what it took, and what it came from.

use chrono::{Days, NaiveDate};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Ticket,
    feed::{Cause, Line, LineKind, Promise, TicketId},
    ops::step,
    rules::{MOST_DEFECTS, Step},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name},
        error::Fault,
        ids::MemberId,
        person::Person,
    },
    slices::{
        agencies::day_done,
        defects::{self, DefectId},
        members::Member,
    },
};

/// The latest day that a shop may promise, in days from today: two years.
const LATEST: u64 = 731;

/// Says who is to work on a ticket.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AssignTicket {
    /// The ticket that somebody is put on: accepted, and not closed.
    pub id: TicketId,
    /// A member who may repair; none: whoever comes to it.
    pub member: Option<MemberId>,
}

impl Act for AssignTicket {
    const KIND: &'static str = "ticket.assign";
    const SUMMARY: &'static str = "Say who is to work on a ticket";
    const DONE: &'static str = "Somebody was put on the ticket, or taken off it";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Assign)?;
        let assigned_to = match self.member {
            None => None,
            Some(id) => {
                let member = write.named::<Member>("member", id)?.record;
                if !member.active {
                    return Err(Fault::field("body.member", format!("{} has left the agency", member.name)));
                }
                if !member.role.grants(Permission::Repair) {
                    return Err(Fault::field(
                        "body.member",
                        format!("The role of {} does not allow repairs; choose a member of the shop", member.name),
                    ));
                }
                Some(Person {
                    id: Some(member.id),
                    name: member.name,
                })
            }
        };
        write.save(Ticket { assigned_to, ..stored.record }, stored.scope)
    }
}

/// Says until when a ticket is done.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PromiseTicket {
    /// The ticket that the day is promised for: accepted, and not closed.
    pub id: TicketId,
    /// The day on which the piece is ready to go home, in the agency's zone: today or later, within two years. None: nothing is
    /// promised any more.
    pub on: Option<NaiveDate>,
}

impl Act for PromiseTicket {
    const KIND: &'static str = "ticket.promise";
    const SUMMARY: &'static str = "Say on which day the piece of a ticket is ready";
    const DONE: &'static str = "The day on which the piece is ready was said";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Promise)?;
        let today = day_done(write)?;
        let before = stored.record.promise.as_ref();
        let promise = match self.on {
            None => None,
            Some(on) if on < today => {
                return Err(Fault::field("body.on", format!("{on} is past; say a day from today, {today}, on")));
            }
            Some(on) if today.checked_add_days(Days::new(LATEST)).is_none_or(|last| on > last) => {
                return Err(Fault::field("body.on", "A day within two years; look at the year"));
            }
            Some(on) => Some(Promise {
                on,
                first: before.map_or(on, |before| before.first),
                moved: before.map_or(0, |before| before.moved + u32::from(before.on != on)),
                by: write.actor.person(),
                at: write.head.at,
            }),
        };
        write.save(Ticket { promise, ..stored.record }, stored.scope)
    }
}

/// Has a ticket deal with more open defects of its piece.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IncludeDefects {
    /// The ticket that takes the defects on: accepted, and not closed.
    pub id: TicketId,
    /// The defects; what it deals with already may stand there too. Up to 50, with those before.
    #[schema(min_items = 1, max_items = 50)]
    pub defects: Vec<DefectId>,
}

impl Act for IncludeDefects {
    const KIND: &'static str = "ticket.include";
    const SUMMARY: &'static str = "Have a ticket deal with more open defects of its piece";
    const DONE: &'static str = "More defects are dealt with on the ticket";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.defects.is_empty() || self.defects.len() > MOST_DEFECTS {
            return Err(Fault::field("body.defects", format!("Name 1 to {MOST_DEFECTS} defects")));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Include)?;
        let mut ticket = stored.record;
        let mut joining = Vec::new();
        for id in self.defects {
            if !ticket.defects.contains(&id) {
                ticket.defects.push(id);
                joining.push(id);
            }
        }
        if ticket.defects.len() > MOST_DEFECTS {
            return Err(Fault::field("body.defects", format!("A ticket deals with {MOST_DEFECTS} defects at most")));
        }
        let piece = ticket.piece;
        write.save(ticket, stored.scope)?;
        for id in joining {
            defects::tie(write, id, piece, Some(self.id.0))?;
        }
        Ok(())
    }
}

/// Says what the trouble of a ticket came from; also when it is closed, and once more where the first word was wrong.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NameCause {
    /// The ticket whose cause is named: accepted, or closed.
    pub id: TicketId,
    /// What it came from.
    pub cause: Cause,
}

impl Act for NameCause {
    const KIND: &'static str = "ticket.cause";
    const SUMMARY: &'static str = "Say what the trouble of a ticket came from";
    const DONE: &'static str = "What the trouble came from was said";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Cause)?;
        write.save(
            Ticket {
                cause: Some(self.cause),
                ..stored.record
            },
            stored.scope,
        )
    }
}

/// Adds a part, labour or work done outside to a ticket.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddLine {
    /// The ticket that the line is added to: accepted, not closed, and with fewer than 200 lines.
    pub id: TicketId,
    /// The part, the labour or the work.
    pub line: Line,
}

impl Act for AddLine {
    const KIND: &'static str = "ticket.line";
    const SUMMARY: &'static str = "Record a part, labour or work done outside on a ticket";
    const DONE: &'static str = "Part or work recorded";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Line)?;
        let mut line = self.line;
        line.what = name("body.line.what", &line.what)?;
        line.vendor = line.vendor.map(|who| name("body.line.vendor", &who)).transpose()?;
        let whole = |value: Option<f64>| value.is_none_or(|value| (0.0..=1e9).contains(&value));
        for (field, value) in [
            ("quantity", line.quantity),
            ("unit_cost", line.unit_cost),
            ("minutes", line.minutes.map(f64::from)),
        ] {
            if !whole(value) {
                return Err(Fault::field(format!("body.line.{field}"), "This is a number from 0 to 1,000,000,000"));
            }
        }
        if line.kind == LineKind::Labour && line.minutes.is_none() {
            return Err(Fault::field("body.line.minutes", "Say how many minutes the work took"));
        }
        let mut ticket = stored.record;
        ticket.lines.push(line);
        write.save(ticket, stored.scope)
    }
}
