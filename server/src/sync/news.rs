//! Which revision each agency is at, and which of its places the latest changes were of: what the live stream tells, and what a
//! feed that waits is woken by. It is a hint and no more, so it may be told too often, and never too seldom.

use std::{
    collections::{BTreeMap, BTreeSet, HashMap, VecDeque},
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};

use diesel::prelude::*;
use tokio::sync::watch;
use uuid::Uuid;

use super::{
    open_places::{OpenPlace, OpenPlaces},
    scopes::Scopes,
};
use crate::{
    on,
    platform::{
        auth::Actor,
        db::{
            Db,
            schema::{agency, departure, record},
            types::Uid,
        },
        error::{self, Fault},
        http::Shared,
        ids::AgencyId,
        record::{Scope, ScopeRow},
    },
};

/// How often another process's commits are looked for. Its own are told at once.
const LOOK: Duration = Duration::from_millis(400);
/// How many steps are remembered of an agency; whoever has heard of none of them is told of everything.
const STEPS: usize = 64;
/// Changed rows of one step past which it is said to be of every place.
const MOST_ROWS: usize = 256;

/// How many streams and feeds that wait one member, tablet or program may have open at once: a tab or a phone has one.
pub const MOST_LISTENING_EACH: usize = 20;
/// How many streams this process keeps open.
const MOST_STREAMS: usize = 4_000;
/// After how many seconds it may be worth asking again.
const AGAIN: u64 = 30;

/// Each agency's latest revision that this process knows of; ends when the service stops.
#[derive(Debug, Clone)]
pub struct News {
    told: watch::Receiver<Agencies>,
    places: Arc<AtomicUsize>,
    listening: Arc<[AtomicUsize; 2]>,
    each: OpenPlaces,
}

/// How somebody listens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listening {
    /// By a stream that is open.
    Stream,
    /// By a feed that waits.
    Wait,
}

type Agencies = Arc<HashMap<AgencyId, Arc<Lately>>>;

/// An agency's revision, and what its last steps were of.
#[derive(Debug, Clone, Default)]
struct Lately {
    revision: i64,
    steps: VecDeque<Step>,
}

/// What changed after `from`, up to and with `to`.
#[derive(Debug, Clone)]
struct Step {
    from: i64,
    to: i64,
    /// The places; none: it may be any.
    of: Option<BTreeSet<Uuid>>,
}

/// Where something may have changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Touched {
    /// In none of the listener's places.
    Nowhere,
    /// In any of them.
    Anywhere,
    /// In these places of the listener, as a scope names them.
    Places(Vec<String>),
}

impl Touched {
    /// Whether anything may have changed.
    pub fn is_somewhere(&self) -> bool {
        *self != Self::Nowhere
    }
}

impl Lately {
    /// Where in a scope something may have changed since a revision.
    fn touches(&self, scopes: &Scopes, since: i64) -> Touched {
        if self.revision <= since {
            return Touched::Nowhere;
        }
        let Scopes::Places(places) = scopes else { return Touched::Anywhere };
        if self.steps.front().is_none_or(|oldest| oldest.from > since) {
            return Touched::Anywhere;
        }
        let mut touched: BTreeSet<Uuid> = BTreeSet::new();
        for step in self.steps.iter().filter(|step| step.to > since) {
            let Some(of) = &step.of else { return Touched::Anywhere };
            touched.extend(places.named().map(|(_, id)| id).filter(|id| of.contains(id)));
        }
        if touched.is_empty() {
            return Touched::Nowhere;
        }
        let named = places.named().filter(|(_, id)| touched.contains(id));
        Touched::Places(named.map(|(level, id)| format!("{level}:{id}")).collect())
    }

    /// The same after one more step.
    fn after(&self, to: i64, of: Option<BTreeSet<Uuid>>) -> Self {
        let mut steps = self.steps.clone();
        steps.push_back(Step { from: self.revision, to, of });
        while steps.len() > STEPS {
            steps.pop_front();
        }
        Self { revision: to, steps }
    }
}

/// Somebody who listens for a scope.
#[derive(Debug)]
pub struct Listener {
    news: News,
    agency: AgencyId,
    scopes: Scopes,
    how: Listening,
    _own: Option<OpenPlace>,
}

