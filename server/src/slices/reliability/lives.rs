//! The stops of a piece, from the states that it has had.

use chrono::{DateTime, TimeDelta, Utc};
use fullset_calc::reliability as calc;
use serde::Deserialize;
use uuid::Uuid;

use crate::{
    platform::person::Person,
    slices::pieces::{Hold, HoldBy, PieceState},
};

/// The part of a piece's record that says whether it could be used.
#[derive(Debug, Deserialize)]
pub struct State {
    pub state: PieceState,
    pub state_since: DateTime<Utc>,
    pub state_reason: Option<String>,
    pub state_by: Person,
    #[serde(default)]
    pub planned: bool,
    pub holds: Vec<Hold>,
}

/// A time out of service.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    pub from: DateTime<Utc>,
    /// When it was in service again, or was retired.
    pub until: Option<DateTime<Utc>>,
    /// Whether it came back.
    pub back: bool,
    /// Whether its beginning was seen: what comes on the register out of service stopped at some time before.
    pub seen: bool,
    pub planned: bool,
    pub reason: Option<String>,
    pub by: Person,
    /// The repair tickets that it was on.
    pub tickets: Vec<Uuid>,
}

/// What has happened to a piece since the register knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    pub begins: DateTime<Utc>,
    /// When it was retired.
    pub ends: Option<DateTime<Utc>>,
    pub stops: Vec<Stop>,
}

impl Life {
    /// From the first state that is on record.
    pub fn new(first: State) -> Self {
        let mut life = Self {
            begins: first.state_since,
            ends: None,
            stops: Vec::new(),
        };
        life.take(first);
        if let Some(stop) = life.stops.first_mut() {
            stop.seen = false;
        }
        life
    }

    /// Takes the next state. What is written down late cannot reach behind what is there.
    pub fn take(&mut self, next: State) {
        let last = self.stops.last().map_or(self.begins, |stop| stop.until.unwrap_or(stop.from));
        let at = next.state_since.max(last);
        let open = self.stops.last_mut().filter(|stop| stop.until.is_none());
        match (next.state, open) {
            // What nobody can find is away, and has not failed for that.
            (PieceState::OutOfService | PieceState::Missing, open) => {
                let tickets = next.holds.iter().filter(|hold| hold.by == HoldBy::Ticket).map(|hold| hold.id);
                let Some(stop) = open else {
                    self.stops.push(Stop {
                        from: at,
                        until: None,
                        back: false,
                        seen: true,
                        planned: next.planned || next.state == PieceState::Missing,
                        reason: next.state_reason,
                        by: next.state_by,
                        tickets: tickets.collect(),
                    });
                    return;
                };
                stop.planned = next.planned || next.state == PieceState::Missing;
                stop.reason = next.state_reason;
                stop.by = next.state_by;
                for ticket in tickets {
                    if !stop.tickets.contains(&ticket) {
                        stop.tickets.push(ticket);
                    }
                }
            }
            (ended, open) => {
                let back = ended == PieceState::InService;
                if let Some(stop) = open {
                    stop.until = Some(at);
                    stop.back = back;
                }
                if !back && self.ends.is_none() {
                    self.ends = Some(at);
                }
            }
        }
    }

    /// What was seen of it between two instants; nothing, where it was not under watch. The watch begins when the piece is in
    /// service for the first time in between: a stop that was there before was not seen to begin.
    pub fn between(&self, from: DateTime<Utc>, until: DateTime<Utc>) -> Option<WatchWindow<'_>> {
        let begins = self.begins.max(from);
        let ends = self.ends.map_or(until, |ends| ends.min(until));
        let running = self
            .stops
            .iter()
            .find(|stop| (stop.from < begins || !stop.seen) && stop.until.is_none_or(|until| until > begins));
        let begins = running.map_or(Some(begins), |stop| stop.until)?;
        if begins >= ends {
            return None;
        }
        Some(WatchWindow {
            begins,
            ends,
            stops: self.stops.iter().filter(|stop| stop.seen && stop.from >= begins && stop.from < ends).collect(),
        })
    }
}

/// A piece under watch.
#[derive(Debug)]
pub struct WatchWindow<'a> {
    pub begins: DateTime<Utc>,
    pub ends: DateTime<Utc>,
    pub stops: Vec<&'a Stop>,
}

