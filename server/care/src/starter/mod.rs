//! Plans to begin with, for every kind. The agency confirms them before they count; what its makers' manuals say goes before them.
//!
//! A step's source is that of CHECKS A4, or common practice without one. Limits of cutters and rams under load were not seen in any
//! published text: those steps ask for the maker's bound, and stay unknown until it is entered.
//!
//! | file | holds |
//! | --- | --- |
//! | `steps` | how a step is written |
//! | `cautions`, `sources` | what is said more than once |
//! | `pumps`, `gauges`, `tools`, `hoses`, `small` | the steps by kind |
//! | `events` | tests after something happened |

mod cautions;
mod events;
mod gauges;
mod hoses;
mod pumps;
mod small;
mod sources;
mod steps;
mod tools;

use crate::plan::{CheckPlan, Covers, Proof, Rhythm, Signer, Step};
use crate::recurrence::{Frequency, Recurrence};
use chrono::NaiveDate;
use fullset_calc::ratings::Kind;

/// A plan to begin with.
#[derive(Debug, Clone, PartialEq)]
pub struct Starter {
    /// Its name for machines, which stays: `weekly-cutter`.
    pub key: String,
    /// The plan, version 1.
    pub plan: CheckPlan,
}

/// All plans to begin with: by kind after each use, weekly, monthly where that is usual, every 12 months; every 36 months under load where
/// there is something to load; after what happens to a piece.
#[must_use]
pub fn starter_plans() -> Vec<Starter> {
    let mut all = Vec::new();
    for kind in Kind::ALL {
        all.extend(of_kind(*kind));
    }
    all.extend(events::plans());
    all
}

/// What a kind is asked, by rhythm; no steps: it has no such check.
struct ByRhythm {
    after_use: Vec<Step>,
    weekly: Vec<Step>,
    monthly: Vec<Step>,
    annual: Vec<Step>,
    load: Vec<Step>,
}

fn of_kind(kind: Kind) -> Vec<Starter> {
    let asked = match kind {
        Kind::PowerUnit => pumps::power_unit(),
        Kind::HandPump => pumps::hand_pump(),
        Kind::Cutter => tools::cutter(),
        Kind::Spreader => tools::spreader(),
        Kind::CombinationTool => tools::combination_tool(),
        Kind::Ram => tools::ram(),
        Kind::Hose => hoses::hose(),
        Kind::Adapter => hoses::adapter(),
        Kind::Battery => small::battery(),
        Kind::Charger => small::charger(),
        Kind::Accessory => small::accessory(),
    };
    let months = |months| Rhythm::Months { months };
    let plans = [
        ("after-use", "After use", Rhythm::Use, asked.after_use, Signer::Member, 0, vec![Proof::Checked]),
        (
            "weekly",
            "Weekly check",
            calendar(Frequency::Weekly),
            asked.weekly,
            Signer::Member,
            2,
            vec![Proof::Checked],
        ),
        (
            "monthly",
            "Monthly check",
            calendar(Frequency::Monthly),
            asked.monthly,
            Signer::Officer,
            7,
            vec![Proof::Checked],
        ),
        (
            "annual",
            "Annual service",
            months(12),
            asked.annual,
            Signer::Technician,
            30,
            vec![Proof::Checked, Proof::Serviced],
        ),
        ("load", "Load test", months(36), asked.load, Signer::Technician, 30, vec![Proof::Checked]),
    ];
    let made = plans.into_iter().filter(|plan| !plan.3.is_empty());
    made.map(|(key, name, rhythm, steps, signer, grace_days, proves)| Starter {
        key: format!("{key}-{}", kind.name().replace('_', "-")),
        plan: CheckPlan {
            name: format!("{name}: {}", kind.word()),
            version: 1,
            covers: Covers {
                kinds: vec![kind],
                models: Vec::new(),
            },
            rhythm,
            steps,
            signer,
            grace_days,
            proves,
        },
    })
    .collect()
}

/// By the calendar from a Monday, the first of its month, at 08:00; the agency moves it to its own day and hour.
fn calendar(frequency: Frequency) -> Rhythm {
    let start = NaiveDate::from_ymd_opt(2024, 1, 1).and_then(|day| day.and_hms_opt(8, 0, 0));
    Rhythm::Calendar {
        rule: Recurrence::every(frequency),
        start: start.unwrap_or_default(),
    }
}
