use super::{limit::Limit, matches_gear};
use fullset_calc::{
    ratings::Gear,
    release::{DefectClass, Measure},
    units::{Dimension, Unit},
};
use serde::{Deserialize, Serialize};

/// Where a step comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepSource))]
pub enum Source {
    /// A text that was published.
    Published {
        /// Which, with its passage: 1 to 200 characters.
        #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 200))]
        text: String,
    },
    /// Common practice, no source.
    Practice,
}

/// When in a check a step comes. A load test is made only after looks and functions were passed (DGUV 305-002, section 18.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepStage))]
pub enum Stage {
    /// By eye, without pressure.
    #[default]
    Look,
    /// Run without load.
    Function,
    /// Under load.
    Load,
}

/// What drives a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepDrive))]
pub enum Drive {
    /// A tool on a hose.
    Hose,
    /// A tool or pump on a battery pack.
    Battery,
    /// A pump with an engine.
    Engine,
    /// A pump with an electric motor on a cable.
    Cable,
    /// By hand.
    Hand,
}

/// The pieces of the plan for which a step is asked; where nothing is named, all. What is not known of a piece leaves a step in.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepApplies))]
pub struct Applies {
    /// Only pieces that are driven so.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(max_items = 5))]
    pub drives: Vec<Drive>,
    /// Only accessories of these sorts; empty: of every sort.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(max_items = 13))]
    pub gear: Vec<Gear>,
}

impl Applies {
    /// Whether nothing is named.
    #[must_use]
    pub fn is_to_all(&self) -> bool {
        self.drives.is_empty() && self.gear.is_empty()
    }

    /// Whether a piece is asked that step.
    #[must_use]
    pub fn has(&self, drive: Option<Drive>, gear: Option<Gear>) -> bool {
        let driven = self.drives.is_empty() || drive.is_none_or(|drive| self.drives.contains(&drive));
        driven && matches_gear(&self.gear, gear)
    }
}

/// What a step asks for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepAsk))]
pub enum Ask {
    /// Yes or no.
    YesNo {
        /// The answer of a sound piece.
        sound: bool,
        /// What is looked at, where a release asks for it too.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        measure: Option<Measure>,
    },
    /// One of several words.
    Choice {
        /// 2 to 12 of them, each of 1 to 40 characters.
        #[cfg_attr(feature = "openapi", schema(min_items = 2, max_items = 12))]
        options: Vec<String>,
        /// Those that pass.
        #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 12))]
        passing: Vec<String>,
    },
    /// A number with its unit.
    Number {
        /// What is measured; `other`: what the title says.
        measure: Measure,
        /// What its unit measures, for `other`; the measure says it else.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        dimension: Option<Dimension>,
        /// The units to offer first, up to 4.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[cfg_attr(feature = "openapi", schema(max_items = 4))]
        units: Vec<Unit>,
        /// What passes: all of them hold, up to 4. None: the reading is kept, and passes as such.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[cfg_attr(feature = "openapi", schema(max_items = 4))]
        limits: Vec<Limit>,
    },
    /// A photo.
    Photo,
    /// A few words.
    Note,
}

impl Ask {
    /// What its value measures, where it asks for a number.
    #[must_use]
    pub fn dimension(&self) -> Option<Dimension> {
        match self {
            Self::Number { measure, dimension, .. } => measure.dimension().or(*dimension),
            _ => None,
        }
    }
}

/// One step of a check: one screen, one answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = PlanStep))]
pub struct Step {
    /// Short name that stays when the words change: 1 to 40 of a to z, 0 to 9 and `-`.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 40, example = "blades"))]
    pub id: String,
    /// What to look at: 1 to 60 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 60))]
    pub title: String,
    /// How: up to 240 characters.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_length = 240))]
    pub how: String,
    /// What to mind: up to 240 characters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(max_length = 240))]
    pub caution: Option<String>,
    /// What is asked for.
    pub ask: Ask,
    /// When in the check it comes.
    #[serde(default)]
    pub stage: Stage,
    /// Whether the check is done without it; a step that was answered and failed fails the check in any case.
    #[serde(default, skip_serializing_if = "is_false")]
    pub optional: bool,
    /// Whether a pump is put under pressure with no tool at its end: refused where it has no dump valve, or nobody knows
    /// (DGUV 305-002, 13.3.1).
    #[serde(default, skip_serializing_if = "is_false")]
    pub pump_alone: bool,
    /// The pieces for which it is asked.
    #[serde(default, skip_serializing_if = "Applies::is_to_all")]
    pub applies: Applies,
    /// Where it comes from.
    pub source: Source,
    /// The class of the defect that a failure is.
    pub fails_as: DefectClass,
}

// serde hands the field over by reference.
#[allow(clippy::trivially_copy_pass_by_ref)]
const fn is_false(value: &bool) -> bool {
    !*value
}
