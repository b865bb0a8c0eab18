//! Check plans: what is covered, how often, what is asked, who signs, what a pass proves.
//!
//! A plan says nothing of a piece. A check keeps the version of the plan and the steps that it answered ([`PlanSnapshot`]), so that a change
//! of the plan never rewrites a check that was done.
//!
//! | file | holds |
//! | --- | --- |
//! | `rhythm` | how often |
//! | `step`, `limit` | what is asked, and what passes |
//! | `signer` | who may sign |
//! | `validate`, `validate_steps` | whether a plan can be kept so |
//! | `versions` | the next version, and what a change loosens |

mod limit;
mod rhythm;
mod signer;
mod step;
mod validate;
mod validate_steps;
mod versions;

pub use limit::{Bound, Drift, Limit, RatedFigure};
pub use rhythm::{Event, Rhythm};
pub use signer::{Hand, Refusal, Signer};
pub use step::{Applies, Ask, Drive, Source, Stage, Step};
pub use validate::{
    MOST_EVERY_HOURS, MOST_EVERY_MONTHS, MOST_EVERY_USES, MOST_GRACE_DAYS, MOST_MODELS, MOST_NAME, MOST_PROOFS, MOST_SOURCE, MOST_STEPS, MOST_TITLE, MOST_WORDS,
};
pub use validate_steps::{MOST_LIMITS, MOST_OPTION, MOST_OPTIONS, MOST_PERCENT, MOST_STEP_ID, MOST_UNITS};
pub use versions::Loosened;

use fullset_calc::ratings::{Gear, Kind};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What a piece must be for a plan to hold for it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckCovers))]
pub struct Covers {
    /// Any of these kinds; none: the models alone say what is covered.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_items = 11))]
    pub kinds: Vec<Kind>,
    /// Any of these models, up to 200. Where some are named, other models of the kinds are not covered.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_items = 200))]
    pub models: Vec<Uuid>,
}

impl Covers {
    /// Whether a piece of that kind and model is covered.
    #[must_use]
    pub fn has(&self, kind: Kind, model: Option<Uuid>) -> bool {
        let by_kind = self.kinds.is_empty() || self.kinds.contains(&kind);
        let by_model = self.models.is_empty() || model.is_some_and(|model| self.models.contains(&model));
        by_kind && by_model && !(self.kinds.is_empty() && self.models.is_empty())
    }
}

/// What a passed check proves of its piece, beside that it was passed: each has its effect on the piece's record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckProof))]
pub enum Proof {
    /// It was checked since its last use.
    Checked,
    /// It was hooked up and run on the rig that it is on.
    TriedAboard,
    /// Its annual service was done.
    Serviced,
    /// The readings are its baseline from now on.
    Baseline,
}

/// A plan: which pieces are checked, how often, for what, by whom.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckPlanBody))]
pub struct CheckPlan {
    /// As people call it: "Weekly check". 1 to 80 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 80))]
    pub name: String,
    /// 1 for the first, one more with each change.
    pub version: u32,
    /// The pieces that it holds for.
    pub covers: Covers,
    /// When a check falls due: by the calendar, uses, running hours or events.
    pub rhythm: Rhythm,
    /// What is asked, in the order of the walk: 1 to 60.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 60))]
    pub steps: Vec<Step>,
    /// Who may sign a check by this plan.
    pub signer: Signer,
    /// Whole days after it is due for which an overdue check does not count against the piece, 0 to 3650; of these and the policy's the
    /// fewer hold.
    #[cfg_attr(feature = "openapi", schema(maximum = 3650))]
    pub grace_days: u32,
    /// What a pass proves.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_items = 4))]
    pub proves: Vec<Proof>,
}

/// What a check was asked, kept with the check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = PlanSnapshot))]
pub struct PlanSnapshot {
    /// The plan's name then.
    pub name: String,
    /// The plan's version then.
    pub version: u32,
    /// The steps as they stood.
    #[cfg_attr(feature = "openapi", schema(max_items = 60))]
    pub steps: Vec<Step>,
    /// Who could sign then.
    pub signer: Signer,
    /// What a pass proved then.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_items = 4))]
    pub proves: Vec<Proof>,
}

impl CheckPlan {
    /// What a check by this plan is asked.
    #[must_use]
    pub fn asked(&self) -> PlanSnapshot {
        PlanSnapshot {
            name: self.name.clone(),
            version: self.version,
            steps: self.steps.clone(),
            signer: self.signer,
            proves: self.proves.clone(),
        }
    }

    /// What is wrong with it; none: it can be kept.
    #[must_use]
    pub fn validate(&self) -> Vec<crate::Fault> {
        validate::faults(self)
    }
}

/// What an accessory or a drive is, as far as a step asks for it.
pub(crate) fn matches_gear(wanted: &[Gear], gear: Option<Gear>) -> bool {
    wanted.is_empty() || gear.is_none_or(|gear| wanted.contains(&gear))
}
