//! How long a piece serves: as a whole and by its parts, by age and by charge cycles.
//!
//! What the maker states is kept with the model. A hose, and a hose that is a part of something, also serves no longer than the agency's
//! policy says of hoses; the stricter of the two holds. A life whose beginning is not on record is unknown, and unknown is not young.

use crate::Fault;
use chrono::NaiveDate;
use fullset_calc::{capability::life_ends, plate::MadeOn, ratings::Kind};
use serde::{Deserialize, Serialize};

/// The most lives of one model, and the most parts of one piece whose date is kept.
pub const MOST_LIVES: usize = 6;
/// The longest life in years, as the policy's for hoses.
pub const MOST_YEARS: u32 = 50;
/// The longest life in charge cycles.
pub const MOST_CYCLES: u32 = 100_000;

/// What a life is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum LifePart {
    /// The piece as a whole.
    Whole,
    /// The short hose between a tool or pump and its coupling.
    WhipHose,
    /// The hose on a reel that is built in.
    ReelHose,
    /// A bag: of a lifting set, or what gear is kept in.
    Bag,
    /// A sling or strap.
    Sling,
    /// A chain.
    Chain,
}

impl LifePart {
    /// Every part, in the order of a form.
    pub const ALL: &'static [Self] = &[Self::Whole, Self::WhipHose, Self::ReelHose, Self::Bag, Self::Sling, Self::Chain];

    /// The word for it in a sentence: "whip hose".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Whole => "piece",
            Self::WhipHose => "whip hose",
            Self::ReelHose => "reel hose",
            Self::Bag => "bag",
            Self::Sling => "sling",
            Self::Chain => "chain",
        }
    }

    /// Whether the agency's life of hoses holds for it, on a piece of that kind.
    #[must_use]
    pub const fn is_hose(self, kind: Kind) -> bool {
        match self {
            Self::WhipHose | Self::ReelHose => true,
            Self::Whole => matches!(kind, Kind::Hose),
            Self::Bag | Self::Sling | Self::Chain => false,
        }
    }
}

/// How long pieces of a model serve, as its maker's manual has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ServiceLife {
    /// What it is of.
    pub part: LifePart,
    /// Years from the date of make: 1 to 50. Of a hose it may be left out; the agency's figure holds then.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 50))]
    pub years: Option<u32>,
    /// Charge cycles, of a battery pack: 1 to 100,000.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 100_000))]
    pub cycles: Option<u32>,
    /// Where it stands: the manual and its page, 1 to 200 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 200))]
    pub source: String,
}

/// When a part of a piece was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct PartMade {
    /// The part; not the piece as a whole.
    pub part: LifePart,
    /// Day or month in which the part was made, as its label says.
    pub made_on: MadeOn,
}

/// What the register knows of how old and how used a piece is.
#[derive(Debug, Clone, Copy)]
pub struct Wear<'a> {
    /// The kind that its model is of; a hose has the policy's life too.
    pub kind: Kind,
    /// When it was made.
    pub made_on: Option<MadeOn>,
    /// When its parts were.
    pub parts: &'a [PartMade],
    /// Charge cycles on record; `None`: nobody knows.
    pub cycles: Option<u32>,
}

/// When a life ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// From that day on it may not be used.
    On(NaiveDate),
    /// Its date of make is not on record.
    DateUnknown,
    /// When so many cycles are reached: the count on record, where one is, and the limit.
    AtCycles(Option<u32>, u32),
}

/// One life of a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Life<'a> {
    /// What it is of.
    pub part: LifePart,
    /// When this life ends, by day or by charge cycles.
    pub end: End,
    /// Where it stands; `None`: the agency's policy.
    pub source: Option<&'a str>,
}

