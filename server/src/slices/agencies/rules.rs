//! What an agency may decide, and what of it makes a rule looser: that needs a written reason.

use fullset_calc::{
    capability::{Alternative, Batteries, Grades, Part, Template},
    release::{AgencyRules, OwnCell},
};

use super::feed::{Agency, LooseRule, LooserRule, Policy};
use crate::platform::{
    auth::Role,
    door::{each_once, name, text},
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
        (
            "second_factor_roles",
            each_once("", &policy.second_factor_roles, Role::MEMBERS.len(), "role").is_ok(),
            "each role once at most",
        ),
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

/// The rules that `after` makes looser than `before`.
pub fn loosened(before: &Policy, after: &Policy) -> Vec<LooseRule> {
    let grace = |policy: &Policy| policy.overdue_grace_days.unwrap_or(u32::MAX);
    // How little is asked of a battery tool.
    let packs = |policy: &Policy| match policy.batteries {
        Batteries::AsPieces => 0,
        Batteries::WhereOnRecord => 1,
        Batteries::WithTool => 2,
    };
    let allowed = |policy: &Policy| policy.unknown_hose_age.as_ref().map(|allowance| allowance.until);
    [
        (grace(after) > grace(before), LooseRule::OverdueGraceDays),
        (after.annual_check_days > before.annual_check_days, LooseRule::AnnualCheckDays),
        (after.hose_life_years > before.hose_life_years, LooseRule::HoseLifeYears),
        (after.pressure_tolerance > before.pressure_tolerance, LooseRule::PressureTolerance),
        (packs(after) > packs(before), LooseRule::Batteries),
        (after.adapters && !before.adapters, LooseRule::Adapters),
        (allowed(after) > allowed(before), LooseRule::UnknownHoseAge),
    ]
    .into_iter()
    .filter_map(|(looser, what)| looser.then_some(what))
    .collect()
}

impl LooseRule {
    /// The rule as words for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::OverdueGraceDays => "the grace for overdue checks",
            Self::AnnualCheckDays => "the time between annual services",
            Self::HoseLifeYears => "the service life of a hose",
            Self::PressureTolerance => "the pressure tolerance",
            Self::Batteries => "how battery packs count",
            Self::Adapters => "whether adapters may stand in a line",
            Self::UnknownHoseAge => "hoses of unknown age",
        }
    }

    /// What the policy says by it.
    fn says(self, policy: &Policy) -> String {
        match self {
            Self::OverdueGraceDays => policy.overdue_grace_days.map_or_else(
                || "an overdue check never counts against a piece".to_owned(),
                |days| format!("{days} days of grace for overdue checks"),
            ),
            Self::AnnualCheckDays => format!("annual check every {} days", policy.annual_check_days),
            Self::HoseLifeYears => format!("hoses serve {} years", policy.hose_life_years),
            Self::PressureTolerance => format!("pressures within {} % count as equal", (policy.pressure_tolerance * 1000.0).round() / 10.0),
            Self::Batteries => "battery packs are not tracked".to_owned(),
            Self::Adapters => "adapters may stand in a line".to_owned(),
            Self::UnknownHoseAge => policy
                .unknown_hose_age
                .as_ref()
                .map_or_else(String::new, |allowance| format!("hoses of unknown age until {}", allowance.until)),
        }
    }
}

/// The rules that are looser than the shipped ones after a change of the policy, each with why: the reason of this change where
/// it made the rule looser, else the one that was given before.
pub fn looser_rules(before: &Agency, after: &Policy, reason: Option<&str>) -> Vec<LooserRule> {
    let now = loosened(&before.policy, after);
    let own = loosened(&Policy::default(), after).into_iter().map(|rule| {
        let known = before.looser_rules.iter().find(|known| known.rule == rule).map(|known| known.reason.as_str());
        let why = reason.filter(|_| now.contains(&rule)).or(known).unwrap_or("no reason on record");
        LooserRule {
            rule,
            words: rule.says(after),
            reason: why.to_owned(),
        }
    });
    own.collect()
}

