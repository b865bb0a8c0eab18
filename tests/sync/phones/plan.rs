//! The plan of a run: what each phone does in each round and what befalls the service, all from one seed.

use chrono::TimeDelta;

use super::broken::Broken;
use crate::world::{Engine, Rng};

/// What the service runs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SetUp {
    Sqlite,
    Postgres,
    /// Two processes on one PostgreSQL; phones pick either for each request.
    TwoServers,
}

impl SetUp {
    /// The seeds go round the set-ups.
    pub fn of(seed: u64) -> Self {
        [Self::Sqlite, Self::Postgres, Self::TwoServers][usize::try_from(seed % 3).expect("small")]
    }

    pub fn engine(self) -> Engine {
        if self == Self::Sqlite { Engine::Sqlite } else { Engine::Postgres }
    }

    pub fn servers(self) -> usize {
        if self == Self::TwoServers { 2 } else { 1 }
    }
}

/// What becomes of a request on the air.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Air {
    /// It arrives and is answered.
    Good,
    /// It never arrives.
    Silent,
    /// It arrives; the answer does not.
    ReplyLost,
    /// It arrives twice at once, at either server.
    Twice,
}

/// How a phone cuts what it has to send.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cut {
    Whole,
    /// Into batches of so many.
    Into(usize),
    /// In another order, as far as `after` allows.
    Shuffled,
    /// The last ones alone, before those that they follow.
    TailFirst,
}

/// One step of a phone.
#[derive(Debug, Clone, Copy)]
pub enum Step {
    Read {
        pages: usize,
        limit: usize,
    },
    /// Says something, which waits in the outbox.
    Say(Rng),
    Send {
        air: Air,
        cut: Cut,
        rng: Rng,
    },
    /// Sends again what was answered long ago, mixed anew.
    Again(Rng),
    /// Goes elsewhere: another scope.
    Go(usize),
    /// Makes a copy of itself.
    Keep,
    /// Is put back to that copy.
    Restore,
    /// Opens a token that is not its own.
    Strange(usize),
}

/// What a phone is and does.
#[derive(Debug, Clone)]
pub struct PhonePlan {
    pub role: &'static str,
    pub scope: usize,
    pub skew: TimeDelta,
    pub rng: Rng,
    /// Steps by round; none in a round in which it is away.
    pub rounds: Vec<Vec<Step>>,
}

/// What befalls the service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// A server is killed and started again.
    Kill(usize),
    /// The service forgets: what tells that records are gone, states that were replaced, or both.
    Compact { deleted: bool, past: bool },
}

/// The whole plan.
#[derive(Debug, Clone)]
pub struct Plan {
    pub set_up: SetUp,
    pub phones: Vec<PhonePlan>,
    pub rounds: usize,
    /// Each with the number of the request that sets it off.
    pub orders: Vec<(usize, Order)>,
    /// In which order phones act in each round.
    pub order: Rng,
    /// What is broken on purpose.
    pub broken: Option<Broken>,
}

/// What the service is told to forget: that records are gone, states that were replaced.
const FORGETTING: [(bool, bool); 3] = [(true, false), (true, true), (false, true)];
const ROUNDS: usize = 5;
/// How many scopes a phone chooses from (see `scopes` in `fleet.rs`).
pub const SCOPES: usize = 14;

fn steps(rng: &mut Rng) -> Vec<Step> {
    let mut steps = Vec::new();
    if rng.chance(5) {
        steps.push(Step::Go(rng.roll(SCOPES)));
    }
    match rng.roll(20) {
        0 => steps.push(Step::Keep),
        1 => steps.push(Step::Restore),
        2 => steps.push(Step::Strange(rng.roll(4))),
        _ => {}
    }
    if rng.chance(60) {
        let limit = [1, 3, 7, 15, 40, 200][rng.roll(6)];
        steps.push(Step::Read { pages: 1 + rng.roll(3), limit });
    }
    for _ in 0..rng.roll(4) {
        steps.push(Step::Say(rng.fork()));
    }
    if rng.chance(75) {
        let air = match rng.roll(10) {
            0 => Air::Silent,
            1 | 2 => Air::ReplyLost,
            3 => Air::Twice,
            _ => Air::Good,
        };
        let cut = match rng.roll(8) {
            0 => Cut::Into(1),
            1 => Cut::Into(2),
            2 | 3 => Cut::Shuffled,
            4 => Cut::TailFirst,
            _ => Cut::Whole,
        };
        steps.push(Step::Send { air, cut, rng: rng.fork() });
    }
    if rng.chance(10) {
        steps.push(Step::Again(rng.fork()));
    }
    steps
}

fn phone(number: usize, mut rng: Rng) -> PhonePlan {
    let role = match number % 8 {
        0 => "coordinator",
        1 | 2 => "crew",
        _ => "officer",
    };
    let skew = match rng.roll(20) {
        // Clocks gone wild.
        0 => TimeDelta::days(-50 * 365),
        1 => TimeDelta::days(6000 * 365),
        2..8 => TimeDelta::zero(),
        _ => TimeDelta::milliseconds(i64::try_from(rng.roll(86_400_000)).expect("a day")) - TimeDelta::hours(12),
    };
    let scope = rng.roll(SCOPES);
    let rounds = (0..ROUNDS)
        .map(|round| {
            let mut steps = if rng.chance(20) { Vec::new() } else { steps(&mut rng) };
            if round == 0 {
                // It has to know something before it can say anything.
                steps.insert(
                    0,
                    Step::Read {
                        pages: 2,
                        limit: [20, 60, 200][rng.roll(3)],
                    },
                );
            }
            steps
        })
        .collect();
    PhonePlan {
        role,
        scope,
        skew,
        rng,
        rounds,
    }
}

impl Plan {
    /// The plan of a seed for so many phones.
    pub fn of(seed: u64, phones: usize) -> Self {
        let mut rng = Rng::new(seed);
        let set_up = SetUp::of(seed);
        let phones: Vec<PhonePlan> = (0..phones).map(|number| phone(number, rng.fork())).collect();
        let requests: usize = phones.iter().flat_map(|phone| &phone.rounds).map(Vec::len).sum();
        let mut orders: Vec<(usize, Order)> = (0..1 + rng.roll(3) + phones.len() / 50)
            .map(|_| (rng.roll(requests), Order::Kill(rng.roll(set_up.servers()))))
            .collect();
        orders.extend((0..1 + rng.roll(2)).map(|_| {
            let (deleted, past) = FORGETTING[rng.roll(FORGETTING.len())];
            (rng.roll(requests), Order::Compact { deleted, past })
        }));
        Self {
            set_up,
            phones,
            rounds: ROUNDS,
            orders,
            order: rng.fork(),
            broken: None,
        }
    }
}