impl Drop for Listener {
    fn drop(&mut self) {
        self.news.count(self.how).fetch_sub(1, Ordering::Relaxed);
        if matches!(self.scopes, Scopes::Places(_)) {
            self.news.places.fetch_sub(1, Ordering::Relaxed);
        }
    }
}

impl News {
    /// Listens for a scope of the asker's agency, within what one asker and all may have open.
    pub fn listen(&self, asker: &Actor, scopes: Scopes, how: Listening) -> Result<Listener, Fault> {
        let own = |who| {
            let words = format!("{MOST_LISTENING_EACH} streams and waiting requests are open under this sign-in's name already; close one");
            self.each.take(who).ok_or_else(|| Fault::new(error::SLOW_DOWN, words).again_in(AGAIN))
        };
        let own = asker.sender().map(own).transpose()?;
        let open = self.count(how).fetch_add(1, Ordering::Relaxed);
        if how == Listening::Stream && open >= MOST_STREAMS {
            self.count(how).fetch_sub(1, Ordering::Relaxed);
            let words = format!("{MOST_STREAMS} streams are open already; ask /v1/changes now and then");
            return Err(Fault::new(error::BUSY, words).again_in(AGAIN));
        }
        if matches!(scopes, Scopes::Places(_)) {
            self.places.fetch_add(1, Ordering::Relaxed);
        }
        Ok(Listener {
            news: self.clone(),
            agency: asker.agency,
            scopes,
            how,
            _own: own,
        })
    }

    fn count(&self, how: Listening) -> &AtomicUsize {
        let [streams, waits] = &*self.listening;
        match how {
            Listening::Stream => streams,
            Listening::Wait => waits,
        }
    }

    /// How many listen so now.
    pub fn listening(&self, how: Listening) -> usize {
        self.count(how).load(Ordering::Relaxed)
    }
}

impl Listener {
    /// The agency's revision, and where in the scope something may have changed since another one.
    pub fn look(&mut self, since: i64) -> (i64, Touched) {
        let told = self.news.told.borrow_and_update();
        told.get(&self.agency)
            .map_or((0, Touched::Nowhere), |lately| (lately.revision, lately.touches(&self.scopes, since)))
    }

    /// Waits until anything has been told; false when nothing ever will be again.
    pub async fn next(&mut self) -> bool {
        self.news.told.changed().await.is_ok()
    }
}

/// Tells each agency's latest revision.
#[derive(Debug)]
pub struct Herald {
    tell: watch::Sender<Agencies>,
    places: Arc<AtomicUsize>,
}

/// Where revisions are told, and where they are heard. What is heard ends when the herald is dropped.
pub fn news() -> (Arc<Herald>, News) {
    let (tell, told) = watch::channel(Agencies::default());
    let places = Arc::new(AtomicUsize::new(0));
    let herald = Herald {
        tell,
        places: Arc::clone(&places),
    };
    let news = News {
        told,
        places,
        listening: Arc::default(),
        each: OpenPlaces::new(MOST_LISTENING_EACH),
    };
    (Arc::new(herald), news)
}

impl Herald {
    fn known(&self, agency: AgencyId) -> Option<i64> {
        self.tell.borrow().get(&agency).map(|lately| lately.revision)
    }

    fn tell(&self, steps: BTreeMap<AgencyId, (i64, Option<BTreeSet<Uuid>>)>) {
        self.tell.send_modify(|known| {
            let known = Arc::make_mut(known);
            for (agency, (to, of)) in steps {
                let lately = known.entry(agency).or_default();
                *lately = Arc::new(lately.after(to, of));
            }
        });
    }
}

