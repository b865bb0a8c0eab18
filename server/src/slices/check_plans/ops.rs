use fullset_care::{Fault as PlanFault, plan};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{CheckPlan, CheckPlanId, CheckPlanState, feed::DatedVersion, rules::MOST_PLANS};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, text},
        error::Fault,
        record::Scope,
    },
    slices::models::{Model, ModelId},
};

/// How many earlier versions are kept for phones that were away.
const EARLIER: usize = 2;

fn fault(fault: &PlanFault) -> Fault {
    Fault::field(format!("body.plan.{}", fault.path), fault.words.clone())
}

/// Refuses a plan that is none.
fn sound(plan: &plan::CheckPlan) -> Result<(), Fault> {
    match plan.validate().first() {
        Some(first) => Err(fault(first)),
        None => Ok(()),
    }
}

fn known_models(write: &mut Write<'_>, plan: &plan::CheckPlan) -> Result<(), Fault> {
    for (n, model) in plan.covers.models.iter().enumerate() {
        write.named::<Model>(&format!("plan.covers.models[{n}]"), ModelId(*model))?;
    }
    Ok(())
}

/// Puts a check plan in force. Whoever does answers for what it asks: a starter plan counts for nothing before.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddCheckPlan {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: CheckPlanId,
    /// The plan. Its `version` becomes 1.
    pub plan: plan::CheckPlan,
}

impl Act for AddCheckPlan {
    const KIND: &'static str = "check_plan.add";
    const SUMMARY: &'static str = "Put a check plan in force";
    const DONE: &'static str = "Check plan put in force";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.plan.version = 1;
        sound(&self.plan)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<CheckPlan>(self.id)?;
        known_models(write, &self.plan)?;
        let all = write.all::<CheckPlan>()?;
        if all.iter().filter(|stored| stored.record.state == CheckPlanState::InForce).count() >= MOST_PLANS {
            return Err(Fault::rule(format!("{MOST_PLANS} plans are in force, which is the most; withdraw one first")));
        }
        let at = write.head.at;
        let record = CheckPlan {
            id: self.id,
            plan: self.plan,
            state: CheckPlanState::InForce,
            since: at,
            asks_since: Some(at),
            changed_at: at,
            changed_by: write.actor.person(),
            reason: None,
            earlier: Vec::new(),
            rev: 0,
        };
        write.save(record, Scope::default())?;
        write.reconsider_all()
    }
}

/// Changes a check plan. What was checked by the version before keeps its steps.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditCheckPlan {
    /// The plan to change; it must be in force.
    pub id: CheckPlanId,
    /// The plan as it shall be, whole. Its `version` is counted by the service.
    pub plan: plan::CheckPlan,
    /// Why; needed where it asks less than before. 1 to 4,000 characters.
    #[serde(default)]
    pub reason: Option<String>,
}

impl Act for EditCheckPlan {
    const KIND: &'static str = "check_plan.edit";
    const SUMMARY: &'static str = "Change a check plan";
    const DONE: &'static str = "Check plan changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("check_plan");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.plan.version = self.plan.version.max(1);
        self.reason = self.reason.as_deref().map(|reason| text("body.reason", reason)).transpose()?;
        sound(&self.plan)
    }

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<CheckPlan>(self.id)?;
        write.expects(&stored)?;
        let before = stored.record;
        if before.state == CheckPlanState::Withdrawn {
            return Err(Fault::rule("This plan was withdrawn; put it in force as a new one"));
        }
        known_models(write, &self.plan)?;
        let after = before
            .plan
            .edit(self.plan)
            .map_err(|faults| faults.first().map_or_else(|| Fault::rule("This is no plan"), fault))?;
        if after == before.plan {
            return Ok(());
        }
        for eased in before.plan.loosened_by(&after) {
            write.note_eased(format!("asks less by {}: {}", before.plan.name, eased.words));
        }
        let at = write.head.at;
        let mut earlier = before.earlier;
        earlier.insert(
            0,
            DatedVersion {
                until: at,
                asked: before.plan.asked(),
            },
        );
        earlier.truncate(EARLIER);
        let as_before = after.rhythm == before.plan.rhythm && after.covers == before.plan.covers;
        let record = CheckPlan {
            asks_since: if as_before { before.asks_since } else { Some(at) },
            plan: after,
            changed_at: at,
            changed_by: write.actor.person(),
            reason: self.reason,
            earlier,
            ..before
        };
        write.save(record, Scope::default())?;
        write.reconsider_all()
    }
}

/// Withdraws a check plan: nothing falls due by it any more. What was checked stays.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawCheckPlan {
    /// The plan to withdraw; it must be in force.
    pub id: CheckPlanId,
    /// Why, in words that the plan keeps: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for WithdrawCheckPlan {
    const KIND: &'static str = "check_plan.withdraw";
    const SUMMARY: &'static str = "Withdraw a check plan";
    const DONE: &'static str = "Check plan withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("check_plan");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<CheckPlan>(self.id)?;
        write.expects(&stored)?;
        let before = stored.record;
        if before.state == CheckPlanState::Withdrawn {
            return Err(Fault::rule("This plan was withdrawn before"));
        }
        let record = CheckPlan {
            state: CheckPlanState::Withdrawn,
            changed_at: write.head.at,
            changed_by: write.actor.person(),
            reason: Some(text("body.reason", &self.reason)?),
            ..before
        };
        write.save(record, Scope::default())?;
        write.reconsider_all()
    }
}
