use std::collections::HashMap;

use chrono::{DateTime, Utc};
use fullset_calc::capability::{Assessment, GapIn, Level, PieceAnswer, Verdict};
use fullset_care::due::Due;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::{
        check_plans::CheckPlanId,
        pieces::{Piece, PieceId},
        rigs::{Rig, RigId},
    },
};

/// How a rig stands: what it could do, whether its list is whole, whether checked pieces alone reach that. A planning aid: no
/// dispatch order, and no substitute for the officer's own check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RigStanding {
    /// The rig that the answer is about.
    pub id: RigId,
    /// The rig's name, for sorting.
    pub rig_name: String,
    /// Since when it is at this level.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// Whether it is below full for planned service alone: with what is out for that back, it would be full.
    #[serde(default)]
    #[schema(required)]
    pub planned: bool,
    /// Whether the answer is settled; where it is not, the rig may stand lower than it says. False where the answer had run
    /// out and nobody has judged the rig since, and while it is being judged anew.
    #[serde(default = "settled")]
    #[schema(required)]
    pub known: bool,
    /// Whether the rig is being judged anew: what all rigs are judged by has changed a moment ago.
    #[serde(default)]
    #[schema(required)]
    pub pending: bool,
    /// What the rig could do, as it was last judged.
    #[serde(flatten)]
    pub answer: Assessment,
    /// Revision of the last change.
    pub rev: i64,
}

fn settled() -> bool {
    true
}

impl RigStanding {
    /// The record as a reader sees it at an instant: marked where its answer has run out, or where the rig is among the
    /// `late` ones (each with whether it only waits to be judged anew).
    #[must_use]
    pub fn as_read(self, at: DateTime<Utc>, late: &HashMap<Uuid, bool>) -> Self {
        let ran_out = self.answer.holds_until.is_some_and(|until| until <= at);
        let lapse = late.get(&self.id.0);
        Self {
            known: self.known && !ran_out && lapse.is_none(),
            pending: self.pending || lapse.is_some_and(|pending| *pending),
            ..self
        }
    }

    /// The level that may be counted on: none while the answer is not settled.
    pub fn sure_level(&self) -> Level {
        if self.known { self.answer.level } else { Level::None }
    }

    /// Whether it may be counted as able to do a full extrication.
    pub fn is_full(&self) -> bool {
        self.sure_level().is_full()
    }

    /// Why the answer is not settled, in words.
    pub fn unsettled(&self) -> Option<&'static str> {
        match (self.known, self.pending) {
            (true, _) => None,
            (false, true) => Some("not known yet: the rules have changed and the rig is being judged anew"),
            (false, false) => Some("not known: the last answer has run out and the rig has not been judged since"),
        }
    }

    /// Why the rig is below the level that it should have, the gravest first.
    pub fn why(&self) -> Vec<String> {
        let gaps = self.answer.gaps.iter().filter(|gap| gap.r#in == GapIn::Need);
        self.answer.also.iter().chain(gaps.flat_map(|gap| gap.words.iter())).cloned().collect()
    }

    /// What its list lacks.
    pub fn lacks(&self) -> Vec<String> {
        let gaps = self.answer.gaps.iter().filter(|gap| gap.r#in == GapIn::Slot && gap.required);
        gaps.map(|gap| format!("{}: {}", gap.name, gap.words.join("; "))).collect()
    }
}

impl Record for RigStanding {
    const KIND: &'static str = "rig_standing";
    const LAPSES: Option<&'static str> = Some(Rig::KIND);

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        Level::ALL.iter().map(|level| level.name()).collect()
    }

    fn index(&self) -> Index {
        Index {
            label: self.rig_name.clone(),
            uniq: None,
            mark: None,
            state: self.answer.level.name().into(),
            parent: Some(self.id.0),
        }
    }
}

/// When a check of a piece is due by a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlanDue {
    /// The check plan that asks for the check.
    pub plan: CheckPlanId,
    /// The check plan's name.
    pub name: String,
    /// When the next check is due, what would make it due, or why nobody knows.
    pub due: Due,
}

/// "May I use it?" for one piece, as of its last judging. The record is not the tool: look before you use it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PieceStanding {
    /// The piece that the answer is about.
    pub id: PieceId,
    /// Its tag, for sorting.
    pub tag: String,
    /// The rig that it is on.
    pub rig: Option<RigId>,
    /// Since when the answer is this one.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// Whether the answer is settled. False where it had run out and nobody has judged the piece since, and while it is being
    /// judged anew.
    #[serde(default = "settled")]
    #[schema(required)]
    pub known: bool,
    /// Whether the piece is being judged anew.
    #[serde(default)]
    #[schema(required)]
    pub pending: bool,
    /// Whether the piece may be used, as it was last judged.
    #[serde(flatten)]
    pub answer: PieceAnswer,
    /// When each check that a plan asks of it is due.
    #[serde(default)]
    #[schema(required, max_items = 60)]
    pub due: Vec<PlanDue>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for PieceStanding {
    const KIND: &'static str = "piece_standing";
    const LAPSES: Option<&'static str> = Some(Piece::KIND);
    const LAPSES_ABOARD: Option<&'static str> = Some(Rig::KIND);

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        [
            Verdict::No,
            Verdict::NotOnThisRig,
            Verdict::CannotBeConfirmed,
            Verdict::YesWithLimit,
            Verdict::Yes,
        ]
        .map(verdict_word)
        .into()
    }

    fn index(&self) -> Index {
        Index {
            label: self.tag.clone(),
            uniq: None,
            mark: None,
            state: verdict_word(self.answer.verdict).into(),
            parent: Some(self.id.0),
        }
    }
}

/// The verdict in one word.
fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::No => "no",
        Verdict::NotOnThisRig => "not_on_this_rig",
        Verdict::CannotBeConfirmed => "cannot_be_confirmed",
        Verdict::YesWithLimit => "yes_with_limit",
        Verdict::Yes => "yes",
    }
}
