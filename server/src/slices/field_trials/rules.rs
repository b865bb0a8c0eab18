//! What a trial asks, what is an answer, who sees answers, and how an order is said; on plain values.

use std::collections::HashSet;

use fullset_calc::field_trial::{HIGHEST, LEAST_FOR_ORDER, LOWEST, MOST_CANDIDATES, MOST_EVALUATORS, MOST_QUESTIONS, MOST_WEIGHT, Order, Pair, Place};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::feed::{FieldTrialState, TrialCandidate, TrialMeasurement, TrialQuestion};
use crate::platform::{ids::MemberId, person::Person, said::quoted};

/// The most things that are measured.
pub const MOST_MEASUREMENTS: usize = 8;
/// The most readings that one member takes of one thing of one candidate.
pub const MOST_REPEATS: usize = 5;
/// The longest words of an end of a scale, in characters.
const MOST_END: usize = 100;
/// The longest words to an answer, in characters.
pub const MOST_WORDS: usize = 500;

/// What a member does with a field trial, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum FieldTrialAct {
    /// Asks further members to answer.
    #[serde(rename = "field_trial.invite")]
    Invite,
    /// Hands in the answers about a candidate.
    #[serde(rename = "field_trial.hand_in")]
    HandIn,
    /// Closes it.
    #[serde(rename = "field_trial.close")]
    Close,
    /// Gives it up.
    #[serde(rename = "field_trial.withdraw")]
    Withdraw,
}

impl FieldTrialAct {
    const ALL: [Self; 4] = [Self::Invite, Self::HandIn, Self::Close, Self::Withdraw];
}

/// Whether the act may be done; if not, why.
pub const fn may(_: FieldTrialAct, state: FieldTrialState) -> Result<(), &'static str> {
    match state {
        FieldTrialState::Open => Ok(()),
        FieldTrialState::Closed => Err("This trial was closed; what was answered and measured stays as it is"),
        FieldTrialState::Withdrawn => Err("This trial was withdrawn; nothing is added to it any more"),
    }
}

/// What a trial allows in its state, apart from who asks.
pub fn allows(state: FieldTrialState) -> Vec<FieldTrialAct> {
    FieldTrialAct::ALL.into_iter().filter(|act| may(*act, state).is_ok()).collect()
}

/// An answer to one question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GivenAnswer {
    /// 1 to 5 points; null: no answer, which is never counted as nothing.
    #[serde(default)]
    #[schema(required, minimum = 1, maximum = 5)]
    pub points: Option<u8>,
    /// What the evaluator says to it: 1 to 500 characters; null: nothing.
    #[serde(default)]
    #[schema(required, min_length = 1, max_length = 500)]
    pub words: Option<String>,
}

/// A field at fault, with what to do.
pub type FieldWords = (String, String);

/// Brings answers into the form in which they are kept: trimmed, empty words left out. Refused is what is no answer.
pub fn answers(given: Vec<GivenAnswer>) -> Result<Vec<GivenAnswer>, FieldWords> {
    if given.len() > MOST_QUESTIONS {
        return Err(("answers".into(), format!("A trial has {MOST_QUESTIONS} questions at most")));
    }
    let one = |(n, answer): (usize, GivenAnswer)| {
        let at = |field: &str| format!("answers[{n}].{field}");
        if answer.points.is_some_and(|points| !(LOWEST..=HIGHEST).contains(&points)) {
            let words = format!("Give {LOWEST} to {HIGHEST} points, or none where you cannot say");
            return Err((at("points"), words));
        }
        let words = answer.words.map(|words| words.trim().to_owned()).filter(|words| !words.is_empty());
        if words.as_ref().is_some_and(|words| words.chars().count() > MOST_WORDS || words.contains('\0')) {
            return Err((at("words"), format!("Say it in {MOST_WORDS} characters, without a NUL character")));
        }
        Ok(GivenAnswer { points: answer.points, words })
    };
    given.into_iter().enumerate().map(one).collect()
}

fn between(field: &str, found: usize, least: usize, most: usize, what: &str) -> Result<(), FieldWords> {
    if (least..=most).contains(&found) {
        return Ok(());
    }
    Err((field.into(), format!("A trial has {least} to {most} {what}; these are {found}")))
}

