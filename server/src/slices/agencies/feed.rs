use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{Batteries, Grades},
    release::{AgencyRules, OwnCell},
    units::Units,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    auth::Role,
    ids::AgencyId,
    person::Person,
    record::{Index, Record},
};

/// One fire agency: the tenant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Agency {
    /// The UUID that the agency was founded under; it never changes.
    pub id: AgencyId,
    /// What the agency is called: 1 to 200 characters on one line.
    pub name: String,
    /// Its time zone by IANA name; days begin and end here.
    #[schema(value_type = String, example = "America/Denver")]
    pub time_zone: Tz,
    /// The units that screens and papers show.
    pub units: Units,
    /// How its screens spell and in which order they write a date; left out in a record from before there was a choice: `en-GB`.
    #[serde(default)]
    pub locale: Locale,
    /// What the agency has decided where no standard decides.
    pub policy: Policy,
    /// What the agency calls limited, full and heavy; null: not chosen yet, and no rig is judged.
    #[serde(default)]
    #[schema(required)]
    pub grades: Option<Grades>,
    /// Where the agency has decided otherwise than the shipped table who says *usable* and who returns a piece; at most one rule for
    /// each kind and class.
    #[serde(default)]
    #[schema(required, max_items = 132)]
    pub release_rules: Vec<ReleaseRule>,
    /// The rules of the policy that are looser than those the product ships with, each with why; 10 at most. What counts by one
    /// of them alone says so.
    #[serde(default)]
    #[schema(required, max_items = 10)]
    pub looser_rules: Vec<LooserRule>,
    /// Where pictures of the map beneath its marks come from; null: from nowhere, and the map shows marks and lines alone.
    #[serde(default)]
    #[schema(required)]
    pub map_tiles: Option<MapTiles>,
    /// Revision of the last change.
    pub rev: i64,
}

/// A server that has pictures of the map, in squares as web maps are cut. The service asks it and shows them at its own address; it sees
/// where the agency looks, and its terms have to allow it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MapTiles {
    /// The address of a picture, with `{z}` (how near), `{x}` and `{y}` (which square) once each after the server's name. Everybody in the
    /// agency can read it.
    #[schema(max_length = 1000, example = "https://tiles.example.org/base/{z}/{x}/{y}.png")]
    pub address: String,
    /// Whose map it is, as its terms ask for it: 1 to 200 characters of plain text. It stands below the map, and on what is printed.
    #[schema(max_length = 200)]
    pub attribution: String,
    /// The nearest `{z}` that the server has; nearer than that the same pictures are shown larger.
    #[schema(minimum = 1, maximum = 19)]
    pub nearest_zoom: u8,
}

impl MapTiles {
    /// The address of one picture.
    pub fn address_of(&self, zoom: u8, x: u32, y: u32) -> String {
        [("{z}", u32::from(zoom)), ("{x}", x), ("{y}", y)]
            .into_iter()
            .fold(self.address.clone(), |address, (part, number)| address.replace(part, &number.to_string()))
    }
}

/// How screens spell, and in which order they write a date in words. Figures have a decimal point in all of them; locales with a
/// decimal comma are not among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub enum Locale {
    /// United States: program, labor; Nov 30, 2026.
    #[serde(rename = "en-US")]
    EnUs,
    /// Canada: program, labour; 30 Nov 2026.
    #[serde(rename = "en-CA")]
    EnCa,
    /// United Kingdom: programme, labour; 30 Nov 2026. Screens read so before there was a choice.
    #[default]
    #[serde(rename = "en-GB")]
    EnGb,
    /// Ireland: as in the United Kingdom.
    #[serde(rename = "en-IE")]
    EnIe,
    /// Australia: program, labour; 30 Nov 2026.
    #[serde(rename = "en-AU")]
    EnAu,
    /// New Zealand: as in the United Kingdom.
    #[serde(rename = "en-NZ")]
    EnNz,
}

impl Locale {
    /// What an agency begins with that chose none.
    pub fn usual(units: Units) -> Self {
        match units {
            Units::Us => Self::EnUs,
            Units::Si => Self::EnGb,
        }
    }
}

/// A cell of the table of releases as the agency has decided it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ReleaseRule {
    /// The kind of piece, the class of defect, and what the agency decides of them.
    #[serde(flatten)]
    pub cell: OwnCell,
    /// Who decided it last.
    pub by: Person,
    /// From when on it holds (UTC): for what is reported and returned from then on.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
}

