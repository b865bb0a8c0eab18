//! Which candidate stands ahead of which, where that can be told.

use serde::Serialize;

use super::Score;

/// The most candidates of a trial; the fewest are 2.
pub const MOST_CANDIDATES: usize = 8;
/// The most evaluators of a trial.
pub const MOST_EVALUATORS: usize = 12;
/// Of fewer evaluators no order is told: with two, whoever is left decides alone. Common practice, no source.
pub const LEAST_FOR_ORDER: usize = 3;

/// An evaluator's score of a candidate; both are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    pub evaluator: usize,
    pub candidate: usize,
    pub score: Score,
}

/// What can be told of two candidates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Order {
    /// The median of the first is the higher one, whichever one evaluator is left out, and whatever the missing answers would have been.
    FirstAhead,
    /// The same, of the second.
    SecondAhead,
    /// Too close to tell: it would change with one evaluator less, or with the answers that are missing.
    TooClose,
    /// Fewer than three evaluators have answered about both.
    TooFew,
}

/// Two candidates, counted from 0, the first before the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pair {
    pub first: usize,
    pub second: usize,
    /// How many evaluators have answered about both.
    pub both: usize,
    pub order: Order,
}

/// Between which places a candidate stands; both are counted from 1. Where they differ, its place is too close to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    pub from: usize,
    pub to: usize,
}

/// Twice the median, which is whole.
fn middle(mut sums: Vec<u32>) -> u32 {
    sums.sort_unstable();
    let at = |n: usize| sums.get(n).copied().unwrap_or_default();
    match sums.len() {
        0 => 0,
        n if n % 2 == 1 => at(n / 2) * 2,
        n => at(n / 2 - 1) + at(n / 2),
    }
}

/// Whether the median of the one is above that of the other, with all evaluators and whichever one is left out. `both` has the sums of each
/// evaluator: of the one with its missing answers at their lowest, of the other at their highest.
fn stands_ahead(both: &[(u32, u32)]) -> bool {
    let above = |without: Option<usize>| {
        let left = || both.iter().enumerate().filter(move |(n, _)| Some(*n) != without).map(|(_, sums)| *sums);
        middle(left().map(|(one, _)| one).collect()) > middle(left().map(|(_, other)| other).collect())
    };
    above(None) && (0..both.len()).all(|n| above(Some(n)))
}

fn compare(judged: &[Judged], first: usize, second: usize) -> Pair {
    let of = |candidate: usize| move |one: &&Judged| one.candidate == candidate && one.score.answered > 0;
    let both: Vec<(Score, Score)> = judged
        .iter()
        .filter(of(first))
        .filter_map(|one| {
            let other = judged.iter().filter(of(second)).find(|other| other.evaluator == one.evaluator)?;
            Some((one.score, other.score))
        })
        .collect();
    let ahead: Vec<(u32, u32)> = both.iter().map(|(one, other)| (one.low, other.high)).collect();
    let behind: Vec<(u32, u32)> = both.iter().map(|(one, other)| (other.low, one.high)).collect();
    let order = if both.len() < LEAST_FOR_ORDER {
        Order::TooFew
    } else if stands_ahead(&ahead) {
        Order::FirstAhead
    } else if stands_ahead(&behind) {
        Order::SecondAhead
    } else {
        Order::TooClose
    };
    Pair {
        first,
        second,
        both: both.len(),
        order,
    }
}

/// What can be told of each two candidates, by the evaluators who have answered about both. The scores are of one trial: of the same
/// questions with the same weights.
///
/// Where other evaluators have answered about each, three candidates could each stand ahead of the next in a circle: then nothing is told
/// of them.
#[must_use]
pub fn pairs(candidates: usize, judged: &[Judged]) -> Vec<Pair> {
    let candidates = candidates.min(MOST_CANDIDATES);
    let mut all: Vec<Pair> = (0..candidates)
        .flat_map(|first| (first + 1..candidates).map(move |second| (first, second)))
        .map(|(first, second)| compare(judged, first, second))
        .collect();
    // Who stands ahead of whom by way of others: each round goes on by one more candidate.
    let mut reached: Vec<(usize, usize)> = all.iter().filter_map(ahead_of).collect();
    for _ in 0..candidates {
        let steps: Vec<(usize, usize)> = all.iter().filter_map(ahead_of).collect();
        for (over, under) in reached.clone() {
            for (_, next) in steps.iter().filter(|(from, _)| *from == under) {
                if !reached.contains(&(over, *next)) {
                    reached.push((over, *next));
                }
            }
        }
    }
    for pair in &mut all {
        let circle = ahead_of(pair).is_some_and(|(over, under)| reached.contains(&(under, over)));
        if circle {
            pair.order = Order::TooClose;
        }
    }
    all
}

/// Who stands ahead of whom in a pair, where that can be told.
const fn ahead_of(pair: &Pair) -> Option<(usize, usize)> {
    match pair.order {
        Order::FirstAhead => Some((pair.first, pair.second)),
        Order::SecondAhead => Some((pair.second, pair.first)),
        Order::TooClose | Order::TooFew => None,
    }
}