/// Holds what a trial asks to its bounds, but for what is to be looked up.
pub fn bounds(candidates: &[TrialCandidate], questions: &[TrialQuestion], measurements: &[TrialMeasurement]) -> Result<(), FieldWords> {
    between("candidates", candidates.len(), 2, MOST_CANDIDATES, "candidates")?;
    between("questions", questions.len(), 1, MOST_QUESTIONS, "questions")?;
    between("measurements", measurements.len(), 0, MOST_MEASUREMENTS, "measurements")?;
    let mut names = HashSet::new();
    for (n, candidate) in candidates.iter().enumerate() {
        if !names.insert(candidate.name.to_lowercase()) {
            return Err((
                format!("candidates[{n}].name"),
                "Another candidate has this name; evaluators could not tell them apart".into(),
            ));
        }
    }
    for (n, question) in questions.iter().enumerate() {
        if !(1..=MOST_WEIGHT).contains(&question.weight) {
            return Err((format!("questions[{n}].weight"), format!("A question weighs 1 to {MOST_WEIGHT}")));
        }
        for (field, words) in [("lowest", &question.lowest), ("highest", &question.highest)] {
            if words.chars().count() > MOST_END {
                return Err((format!("questions[{n}].{field}"), format!("Say in {MOST_END} characters what it means")));
            }
        }
    }
    for (n, measurement) in measurements.iter().enumerate() {
        if let Err(fault) = measurement.what.fit_unit(measurement.unit) {
            return Err((format!("measurements[{n}].unit"), sentence(&fault)));
        }
    }
    Ok(())
}

/// Holds how many evaluators there are to its bounds.
pub fn evaluators(field: &str, count: usize) -> Result<(), FieldWords> {
    between(field, count, 1, MOST_EVALUATORS, "evaluators")
}

/// What is wrong with a quantity, and what to write.
pub fn sentence(fault: &fullset_calc::units::UnitFault) -> String {
    match &fault.hint {
        Some(hint) => format!("{}; {hint}", fault.reason),
        None => fault.reason.clone(),
    }
}

/// Who asks for the answers of a trial.
#[derive(Debug, Clone, Copy)]
pub struct Reader {
    /// The member; none: a program or a shared tablet.
    pub member: Option<MemberId>,
    /// Whether he keeps the programme of the whole agency.
    pub plans: bool,
}

/// Why a reader does not see the answers yet; none: he does. `handed_in`: about how many of the candidates he has handed in.
pub fn held_back(state: FieldTrialState, evaluators: &[Person], candidates: usize, handed_in: usize, reader: Reader) -> Option<String> {
    if state != FieldTrialState::Open {
        return None;
    }
    let Some(member) = reader.member else {
        return Some("Answers are read here once the trial is closed; until then a member signs in by name to read them.".into());
    };
    if evaluators.iter().any(|evaluator| evaluator.id == Some(member)) {
        return (handed_in < candidates).then(|| {
            format!(
                "Hand in your own sheets first: {handed_in} of {candidates} are. Until then nobody shows you what others answered, so that each \
                 answer is its evaluator’s own."
            )
        });
    }
    (!reader.plans).then(|| "The evaluators are still at it. Everybody reads the answers once the trial is closed.".into())
}

/// How a place is said: "2 of 4", "1 to 2 of 4: too close to tell". `orders` are those of the candidate with each other one.
pub fn place_words(place: Place, candidates: usize, orders: &[Order]) -> String {
    let few = orders.iter().filter(|order| **order == Order::TooFew).count();
    if few == orders.len() {
        return format!("not told: fewer than {LEAST_FOR_ORDER} evaluators have answered about it and another");
    }
    if place.from == place.to {
        return format!("{} of {candidates}", place.from);
    }
    let why = if few == 0 { "" } else { ", or too few have answered" };
    format!("{} to {} of {candidates}: too close to tell{why}", place.from, place.to)
}