/// What a change of the policy makes looser, as words that go on after "This ...".
pub fn easing(before: &Policy, after: &Policy) -> Option<String> {
    let looser: Vec<&str> = loosened(before, after).into_iter().map(LooseRule::word).collect();
    (!looser.is_empty()).then(|| format!("makes a rule looser: {}", looser.join(", ")))
}

/// The roles that need no second factor any more, as words that go on after "This ...".
pub fn waived_factor(before: &Policy, after: &Policy) -> Option<String> {
    let waived = before.second_factor_roles.iter().filter(|role| !after.second_factor_roles.contains(role));
    let roles: Vec<String> = waived.map(ToString::to_string).collect();
    (!roles.is_empty()).then(|| format!("lets members sign in without a second factor: {}", roles.join(", ")))
}

/// The parts of grades that ask for no rating at all, as words that go on after "This ...": any piece of the kind would do. What
/// the published template itself leaves open is the template's matter.
pub fn unrated(grades: &Grades) -> Vec<String> {
    let published = Template::En.grades();
    let mut all = Vec::new();
    for (level, grade) in grades.each() {
        let open = |alternative: &Alternative| {
            let needs = published.of(level).into_iter().flat_map(|grade| grade.needs.iter());
            needs.flat_map(|need| need.alternatives.iter()).any(|known| known == alternative)
        };
        for need in &grade.needs {
            for alternative in need.alternatives.iter().filter(|alternative| !open(alternative)) {
                let asks_nothing = |part: &&Part| part.minimums.is_empty() && part.gear.is_none() && alternative.covers.is_none();
                for part in alternative.parts.iter().filter(asks_nothing) {
                    let kinds: Vec<&str> = part.kinds.iter().map(|kind| kind.word()).collect();
                    all.push(format!("lets any {} do for {} ({})", kinds.join(" or "), level.word(), need.name));
                }
            }
        }
    }
    all
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
        assert_eq!(
            easing(&strict, &careful).as_deref(),
            Some("makes a rule looser: whether adapters may stand in a line")
        );
        assert_eq!(easing(&careful, &strict), None);
    }

    fn agency(policy: Policy, looser_rules: Vec<LooserRule>) -> Agency {
        Agency {
            id: crate::platform::ids::AgencyId(uuid::Uuid::from_u128(1)),
            name: "One".into(),
            time_zone: chrono_tz::UTC,
            units: fullset_calc::units::Units::Us,
            locale: crate::slices::agencies::Locale::EnUs,
            policy,
            grades: None,
            release_rules: Vec::new(),
            looser_rules,
            map_tiles: None,
            rev: 0,
        }
    }

    #[test]
    fn a_looser_rule_keeps_its_reason_until_it_is_made_looser_again_or_ends() {
        let looser = |days| Policy {
            annual_check_days: days,
            ..Policy::default()
        };
        let first = looser_rules(&agency(Policy::default(), Vec::new()), &looser(3650), Some("few calls"));
        let told = |own: &[LooserRule]| own.iter().map(|one| (one.rule, one.words.clone(), one.reason.clone())).collect::<Vec<_>>();
        assert_eq!(
            told(&first),
            [(LooseRule::AnnualCheckDays, "annual check every 3650 days".to_owned(), "few calls".to_owned())]
        );
        let known = agency(looser(3650), first);
        let shorter = looser_rules(&known, &looser(700), None);
        assert_eq!(
            (shorter[0].words.as_str(), shorter[0].reason.as_str()),
            ("annual check every 700 days", "few calls")
        );
        let longer = looser_rules(&agency(looser(700), shorter), &looser(800), Some("fewer"));
        assert_eq!(longer[0].reason, "fewer");
        assert!(looser_rules(&known, &Policy::default(), None).is_empty());
    }

    #[test]
    fn parts_that_ask_for_no_rating_are_named_and_the_published_template_has_none() {
        assert_eq!(unrated(&Template::En.grades()), Vec::<String>::new());
        let words = unrated(&Template::Nfpa.grades());
        assert_eq!(
            words,
            [
                "lets any combination tool do for limited (Combination tool, or cutter and spreader)",
                "lets any spreader do for full (Spreader)",
                "lets any cutter do for full (Cutter)",
                "lets any ram do for full (Ram)",
            ]
        );
    }
}
