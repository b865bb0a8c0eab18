use chrono::NaiveDate;
use chrono_tz::Tz;
use fullset_calc::{
    capability::Grades,
    ratings::Kind,
    release::{AgencyRules, DefectClass, Measure, OwnCell, RepairWithin, SayUsable, Signature},
    units::Units,
};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{Agency, Locale, MapTiles, Policy, ReleaseRule, days::day_of, rules, tiles};
use crate::platform::{
    door::{Act, Permission, Reach, RevisionNeed, Write, at_most, text},
    error::Fault,
    outward::Outward,
    patch,
    record::Scope,
};

/// Founds the agency's record: its first command.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FoundAgency {
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// Its time zone by IANA name.
    #[schema(value_type = String)]
    pub time_zone: Tz,
    /// The units it works in.
    pub units: Units,
    /// How its screens spell and write dates; left out: `en-US` where its units are US customary, else `en-GB`.
    pub locale: Option<Locale>,
}

impl Act for FoundAgency {
    const KIND: &'static str = "agency.found";
    const SUMMARY: &'static str = "Found the agency: its first command, sent by `fullset setup`";
    const DONE: &'static str = "The agency was founded";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let id = write.agency;
        write.unused::<Agency>(id)?;
        let agency = Agency {
            id,
            name: named(&self.name)?,
            time_zone: self.time_zone,
            units: self.units,
            locale: self.locale.unwrap_or(Locale::usual(self.units)),
            policy: Policy::default(),
            grades: None,
            release_rules: Vec::new(),
            looser_rules: Vec::new(),
            map_tiles: None,
            rev: 0,
        };
        write.save(agency, Scope::default())
    }
}

/// Changes the agency's name, time zone, units, locale, map or policy. Where that decides about rigs, each is judged again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditAgency {
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New time zone by IANA name, in which days begin and end; left out: it stays.
    #[schema(value_type = Option<String>)]
    pub time_zone: Option<Tz>,
    /// New units for screens and papers; left out: they stay.
    pub units: Option<Units>,
    /// New spelling and order of dates on its screens; left out: they stay. No rig is judged otherwise by it.
    pub locale: Option<Locale>,
    /// New server for pictures of the map, whole; null for none; left out: it stays. No rig is judged otherwise by it.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<MapTiles>)]
    pub map_tiles: Option<Option<MapTiles>>,
    /// New policy, which replaces the old one whole; left out: that stays.
    pub policy: Option<Policy>,
    /// Why; needed where a rule becomes looser, and shown with what counts by it alone. Up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditAgency {
    const KIND: &'static str = "agency.edit";
    const SUMMARY: &'static str = "Change the agency's name, time zone, units, locale, map or policy";
    const DONE: &'static str = "The agency's name, time zone, units, locale, map or policy was changed";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("agency");

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        if let Some(name) = &self.name {
            named(name)?;
        }
        self.policy.as_ref().map_or(Ok(()), rules::policy)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let id = write.agency;
        let stored = write.find::<Agency>(id)?;
        write.expects(&stored)?;
        let mut agency = stored.record;
        if let Some(policy) = &self.policy {
            if let Some(words) = rules::easing(&agency.policy, policy) {
                write.note_eased(words);
            }
            if let Some(words) = rules::waived_factor(&agency.policy, policy) {
                write.note_eased(words);
            }
            agency.looser_rules = rules::looser_rules(&agency, policy, self.reason.as_deref().map(str::trim));
        }
        // Who signs in how decides nothing about a rig.
        let judging = |policy: &Policy| Policy {
            second_factor_roles: Vec::new(),
            ..policy.clone()
        };
        let judged_by = |agency: &Agency| (agency.time_zone, agency.units, judging(&agency.policy));
        let before = judged_by(&agency);
        if let Some(name) = self.name {
            agency.name = named(&name)?;
        }
        agency.time_zone = self.time_zone.unwrap_or(agency.time_zone);
        agency.units = self.units.unwrap_or(agency.units);
        agency.locale = self.locale.unwrap_or(agency.locale);
        if let Some(given) = self.map_tiles {
            let outward = write.provided::<Outward>().copied().unwrap_or_default();
            agency.map_tiles = given.map(|given| tiles::checked(given, outward)).transpose()?;
        }
        agency.policy = self.policy.unwrap_or(agency.policy);
        let same = judged_by(&agency) == before;
        write.save(agency, Scope::default())?;
        if same { Ok(()) } else { write.reconsider_all() }
    }
}