/// Tells the revisions of all agencies, those of this process at once, those of others on the same database when it looks.
/// Runs until it is dropped.
pub async fn watch(shared: Arc<Shared>, herald: Arc<Herald>) {
    let mut own = shared.door.news();
    let mut look = tokio::time::interval(LOOK);
    look.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        let mut fresh: BTreeMap<AgencyId, i64> = BTreeMap::new();
        tokio::select! {
            told = own.recv() => {
                fresh.extend(told);
                // What was told meanwhile is one step.
                while let Ok((agency, rev)) = own.try_recv() {
                    fresh.insert(agency, rev);
                }
            }
            _ = look.tick() => {
                let ended = Arc::clone(shared.door.ended());
                let found = shared.read(move |db| {
                    ended.look(db)?;
                    let rows: Vec<(Uid, i64)> = on!(db, conn => agency::table.select((agency::id, agency::rev)).load(conn))?;
                    Ok(rows)
                }).await;
                for (id, rev) in found.unwrap_or_default() {
                    shared.door.heard(AgencyId(id.0), rev);
                    fresh.insert(AgencyId(id.0), rev);
                }
            }
        }
        let before: BTreeMap<AgencyId, Option<i64>> = fresh.keys().map(|agency| (*agency, herald.known(*agency))).collect();
        fresh.retain(|agency, rev| before.get(agency).copied().flatten().is_none_or(|known| known < *rev));
        if fresh.is_empty() {
            continue;
        }
        let places = herald.places.load(Ordering::Relaxed) > 0;
        let everywhere = shared.door.registry().everywhere().to_vec();
        let read = shared.read(move |db| {
            let mut steps = BTreeMap::new();
            for (agency, rev) in fresh {
                // Nobody asks of which places, or nothing is known to go on from: it may be any.
                let step = match before.get(&agency).copied().flatten().filter(|_| places) {
                    Some(known) => (rev, changed(db, agency, &everywhere, known, rev)?),
                    None => (rev, None),
                };
                steps.insert(agency, step);
            }
            Ok(steps)
        });
        match read.await {
            Ok(steps) => herald.tell(steps),
            // It is told at the next look.
            Err(fault) => tracing::warn!(%fault, cause = ?fault.cause, "what has changed could not be told of"),
        }
    }
}

/// The places that what changed after a revision is of or has left; none where there are too many, or something changed that every
/// feed holds.
fn changed(db: &mut Db, agency: AgencyId, everywhere: &[&'static str], since: i64, rev: i64) -> Result<Option<BTreeSet<Uuid>>, Fault> {
    let most = i64::try_from(MOST_ROWS + 1).unwrap_or(i64::MAX);
    let rows: Vec<(String, ScopeRow)> = on!(&mut *db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::rev.gt(since)))
        .select((record::kind, ScopeRow::as_select()))
        .distinct()
        .limit(most)
        .load(conn))?;
    let left: Vec<Uid> = on!(db, conn => departure::table
        .filter(departure::agency.eq(Uid::from(agency)).and(departure::rev.gt(since)).and(departure::rev.le(rev)))
        .select(departure::place)
        .distinct()
        .limit(most)
        .load(conn))?;
    if rows.len() > MOST_ROWS || left.len() > MOST_ROWS || rows.iter().any(|(kind, _)| everywhere.contains(&kind.as_str())) {
        return Ok(None);
    }
    let now = rows
        .into_iter()
        .flat_map(|(_, scope)| Scope::from(scope).places().map(|(_, id)| id).collect::<Vec<_>>());
    Ok(Some(left.into_iter().map(|id| id.0).chain(now).collect()))
}

#[cfg(test)]
mod tests {
    use super::{super::scopes::Places, *};

    fn station(id: u128) -> Scopes {
        Scopes::Places(Places {
            stations: [Uuid::from_u128(id)].into(),
            ..Places::default()
        })
    }

    #[test]
    fn a_place_hears_of_its_own_changes_and_of_what_it_may_have_missed() {
        let of = |id: u128| Some(BTreeSet::from([Uuid::from_u128(id)]));
        let lately = Lately::default().after(5, None).after(7, of(1)).after(9, of(2));
        let touches = |of: &Lately, scopes: &Scopes, since: i64| of.touches(scopes, since).is_somewhere();
        assert!(touches(&lately, &station(1), 5) && !touches(&lately, &station(1), 7));
        assert!(touches(&lately, &station(2), 7) && !touches(&lately, &station(3), 5));
        assert_eq!(lately.touches(&station(3), 4), Touched::Anywhere, "the first step may be of any place");
        let named = format!("station:{}", Uuid::from_u128(2));
        assert_eq!(lately.touches(&station(2), 5), Touched::Places(vec![named]));
        assert!(touches(&lately, &Scopes::Agency, 8) && !touches(&lately, &Scopes::Agency, 9));
        let mut long = lately;
        for rev in 10..200 {
            long = long.after(rev, of(1));
        }
        assert!(touches(&long, &station(2), 9), "what is not remembered is told");
        assert!(!touches(&long, &station(2), 198));
    }
}
