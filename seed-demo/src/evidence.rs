//! What is wrong with a piece, and what its return rests on: the service's own words, as data.

use chrono::NaiveDate;
use serde_json::{Map, Value, json};

/// What kind of thing is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DefectClass {
    CutOrBlister,
    Leak,
    Deformation,
    DropOrOverload,
    Flood,
    Electrical,
    StuckUnderPressure,
    ControlDoesNotReturn,
    Other,
}

impl DefectClass {
    /// The name on the wire.
    pub const fn wire(self) -> &'static str {
        match self {
            Self::CutOrBlister => "cut_or_blister",
            Self::Leak => "leak",
            Self::Deformation => "deformation",
            Self::DropOrOverload => "drop_or_overload",
            Self::Flood => "flood",
            Self::Electrical => "electrical",
            Self::StuckUnderPressure => "stuck_under_pressure",
            Self::ControlDoesNotReturn => "control_does_not_return",
            Self::Other => "other",
        }
    }
}

/// What a gauge showed, or what somebody saw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    Value(f64, &'static str),
    Yes(bool),
}

/// One reading of a test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The name of the measure on the wire.
    pub measure: &'static str,
    pub shown: Shown,
}

impl Reading {
    /// A measured value with its unit.
    pub const fn value(measure: &'static str, value: f64, unit: &'static str) -> Self {
        Self {
            measure,
            shown: Shown::Value(value, unit),
        }
    }

    /// A yes or no.
    pub const fn said(measure: &'static str, yes: bool) -> Self {
        Self {
            measure,
            shown: Shown::Yes(yes),
        }
    }

    fn wire(&self) -> Value {
        match self.shown {
            Shown::Value(value, unit) => json!({ "measure": self.measure, "value": { "value": value, "unit": unit } }),
            Shown::Yes(yes) => json!({ "measure": self.measure, "yes": yes }),
        }
    }
}

/// The paper of the maker's service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// The company.
    pub by: &'static str,
    /// Its number.
    pub reference: &'static str,
    pub on: NaiveDate,
}

/// What a return rests on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    pub readings: Vec<Reading>,
    /// The maker's manual and its passage.
    pub manual: Option<String>,
    /// The paper of the maker's service.
    pub makers_service: Option<Paper>,
}

impl Evidence {
    /// Looked over as a whole by somebody who answers for it, and nothing found.
    pub fn looked_over() -> Self {
        Self {
            readings: vec![Reading::said("sound_to_look", true)],
            ..Self::default()
        }
    }

    /// The fields on the wire.
    pub fn fields(&self) -> Map<String, Value> {
        let mut fields = Map::new();
        fields.insert("readings".into(), self.readings.iter().map(Reading::wire).collect());
        if let Some(manual) = &self.manual {
            fields.insert("manual".into(), manual.as_str().into());
        }
        if let Some(Paper { by, reference, on }) = self.makers_service {
            fields.insert("makers_service".into(), json!({ "by": by, "reference": reference, "on": on }));
        }
        fields
    }

    pub fn wire(&self) -> Value {
        self.fields().into()
    }
}