/// A time in days.
pub fn days(time: TimeDelta) -> f64 {
    time.as_seconds_f64() / 86_400.0
}

impl WatchWindow<'_> {
    /// As it is computed with. What `is_failure` refuses is time out of service, and no failure.
    pub fn watched(&self, is_failure: impl Fn(&Stop) -> bool) -> calc::Watched {
        let stops = self.stops.iter().map(|stop| calc::Stop {
            day: days(stop.from - self.begins),
            planned: !is_failure(stop),
            days_out: stop.until.filter(|_| stop.back).map(|until| days(until - stop.from)),
        });
        calc::Watched {
            days: days(self.ends - self.begins),
            stops: stops.collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(day: i64) -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::days(day)
    }

    fn state(state: PieceState, since: i64, planned: bool) -> State {
        State {
            state,
            state_since: day(since),
            state_reason: (state == PieceState::OutOfService).then(|| format!("since {since}")),
            state_by: Person { id: None, name: "crew".into() },
            planned,
            holds: Vec::new(),
        }
    }

    use PieceState::{InService, OutOfService, Retired};

    fn life(states: impl IntoIterator<Item = (PieceState, i64, bool)>) -> Life {
        let mut states = states.into_iter().map(|(word, since, planned)| state(word, since, planned));
        let mut life = Life::new(states.next().unwrap());
        states.for_each(|next| life.take(next));
        life
    }

    fn told(seen: &WatchWindow<'_>) -> (f64, Vec<(f64, bool, Option<f64>)>) {
        let watched = seen.watched(|stop| !stop.planned);
        (watched.days, watched.stops.iter().map(|stop| (stop.day, stop.planned, stop.days_out)).collect())
    }

    #[test]
    fn what_is_reported_while_it_is_out_belongs_to_the_same_stop() {
        let life = life([
            (InService, 0, false),
            (OutOfService, 10, true),
            (OutOfService, 10, true),
            (OutOfService, 10, false),
            (InService, 14, false),
            (OutOfService, 20, true),
            (InService, 21, false),
        ]);
        let seen = life.between(day(0), day(100)).unwrap();
        assert_eq!(told(&seen), (100.0, vec![(10.0, false, Some(4.0)), (20.0, true, Some(1.0))]));
    }

    #[test]
    fn a_stop_that_was_there_before_is_cut_with_its_time() {
        let life = life([
            (InService, 0, false),
            (OutOfService, 10, false),
            (InService, 14, false),
            (OutOfService, 50, false),
        ]);
        assert_eq!(told(&life.between(day(12), day(40)).unwrap()), (26.0, vec![]));
        assert_eq!(told(&life.between(day(10), day(40)).unwrap()), (30.0, vec![(0.0, false, Some(4.0))]));
        assert!(life.between(day(60), day(80)).is_none(), "it is out all the time");
        assert_eq!(told(&life.between(day(30), day(80)).unwrap()), (50.0, vec![(20.0, false, None)]));
    }

    #[test]
    fn what_comes_on_the_register_out_of_service_did_not_fail_then() {
        let life = life([(OutOfService, 5, false), (InService, 9, false)]);
        assert_eq!(told(&life.between(day(0), day(19)).unwrap()), (10.0, vec![]));
        assert!(self::life([(OutOfService, 5, false)]).between(day(0), day(19)).is_none());
    }

    #[test]
    fn a_watch_ends_at_retirement_which_is_no_repair() {
        let life = life([(InService, 0, false), (OutOfService, 10, false), (Retired, 13, false)]);
        assert_eq!(told(&life.between(day(0), day(100)).unwrap()), (13.0, vec![(10.0, false, None)]));
        assert!(life.between(day(13), day(100)).is_none());
    }

    #[test]
    fn what_is_written_down_late_does_not_reach_behind_what_is_there() {
        let life = life([
            (InService, 0, false),
            (OutOfService, 10, false),
            (InService, 14, false),
            (OutOfService, 12, false),
        ]);
        let froms: Vec<DateTime<Utc>> = life.stops.iter().map(|stop| stop.from).collect();
        assert_eq!(froms, [day(10), day(14)]);
    }
}