/// What can be told of two candidates, in a sentence.
pub fn pair_words(pair: Pair, first: &str, second: &str) -> String {
    let (first, second) = (quoted(first), quoted(second));
    let ahead = |over: &str, under: &str| format!("{over} stands ahead of {under}, whichever one evaluator is left out");
    match pair.order {
        Order::FirstAhead => ahead(&first, &second),
        Order::SecondAhead => ahead(&second, &first),
        Order::TooClose => {
            format!("too close to tell between {first} and {second}: it changes with one evaluator less, or with the answers that are missing")
        }
        Order::TooFew => format!("fewer than {LEAST_FOR_ORDER} evaluators have answered about both {first} and {second}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn person(n: u128) -> Person {
        Person {
            id: Some(MemberId(Uuid::from_u128(n))),
            name: format!("Evaluator {n}"),
        }
    }

    fn held(state: FieldTrialState, reader: Option<u128>, plans: bool, handed_in: usize) -> bool {
        let reader = Reader {
            member: reader.map(|n| MemberId(Uuid::from_u128(n))),
            plans,
        };
        held_back(state, &[person(1), person(2)], 3, handed_in, reader).is_some()
    }

    #[test]
    fn nobody_sees_others_answers_before_his_own_are_handed_in() {
        use FieldTrialState::{Closed, Open, Withdrawn};
        for (state, reader, plans, handed_in, wanted) in [
            (Open, Some(1), false, 0, true),
            (Open, Some(1), false, 2, true),
            (Open, Some(1), false, 3, false),
            // Who keeps the programme and is an evaluator is one of them.
            (Open, Some(1), true, 2, true),
            (Open, Some(9), true, 0, false),
            (Open, Some(9), false, 0, true),
            (Open, None, true, 0, true),
            (Closed, Some(1), false, 0, false),
            (Closed, None, false, 0, false),
            (Withdrawn, Some(9), false, 0, false),
        ] {
            assert_eq!(held(state, reader, plans, handed_in), wanted, "{state:?} {reader:?} {plans} {handed_in}");
        }
    }

    #[test]
    fn what_is_over_allows_nothing() {
        assert_eq!(allows(FieldTrialState::Open), FieldTrialAct::ALL);
        assert!(allows(FieldTrialState::Closed).is_empty() && allows(FieldTrialState::Withdrawn).is_empty());
    }

    #[test]
    fn an_order_is_said_as_far_as_it_is_told() {
        let pair = |order| Pair {
            first: 0,
            second: 1,
            both: 3,
            order,
        };
        assert_eq!(
            pair_words(pair(Order::SecondAhead), "Dorvan C9", "Kestrel 90"),
            "“Kestrel 90” stands ahead of “Dorvan C9”, whichever one evaluator is left out"
        );
        assert!(pair_words(pair(Order::TooClose), "A", "B").starts_with("too close to tell between “A” and “B”"));
        let words = |from, to, orders: &[Order]| place_words(Place { from, to }, 3, orders);
        let (ahead, close, few) = (Order::FirstAhead, Order::TooClose, Order::TooFew);
        assert_eq!(words(1, 2, &[close, ahead]), "1 to 2 of 3: too close to tell");
        assert_eq!(words(1, 3, &[close, few]), "1 to 3 of 3: too close to tell, or too few have answered");
        assert_eq!(words(3, 3, &[ahead, ahead]), "3 of 3");
        assert!(words(1, 3, &[few, few]).starts_with("not told"));
    }

    #[test]
    fn answers_are_kept_as_they_were_given_or_refused() {
        let given = |points, words: Option<&str>| GivenAnswer {
            points,
            words: words.map(str::to_owned),
        };
        let kept = answers(vec![given(Some(1), Some("  heavy ")), given(None, Some(" ")), given(Some(5), None)]).unwrap();
        assert_eq!(kept, [given(Some(1), Some("heavy")), given(None, None), given(Some(5), None)]);
        assert_eq!(answers(vec![given(Some(3), None), given(Some(0), None)]).unwrap_err().0, "answers[1].points");
        assert_eq!(answers(vec![given(Some(6), None)]).unwrap_err().0, "answers[0].points");
        assert_eq!(answers(vec![given(None, Some(&"x".repeat(501)))]).unwrap_err().0, "answers[0].words");
        assert_eq!(answers(vec![given(None, None); 31]).unwrap_err().0, "answers");
    }
}
