//! What an agency calls *limited*, *full* and *heavy*: needs with alternatives.
//!
//! A grade is met when all its needs are met together, no piece counted twice, every tool on a line that runs. A higher
//! grade includes the lower ones. Two templates are shipped (`templates`); which one holds, and with which figures, is the
//! agency's decision: until it has decided, nothing is judged.

use super::wire::Level;
use crate::ratings::{Gear, Kind, Ratings};
use crate::units::{Dimension, Quantity};
use serde::{Deserialize, Serialize};

/// The most needs of one grade.
pub const MOST_NEEDS: usize = 12;
/// The most alternatives of one need.
pub const MOST_ALTERNATIVES: usize = 6;
/// The most parts of one alternative.
pub const MOST_PARTS: usize = 4;

/// How a tool is driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Drive {
    /// By a line from an engine or electric pump.
    PowerUnit,
    /// By a line from a hand pump.
    HandPump,
    /// By its own battery pack.
    Battery,
}

impl Drive {
    /// Every drive, in a fixed order.
    pub const ALL: &'static [Self] = &[Self::PowerUnit, Self::HandPump, Self::Battery];

    /// The trade word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::PowerUnit => "power unit",
            Self::HandPump => "hand pump",
            Self::Battery => "battery",
        }
    }
}

/// One piece that an alternative asks for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Part {
    /// The kinds that serve: tools, or accessories; one at least, each once.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 11))]
    pub kinds: Vec<Kind>,
    /// Which accessory, where `kinds` has accessories: another one does not serve.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gear: Option<Gear>,
    /// The ratings it must meet; for terms where less is better, the most that is accepted. A rating by another standard
    /// never meets a minimum.
    #[serde(default)]
    pub minimums: Ratings,
    /// How it may be driven, each way once; empty: as the grade allows.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(max_items = 3))]
    pub drives: Vec<Drive>,
}

/// Lengths that the parts of an alternative reach together without a gap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Cover {
    /// The shortest gap that a ram must fit into.
    pub from: Quantity,
    /// The longest that one must reach.
    pub to: Quantity,
}

/// One way to meet a need.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Alternative {
    /// The pieces that it takes, 1 to 4.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 4))]
    pub parts: Vec<Part>,
    /// The range from retracted to extended length that they cover together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covers: Option<Cover>,
}

/// Something that a rig must be able to do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Need {
    /// Short name, unique in the grade.
    #[cfg_attr(feature = "openapi", schema(example = "cut"))]
    pub id: String,
    /// The name that people read.
    #[cfg_attr(feature = "openapi", schema(example = "Cutter"))]
    pub name: String,
    /// The ways to meet it, 1 to 6; the first that works is taken.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 6))]
    pub alternatives: Vec<Alternative>,
}

/// What a rig must be able to do to reach a level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Grade {
    /// The needs, 1 to 12, all to be met together.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 12))]
    pub needs: Vec<Need>,
    /// How many tools that serve a need must run at once, 0 to 12.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(maximum = 12))]
    pub tools_at_once: u32,
    /// How many kinds of drive (power unit, hand pump, battery) the tools that serve a need have, 0 to 3.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(maximum = 3))]
    pub kinds_of_drive: u32,
    /// Charged packs beyond one for each battery tool that is counted on, 0 to 12; asks for nothing where none is.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(maximum = 12))]
    pub spare_packs: u32,
    /// The least length of hose between source and tool; adapters add nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line_length: Option<Quantity>,
    /// Whether a hand pump may drive a tool of this grade.
    #[serde(default)]
    pub hand_pump: bool,
}

/// The agency's grades.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Grades {
    /// Can begin an extrication.
    pub limited: Grade,
    /// Can do a whole one.
    pub full: Grade,
    /// Can do more; counts wherever full counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heavy: Option<Grade>,
}

/// What cannot stand in a grade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GradeFault {
    /// Where, from the grades down: `full.needs[0].alternatives[1].parts[0].minimums.push_force`.
    pub field: String,
    /// What is wrong, and what to write.
    pub reason: String,
}

impl Grades {
    /// The grades from the lowest up, each with the level that it gives.
    pub fn each(&self) -> impl DoubleEndedIterator<Item = (Level, &Grade)> {
        [(Level::Limited, &self.limited), (Level::Full, &self.full)]
            .into_iter()
            .chain(self.heavy.iter().map(|heavy| (Level::Heavy, heavy)))
    }

    /// The grade that gives a level.
    #[must_use]
    pub fn of(&self, level: Level) -> Option<&Grade> {
        self.each().find(|(of, _)| *of == level).map(|(_, grade)| grade)
    }

