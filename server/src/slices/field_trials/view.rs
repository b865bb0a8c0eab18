//! What a trial comes to, for whoever may see it.

use std::collections::HashMap;

use fullset_calc::{
    field_trial::{Judged, Measured, Order, Spread, is_dissent, measured, pairs, places, score, spread},
    units::{Quantity, Unit},
};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    entries::{TrialAnswer, TrialReading},
    feed::{FieldTrial, FieldTrialId},
    rows,
    rules::{GivenAnswer, Reader, held_back, pair_words, place_words},
};
use crate::platform::{
    db::Db,
    error::Fault,
    ids::AgencyId,
    person::Person,
    record::{self, Record as _, Row},
};

/// How far an evaluator has come.
#[derive(Debug, Serialize, ToSchema)]
pub struct TrialEvaluator {
    /// Who was asked to answer.
    pub evaluator: Person,
    /// The numbers of the candidates about which the answers were handed in, counted from 1.
    #[schema(max_items = 8)]
    pub handed_in: Vec<u8>,
    /// The numbers of the others: those answers are missing, and never count as nothing.
    #[schema(max_items = 8)]
    pub missing: Vec<u8>,
}

/// What an evaluator's answers about a candidate come to.
#[derive(Debug, Serialize, ToSchema)]
pub struct EvaluatorScore {
    /// The evaluator who answered.
    pub evaluator: Person,
    /// The mean of the answers that were given, weighted by the questions, 1 to 5.
    pub mean: f64,
    /// Of how many questions that is.
    pub answered: usize,
    /// How many questions were left without an answer; the mean says nothing of them.
    pub missing: usize,
}

/// What an evaluator answered to a question about a candidate.
#[derive(Debug, Serialize, ToSchema)]
pub struct EvaluatorAnswer {
    /// The evaluator who answered.
    pub evaluator: Person,
    /// 1 to 5 points; null: no answer.
    pub points: Option<u8>,
    /// What the evaluator says to it; null: nothing.
    pub words: Option<String>,
}

/// What was answered to a question about a candidate.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuestionAnswers {
    /// The number of the question in the trial's list, counted from 1.
    pub question: usize,
    /// Whether two or more points lie between the lowest and the highest answer.
    pub dissent: bool,
    /// The answers of those who handed in about the candidate, the most points first, those without points last.
    #[schema(max_items = 12)]
    pub answers: Vec<EvaluatorAnswer>,
}

/// What was measured of a candidate.
#[derive(Debug, Serialize, ToSchema)]
pub struct MeasurementReadings {
    /// The number of the measurement in the trial's list, counted from 1.
    pub measurement: usize,
    /// The unit of what the readings come to.
    pub unit: Unit,
    /// What the readings come to that count; null: there is none.
    pub measured: Option<Measured>,
    /// Every reading in the order in which they were taken, those that were struck out among them.
    #[schema(max_items = 120)]
    pub readings: Vec<TrialReading>,
}

/// What a trial comes to about a candidate.
#[derive(Debug, Serialize, ToSchema)]
pub struct CandidateResult {
    /// The number of the candidate in the trial's list, counted from 1.
    pub candidate: usize,
    /// What each evaluator's answers come to, by name; those who handed in nothing about it are not among them.
    #[schema(max_items = 12)]
    pub scores: Vec<EvaluatorScore>,
    /// How the evaluators' means lie; null: nobody has answered.
    pub spread: Option<Spread>,
    /// The best place that can be told, counted from 1.
    pub place_from: usize,
    /// The worst place that can be told; where it is another than the best, the place between them is too close to tell.
    pub place_to: usize,
    /// The place in words: "1 to 2 of 3: too close to tell"; where the answers are held back, that it is not shown.
    pub place_words: String,
    /// The answers to each question, in the order of the trial.
    #[schema(max_items = 30)]
    pub questions: Vec<QuestionAnswers>,
    /// What was measured, in the order of the trial.
    #[schema(max_items = 8)]
    pub measurements: Vec<MeasurementReadings>,
}

/// What can be told of two candidates.
#[derive(Debug, Serialize, ToSchema)]
pub struct CandidatePair {
    /// The number of the one in the trial's list, counted from 1.
    pub first: usize,
    /// The number of the other, which is the larger one.
    pub second: usize,
    /// How many evaluators have answered about both.
    pub both: usize,
    /// Which stands ahead, where that can be told.
    pub order: Order,
    /// The same as a sentence.
    pub words: String,
}

