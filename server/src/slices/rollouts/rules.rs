//! What a rollout and its rigs allow, what a week is, and what asks for less than before.

use chrono::{NaiveDate, TimeDelta};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    feed::{Rollout, ShiftMinimum},
    rig::RolloutRig,
};

/// What a member does with a rollout, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum RolloutAct {
    /// Changes its plan.
    #[serde(rename = "rollout.edit")]
    Edit,
    /// Closes it.
    #[serde(rename = "rollout.close")]
    Close,
}

/// What a member does with a rig of a rollout, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum RolloutRigAct {
    /// Plans another week or other pieces.
    #[serde(rename = "rollout_rig.replan")]
    Replan,
    /// Takes the rig out of the rollout.
    #[serde(rename = "rollout_rig.drop")]
    Drop,
    /// Says that the pieces are marked, or where they lie.
    #[serde(rename = "rollout_rig.confirm")]
    Confirm,
    /// Changes the rig over.
    #[serde(rename = "rollout_rig.change_over")]
    ChangeOver,
}

impl RolloutRigAct {
    const ALL: [Self; 4] = [Self::Replan, Self::Drop, Self::Confirm, Self::ChangeOver];
}

/// Whether something may be done with a rollout as it is; if not, why. Planning a rig in it asks the same as changing it.
pub fn may(_: RolloutAct, rollout: &Rollout) -> Result<(), &'static str> {
    match rollout.is_open() {
        true => Ok(()),
        false => Err("This rollout is closed; start another one"),
    }
}

/// What a rollout allows as it is, apart from who asks.
pub fn allows(rollout: &Rollout) -> Vec<RolloutAct> {
    [RolloutAct::Edit, RolloutAct::Close]
        .into_iter()
        .filter(|act| may(*act, rollout).is_ok())
        .collect()
}

/// Whether something may be done with a rig of a rollout as it is; if not, why. A rollout is closed only once all its rigs have changed
/// over, so this says it of a closed one too.
pub fn may_rig(_: RolloutRigAct, rig: &RolloutRig) -> Result<(), String> {
    match rig.changed_over {
        None => Ok(()),
        Some(_) => Err(format!("{} has changed over; what it carries is a matter of its pieces now", rig.rig_name)),
    }
}

/// What a rig of a rollout allows as it is, apart from who asks and what holds its changeover up.
pub fn allows_rig(rig: &RolloutRig) -> Vec<RolloutRigAct> {
    RolloutRigAct::ALL.into_iter().filter(|act| may_rig(*act, rig).is_ok()).collect()
}

/// The Monday on which a week begins, where the day is one.
pub fn is_monday(day: NaiveDate) -> bool {
    use chrono::Datelike as _;
    day.weekday() == chrono::Weekday::Mon
}

/// Whether the week of a Monday is over on a day.
pub fn is_over(week: NaiveDate, today: NaiveDate) -> bool {
    week.checked_add_signed(TimeDelta::days(7)).is_some_and(|next| next <= today)
}

/// What asks less of the shifts than before, as it goes on after "This ...".
pub fn eased(before: &[ShiftMinimum], after: &[ShiftMinimum]) -> Vec<String> {
    let now = |shift: &str| after.iter().find(|one| one.shift.to_lowercase() == shift.to_lowercase()).map(|one| one.members);
    before
        .iter()
        .filter_map(|one| match now(&one.shift) {
            Some(members) if members >= one.members => None,
            Some(members) => Some(format!("asks {members} instead of {} of {}", one.members, one.shift)),
            None => Some(format!("asks nothing of {} any more", one.shift)),
        })
        .collect()
}
