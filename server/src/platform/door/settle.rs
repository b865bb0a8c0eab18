//! Time that passed while nobody looked. A lapse is settled at its own instant, in order, by a command of the service with
//! its own revision and journal entry: `at` and `received_at` are the instant, `at_raw` is when the service came to it.
//!
//! The writer settles what is due before it applies a command of the agency, in the same transaction. What only waits to be
//! judged anew is taken up by the clock, a slice at a time, so that no command waits for all of it.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Act, Answer, Head, Permission, Reach, Write,
    apply::Transaction,
    command::{Parsed, Ready, own_id},
    journal,
    lapses::{self, Lapse},
    pulse::survive,
    unit_of_work::UnitOfWork,
};
use crate::platform::{auth::Actor, db::types::Moment, error::Fault, ids::AgencyId};

/// The most lapses of one command.
pub(super) const MOST: usize = 200;
/// The most records that one command judges anew because what they are judged by has changed.
pub(super) const SLICE: usize = 24;

/// A record whose answer ran out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Lapsed {
    /// Kind of the record: `rig` or `piece`.
    pub kind: String,
    /// The rig or piece whose answer ran out.
    pub id: Uuid,
}

/// The clock settles what ran out at one instant.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Settle {
    /// The instant; everything is worked out as of it.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// What ran out then, at most 200.
    pub lapses: Vec<Lapsed>,
}

impl Act for Settle {
    const KIND: &'static str = "clock.settle";
    const SUMMARY: &'static str = "Work out again what ran out at an instant, as of that instant; made by the service itself, never sent";
    const DONE: &'static str = "What ran out was worked out again";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.lapses.len() > MOST {
            return Err(Fault::field("body.lapses", format!("These are more than {MOST}; settle fewer at once")));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        self.lapses.iter().try_for_each(|lapsed| write.settle(lapsed, self.at))
    }
}

impl Write<'_> {
    /// Settles one record. What fails is undone by itself, logged and put off, so that the others go on.
    fn settle(&mut self, lapsed: &Lapsed, at: DateTime<Utc>) -> Result<(), Fault> {
        self.writing()?.mark()?;
        let (touched, main, due) = (self.touched.len(), self.main.clone(), self.due);
        let done = match self.settlers.get(lapsed.kind.as_str()) {
            Some(settle) => survive(|| settle(self, lapsed.id, at)),
            None => Err(anyhow::anyhow!("nothing settles a lapse of the kind '{}'", lapsed.kind).into()),
        };
        let done = done.and_then(|()| {
            self.held.write(self.db)?;
            let left = lapses::find(self.db, self.agency, &lapsed.kind, lapsed.id)?;
            // What would be due at the same instant again would be settled without end.
            match left.filter(|left| left.at.0 <= at) {
                None => Ok(self.db.keep_since_mark()?),
                Some(_) => Err(anyhow::anyhow!("its new answer has run out already").into()),
            }
        });
        let Err(fault) = done else { return Ok(()) };
        tracing::error!(
            agency = %self.agency, kind = lapsed.kind, id = %lapsed.id, %at, %fault, cause = ?fault.cause,
            "a record could not be settled; it is tried again later, the others go on"
        );
        self.db.undo_to_mark()?;
        *self.held = UnitOfWork::default();
        self.kept.forget();
        self.touched.truncate(touched);
        self.before.truncate(touched);
        (self.main, self.due) = (main, due);
        if let Some(row) = lapses::find(self.db, self.agency, &lapsed.kind, lapsed.id)? {
            lapses::put_off(self.db, row, self.head.at_raw)?;
        }
        Ok(())
    }

    /// Says when the answer about a record runs out next; `None`: it does not.
    pub fn lapse(&mut self, kind: &'static str, id: Uuid, at: Option<DateTime<Utc>>) -> Result<(), Fault> {
        let lapse = at.map(|at| Lapse::at(self.agency, kind, id, at));
        self.held.set_lapse(self.db, (self.agency, kind.into(), id), lapse)?;
        self.due = self.due.into_iter().chain(at).min();
        Ok(())
    }

    /// Reads at once when the answers about some records run out.
    pub fn read_lapses(&mut self, kind: &'static str, ids: &[Uuid]) -> Result<(), Fault> {
        Ok(self.held.read_lapses(self.db, self.agency, kind, ids)?)
    }
}

impl Transaction<'_> {
    /// Settles all that was due in an agency at an instant; answers what the clock did. Looks at the database only where
    /// something may be due.
    pub fn settle_due(&mut self, agency: AgencyId, now: DateTime<Utc>) -> Result<Vec<Answer>, Fault> {
        let mut answers = Vec::new();
        while self.chain(agency)?.due.is_some_and(|due| due <= now) {
            answers.extend(self.settle_once(agency, now, false, MOST)?);
            // What failed is put off and what was settled runs out later: this ends.
            self.held.write(self.db)?;
            self.chain(agency)?.due = lapses::next(self.db, agency)?;
        }
        Ok(answers)
    }

    /// The same, where somebody has seen in the database that something is due.
    pub fn settle_seen_due(&mut self, agency: AgencyId, now: DateTime<Utc>) -> Result<Vec<Answer>, Fault> {
        self.held.write(self.db)?;
        self.chain(agency)?.due = lapses::next(self.db, agency)?;
        self.settle_due(agency, now)
    }

    /// Does the clock's next piece of work: lapses of one instant, or a slice of what waits to be judged anew.
    pub fn settle_slice(&mut self, agency: AgencyId, now: DateTime<Utc>) -> Result<Vec<Answer>, Fault> {
        let settled = match self.settle_once(agency, now, false, SLICE)? {
            None => self.settle_once(agency, now, true, SLICE)?,
            settled => settled,
        };
        self.held.write(self.db)?;
        self.chain(agency)?.due = lapses::next(self.db, agency)?;
        Ok(settled.into_iter().collect())
    }

    fn settle_once(&mut self, agency: AgencyId, now: DateTime<Utc>, pending: bool, most: usize) -> Result<Option<Answer>, Fault> {
        self.held.write(self.db)?;
        let (rev, last) = {
            let rev = self.chain(agency)?.rev;
            (rev, journal::received_at(self.db, agency, rev)?)
        };
        let due = lapses::due(self.db, agency, now, pending, i64::try_from(most).unwrap_or(i64::MAX))?;
        let Some(Moment(at)) = due.first().map(|row| row.at) else { return Ok(None) };
        let lapsed = due.into_iter().map(|row| Lapsed { kind: row.kind, id: row.id.0 });
        let settle = Settle { at, lapses: lapsed.collect() };
        let body = serde_json::to_string(&settle)?;
        let command = Ready {
            head: Head {
                id: own_id(&format!("{}/{agency}/{}", Settle::KIND, rev + 1)),
                at_raw: now,
                at,
                // The past is told by these: they never go back, even where a lapse is settled late.
                received_at: last.map_or(at, |last| at.max(last)),
                skew_us: (at - now).num_microseconds().unwrap_or_default(),
                expects: None,
            },
            kind: Settle::KIND.to_owned(),
            after: None,
            expects_after: None,
            signature: None,
            journaled: body,
            act: Ok(Box::new(Parsed(settle))),
        };
        let actor = std::sync::Arc::new(Actor::service(agency, "the clock"));
        let (answer, _) = self.apply(&actor, &command)?;
        Ok(Some(answer))
    }
}