/// Between which places each candidate stands: behind all that stand ahead of it, ahead of all that stand behind it.
#[must_use]
pub fn places(candidates: usize, pairs: &[Pair]) -> Vec<Place> {
    let ahead: Vec<(usize, usize)> = pairs.iter().filter_map(ahead_of).collect();
    (0..candidates)
        .map(|candidate| Place {
            from: 1 + ahead.iter().filter(|(_, under)| *under == candidate).count(),
            to: candidates - ahead.iter().filter(|(over, _)| *over == candidate).count(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field_trial::score;
    use proptest::prelude::*;

    /// One question that weighs 1: each row is an evaluator, each column a candidate; 0 is no answer.
    fn judged(rows: &[&[u8]]) -> Vec<Judged> {
        let mut all = Vec::new();
        for (evaluator, row) in rows.iter().enumerate() {
            for (candidate, points) in row.iter().enumerate() {
                let answer = (*points > 0).then_some(*points);
                all.push(Judged {
                    evaluator,
                    candidate,
                    score: score(&[1], &[answer]).unwrap(),
                });
            }
        }
        all
    }

    fn orders(rows: &[&[u8]]) -> Vec<Order> {
        pairs(rows[0].len(), &judged(rows)).iter().map(|pair| pair.order).collect()
    }

    #[test]
    fn ahead_is_told_where_no_one_evaluator_decides_it() {
        // By hand. All: 4 to 2. Without any one of them: 4 or 4.5 to 2.
        assert_eq!(orders(&[&[4, 2], &[4, 2], &[5, 2]]), [Order::FirstAhead]);
        assert_eq!(orders(&[&[2, 4], &[2, 4], &[2, 5]]), [Order::SecondAhead]);
        // All: 4 to 3. Without the second: (3 + 5)/2 = 4 to (3 + 5)/2 = 4: no more ahead.
        assert_eq!(orders(&[&[3, 3], &[4, 3], &[5, 5]]), [Order::TooClose]);
        // Alike is not ahead.
        assert_eq!(orders(&[&[3, 3], &[3, 3], &[3, 3]]), [Order::TooClose]);
    }

    #[test]
    fn of_two_evaluators_nothing_is_told() {
        assert_eq!(orders(&[&[5, 1], &[5, 1]]), [Order::TooFew]);
        // The third has answered about one of the two alone.
        assert_eq!(orders(&[&[5, 1], &[5, 1], &[5, 0]]), [Order::TooFew]);
    }

    #[test]
    fn a_missing_answer_is_taken_either_way() {
        // Two questions alike; the second of the first evaluator about the second candidate is missing. By hand, sums of two answers: the
        // first candidate 8, 8, 8; the second 4 or (missing) 3 to 7, 7, 7. At its most it is 7, 7, 7: behind.
        let row = |evaluator, candidate, answers: [Option<u8>; 2]| Judged {
            evaluator,
            candidate,
            score: score(&[1, 1], &answers).unwrap(),
        };
        let all = |missing: Option<u8>, others: u8| {
            let mut all = vec![row(0, 1, [Some(2), missing])];
            all.extend((0..3).map(|n| row(n, 0, [Some(4), Some(4)])));
            all.extend((1..3).map(|n| row(n, 1, [Some(others), Some(3)])));
            pairs(2, &all)[0].order
        };
        assert_eq!(all(None, 4), Order::FirstAhead);
        // At its most it is 7, 8, 8: the median is no longer below 8. What was answered alone says 2 to 4.
        assert_eq!((all(None, 5), all(Some(2), 4)), (Order::TooClose, Order::FirstAhead));
    }

    #[test]
    fn places_are_between_what_is_told() {
        let rows: [&[u8]; 3] = [&[5, 3, 3], &[5, 3, 4], &[5, 4, 3]];
        let pairs = pairs(3, &judged(&rows));
        assert_eq!(
            pairs.iter().map(|pair| (pair.first, pair.second, pair.both, pair.order)).collect::<Vec<_>>(),
            [(0, 1, 3, Order::FirstAhead), (0, 2, 3, Order::FirstAhead), (1, 2, 3, Order::TooClose)]
        );
        let found: Vec<(usize, usize)> = places(3, &pairs).iter().map(|place| (place.from, place.to)).collect();
        assert_eq!(found, [(1, 1), (2, 3), (2, 3)]);
    }

    #[test]
    fn a_circle_tells_nothing() {
        // Each pair was judged by three evaluators of its own, who put the first ahead, and the third ahead of the first.
        let rows: [&[u8]; 9] = [
            &[5, 1, 0],
            &[5, 1, 0],
            &[5, 1, 0],
            &[0, 5, 1],
            &[0, 5, 1],
            &[0, 5, 1],
            &[1, 0, 5],
            &[1, 0, 5],
            &[1, 0, 5],
        ];
        let pairs = pairs(3, &judged(&rows));
        assert!(pairs.iter().all(|pair| pair.order == Order::TooClose), "{pairs:?}");
        assert!(places(3, &pairs).iter().all(|place| (place.from, place.to) == (1, 3)));
    }

    proptest! {
        /// Whatever was answered: the order of the evaluators makes no difference, and turning all answers round turns it round.
        #[test]
        fn the_order_is_of_the_answers_alone(rows in prop::collection::vec(prop::array::uniform3(0_u8..=5), 1..12)) {
            let slices: Vec<&[u8]> = rows.iter().map(|row| &row[..]).collect();
            let found = orders(&slices);
            let back: Vec<&[u8]> = slices.iter().rev().copied().collect();
            prop_assert_eq!(&found, &orders(&back));
            let turned: Vec<[u8; 3]> = rows.iter().map(|row| row.map(|points| if points == 0 { 0 } else { 6 - points })).collect();
            let turned: Vec<&[u8]> = turned.iter().map(|row| &row[..]).collect();
            for (one, other) in found.iter().zip(orders(&turned)) {
                let wanted = match one {
                    Order::FirstAhead => Order::SecondAhead,
                    Order::SecondAhead => Order::FirstAhead,
                    same => *same,
                };
                prop_assert_eq!(wanted, other);
            }
            for place in places(3, &pairs(3, &judged(&slices))) {
                prop_assert!(1 <= place.from && place.from <= place.to && place.to <= 3);
            }
        }
    }
}
