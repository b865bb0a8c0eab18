//! What was refused by an answer: the request as a whole, or commands of a batch. The access log tells of it; what somebody was not
//! permitted is also an event that admins see, so many a day of each sender.

use std::{
    collections::{BTreeMap, HashMap},
    sync::{Arc, Mutex, PoisonError},
};

use actix_web::{HttpMessage as _, HttpRequest, dev::ServiceResponse, web};
use chrono::NaiveDate;
use serde::Serialize;
use uuid::Uuid;

use super::{Shared, asked_from};
use crate::platform::{
    auth::{AccessEventKind, Actor, NewEvent},
    door::Batch,
    error::{self, ProblemCode},
};

/// The most events of refusals that one sender leaves in a day: whoever is refused without end pushes nobody else's events out.
const MOST_A_DAY: u32 = 20;

/// How often something was refused, by why.
#[derive(Debug, Clone, Default, Serialize)]
#[serde(transparent)]
pub struct Refusals(BTreeMap<ProblemCode, u32>);

impl Refusals {
    /// Those of a batch.
    pub fn of(batch: &Batch) -> Self {
        let mut refusals = Self::default();
        for problem in batch.answers.iter().filter_map(|answer| answer.problem.as_ref()) {
            *refusals.0.entry(problem.code).or_default() += 1;
        }
        refusals
    }

    /// Those that an answer carries.
    pub fn carried<B>(answer: &ServiceResponse<B>) -> Self {
        let carried = answer.response().extensions();
        let whole = || carried.get::<ProblemCode>().map(|code| Self(BTreeMap::from([(*code, 1)])));
        carried.get::<Self>().cloned().or_else(whole).unwrap_or_default()
    }

    /// Whether nothing was refused.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether the sender's role, reach or key did not permit something.
    fn lacks_permission(&self) -> bool {
        self.0.keys().any(|code| matches!(*code, error::NOT_ALLOWED | error::OUT_OF_REACH))
    }
}

/// How many events of refusals each sender has left today. Senders are members, tablets and programs, so there are as many as those.
#[derive(Debug, Default)]
pub struct RefusedToday(Mutex<(NaiveDate, HashMap<Uuid, u32>)>);

impl RefusedToday {
    /// Whether one more may be noted.
    fn takes(&self, sender: Uuid, today: NaiveDate) -> bool {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.0 != today {
            *kept = (today, HashMap::new());
        }
        let count = kept.1.entry(sender).or_default();
        *count = count.saturating_add(1);
        *count <= MOST_A_DAY
    }

    /// Notes that somebody was not permitted something, without keeping the answer waiting.
    pub(super) fn note(&self, request: &HttpRequest, shared: &web::Data<Shared>, refusals: &Refusals) {
        if !refusals.lacks_permission() {
            return;
        }
        let Some(actor) = request.extensions().get::<Arc<Actor>>().cloned() else {
            return;
        };
        if !actor.sender().is_some_and(|sender| self.takes(sender, shared.clock.now().date_naive())) {
            return;
        }
        let event = NewEvent {
            from: asked_from(request, shared),
            ..NewEvent::by(&actor, actor.member, AccessEventKind::Refused)
        };
        let shared = shared.clone().into_inner();
        actix_web::rt::spawn(async move {
            if let Err(fault) = shared.slow(move |shared| shared.sessions.note(event)).await {
                tracing::warn!(cause = ?fault.cause, %fault, "a refusal was not noted");
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_sender_leaves_so_many_events_a_day_and_others_theirs() {
        let (refused, one, other) = (RefusedToday::default(), Uuid::from_u128(1), Uuid::from_u128(2));
        let today = NaiveDate::from_ymd_opt(2026, 11, 27).unwrap();
        let taken = (0..100).filter(|_| refused.takes(one, today)).count();
        assert_eq!(taken, 20);
        assert!(refused.takes(other, today));
        assert!(refused.takes(one, today.succ_opt().unwrap()));
    }
}
