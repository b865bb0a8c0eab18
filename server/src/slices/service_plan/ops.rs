use chrono::NaiveDate;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    ServicePlanId, ServicePlanRecord,
    bounds::visits_bounded,
    facts,
    feed::{PlanAsk, PlanState, PlanVisit},
    rules::{check_visits, clashes, sums},
};
use crate::platform::{
    door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
    error::Fault,
    patch,
    record::Scope,
};

/// What a plan claims of itself is reckoned again from its visits; a claim that differs is refused.
fn settle(write: &mut Write<'_>, plan: &mut ServicePlanRecord, lateness: Option<u32>, peak_hours: Option<f64>) -> Result<(), Fault> {
    let agency = write.agency;
    let known = facts::known(write.reading()?, agency)?;
    plan.asked.check("body.asked", &known)?;
    for (at, visit) in plan.visits.iter().enumerate() {
        name(&format!("body.visits[{at}].name"), &visit.name)?;
    }
    check_visits(&plan.asked, &mut plan.visits, &known)?;
    let (late, peak) = sums(&plan.visits);
    if lateness.is_some_and(|said| said != late) {
        return Err(Fault::field(
            "body.lateness",
            format!("The visits are {late} periods late in all; send that, or leave it out"),
        ));
    }
    if peak_hours.is_some_and(|said| (said - peak).abs() > 0.001) {
        return Err(Fault::field(
            "body.peak_hours",
            format!("The fullest period of a shop has {peak} hours; send that, or leave it out"),
        ));
    }
    (plan.lateness, plan.peak_hours) = (late, peak);
    plan.first_day = plan.asked.first_day;
    plan.period_days = plan.asked.period_days;
    plan.periods = plan.asked.periods;
    Ok(())
}

/// Keeps a plan as a draft.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SavePlan {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ServicePlanId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// Free words about the plan, 1 to 4,000 characters; null for none.
    #[serde(default)]
    pub note: Option<String>,
    /// What it was worked out from.
    pub asked: PlanAsk,
    /// When and where each set is served, a set once at most and 2,000 of them.
    #[schema(max_items = 2000)]
    pub visits: Vec<PlanVisit>,
    /// Periods late, all sets together; may be left out.
    #[serde(default)]
    pub lateness: Option<u32>,
    /// The most hours of any shop in any period; may be left out.
    #[serde(default)]
    pub peak_hours: Option<f64>,
    /// Whether it was proved that no plan is better.
    #[serde(default)]
    pub proved: bool,
}

impl Act for SavePlan {
    const KIND: &'static str = "service_plan.save";
    const SUMMARY: &'static str = "Keep a service plan as a draft";
    const DONE: &'static str = "Service plan drafted";
    const NEEDS: &'static [Permission] = &[Permission::Plan, Permission::Repair];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.asked.bounded("body.asked")?;
        visits_bounded(&self.visits)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<ServicePlanRecord>(self.id)?;
        let mut plan = ServicePlanRecord {
            id: self.id,
            name: name("body.name", &self.name)?,
            state: PlanState::Draft,
            first_day: NaiveDate::MIN,
            period_days: 0,
            periods: 0,
            note: self.note.map(|note| text("body.note", &note)).transpose()?,
            asked: self.asked,
            visits: self.visits,
            lateness: 0,
            peak_hours: 0.0,
            proved: self.proved,
            published_at: None,
            published_by: None,
            rev: 0,
        };
        settle(write, &mut plan, self.lateness, self.peak_hours)?;
        write.save(plan, Scope::default())
    }
}

/// Changes a draft.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditPlan {
    /// The plan to change; it must be a draft.
    pub id: ServicePlanId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New note; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub note: Option<Option<String>>,
    /// What it was worked out from now.
    pub asked: Option<PlanAsk>,
    /// All its visits anew, 2,000 at most.
    #[schema(max_items = 2000)]
    pub visits: Option<Vec<PlanVisit>>,
    /// Periods late, all sets together; may be left out.
    pub lateness: Option<u32>,
    /// The most hours of any shop in any period; may be left out.
    pub peak_hours: Option<f64>,
    /// Whether it was proved that no plan is better; new visits are not, unless said.
    pub proved: Option<bool>,
}