/// Chooses what the agency calls limited, full and heavy. Every rig is judged again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GradeAgency {
    /// What limited, full and heavy ask for; replaces all that was chosen before.
    pub grades: Grades,
    /// Why; needed where grades have been chosen before, and where a part of a grade asks for no rating: any piece of its kind would
    /// do. The journal keeps it; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for GradeAgency {
    const KIND: &'static str = "agency.grade";
    const SUMMARY: &'static str = "Choose what the agency calls limited, full and heavy";
    const DONE: &'static str = "What counts as limited, full and heavy was chosen";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::NeededToChange("agency");

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        rules::grades(&self.grades)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let id = write.agency;
        let stored = write.find::<Agency>(id)?;
        // The first choice overrules nobody.
        if stored.record.grades.is_some() || write.head.expects.is_some() {
            write.expects(&stored)?;
        }
        let mut agency = stored.record;
        if agency.grades.is_some() {
            write.note_eased("changes grades that were chosen before, and all rigs are judged by them");
        }
        for words in rules::unrated(&self.grades) {
            write.note_eased(words);
        }
        agency.grades = Some(self.grades);
        write.save(agency, Scope::default())?;
        write.reconsider_all()
    }
}

/// What the agency decides otherwise than the shipped table. What is left out stays as the table has it.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReleaseRuleRequest {
    /// Who may say that the piece can still be used.
    #[serde(default)]
    pub usable_by: Option<SayUsable>,
    /// What the crew must not do meanwhile and what to do instead, up to 4,000 characters; where the table lets nobody use it.
    #[serde(default)]
    pub limit: Option<String>,
    /// How long the repair may be put off.
    #[serde(default)]
    pub within: Option<RepairWithin>,
    /// Whose word its return takes.
    #[serde(default)]
    pub signs: Option<Signature>,
    /// Readings that its return takes beside those of the table; up to 16.
    #[serde(default)]
    #[schema(max_items = 16)]
    pub readings: Vec<Measure>,
}

/// Decides one cell of the table of releases otherwise than it ships, or clears that decision. It holds for what is reported and
/// returned from then on.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DecideReleaseRule {
    /// The kind of piece.
    pub kind: Kind,
    /// The class of defect.
    pub class: DefectClass,
    /// What is decided, whole; null clears it.
    pub rule: Option<ReleaseRuleRequest>,
    /// Why; needed where the rule is looser than the shipped one, or than it was. Pieces that it lets count show it.
    pub reason: Option<String>,
}

impl Act for DecideReleaseRule {
    const KIND: &'static str = "agency.release_rule";
    const SUMMARY: &'static str = "Decide for one kind and class of defect who says usable and who returns it, or go back to the shipped rule";
    const DONE: &'static str = "The agency's own rule for a kind and class of defect was changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::NeededToChange("agency");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.reason = self.reason.take().map(|reason| text("body.reason", &reason)).transpose()?;
        if let Some(rule) = &mut self.rule {
            rule.limit = rule.limit.take().map(|limit| text("body.rule.limit", &limit)).transpose()?;
            at_most("body.rule.readings", &rule.readings, 16, "reading")?;
            rule.readings.sort_unstable();
            rule.readings.dedup();
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let id = write.agency;
        let stored = write.find::<Agency>(id)?;
        let mut agency = stored.record.clone();
        let is_this = |cell: &OwnCell| cell.kind == self.kind && cell.class == self.class;
        // The first decision overrules nobody.
        if agency.release_rules.iter().any(|rule| is_this(&rule.cell)) || write.head.expects.is_some() {
            write.expects(&stored)?;
        }
        let before = agency.rules();
        agency.release_rules.retain(|rule| !is_this(&rule.cell));
        let clears = self.rule.is_none();
        let asked = self.rule.unwrap_or_default();
        let cell = OwnCell {
            kind: self.kind,
            class: self.class,
            usable_by: asked.usable_by,
            limit: asked.limit,
            within: asked.within,
            signs: asked.signs,
            readings: asked.readings,
            reason: self.reason.clone(),
        };
        let mut after: AgencyRules = agency.rules();
        if !clears {
            after.own.push(cell.clone());
        }
        rules::may_decide(&before, &after, &cell, self.reason.as_deref())?;
        if !clears {
            agency.release_rules.push(ReleaseRule {
                cell,
                by: write.actor.person(),
                since: write.head.at,
            });
        }
        write.save(agency, Scope::default())
    }
}

/// The time zone of the agency that a command is of.
pub fn zone(write: &mut Write<'_>) -> Result<Tz, Fault> {
    let agency = write.agency;
    Ok(write.find::<Agency>(agency)?.record.time_zone)
}

/// The day in the agency's time zone on which the service had the command. A phone without a signal sends days later what it did: a day
/// that the register keeps may lie between the two, and is held against this one.
pub fn day_received(write: &mut Write<'_>) -> Result<NaiveDate, Fault> {
    Ok(day_of(write.now(), zone(write)?))
}

/// The day in the agency's time zone on which it was done.
pub fn day_done(write: &mut Write<'_>) -> Result<NaiveDate, Fault> {
    Ok(day_of(write.head.at, zone(write)?))
}

fn named(name: &str) -> Result<String, Fault> {
    crate::platform::door::name("body.name", name)
}
