use crate::{amount::count, unfit::Unfit};

/// The answer that the lower words of a question stand for.
pub const LOWEST: u8 = 1;
/// The answer that the upper words of a question stand for.
pub const HIGHEST: u8 = 5;
/// The most that a question weighs; the least is 1.
pub const MOST_WEIGHT: u8 = 10;
/// The most questions of a trial.
pub const MOST_QUESTIONS: usize = 30;
/// From so many points between the lowest and the highest answer on, evaluators are told to have seen it differently. Common practice, no
/// source: one point of five is taste, two are something that they saw.
const DISSENT: u8 = 2;

/// What an evaluator's answers about one candidate come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    /// The weighted mean of the answers that were given, 1 to 5; `None`: none was given.
    pub mean: Option<f64>,
    /// How many questions were answered.
    pub answered: usize,
    /// How many were not.
    pub missing: usize,
    /// The weighted sum where each missing answer is the lowest.
    pub(super) low: u32,
    /// The weighted sum where each missing answer is the highest.
    pub(super) high: u32,
}

/// The score by the questions' weights and the answers in the same order; `None` is an answer that is missing.
///
/// # Errors
/// Where there are not as many answers as weights, none or more than [`MOST_QUESTIONS`], or one that is not from 1 to 5, or a weight that is
/// not from 1 to 10.
pub fn score(weights: &[u8], answers: &[Option<u8>]) -> Result<Score, Unfit> {
    if weights.len() != answers.len() || weights.is_empty() || weights.len() > MOST_QUESTIONS {
        let words = format!("{} answers to {} questions: give one to each, or none", answers.len(), weights.len());
        return Err(Unfit::new("answers", words));
    }
    let (mut sum, mut weight_given, mut weight_missing, mut answered) = (0_u32, 0_u32, 0_u32, 0);
    for (weight, answer) in weights.iter().zip(answers) {
        if !(1..=MOST_WEIGHT).contains(weight) {
            return Err(Unfit::new("weight", format!("a question weighs {weight}: give 1 to {MOST_WEIGHT}")));
        }
        match answer {
            Some(points) if (LOWEST..=HIGHEST).contains(points) => {
                sum += u32::from(*weight) * u32::from(*points);
                weight_given += u32::from(*weight);
                answered += 1;
            }
            Some(points) => {
                let words = format!("an answer is {points}: give {LOWEST} to {HIGHEST}, or none");
                return Err(Unfit::new("answer", words));
            }
            None => weight_missing += u32::from(*weight),
        }
    }
    Ok(Score {
        mean: (answered > 0).then(|| f64::from(sum) / f64::from(weight_given)),
        answered,
        missing: answers.len() - answered,
        low: sum + weight_missing * u32::from(LOWEST),
        high: sum + weight_missing * u32::from(HIGHEST),
    })
}

/// Whether evaluators have seen a question differently: two or more points lie between the lowest and the highest answer.
#[must_use]
pub fn is_dissent(answers: &[u8]) -> bool {
    let (lowest, highest) = (answers.iter().min(), answers.iter().max());
    lowest.zip(highest).is_some_and(|(lowest, highest)| highest - lowest >= DISSENT)
}

/// The mean of some numbers, added from the smallest up, so that their order makes no difference.
pub(super) fn mean(sorted: &[f64]) -> f64 {
    sorted.iter().sum::<f64>() / count(sorted.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_score_is_the_weighted_mean_of_what_was_answered() {
        // By hand: (10*4 + 5*2 + 1*5) / 16 = 55 / 16.
        let all = score(&[10, 5, 1], &[Some(4), Some(2), Some(5)]).unwrap();
        assert_eq!((all.mean, all.answered, all.missing, all.low, all.high), (Some(3.4375), 3, 0, 55, 55));
        // By hand: (10*4 + 1*5) / 11 = 45 / 11; the missing one is 5 at least and 25 at most.
        let some = score(&[10, 5, 1], &[Some(4), None, Some(5)]).unwrap();
        assert_eq!((some.mean, some.answered, some.missing), (Some(45.0 / 11.0), 2, 1));
        assert_eq!((some.low, some.high), (50, 70));
        let none = score(&[10, 5, 1], &[None; 3]).unwrap();
        assert_eq!((none.mean, none.missing, none.low, none.high), (None, 3, 16, 80));
    }

    #[test]
    fn what_is_no_answer_is_refused_and_not_made_one() {
        for (weights, answers) in [
            (vec![], vec![]),
            (vec![1, 1], vec![Some(3)]),
            (vec![1], vec![Some(0)]),
            (vec![1], vec![Some(6)]),
            (vec![0], vec![Some(3)]),
            (vec![11], vec![Some(3)]),
            (vec![1; 31], vec![Some(3); 31]),
        ] {
            assert!(score(&weights, &answers).is_err(), "{weights:?} {answers:?}");
        }
        assert!(score(&[10; 30], &[Some(5); 30]).is_ok());
    }

    #[test]
    fn two_points_apart_is_dissent_and_one_is_not() {
        assert!(!is_dissent(&[]) && !is_dissent(&[1]) && !is_dissent(&[4, 4, 5]) && !is_dissent(&[3, 2]));
        assert!(is_dissent(&[4, 2]) && is_dissent(&[3, 5, 4]) && is_dissent(&[1, 5]));
    }
}
