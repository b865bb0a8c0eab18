//! What a member says was measured, and whether that can be read at all.

use super::{Measure, plausible};
use crate::units::{Quantity, UnitFault};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// The most readings of one test.
pub const MOST_READINGS: usize = 40;

/// One reading: a value with its unit, or a yes or no.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Reading {
    /// What was measured or looked at, of the measures that are known.
    pub measure: Measure,
    /// The value, for what has a unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<Quantity>,
    /// The answer, for what is answered with yes or no.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yes: Option<bool>,
    /// What exactly, for *other*; and why, for a value beyond all measure. Up to 200 characters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(max_length = 200))]
    pub what: Option<String>,
}

impl Reading {
    /// A measured value.
    #[must_use]
    pub const fn of(measure: Measure, value: Quantity) -> Self {
        Self {
            measure,
            value: Some(value),
            yes: None,
            what: None,
        }
    }

    /// A yes or no.
    #[must_use]
    pub const fn said(measure: Measure, yes: bool) -> Self {
        Self {
            measure,
            value: None,
            yes: Some(yes),
            what: None,
        }
    }
}

/// The paper by which the maker's service answers for a piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct MakersPaper {
    /// The company that did the work: 1 to 200 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 200))]
    pub by: String,
    /// The number of its report: 1 to 200 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 200))]
    pub reference: String,
    /// The day on the paper: not in the future, and not before the day on which the damage was found.
    pub on: NaiveDate,
}

impl MakersPaper {
    /// "returned by the maker's service: Northfield Hydraulics, paper 118 of 2026-11-20".
    #[must_use]
    pub fn words(&self) -> String {
        format!("returned by the maker's service: {}, paper {} of {}", self.by, self.reference, self.on)
    }

    /// What is wrong with it as the paper for damage that was found on a day, told on a day. `found` is `None` where nothing was found
    /// that it has to answer for.
    #[must_use]
    pub fn fault(&self, found: Option<NaiveDate>, today: NaiveDate) -> Option<String> {
        if self.by.trim().is_empty() || self.reference.trim().is_empty() {
            return Some("A paper of the maker's service names the company, its number and its date".to_owned());
        }
        if self.on > today {
            return Some(format!("The paper of the maker's service is dated {}, which is in the future", self.on));
        }
        let found = found.filter(|found| self.on < *found)?;
        Some(format!(
            "The paper of the maker's service is dated {}, and what is wrong was found on {found}: it does not answer for that",
            self.on
        ))
    }
}

/// What a release rests on.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Evidence {
    /// What was measured and looked at; up to 40. Of two readings of one measure the worse counts.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_items = 40))]
    pub readings: Vec<Reading>,
    /// The manual and its passage, where the limit stands only there.
    #[serde(default)]
    pub manual: Option<String>,
    /// The paper of the maker's service.
    #[serde(default)]
    pub makers_service: Option<MakersPaper>,
    /// What was found and done.
    #[serde(default)]
    pub note: Option<String>,
}

/// A reading that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingFault {
    /// Its place in the list, `None` for the list itself.
    pub index: Option<usize>,
    /// The field of it.
    pub field: &'static str,
    /// What is wrong and what to write.
    pub words: String,
}

impl Evidence {
    /// What cannot be read: too many, the wrong unit, a number that is none, an answer that is missing. At most one fault for each reading.
    #[must_use]
    pub fn faults(&self) -> Vec<ReadingFault> {
        if self.readings.len() > MOST_READINGS {
            return vec![ReadingFault {
                index: None,
                field: "readings",
                words: format!("{} readings; a test has {MOST_READINGS} at most", self.readings.len()),
            }];
        }
        let faults = self.readings.iter().enumerate();
        faults
            .filter_map(|(n, reading)| fault(reading).map(|(field, words)| ReadingFault { index: Some(n), field, words }))
            .collect()
    }
}

fn is_said(text: Option<&str>) -> bool {
    text.is_some_and(|text| !text.trim().is_empty())
}

fn fault(reading: &Reading) -> Option<(&'static str, String)> {
    let label = reading.measure.label();
    if let Some(value) = reading.value
        && !(value.value.is_finite() && (0.0..=1e12).contains(&value.value))
    {
        return Some(("value", format!("{label}: a reading is a number from 0 up")));
    }
    if reading.what.as_ref().is_some_and(|what| what.chars().count() > 200) {
        return Some(("what", format!("{label}: this is longer than 200 characters; put the rest in the note")));
    }
    match (reading.measure.dimension(), reading.measure.sound_answer()) {
        (Some(dimension), _) => match reading.value {
            None => Some(("value", format!("{label}: write the value with its unit, {}", dimension.offer()))),
            Some(value) if value.dimension() != dimension => {
                let UnitFault { reason, .. } = UnitFault::wrong_dimension(value.unit, dimension, Some(value.value));
                Some(("value", format!("{label}: {reason}")))
            }
            Some(value) if plausible::is_above(reading.measure, value) && !is_said(reading.what.as_deref()) => Some((
                "value",
                format!(
                    "{label}: {}. If the gauge did show it, write why in `what`",
                    plausible::impossible(reading.measure, value).unwrap_or_default()
                ),
            )),
            Some(_) if reading.yes.is_some() => Some(("yes", format!("{label}: this has a value, not a yes or no"))),
            Some(_) => None,
        },
        (None, Some(_)) if reading.yes.is_none() => Some(("yes", format!("{label}: answer yes or no"))),
        (None, Some(_)) if reading.value.is_some() => Some(("value", format!("{label}: this is answered with yes or no, not with a value"))),
        (None, Some(_)) => None,
        (None, None) if reading.what.as_ref().is_none_or(|what| what.trim().is_empty()) => Some(("what", "Say what was measured".into())),
        (None, None) => None,
    }
}
