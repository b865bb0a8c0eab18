//! Who is being answered, and the lines in which each sender's questions wait for one another: nobody takes the readers, or the turns at
//! searches, from the others by asking for much at once. The lines are longer than all that a person's screens ask for together; a program
//! that asks without waiting for answers is told to come again.

use std::cell::Cell;

use uuid::Uuid;

use crate::platform::{
    auth::Actor,
    error::{self, Fault},
    ids::AgencyId,
    line::{Line, LinePlace},
    turns::{Place, Turns},
};

/// The most reads of one sender, those that are being answered with those that wait. A map that fills a large screen asks for some 150
/// squares at once.
const MOST_READS: usize = 256;
/// The most searches of one sender, likewise. A screen asks for one or two, and may have been left before they came.
const MOST_SEARCHES: usize = 16;

tokio::task_local! {
    /// Who sent the request that is being answered, once that is known.
    static SENDER: Cell<Option<Uuid>>;
}

/// Answers a request; who sent it can be told meanwhile.
pub(super) async fn answering<T>(work: impl Future<Output = T>) -> T {
    SENDER.scope(Cell::new(None), work).await
}

/// Tells who sent the request that is being answered.
pub(super) fn is_from(actor: &Actor) {
    // Outside of a request there is nobody to be told of.
    let _ = SENDER.try_with(|sender| sender.set(actor.sender()));
}

/// Who sent the request that is being answered; none where nobody is signed in, or the service asks for itself.
fn sender() -> Option<Uuid> {
    SENDER.try_with(Cell::get).ok().flatten()
}

/// A place in the sender's own line; none where there is no sender.
pub type OwnPlace = Option<(Uuid, LinePlace)>;
/// The sender's own turn, until it is dropped.
pub type OwnTurn = Option<(LinePlace, Place)>;
/// A turn at searching: the sender's own, and the agency's.
pub type SearchTurn = (OwnTurn, Place);

fn stand(line: &Line) -> Option<OwnPlace> {
    match sender() {
        Some(sender) => line.take(sender).ok().map(|place| Some((sender, place))),
        None => Some(None),
    }
}

async fn turn(turns: &Turns<Uuid>, place: OwnPlace) -> Result<OwnTurn, Fault> {
    match place {
        Some((sender, place)) => Ok(Some((place, turns.take(sender).await?))),
        None => Ok(None),
    }
}

/// The reads of each sender.
#[derive(Debug)]
pub struct Reads {
    line: Line,
    turns: Turns<Uuid>,
}

impl Reads {
    /// On so many connections: half of them for one sender, and at least one.
    pub fn on(readers: u32) -> Self {
        let all = usize::try_from(readers).unwrap_or(usize::MAX).max(1);
        Self {
            line: Line::new(usize::MAX, MOST_READS),
            turns: Turns::new(all, (all / 2).max(1)),
        }
    }

    /// Waits for the sender's turn at a read, which holds no connection and no thread meanwhile.
    ///
    /// # Errors
    /// `slow-down` for a sender whose line is full.
    pub async fn turn(&self) -> Result<OwnTurn, Fault> {
        let place = stand(&self.line).ok_or_else(|| {
            let words = format!("{MOST_READS} answers are still on their way to you; this one was not begun. Ask again in a few seconds");
            Fault::new(error::SLOW_DOWN, words).again_in(2)
        })?;
        turn(&self.turns, place).await
    }
}

/// Searches: one of a sender at a time, and one of an agency; its members take turns.
#[derive(Debug)]
pub struct Searches {
    line: Line,
    own: Turns<Uuid>,
    agencies: Turns,
}

impl Default for Searches {
    fn default() -> Self {
        Self {
            line: Line::new(usize::MAX, MOST_SEARCHES),
            own: Turns::new(usize::MAX, 1),
            agencies: Turns::of_processors(),
        }
    }
}

impl Searches {
    /// A place in the sender's own line, taken before what is searched is read.
    ///
    /// # Errors
    /// `slow-down` for a sender whose line is full.
    pub fn stand(&self) -> Result<OwnPlace, Fault> {
        stand(&self.line).ok_or_else(|| {
            let words = format!("{MOST_SEARCHES} plans are being worked out for you; this one was not begun. Ask again when one of them is there");
            Fault::new(error::SLOW_DOWN, words).again_in(5)
        })
    }

    /// Waits for the turn of who stands there, at a search of an agency.
    ///
    /// # Errors
    /// When the line is gone.
    pub async fn turn(&self, place: OwnPlace, agency: AgencyId) -> Result<SearchTurn, Fault> {
        Ok((turn(&self.own, place).await?, self.agencies.take(agency).await?))
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    async fn asked_by<T>(who: Option<Uuid>, work: impl Future<Output = T>) -> T {
        SENDER.scope(Cell::new(who), work).await
    }

    /// Whether it waits.
    async fn waits<T>(work: impl Future<Output = T>) -> bool {
        tokio::time::timeout(Duration::from_millis(20), work).await.is_err()
    }

    #[tokio::test]
    async fn one_sender_reads_on_half_of_the_connections_and_the_service_is_not_held_up() {
        let (reads, one, two) = (Reads::on(4), Some(Uuid::now_v7()), Some(Uuid::now_v7()));
        let first = asked_by(one, reads.turn()).await.unwrap();
        let second = asked_by(one, reads.turn()).await.unwrap();
        assert!(asked_by(one, waits(reads.turn())).await, "a third waits");
        let others = [asked_by(two, reads.turn()).await.unwrap(), asked_by(None, reads.turn()).await.unwrap()];
        assert!(reads.turn().await.unwrap().is_none(), "nobody asks");
        drop(first);
        assert!(!asked_by(one, waits(reads.turn())).await);
        drop((second, others));
    }

    #[tokio::test]
    async fn a_line_that_is_full_refuses_its_sender_alone() {
        let (searches, one, agency) = (Searches::default(), Some(Uuid::now_v7()), AgencyId(Uuid::now_v7()));
        let mut places: Vec<OwnPlace> = Vec::new();
        for _ in 0..MOST_SEARCHES {
            places.push(asked_by(one, async { searches.stand() }).await.unwrap());
        }
        let fault = asked_by(one, async { searches.stand() }).await.unwrap_err();
        assert_eq!((fault.code, fault.retry_after), (error::SLOW_DOWN, Some(5)));
        let other = asked_by(Some(Uuid::now_v7()), async { searches.stand() }).await.unwrap();
        // Of one sender one waits for the agency's turn, so that a colleague's is the next.
        let own = searches.turn(places.pop().unwrap(), agency).await.unwrap();
        assert!(waits(searches.turn(places.pop().unwrap(), agency)).await);
        assert!(waits(searches.turn(other, agency)).await);
        drop(own);
        let colleague = asked_by(Some(Uuid::now_v7()), async { searches.stand() }).await.unwrap();
        assert!(!waits(searches.turn(colleague, agency)).await);
        drop(places);
        assert!(asked_by(one, async { searches.stand() }).await.is_ok());
    }
}