impl Agency {
    /// What the agency has decided beyond the table of releases.
    pub fn rules(&self) -> AgencyRules {
        AgencyRules {
            own: self.release_rules.iter().map(|rule| rule.cell.clone()).collect(),
        }
    }
}

/// A rule that the agency has made looser than the shipped one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LooserRule {
    /// The rule: the policy's field.
    pub rule: LooseRule,
    /// What it says: "annual check every 3650 days".
    pub words: String,
    /// Why, as it was written when the rule was made looser.
    pub reason: String,
}

/// A rule of the policy that can be made looser.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LooseRule {
    /// The grace for overdue checks.
    OverdueGraceDays,
    /// The time between annual services.
    AnnualCheckDays,
    /// The service life of a hose.
    HoseLifeYears,
    /// The pressure tolerance.
    PressureTolerance,
    /// How battery packs count.
    Batteries,
    /// Whether adapters may stand in a line.
    Adapters,
    /// Hoses of unknown age.
    UnknownHoseAge,
}

/// The agency's own decisions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Policy {
    /// Days that a check may be overdue before the piece stops counting; null: an overdue check is shown but never
    /// lowers capability.
    #[schema(minimum = 0, maximum = 3650)]
    pub overdue_grace_days: Option<u32>,
    /// Days between two annual services.
    #[schema(minimum = 1, maximum = 3650)]
    pub annual_check_days: u32,
    /// Years from its date of make that a hose serves; the published figure for rescue use is 10.
    #[schema(minimum = 1, maximum = 50)]
    pub hose_life_years: u32,
    /// How far two pressures may differ and still be the same rating, as a part of 1: 720 bar and 10,500 psi are printed
    /// as equal by makers.
    #[schema(minimum = 0, maximum = 0.02)]
    pub pressure_tolerance: f64,
    /// How battery packs count.
    pub batteries: Batteries,
    /// Whether adapters may stand in a line.
    pub adapters: bool,
    /// Until when a hose of unknown age is allowed, and why; null: it meets nothing.
    pub unknown_hose_age: Option<Allowance>,
    /// Room for the agency's photos, in MB of 1,048,576 bytes.
    #[serde(default = "usual_photo_quota")]
    #[schema(minimum = 0, maximum = 10_000_000)]
    pub photo_quota_mb: u32,
    /// When a duty day begins by the wall clock: what is done before belongs to the day before, and checks fall due then.
    #[serde(default = "usual_duty_day")]
    #[schema(value_type = String, pattern = r"^\d{2}:\d{2}:\d{2}$", example = "07:00:00")]
    pub duty_day_begins: NaiveTime,
    /// The roles whose members sign in with a second factor: without one they sign in only to set it up.
    #[serde(default)]
    #[schema(required, max_items = 6)]
    pub second_factor_roles: Vec<Role>,
}

/// What the coordinator allows although nobody knows, until a date.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Allowance {
    /// The last day on which it is allowed, in the agency's time zone.
    pub until: NaiveDate,
    /// Why, up to 4,000 characters; it is shown with every piece that it lets count.
    pub reason: String,
}

/// About 10,000 photos from a phone.
fn usual_photo_quota() -> u32 {
    5000
}

/// Seven in the morning (common practice, no source).
fn usual_duty_day() -> NaiveTime {
    NaiveTime::from_hms_opt(7, 0, 0).unwrap_or_default()
}

impl Default for Policy {
    fn default() -> Self {
        Self {
            overdue_grace_days: Some(30),
            annual_check_days: 365,
            hose_life_years: 10,
            pressure_tolerance: 0.01,
            batteries: Batteries::WhereOnRecord,
            adapters: true,
            unknown_hose_age: None,
            photo_quota_mb: usual_photo_quota(),
            duty_day_begins: usual_duty_day(),
            second_factor_roles: Vec::new(),
        }
    }
}

impl Record for Agency {
    const KIND: &'static str = "agency";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            ..Index::default()
        }
    }
}

impl Policy {
    /// The part of the policy that capability is worked out by.
    pub fn for_capability(&self) -> fullset_calc::capability::Policy {
        fullset_calc::capability::Policy {
            overdue_grace_days: self.overdue_grace_days,
            pressure_tolerance: self.pressure_tolerance,
            batteries: self.batteries,
            adapters: self.adapters,
        }
    }
}
