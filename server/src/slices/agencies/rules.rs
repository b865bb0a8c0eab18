//! What an agency may decide, and what of it makes a rule looser: that needs a written reason.

use fullset_calc::{
    capability::{Batteries, Grades},
    release::{AgencyRules, OwnCell},
};

use super::feed::{Agency, Policy};
use crate::platform::{
    door::{name, text},
    error::Fault,
};

/// Holds a policy to its ranges.
pub fn policy(policy: &Policy) -> Result<(), Fault> {
    let held = [
        ("annual_check_days", (1..=3650).contains(&policy.annual_check_days), "from 1 to 3650 days"),
        (
            "overdue_grace_days",
            policy.overdue_grace_days.is_none_or(|days| days <= 3650),
            "from 0 to 3650 days, or null",
        ),
        ("hose_life_years", (1..=50).contains(&policy.hose_life_years), "from 1 to 50 years"),
        (
            "pressure_tolerance",
            (0.0..=0.02).contains(&policy.pressure_tolerance),
            "a part of 1, from 0 to 0.02",
        ),
        ("photo_quota_mb", policy.photo_quota_mb <= 10_000_000, "from 0 to 10,000,000 MB"),
    ];
    if let Some((field, _, range)) = held.into_iter().find(|(_, held, _)| !held) {
        return Err(Fault::field(format!("body.policy.{field}"), format!("This is {range}")));
    }
    if let Some(allowance) = &policy.unknown_hose_age {
        text("body.policy.unknown_hose_age.reason", &allowance.reason)?;
    }
    Ok(())
}

/// Holds grades to what can stand in them.
pub fn grades(grades: &Grades) -> Result<(), Fault> {
    if let Some(fault) = grades.faults().into_iter().next() {
        return Err(Fault::field(format!("body.grades.{}", fault.field), fault.reason));
    }
    for (level, grade) in grades.each() {
        for (n, need) in grade.needs.iter().enumerate() {
            let parts = need.alternatives.iter().flat_map(|way| way.parts.iter());
            for (term, rating) in parts.flat_map(|part| part.minimums.iter()) {
                for stated in [&rating.standard, &rating.edition].into_iter().flatten() {
                    name(&format!("body.grades.{}.needs[{n}].{}", level.name(), term.name()), stated)?;
                }
            }
        }
    }
    Ok(())
}

/// The rules that `after` makes looser than `before`, as words for people.
pub fn loosened(before: &Policy, after: &Policy) -> Vec<&'static str> {
    let grace = |policy: &Policy| policy.overdue_grace_days.unwrap_or(u32::MAX);
    // How little is asked of a battery tool.
    let packs = |policy: &Policy| match policy.batteries {
        Batteries::AsPieces => 0,
        Batteries::WhereOnRecord => 1,
        Batteries::WithTool => 2,
    };
    let allowed = |policy: &Policy| policy.unknown_hose_age.as_ref().map(|allowance| allowance.until);
    [
        (grace(after) > grace(before), "the grace for overdue checks"),
        (after.annual_check_days > before.annual_check_days, "the time between annual services"),
        (after.hose_life_years > before.hose_life_years, "the service life of a hose"),
        (after.pressure_tolerance > before.pressure_tolerance, "the pressure tolerance"),
        (packs(after) > packs(before), "how battery packs count"),
        (after.adapters && !before.adapters, "whether adapters may stand in a line"),
        (allowed(after) > allowed(before), "hoses of unknown age"),
    ]
    .into_iter()
    .filter_map(|(looser, what)| looser.then_some(what))
    .collect()
}

/// Whether a change of the policy has what it needs: one that makes a rule looser has a reason.
pub fn may_change(before: &Agency, after: &Policy, reason: Option<&str>) -> Result<(), Fault> {
    let looser = loosened(&before.policy, after);
    if looser.is_empty() || reason.is_some_and(|reason| !reason.trim().is_empty()) {
        return Ok(());
    }
    Err(Fault::field(
        "body.reason",
        format!("This makes a rule looser: {}. Write why; it is kept", looser.join(", ")),
    ))
}

/// Whether a cell of the table of releases may be decided so: `None` clears it. It needs a reason where it is looser than the shipped
/// cell, and where it is looser than what held before.
pub fn may_decide(before: &AgencyRules, after: &AgencyRules, cell: &OwnCell, reason: Option<&str>) -> Result<(), Fault> {
    if after.own.contains(cell) {
        cell.check().map_err(|fault| {
            let field = match fault.field {
                field @ ("class" | "reason" | "rule") => format!("body.{field}"),
                field => format!("body.rule.{field}"),
            };
            Fault::field(field, fault.words)
        })?;
    }
    let (Some(old), Some(new)) = (before.cell(cell.kind, cell.class), after.cell(cell.kind, cell.class)) else {
        return Err(Fault::field("body.class", format!("A {} cannot be {}", cell.kind.word(), cell.class.words())));
    };
    let fewer = old.readings().iter().any(|measure| !new.readings().contains(measure));
    let looser = new.rule.usable > old.rule.usable || new.rule.within > old.rule.within || new.rule.signs < old.rule.signs || fewer;
    if looser && reason.is_none() {
        return Err(Fault::field("body.reason", "This makes a rule looser than it was. Write why; it is kept"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_is_looser_when_it_lets_more_count() {
        let careful = Policy::default();
        assert!(loosened(&careful, &careful).is_empty());
        let change = |edit: fn(&mut Policy)| {
            let mut policy = Policy::default();
            edit(&mut policy);
            policy
        };
        type Edit = fn(&mut Policy);
        let cases: [(Edit, usize); 8] = [
            (|p| p.overdue_grace_days = Some(31), 1),
            (|p| p.overdue_grace_days = None, 1),
            (|p| p.overdue_grace_days = Some(0), 0),
            (|p| p.batteries = Batteries::WithTool, 1),
            (|p| p.batteries = Batteries::AsPieces, 0),
            (|p| p.adapters = false, 0),
            (|p| p.hose_life_years = 11, 1),
            (|p| p.pressure_tolerance = 0.02, 1),
        ];
        for (edit, n) in cases {
            let changed = change(edit);
            assert_eq!(loosened(&careful, &changed).len(), n, "{changed:?}");
        }
        let strict = change(|p| p.adapters = false);
        assert_eq!(loosened(&strict, &careful), ["whether adapters may stand in a line"]);
    }
}