impl Act for EditPlan {
    const KIND: &'static str = "service_plan.edit";
    const SUMMARY: &'static str = "Change a service plan that is a draft";
    const DONE: &'static str = "Draft of the service plan changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan, Permission::Repair];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("service_plan");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.asked.as_ref().map_or(Ok(()), |asked| asked.bounded("body.asked"))?;
        self.visits.as_deref().map_or(Ok(()), visits_bounded)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<ServicePlanRecord>(self.id)?;
        write.expects(&stored)?;
        let mut plan = stored.record;
        if plan.state != PlanState::Draft {
            return Err(Fault::rule(format!(
                "{} is {}; only a draft is changed. Keep a new plan instead",
                plan.name,
                plan.state.word()
            )));
        }
        if let Some(given) = self.name {
            plan.name = name("body.name", &given)?;
        }
        if let Some(note) = self.note {
            plan.note = note.map(|note| text("body.note", &note)).transpose()?;
        }
        let anew = self.asked.is_some() || self.visits.is_some();
        plan.proved = self.proved.unwrap_or(plan.proved && !anew);
        plan.asked = self.asked.unwrap_or(plan.asked);
        plan.visits = self.visits.unwrap_or(plan.visits);
        settle(write, &mut plan, self.lateness, self.peak_hours)?;
        write.save(plan, Scope::default())
    }
}

/// Publishes a draft.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PublishPlan {
    /// The plan to publish: a draft that visits one set at least.
    pub id: ServicePlanId,
}

impl Act for PublishPlan {
    const KIND: &'static str = "service_plan.publish";
    const SUMMARY: &'static str = "Publish a service plan: from now on it holds";
    const DONE: &'static str = "Service plan published";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("service_plan");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<ServicePlanRecord>(self.id)?;
        if write.head.expects.is_some() {
            write.expects(&stored)?;
        }
        let mut plan = stored.record;
        if plan.state != PlanState::Draft {
            return Err(Fault::rule(format!(
                "{} is {} already; only a draft is published",
                plan.name,
                plan.state.word()
            )));
        }
        if plan.visits.is_empty() {
            return Err(Fault::rule(format!("{} visits no set; work it out first", plan.name)));
        }
        for other in write.all::<ServicePlanRecord>()? {
            let other = other.record;
            if other.state != PlanState::Published {
                continue;
            }
            let held: Vec<&str> = clashes(&plan.asked, &plan.visits, &other.asked, &other.visits)
                .into_iter()
                .map(|visit| visit.name.as_str())
                .collect();
            if !held.is_empty() {
                let (from, until) = (plan.first_day.max(other.first_day), plan.asked.end().min(other.asked.end()));
                return Err(Fault::rule(format!(
                    "{} is published and holds {} on days of this plan, {from} to {until}. Withdraw it first, or leave these sets out",
                    other.name,
                    held.join(", ")
                )));
            }
        }
        plan.state = PlanState::Published;
        plan.published_at = Some(write.head.at);
        plan.published_by = Some(write.actor.person());
        write.save(plan, Scope::default())
    }
}

/// Withdraws a plan.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawPlan {
    /// The plan to withdraw, a draft or a published one.
    pub id: ServicePlanId,
}

impl Act for WithdrawPlan {
    const KIND: &'static str = "service_plan.withdraw";
    const SUMMARY: &'static str = "Withdraw a service plan: it holds no longer; a draft is put aside";
    const DONE: &'static str = "Service plan withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("service_plan");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<ServicePlanRecord>(self.id)?;
        if write.head.expects.is_some() {
            write.expects(&stored)?;
        }
        let mut plan = stored.record;
        if plan.state == PlanState::Withdrawn {
            return Err(Fault::rule(format!("{} is withdrawn already", plan.name)));
        }
        plan.state = PlanState::Withdrawn;
        write.save(plan, Scope::default())
    }
}
