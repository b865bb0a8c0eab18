//! Plans with little lateness by many small steps: a set goes elsewhere, or two sets change places, and while the walk is hot also for the worse.
//!
//! Hours and limits may be broken on the way, at a price. In some walks the price rises while nothing whole is met and falls while all is, so that
//! the walk goes along the edge of what is possible, where the good plans of a tight year are; in others it stays high, which finds whole plans
//! where hours leave no room. What looks like chance comes from a fixed seed: the same task and budget give the same plan.

use super::task::{Place, Task};
use super::walk::{Step, Walk, benches};
use crate::amount::{count, float, nearest};
use crate::sets::pick;
use crate::watch::Work;

/// Looks of one step.
const STEP: usize = 80;
/// One period of lateness of one set costs so much for each hour of a set of usual size.
const LATE: i64 = 16;
/// Steps between two settings of the prices, for each set.
const SETTLE: usize = 40;
/// Steps between two looks at heat and budget.
const BEAT: usize = 1024;
/// The heat at the end, in periods of lateness.
const COLD: f64 = 0.08;

/// Numbers that look like chance.
struct Dice(u64);

impl Dice {
    const fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 >> 32
    }

    fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n).unwrap_or(u64::MAX >> 32);
        usize::try_from((self.next() * n) >> 32).unwrap_or_default()
    }
}

/// One walk.
#[derive(Debug, Clone, Copy)]
struct Sort {
    /// The heat at its begin, in periods of lateness.
    heat: f64,
    /// What a broken hour costs, and a broken limit by the hours of a usual set, in sixteenths of a period.
    prices: (i64, i64),
    /// Whether the prices follow what is met.
    follows: bool,
    /// Whether it begins where the best plan ended, if there is one.
    goes_on: bool,
}

const WALKS: [Sort; 4] = [
    Sort {
        heat: 2.0,
        prices: (2, 2),
        follows: true,
        goes_on: false,
    },
    Sort {
        heat: 3.0,
        prices: (40, 5),
        follows: false,
        goes_on: false,
    },
    Sort {
        heat: 0.7,
        prices: (40, 5),
        follows: true,
        goes_on: true,
    },
    Sort {
        heat: 0.4,
        prices: (20, 5),
        follows: true,
        goes_on: true,
    },
];

struct Anneal<'a> {
    task: &'a Task,
    ways: Vec<Vec<usize>>,
    /// The sets that have more than one place.
    free: Vec<usize>,
    /// The natural logarithms of chances, as whole parts of 1024 below nothing.
    logs: Vec<i64>,
    usual: i64,
    dice: Dice,
    best: Option<(i64, Vec<Place>)>,
    goal: i64,
}

/// The plan with the least lateness that was met; none when none was whole. It ends at `goal`, which none can be below.
pub(super) fn anneal(task: &Task, choices: &[Vec<Place>], start: &[Place], goal: i64, looks: u64, work: &mut Work<'_>) -> Option<Vec<Place>> {
    let hours: i64 = task.jobs.iter().map(|job| job.hours).sum();
    let first = Walk::new(task, start, i64::MAX);
    let mut anneal = Anneal {
        task,
        ways: benches(task, choices),
        free: (0..task.jobs.len()).filter(|set| choices.get(*set).is_some_and(|c| c.len() > 1)).collect(),
        logs: (0..1024).map(|n| nearest(-((count(n) + 0.5) / 1024.0).ln() * 1024.0)).collect(),
        usual: (hours / i64::try_from(task.jobs.len()).unwrap_or(1).max(1)).max(1),
        dice: Dice(0x9E37_79B9_7F4A_7C15),
        best: first.is_whole().then(|| (first.late, start.to_vec())),
        goal,
    };
    let steps = usize::try_from(looks).unwrap_or(usize::MAX) / STEP / WALKS.len();
    for sort in WALKS {
        if !anneal.walk(sort, start, steps, work) {
            break;
        }
    }
    anneal.best.map(|best| best.1)
}

impl Anneal<'_> {
    /// One walk from hot to cold; false when there is no more to do or no work left.
    fn walk(&mut self, sort: Sort, start: &[Place], steps: usize, work: &mut Work<'_>) -> bool {
        let from = self.best.as_ref().filter(|_| sort.goes_on).map_or(start, |best| &best.1);
        let mut walk = Walk::new(self.task, from, i64::MAX);
        walk.weights = [LATE * self.usual, LATE * sort.prices.0, LATE * sort.prices.1 * self.usual];
        let pace = (self.free.len() * SETTLE).max(1);
        let (mut heat, mut whole, mut broken) = (0, 0_usize, 0_usize);
        for step in 0..steps {
            if step % BEAT == 0 {
                if self.free.is_empty() || self.best.as_ref().is_some_and(|best| best.0 <= self.goal) || !work.spend(STEP * BEAT, 0.0, 0.0) {
                    return false;
                }
                let share = count(step) / count(steps);
                heat = nearest(sort.heat * (COLD / sort.heat).powf(share) * float(LATE * self.usual));
            }
            let Some(next) = self.step(&walk) else { continue };
            let before = walk.cost();
            walk.make(next);
            let worse = walk.cost() - before;
            if worse <= 0 || worse * 1024 <= heat * pick(&self.logs, self.dice.below(1024)) {
                walk.keep(next);
                if walk.is_whole() && self.best.as_ref().is_none_or(|best| walk.late < best.0) {
                    self.best = Some((walk.late, walk.places()));
                }
            } else {
                walk.undo(next);
            }
            if walk.is_whole() {
                whole += 1;
            } else {
                broken += 1;
            }
            if sort.follows && step % pace == pace - 1 {
                self.set_prices(&mut walk, whole, broken);
                (whole, broken) = (0, 0);
            }
        }
        true
    }

    /// A step that looks like chance.
    fn step(&mut self, walk: &Walk<'_>) -> Option<Step> {
        let set = pick(&self.free, self.dice.below(self.free.len()));
        let (from, ways) = (walk.bench(set), self.ways.get(set)?);
        let to = pick(ways, self.dice.below(ways.len()));
        if to == from {
            return None;
        }
        let crowd = walk.on(to);
        let other = (self.dice.below(2) == 0 && !crowd.is_empty()).then(|| pick(crowd, self.dice.below(crowd.len())));
        let other = other.filter(|other| self.ways.get(*other).is_some_and(|ways| ways.contains(&from)));
        Some((set, from, to, other))
    }

    /// Dearer where nothing whole was met, cheaper where most was.
    fn set_prices(&self, walk: &mut Walk<'_>, whole: usize, broken: usize) {
        let most = LATE * 1000;
        let [_, hours, away] = &mut walk.weights;
        for (price, most) in [(hours, most), (away, most * self.usual)] {
            if whole == 0 {
                *price = (*price + *price / 10 + 1).min(most);
            } else if broken * 4 < whole {
                *price = (*price - *price / 10).max(1);
            }
        }
    }
}