/// What is wrong with the lives of a model of that kind; none: they can be kept.
#[must_use]
pub fn faults(kind: Kind, lives: &[ServiceLife]) -> Vec<Fault> {
    let mut found = Vec::new();
    if lives.len() > MOST_LIVES {
        found.push(Fault::new("service_lives", format!("{MOST_LIVES} parts are the most")));
    }
    for (n, life) in lives.iter().enumerate() {
        let mut refuse = |field: &str, words: &str| found.push(Fault::new(format!("service_lives[{n}].{field}"), words));
        if lives.iter().take(n).any(|other| other.part == life.part) {
            refuse("part", "The life of this part is given already; write one with years and cycles");
        }
        if life.part != LifePart::Whole && kind == Kind::Hose {
            refuse("part", "A hose is one part; give the life of the piece");
        }
        if life.source.trim().is_empty() {
            refuse("source", "Say where it stands: the manual and its page");
        }
        if life.years.is_some_and(|years| !(1..=MOST_YEARS).contains(&years)) {
            refuse("years", "A life is 1 to 50 years");
        }
        if life.cycles.is_some_and(|cycles| !(1..=MOST_CYCLES).contains(&cycles)) {
            refuse("cycles", "A life is 1 to 100,000 charge cycles");
        }
        if life.cycles.is_some() && (kind != Kind::Battery || life.part != LifePart::Whole) {
            refuse("cycles", "Only a battery pack as a whole counts charge cycles");
        }
        if life.years.is_none() && life.cycles.is_none() && !life.part.is_hose(kind) {
            refuse("years", "Give the years, the charge cycles of a pack, or both");
        }
    }
    found
}

/// What is wrong with the dates of parts; none: they can be kept.
#[must_use]
pub fn part_faults(parts: &[PartMade]) -> Vec<Fault> {
    let mut found = Vec::new();
    if parts.len() > MOST_LIVES {
        found.push(Fault::new("parts", format!("{MOST_LIVES} parts are the most")));
    }
    for (n, one) in parts.iter().enumerate() {
        let mut refuse = |words: &str| found.push(Fault::new(format!("parts[{n}].part"), words));
        if one.part == LifePart::Whole {
            refuse("The date of make of the piece itself is `made_on`");
        }
        if parts.iter().take(n).any(|other| other.part == one.part) {
            refuse("The date of this part is given already");
        }
    }
    found
}