/// What a field trial comes to. Nothing is called the best: a place is told with its spread, and only where no one evaluator decides it.
#[derive(Debug, Serialize, ToSchema)]
pub struct FieldTrialResult {
    /// The trial that this is about.
    pub trial: FieldTrialId,
    /// Why the answers are not shown to this reader yet; null: they are. Readings and who has handed in are shown in any case.
    pub held_back: Option<String>,
    /// How far each evaluator has come, in the order in which they were asked.
    #[schema(max_items = 12)]
    pub evaluators: Vec<TrialEvaluator>,
    /// What it comes to about each candidate, in the order of the trial; without scores and answers where they are held back.
    #[schema(max_items = 8)]
    pub candidates: Vec<CandidateResult>,
    /// What can be told of each two candidates; none where answers are held back.
    #[schema(max_items = 28)]
    pub pairs: Vec<CandidatePair>,
}

/// An evaluator's sheet about a candidate.
struct Sheet<'a> {
    answer: &'a TrialAnswer,
    given: &'a [GivenAnswer],
}

/// Numbers from 1 up to a count; there are never more than 8.
fn numbers(count: usize) -> impl Iterator<Item = u8> {
    (1_u8..).take(count)
}

/// Reads it.
pub fn result(db: &mut Db, agency: AgencyId, trial: &FieldTrial, reader: Reader) -> Result<FieldTrialResult, Fault> {
    let mut answers = Vec::new();
    for row in record::of_parent(db, agency, TrialAnswer::KIND, trial.id.0)? {
        answers.push(row.read::<TrialAnswer>()?);
    }
    answers.sort_by(|a, b| a.evaluator.name.cmp(&b.evaluator.name).then(a.id.cmp(&b.id)));
    let readings: Result<Vec<TrialReading>, Fault> = record::of_parent(db, agency, TrialReading::KIND, trial.id.0)?.iter().map(Row::read).collect();
    let mut readings = readings?;
    readings.sort_by(|a, b| a.taken_at.cmp(&b.taken_at).then(a.id.cmp(&b.id)));
    let evaluators: Vec<TrialEvaluator> = trial.evaluators.iter().map(|one| progress_of(trial, one, &answers)).collect();
    let own = evaluators.iter().find(|one| one.evaluator.id.is_some() && one.evaluator.id == reader.member);
    let handed_in = own.map_or(0, |own| own.handed_in.len());
    let held_back = held_back(trial.state, &trial.evaluators, trial.candidates.len(), handed_in, reader);
    let kept = match held_back {
        Some(_) => HashMap::new(),
        None => rows::sheets(db, agency, trial.id.0)?,
    };
    let sheets: Vec<Sheet<'_>> = answers.iter().filter_map(|answer| sheet(answer, &kept)).collect();
    let judged = judge_sheets(trial, &sheets)?;
    let told = pairs(trial.candidates.len(), &judged);
    let told = if held_back.is_some() { Vec::new() } else { told };
    let mut candidates = Vec::with_capacity(trial.candidates.len());
    for (place, number) in places(trial.candidates.len(), &told).into_iter().zip(numbers(trial.candidates.len())) {
        let at = usize::from(number) - 1;
        let of: Vec<&Sheet<'_>> = sheets.iter().filter(|sheet| sheet.answer.candidate == number).collect();
        let scores = scores(trial, &of)?;
        let means: Vec<f64> = scores.iter().map(|one| one.mean).collect();
        let orders = told.iter().filter(|pair| pair.first == at || pair.second == at).map(|pair| pair.order);
        let orders: Vec<Order> = orders.collect();
        candidates.push(CandidateResult {
            candidate: usize::from(number),
            spread: spread(&means),
            scores,
            place_from: place.from,
            place_to: place.to,
            place_words: match held_back {
                Some(_) => "not shown to you yet".into(),
                None => place_words(place, trial.candidates.len(), &orders),
            },
            questions: questions(trial, &of),
            measurements: measurements(trial, number, &readings)?,
        });
    }
    let name = |n: usize| trial.candidates.get(n).map(|candidate| candidate.name.as_str()).unwrap_or_default();
    let pairs = told.iter().map(|pair| CandidatePair {
        first: pair.first + 1,
        second: pair.second + 1,
        both: pair.both,
        order: pair.order,
        words: pair_words(*pair, name(pair.first), name(pair.second)),
    });
    Ok(FieldTrialResult {
        trial: trial.id,
        pairs: pairs.collect(),
        held_back,
        evaluators,
        candidates,
    })
}