    /// Everything that cannot stand, in the order of the fields.
    #[must_use]
    pub fn faults(&self) -> Vec<GradeFault> {
        let mut all = Vec::new();
        for (level, grade) in self.each() {
            grade_faults(level.name(), grade, &mut all);
        }
        all
    }
}

fn grade_faults(at: &str, grade: &Grade, all: &mut Vec<GradeFault>) {
    let mut fault = |field: String, reason: String| all.push(GradeFault { field, reason });
    if grade.needs.is_empty() || grade.needs.len() > MOST_NEEDS {
        fault(format!("{at}.needs"), format!("A grade has from 1 to {MOST_NEEDS} needs"));
    }
    for (field, value, most) in [
        ("tools_at_once", grade.tools_at_once, 12),
        ("kinds_of_drive", grade.kinds_of_drive, 3),
        ("spare_packs", grade.spare_packs, 12),
    ] {
        if value > most {
            fault(format!("{at}.{field}"), format!("This is {most} at most"));
        }
    }
    if let Some(length) = grade.line_length
        && (length.dimension() != Dimension::Length || length.value <= 0.0 || length.si() > 100_000.0)
    {
        fault(format!("{at}.line_length"), "This is a length from above 0 to 100 m".into());
    }
    for (n, need) in grade.needs.iter().enumerate() {
        let here = format!("{at}.needs[{n}]");
        if need.id.trim().is_empty() || need.id.chars().count() > 40 || grade.needs.iter().take(n).any(|other| other.id == need.id) {
            fault(format!("{here}.id"), "Each need has a short name of its own, 40 characters at most".into());
        }
        if need.name.trim().is_empty() || need.name.chars().count() > 80 {
            fault(format!("{here}.name"), "Each need has a name, 80 characters at most".into());
        }
        if need.alternatives.is_empty() || need.alternatives.len() > MOST_ALTERNATIVES {
            fault(format!("{here}.alternatives"), format!("A need has from 1 to {MOST_ALTERNATIVES} alternatives"));
        }
        for (a, alternative) in need.alternatives.iter().enumerate() {
            alternative_faults(&format!("{here}.alternatives[{a}]"), alternative, &mut fault);
        }
    }
}

/// Where a list names again what it has named already; the list itself where it is longer than all that there is to name.
fn again<T: PartialEq>(list: &str, given: &[T], all: usize) -> Option<String> {
    if given.len() > all {
        return Some(list.to_owned());
    }
    let mut named = given.iter().enumerate();
    named
        .find(|(at, one)| given.iter().take(*at).any(|before| before == *one))
        .map(|(at, _)| format!("{list}[{at}]"))
}

fn alternative_faults(here: &str, alternative: &Alternative, fault: &mut dyn FnMut(String, String)) {
    if alternative.parts.is_empty() || alternative.parts.len() > MOST_PARTS {
        fault(format!("{here}.parts"), format!("An alternative has from 1 to {MOST_PARTS} parts"));
    }
    for (p, part) in alternative.parts.iter().enumerate() {
        let kinds = again("kinds", &part.kinds, Kind::ALL.len());
        let drives = again("drives", &part.drives, Drive::ALL.len());
        for at in kinds.into_iter().chain(drives) {
            fault(format!("{here}.parts[{p}].{at}"), "Name each once; this stands there again".into());
        }
        let serves = |kind: &Kind| kind.is_tool() || *kind == Kind::Accessory;
        if part.kinds.is_empty() || !part.kinds.iter().all(serves) {
            fault(
                format!("{here}.parts[{p}].kinds"),
                "A part is a tool or an accessory; sources, hoses and packs follow from the tools".into(),
            );
        }
        if part.kinds.contains(&Kind::Accessory) != part.gear.is_some() {
            fault(format!("{here}.parts[{p}].gear"), "Say which accessory it is, and only for an accessory".into());
        }
        for bad in part.minimums.minimum_faults(&part.kinds) {
            fault(format!("{here}.parts[{p}].minimums.{}", bad.term.name()), bad.reason);
        }
    }
    if let Some(cover) = alternative.covers {
        let length = |q: Quantity| q.dimension() == Dimension::Length && q.value > 0.0;
        if !length(cover.from) || !length(cover.to) || cover.from.si() >= cover.to.si() {
            fault(format!("{here}.covers"), "This is a range of lengths, the shorter one first".into());
        }
        if alternative.parts.iter().any(|part| part.kinds != [Kind::Ram]) {
            fault(format!("{here}.covers"), "Only rams cover a range of lengths".into());
        }
    }
}
