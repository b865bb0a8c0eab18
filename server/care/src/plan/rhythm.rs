use crate::recurrence::Recurrence;
use chrono::NaiveDateTime;
use fullset_calc::release::DefectClass;
use serde::{Deserialize, Serialize};

/// What happens to a piece so that it is tested before its next use (common practice, no source; CHECKS A4).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckEvent))]
pub enum Event {
    /// It fell.
    Drop,
    /// It was loaded beyond its rating.
    Overload,
    /// It was in a fire or in great heat.
    Fire,
    /// It was under water.
    Flood,
    /// Another fluid got in.
    FluidMix,
    /// It was run over.
    RunOver,
    /// Pressure was trapped in it.
    TrappedPressure,
}

impl Event {
    /// Every event.
    pub const ALL: &'static [Self] = &[
        Self::Drop,
        Self::Overload,
        Self::Fire,
        Self::Flood,
        Self::FluidMix,
        Self::RunOver,
        Self::TrappedPressure,
    ];

    /// As said after "after": "after a drop".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Drop => "a drop",
            Self::Overload => "an overload",
            Self::Fire => "a fire",
            Self::Flood => "a flood",
            Self::FluidMix => "a mix of fluids",
            Self::RunOver => "being run over",
            Self::TrappedPressure => "trapped pressure",
        }
    }

    /// The class of the defect that the piece has by it, until it is tested.
    #[must_use]
    pub const fn class(self) -> DefectClass {
        match self {
            Self::Drop | Self::Overload | Self::RunOver => DefectClass::DropOrOverload,
            Self::Fire => DefectClass::Fire,
            Self::Flood => DefectClass::Flood,
            Self::FluidMix => DefectClass::FluidMix,
            Self::TrappedPressure => DefectClass::StuckUnderPressure,
        }
    }
}

/// How often a plan asks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "every", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckRhythm))]
pub enum Rhythm {
    /// After each use, at once.
    Use,
    /// Each duty day, from its start on.
    Shift,
    /// By the calendar: each week, month, year. The wall clock of the agency's zone counts.
    Calendar {
        /// The rule; it does not end by itself.
        rule: Recurrence,
        /// The local time at which it begins; its time of day is that of every occurrence unless the rule names another.
        #[cfg_attr(
            feature = "openapi",
            schema(value_type = String, pattern = r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}$", example = "2026-01-05T08:00:00")
        )]
        start: NaiveDateTime,
    },
    /// So many months after the last pass, 1 to 240. Where a month has no such day its last one counts: a month after 31 January is 28 or
    /// 29 February.
    Months {
        /// Months between two checks.
        #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 240))]
        months: u32,
    },
    /// After so many uses since the last pass, 1 to 10,000.
    Uses {
        /// Uses between two checks.
        #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 10_000))]
        uses: u32,
    },
    /// After so many running hours since the last pass, 1 to 10,000.
    Hours {
        /// Running hours between two checks.
        #[cfg_attr(feature = "openapi", schema(minimum = 1, maximum = 10_000))]
        hours: u32,
    },
    /// After any of these, before the next use.
    Event {
        /// The events after each of which it is due.
        #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 7))]
        events: Vec<Event>,
    },
}

impl Rhythm {
    /// As people say it: "after each use", "weekly", "every 12 months".
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Use => "after each use".to_owned(),
            Self::Shift => "each shift".to_owned(),
            Self::Calendar { rule, .. } => rule.words(),
            Self::Months { months: 1 } => "every month".to_owned(),
            Self::Months { months } => format!("every {months} months"),
            Self::Uses { uses: 1 } => "after each use".to_owned(),
            Self::Uses { uses } => format!("every {uses} uses"),
            Self::Hours { hours } => format!("every {hours} running hours"),
            Self::Event { events } => {
                let words: Vec<&str> = events.iter().map(|event| event.words()).collect();
                format!("after {}", words.join(", "))
            }
        }
    }

    /// What it counts, as said after "after": "10 uses"; the words of the whole where it counts nothing.
    #[must_use]
    pub fn amount(&self) -> String {
        match self {
            Self::Uses { uses: 1 } => "1 use".to_owned(),
            Self::Uses { uses } => format!("{uses} uses"),
            Self::Hours { hours: 1 } => "1 running hour".to_owned(),
            Self::Hours { hours } => format!("{hours} running hours"),
            other => other.words(),
        }
    }

    /// Whether it counts uses or running hours.
    #[must_use]
    pub const fn counts(&self) -> bool {
        matches!(self, Self::Uses { .. } | Self::Hours { .. })
    }
}
