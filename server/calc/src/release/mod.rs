//! Who may let a broken piece stay in use, who may return it, and on what evidence.
//!
//! One table by kind and class of defect ([`ruling`]) says whether the piece may stay *usable* and who may say so, under which limit
//! and for how many days; whether the shop must see it; which readings it takes to return it, within which bounds; and who signs.
//! Every cell names its source, or says that there is none. An agency may decide a cell otherwise ([`AgencyRules`]): stricter as it
//! likes, looser only for a written reason, and never what is forbidden outright.
//!
//! This module never asks where a piece is or who would like it back. What is not known is missing, and missing refuses.

mod class;
mod decide;
mod evidence;
mod measure;
mod missing;
mod needed;
mod own;
mod plausible;
mod repair;
mod rule;
mod table;

pub use class::DefectClass;
pub use decide::{Cleared, is_at_least, is_at_most, release};
pub use evidence::{Evidence, MOST_READINGS, MakersPaper, Reading, ReadingFault};
pub use measure::Measure;
pub use missing::{Missing, MissingWhat};
pub use needed::{
    Baseline, HOLD_SECONDS, HoseLife, LEAST_SHARE_OF_RATED, LEAST_STROKE_SECONDS, MOST_SHARE_OF_BASELINE_TIME, MOST_SHARE_OF_NOMINAL, Needed, NeededReading,
    PRESSURE_TOLERANCE, Plate, RatedForce, annual_readings, needed_for_annual, needed_for_release, rated_force, share,
};
pub use own::{AgencyRules, Cell, OwnCell, OwnFault};
pub(crate) use plausible::impossible;
pub use repair::{Limit, PUT_OFF_ONCE, Refusal, limit_for, may_extend, may_stay_usable, repair_by};
pub use rule::{Ending, RepairWithin, Role, Rule, Ruling, SayUsable, Signature};
pub use table::ruling;
