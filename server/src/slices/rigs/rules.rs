//! What may happen to a rig, on plain values.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::feed::{Duty, Rig};
use crate::{
    platform::error::Fault,
    slices::rig_classes::{self, RigClass},
};

/// What an edit asks less of a rig than before, as words that go on after "This ...". Each rig is handed in with its class.
pub fn eased((before, class_before): (&Rig, Option<&RigClass>), (after, class_after): (&Rig, Option<&RigClass>)) -> Vec<String> {
    let mut all = Vec::new();
    let name = &after.name;
    if before.duty == Duty::FrontLine && after.duty != Duty::FrontLine {
        all.push(format!("takes {name} off the front line and out of the board's counts"));
    }
    if before.rig_class != after.rig_class {
        match (class_before, class_after) {
            (Some(had), None) => all.push(format!("asks nothing of {name} any more: it was a {}", had.name)),
            (Some(had), Some(has)) if !rig_classes::eased(had, has).is_empty() => {
                all.push(format!("asks less of {name}: {} instead of {}", has.name, had.name));
            }
            _ => {}
        }
    }
    all
}

/// What a member does with a rig, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum RigAct {
    /// Takes it out of service, or says why else it is out.
    #[serde(rename = "rig.take_out")]
    TakeOut,
    /// Puts it back in service.
    #[serde(rename = "rig.put_back")]
    PutBack,
}

impl RigAct {
    const ALL: [Self; 2] = [Self::TakeOut, Self::PutBack];
}

/// Whether the act may be done; if not, why.
pub fn may(act: RigAct, rig: &Rig) -> Result<(), Fault> {
    match act {
        RigAct::PutBack if rig.in_service => Err(Fault::rule(format!("{} is in service already", rig.name))),
        RigAct::PutBack | RigAct::TakeOut => Ok(()),
    }
}

/// What the rig allows as it is, apart from who asks.
pub fn allows(rig: &Rig) -> Vec<RigAct> {
    RigAct::ALL.into_iter().filter(|act| may(*act, rig).is_ok()).collect()
}

/// Whether one rig can take another's place.
pub fn may_exchange(from: &Rig, to: &Rig) -> Result<(), Fault> {
    if from.id == to.id {
        return Err(Fault::field("body.to", "A rig cannot take its own place; name the other one"));
    }
    if !to.in_service {
        return Err(Fault::rule(format!("{} is out of service; put it back first, or take another rig", to.name)).at("body.to"));
    }
    if to.duty == Duty::FrontLine {
        return Err(Fault::rule(format!("{} is a front-line rig itself; a reserve rig takes another's place", to.name)).at("body.to"));
    }
    Ok(())
}

/// What the rig that leaves the front line is then: without its tools, where they went along.
pub fn duty_after(left_aboard: usize) -> Duty {
    if left_aboard == 0 { Duty::StrippedReserve } else { Duty::ReadyReserve }
}
