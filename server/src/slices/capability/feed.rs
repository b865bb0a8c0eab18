use std::collections::HashMap;

use chrono::{DateTime, Utc};
use fullset_calc::capability::{Assessment, Level};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::rigs::{Rig, RigId},
};

/// What a rig can do, and why not more. A planning aid: no dispatch order, and no substitute for the officer's own check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Capability {
    /// The rig.
    pub id: RigId,
    /// The rig's name, for sorting.
    pub rig_name: String,
    /// Since when it is at this level.
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
    /// The answer.
    #[serde(flatten)]
    pub answer: Assessment,
    /// Revision of the last change.
    pub rev: i64,
}

fn settled() -> bool {
    true
}

impl Capability {
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

    /// Why the answer is not settled, in words.
    pub fn unsettled(&self) -> Option<&'static str> {
        match (self.known, self.pending) {
            (true, _) => None,
            (false, true) => Some("not known yet: the rules have changed and the rig is being judged anew"),
            (false, false) => Some("not known: the last answer has run out and the rig has not been judged since"),
        }
    }

    /// Why the rig is not full, the gravest first; empty for a full one.
    pub fn why(&self) -> Vec<String> {
        let required = self.answer.gaps.iter().filter(|gap| gap.need.is_required()).flat_map(|gap| gap.words.iter());
        self.answer.also.iter().chain(required).cloned().collect()
    }
}

impl Record for Capability {
    const KIND: &'static str = "capability";
    const LAPSES: Option<&'static str> = Some(Rig::KIND);

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.rig_name.clone(),
            uniq: None,
            state: self.answer.level.name().into(),
            parent: Some(self.id.0),
        }
    }
}
