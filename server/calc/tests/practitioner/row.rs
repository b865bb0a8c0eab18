//! One row of the second table: a piece on a shelf or aboard, and the answer to "may I use it?".

use super::kit::now;
use chrono::{DateTime, Utc};
use fullset_calc::capability::Voice;
use fullset_calc::capability::{Batteries, Piece, PieceAnswer, ReasonCode, Rig, Rules, Verdict, verdict, verdicts};
use fullset_calc::units::Units;

pub struct Row {
    says: &'static str,
    source: &'static str,
    piece: Piece,
    /// The other pieces of its rig; `None`: it is on none.
    aboard: Option<Vec<Piece>>,
    rules: Rules,
    at: DateTime<Utc>,
    verdict: Verdict,
    first: Option<ReasonCode>,
    until: Option<Option<DateTime<Utc>>>,
}

pub fn shelf(says: &'static str, source: &'static str, piece: Piece, verdict: Verdict, first: impl Into<Option<ReasonCode>>) -> Row {
    let mut rules = Rules::default();
    rules.policy.batteries = Batteries::AsPieces;
    Row {
        says,
        source,
        piece,
        aboard: None,
        rules,
        at: now(),
        verdict,
        first: first.into(),
        until: None,
    }
}

pub fn aboard(says: &'static str, source: &'static str, piece: Piece, others: Vec<Piece>, verdict: Verdict, first: impl Into<Option<ReasonCode>>) -> Row {
    Row {
        aboard: Some(others),
        ..shelf(says, source, piece, verdict, first)
    }
}

impl Row {
    pub fn rules(mut self, change: impl FnOnce(&mut Rules)) -> Self {
        change(&mut self.rules);
        self
    }

    pub fn when(mut self, at: DateTime<Utc>) -> Self {
        self.at = at;
        self
    }

    pub fn until(mut self, at: impl Into<Option<DateTime<Utc>>>) -> Self {
        self.until = Some(at.into());
        self
    }

    fn answer(&self) -> PieceAnswer {
        let voice = Voice::utc(Units::Si);
        let Some(others) = &self.aboard else {
            return verdict(&self.piece, &self.rules, self.at, &voice);
        };
        let pieces: Vec<Piece> = others.iter().chain([&self.piece]).cloned().collect();
        let rig = Rig {
            out_of_service: None,
            complement: None,
            expects: None,
            pieces: &pieces,
        };
        let all = verdicts(&rig, &self.rules, self.at, &voice);
        assert_eq!(all.len(), pieces.len());
        all.into_iter().find(|(id, _)| *id == self.piece.id).unwrap().1
    }

    pub fn differs(&self) -> Option<String> {
        let answer = self.answer();
        let told = (answer.verdict, answer.reasons.first().map(|reason| reason.code));
        let wants = (self.verdict, self.first);
        let holds = self.until.is_none_or(|until| answer.holds_until == until);
        let dated = answer.last_check == self.piece.last_check;
        let said = answer.reasons.iter().all(|reason| !reason.words.is_empty());
        let all = told == wants && holds && dated && said;
        let say = || {
            format!(
                "{}: {told:?}, should be {wants:?}; until {:?} {holds}, last check {dated}, words {said} [{}]",
                self.says, answer.holds_until, self.source
            )
        };
        (!all).then(say)
    }
}
