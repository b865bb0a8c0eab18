//! The plans to begin with.

use fullset_calc::{ratings::Kind, release::annual_readings};
use fullset_care::{
    plan::{Ask, Bound, CheckPlan, Event, Limit, Proof, RatedFigure, Rhythm, Signer, Source, Stage},
    starter::{Starter, starter_plans},
};
use std::collections::BTreeSet;

fn of(kind: Kind, key: &str) -> Option<CheckPlan> {
    let key = format!("{key}-{}", kind.name().replace('_', "-"));
    starter_plans().into_iter().find(|starter| starter.key == key).map(|starter| starter.plan)
}

#[test]
fn every_starter_plan_can_be_kept_and_has_a_key_of_its_own() {
    let all = starter_plans();
    let keys: BTreeSet<&String> = all.iter().map(|starter| &starter.key).collect();
    assert_eq!(keys.len(), all.len());
    for Starter { key, plan } in &all {
        assert_eq!(plan.validate(), [], "{key}");
        assert_eq!(plan.version, 1, "{key}");
        assert!(plan.proves.contains(&Proof::Checked), "{key}");
        let json = serde_json::to_string(plan).unwrap();
        assert_eq!(serde_json::from_str::<CheckPlan>(&json).unwrap(), *plan, "{key}");
    }
}

#[test]
fn every_kind_has_a_check_after_use_a_weekly_one_and_an_annual_one() {
    for kind in Kind::ALL {
        let (after, weekly, annual) = (of(*kind, "after-use"), of(*kind, "weekly"), of(*kind, "annual"));
        assert_eq!(after.unwrap().rhythm, Rhythm::Use, "{kind:?}");
        assert!(matches!(weekly.unwrap().rhythm, Rhythm::Calendar { .. }), "{kind:?}");
        let annual = annual.unwrap();
        assert_eq!((annual.rhythm, annual.signer), (Rhythm::Months { months: 12 }, Signer::Technician), "{kind:?}");
        assert!(annual.proves.contains(&Proof::Serviced), "{kind:?}");
        // What a release after the annual service asks for is asked here.
        let asked: BTreeSet<_> = annual
            .steps
            .iter()
            .filter_map(|step| match &step.ask {
                Ask::Number { measure, .. } => Some(*measure),
                Ask::YesNo { measure, .. } => *measure,
                _ => None,
            })
            .collect();
        for measure in annual_readings(*kind) {
            assert!(asked.contains(measure), "{kind:?}: {measure:?}");
        }
    }
}

#[test]
fn every_event_is_tested_on_every_kind_that_it_can_happen_to() {
    let all = starter_plans();
    for kind in Kind::ALL {
        for event in Event::ALL {
            let wet = kind.is_source() || kind.is_tool() || kind.is_conduit();
            let can = wet || !matches!(event, Event::FluidMix | Event::TrappedPressure);
            let hits =
                |starter: &&Starter| matches!(&starter.plan.rhythm, Rhythm::Event { events } if events.contains(event)) && starter.plan.covers.has(*kind, None);
            assert_eq!(all.iter().filter(hits).count(), usize::from(can), "{kind:?} {event:?}");
        }
    }
}

#[test]
fn every_step_names_its_source_or_says_that_it_has_none() {
    let (mut published, mut practice) = (0, 0);
    for Starter { key, plan } in starter_plans() {
        for step in &plan.steps {
            match &step.source {
                Source::Published { text } => {
                    assert!(
                        ["DGUV", "DIN 20066", "Fresno", "trade press"].iter().any(|known| text.contains(known)),
                        "{key} {}: {text}",
                        step.id
                    );
                    published += 1;
                }
                Source::Practice => practice += 1,
            }
        }
    }
    assert!(published > 100 && practice > 50, "{published} {practice}");
}

#[test]
fn a_leak_is_never_looked_for_without_the_caution() {
    for Starter { key, plan } in starter_plans() {
        for step in &plan.steps {
            let words = format!("{} {}", step.title, step.how).to_lowercase();
            if words.contains("leak") || words.contains("with a card") {
                assert!(
                    step.caution.as_ref().is_some_and(|caution| caution.contains("never with a hand")),
                    "{key} {}",
                    step.id
                );
            }
            if step.stage == Stage::Load {
                assert!(step.caution.is_some(), "{key} {}", step.id);
            }
        }
    }
}

#[test]
fn load_tests_hold_the_published_limits_and_ask_the_maker_where_none_was_seen() {
    let limits = |kind: Kind, id: &str| {
        let plan = of(kind, "load").unwrap();
        assert_eq!(plan.rhythm, Rhythm::Months { months: 36 });
        let step = plan.steps.into_iter().find(|step| step.id == id).unwrap();
        assert_eq!(step.stage, Stage::Load);
        match step.ask {
            Ask::Number { limits, .. } => limits,
            _ => vec![],
        }
    };
    let share = |bound, percent, of| Limit::ShareOfRating { bound, percent, of };
    for kind in [Kind::Spreader, Kind::CombinationTool] {
        assert_eq!(limits(kind, "spreading-force"), [share(Bound::AtLeast, 90, RatedFigure::SpreadingForce)]);
        assert_eq!(limits(kind, "pulling-force"), [share(Bound::AtLeast, 90, RatedFigure::PullingForce)]);
    }
    assert_eq!(limits(Kind::Ram, "push-force"), [Limit::MakersBound]);
    for kind in [Kind::PowerUnit, Kind::HandPump] {
        assert!(limits(kind, "relief").contains(&share(Bound::AtMost, 110, RatedFigure::NominalPressure)));
        let plan = of(kind, "load").unwrap();
        let alone: Vec<_> = plan.steps.iter().filter(|step| step.pump_alone).collect();
        assert!(
            !alone.is_empty() && alone.iter().all(|step| step.optional),
            "a pump without a dump valve can be tested without it"
        );
    }
    for kind in [Kind::Hose, Kind::Battery, Kind::Accessory] {
        assert_eq!(of(kind, "load"), None);
    }
}