fn progress_of(trial: &FieldTrial, evaluator: &Person, answers: &[TrialAnswer]) -> TrialEvaluator {
    let is_in = |number: &u8| answers.iter().any(|answer| answer.evaluator.id == evaluator.id && answer.candidate == *number);
    let (handed_in, missing) = numbers(trial.candidates.len()).partition(is_in);
    TrialEvaluator {
        evaluator: evaluator.clone(),
        handed_in,
        missing,
    }
}

fn sheet<'a>(answer: &'a TrialAnswer, kept: &'a HashMap<Uuid, Vec<GivenAnswer>>) -> Option<Sheet<'a>> {
    let given = kept.get(&answer.id.0)?;
    Some(Sheet { answer, given })
}

fn points(given: &[GivenAnswer]) -> Vec<Option<u8>> {
    given.iter().map(|answer| answer.points).collect()
}

fn score_of(trial: &FieldTrial, sheet: &Sheet<'_>) -> Result<fullset_calc::field_trial::Score, Fault> {
    let weights: Vec<u8> = trial.questions.iter().map(|question| question.weight).collect();
    let found = score(&weights, &points(sheet.given));
    Ok(found.map_err(|unfit| anyhow::anyhow!("the answers {} are kept and are none: {unfit}", sheet.answer.id))?)
}

fn judge_sheets(trial: &FieldTrial, sheets: &[Sheet<'_>]) -> Result<Vec<Judged>, Fault> {
    let mut all = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        let of = |evaluator: &Person| evaluator.id == sheet.answer.evaluator.id;
        let Some(evaluator) = trial.evaluators.iter().position(of) else {
            continue;
        };
        all.push(Judged {
            evaluator,
            candidate: usize::from(sheet.answer.candidate).saturating_sub(1),
            score: score_of(trial, sheet)?,
        });
    }
    Ok(all)
}

fn scores(trial: &FieldTrial, sheets: &[&Sheet<'_>]) -> Result<Vec<EvaluatorScore>, Fault> {
    let mut all = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        let found = score_of(trial, sheet)?;
        if let Some(mean) = found.mean {
            all.push(EvaluatorScore {
                evaluator: sheet.answer.evaluator.clone(),
                mean,
                answered: found.answered,
                missing: found.missing,
            });
        }
    }
    Ok(all)
}

fn questions(trial: &FieldTrial, sheets: &[&Sheet<'_>]) -> Vec<QuestionAnswers> {
    // Held back, or nobody has handed in: there is nothing to say of any question.
    if sheets.is_empty() {
        return Vec::new();
    }
    let all = (0..trial.questions.len()).map(|n| {
        let mut answers: Vec<EvaluatorAnswer> = sheets
            .iter()
            .filter_map(|sheet| {
                let given = sheet.given.get(n)?;
                Some(EvaluatorAnswer {
                    evaluator: sheet.answer.evaluator.clone(),
                    points: given.points,
                    words: given.words.clone(),
                })
            })
            .collect();
        answers.sort_by_key(|answer| std::cmp::Reverse(answer.points));
        let points: Vec<u8> = answers.iter().filter_map(|answer| answer.points).collect();
        QuestionAnswers {
            question: n + 1,
            dissent: is_dissent(&points),
            answers,
        }
    });
    all.collect()
}

fn measurements(trial: &FieldTrial, candidate: u8, readings: &[TrialReading]) -> Result<Vec<MeasurementReadings>, Fault> {
    let mut all = Vec::with_capacity(trial.measurements.len());
    for (measurement, number) in trial.measurements.iter().zip(numbers(trial.measurements.len())) {
        let of: Vec<TrialReading> = readings
            .iter()
            .filter(|one| one.candidate == candidate && one.measurement == number)
            .cloned()
            .collect();
        let counted: Vec<Quantity> = of.iter().filter(|one| one.struck_at.is_none()).map(|one| one.value).collect();
        let found = measured(measurement.unit, &counted);
        all.push(MeasurementReadings {
            measurement: usize::from(number),
            unit: measurement.unit,
            measured: found.map_err(|fault| anyhow::anyhow!("a reading of the trial {} is kept and is none: {fault}", trial.id))?,
            readings: of,
        });
    }
    Ok(all)
}