/// The lives of a piece, as a whole first: those that its model's maker states, and of a hose the policy's. A life that ends beyond all
/// calendars is left out.
#[must_use]
pub fn lives<'a>(stated: &'a [ServiceLife], wear: Wear<'_>, hose_years: u32) -> Vec<Life<'a>> {
    let mut all = Vec::new();
    for part in LifePart::ALL.iter().copied() {
        let known = stated.iter().find(|life| life.part == part);
        if known.is_none() && part != LifePart::Whole {
            continue;
        }
        let makers = known.and_then(|life| life.years);
        let own = part.is_hose(wear.kind).then_some(hose_years);
        let source = known.filter(|_| makers.is_some_and(|years| own.is_none_or(|own| years <= own)));
        if let Some(years) = [makers, own].into_iter().flatten().min() {
            let made_on = match part {
                LifePart::Whole => wear.made_on,
                _ => wear.parts.iter().find(|one| one.part == part).map(|one| one.made_on),
            };
            let end = match made_on {
                None => Some(End::DateUnknown),
                Some(made) => life_ends(made.earliest(), years).map(End::On),
            };
            all.extend(end.map(|end| Life {
                part,
                end,
                source: source.map(|life| life.source.as_str()),
            }));
        }
        if let Some((life, limit)) = known.and_then(|life| life.cycles.map(|limit| (life, limit))) {
            all.push(Life {
                part,
                end: End::AtCycles(wear.cycles, limit),
                source: Some(&life.source),
            });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn life(part: LifePart, years: impl Into<Option<u32>>, cycles: impl Into<Option<u32>>) -> ServiceLife {
        ServiceLife {
            part,
            years: years.into(),
            cycles: cycles.into(),
            source: "manual, p. 12".into(),
        }
    }

    fn made(text: &str) -> Option<MadeOn> {
        text.parse().ok()
    }

    fn wear<'a>(kind: Kind, made_on: &str) -> Wear<'a> {
        Wear {
            kind,
            made_on: made(made_on),
            parts: &[],
            cycles: None,
        }
    }

    fn told(stated: &[ServiceLife], wear: Wear<'_>, hose_years: u32) -> Vec<(LifePart, End, bool)> {
        lives(stated, wear, hose_years)
            .into_iter()
            .map(|life| (life.part, life.end, life.source.is_some()))
            .collect()
    }

    fn on(day: &str) -> End {
        End::On(day.parse().unwrap())
    }

    #[test]
    fn a_hose_serves_ten_years_as_published_and_no_longer_than_its_maker_says() {
        // DGUV Grundsatz 305-002, 13.2.5, note: replaced 10 years after its date of make.
        let ten = |stated: &[ServiceLife], made_on| told(stated, wear(Kind::Hose, made_on), 10);
        assert_eq!(ten(&[], "2016-11-28"), [(LifePart::Whole, on("2026-11-28"), false)]);
        assert_eq!(
            ten(&[], "2016-11"),
            [(LifePart::Whole, on("2026-11-01"), false)],
            "the earliest day of the month"
        );
        assert_eq!(ten(&[], "2016-02-29"), [(LifePart::Whole, on("2026-02-28"), false)]);
        assert_eq!(ten(&[], ""), [(LifePart::Whole, End::DateUnknown, false)]);
        assert_eq!(ten(&[life(LifePart::Whole, 8, None)], "2016-11"), [(LifePart::Whole, on("2024-11-01"), true)]);
        assert_eq!(ten(&[life(LifePart::Whole, 15, None)], "2016-11"), [(LifePart::Whole, on("2026-11-01"), false)]);
    }

    #[test]
    fn parts_and_cycles_have_lives_of_their_own() {
        let combi = [life(LifePart::WhipHose, None, None)];
        assert_eq!(
            told(&combi, wear(Kind::CombinationTool, "2010-01"), 10),
            [(LifePart::WhipHose, End::DateUnknown, false)],
            "the tool's own date says nothing of a hose that was changed"
        );
        let parts = [PartMade {
            part: LifePart::WhipHose,
            made_on: made("2020-03").unwrap(),
        }];
        let dated = Wear {
            parts: &parts,
            ..wear(Kind::CombinationTool, "2010-01")
        };
        assert_eq!(told(&combi, dated, 10), [(LifePart::WhipHose, on("2030-03-01"), false)]);
        let pack = [life(LifePart::Whole, 5, 500)];
        for cycles in [None, Some(499), Some(500)] {
            let wear = Wear {
                cycles,
                ..wear(Kind::Battery, "2023-06-30")
            };
            let expected = [(LifePart::Whole, on("2028-06-30"), true), (LifePart::Whole, End::AtCycles(cycles, 500), true)];
            assert_eq!(told(&pack, wear, 10), expected);
        }
        assert!(told(&[], wear(Kind::Battery, ""), 10).is_empty(), "nobody has said how long it serves");
    }

    #[test]
    fn what_cannot_be_kept_says_where_and_why() {
        for (kind, lives, path) in [
            (Kind::Battery, vec![life(LifePart::Whole, None, None)], "service_lives[0].years"),
            (Kind::Battery, vec![life(LifePart::Whole, 0, None)], "service_lives[0].years"),
            (Kind::Battery, vec![life(LifePart::Whole, 51, None)], "service_lives[0].years"),
            (Kind::Battery, vec![life(LifePart::Whole, None, 0)], "service_lives[0].cycles"),
            (Kind::Hose, vec![life(LifePart::Whole, None, 500)], "service_lives[0].cycles"),
            (Kind::Hose, vec![life(LifePart::WhipHose, 10, None)], "service_lives[0].part"),
            (
                Kind::Accessory,
                vec![life(LifePart::Sling, 6, None), life(LifePart::Sling, 8, None)],
                "service_lives[1].part",
            ),
        ] {
            let found = faults(kind, &lives);
            assert_eq!(found.first().map(|fault| fault.path.as_str()), Some(path), "{found:?}");
        }
        assert!(faults(Kind::Cutter, &[life(LifePart::WhipHose, None, None)]).is_empty());
        let part = |part| PartMade {
            part,
            made_on: made("2020-03").unwrap(),
        };
        assert!(part_faults(&[part(LifePart::Bag), part(LifePart::Chain)]).is_empty());
        assert_eq!(part_faults(&[part(LifePart::Whole)]).len(), 1);
        assert_eq!(part_faults(&[part(LifePart::Bag), part(LifePart::Bag)]).len(), 1);
    }
}
