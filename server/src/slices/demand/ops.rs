use std::collections::HashSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Demand,
    feed::{DemandZone, MOST_MINUTES, MOST_STATIONS, MOST_ZONES, TravelTimes},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, at_most, name},
        error::{self, Fault},
        ids::AgencyId,
        patch,
        record::Scope,
    },
    slices::stations::Station,
};

/// Sets the demand, or parts of it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetDemand {
    /// The agency's own id; any other is refused.
    pub id: AgencyId,
    /// Where the figures come from.
    pub source: Option<String>,
    /// What a weight counts, such as "crashes a year".
    pub counts: Option<String>,
    /// Within how many minutes of travel a full rig should be there.
    #[schema(minimum = 0, maximum = 1440)]
    pub target_minutes: Option<f64>,
    /// Road distance over straight distance, 1 to 10.
    #[schema(minimum = 1, maximum = 10)]
    pub detour: Option<f64>,
    /// All zones, at most 2000. Times that were set before are dropped with the zones that they were for.
    #[schema(max_items = 2000)]
    pub zones: Option<Vec<DemandZone>>,
    /// Times that go before the curve; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<TravelTimes>)]
    pub times: Option<Option<TravelTimes>>,
}

impl Act for SetDemand {
    const KIND: &'static str = "demand.set";
    const SUMMARY: &'static str = "Set the demand zones, the travel times to them, the target or the detour factor";
    const DONE: &'static str = "Demand zones, travel times, target or detour factor set";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::NeededToChange("demand");

    fn prepare(&mut self) -> Result<(), Fault> {
        if let Some(times) = self.times.iter().flatten().next() {
            at_most("body.times.stations", &times.stations, MOST_STATIONS, "station")?;
            at_most("body.times.minutes", &times.minutes, MOST_ZONES, "row")?;
            for (at, row) in times.minutes.iter().enumerate() {
                at_most(&format!("body.times.minutes[{at}]"), row, MOST_STATIONS, "time")?;
            }
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        if self.id != write.agency {
            return Err(Fault::new(error::NOT_FOUND, "Demand goes by the agency's own id").at("body.id"));
        }
        let stored = write.look::<Demand>(self.id.0)?;
        if let Some(stored) = &stored {
            write.expects(stored)?;
        }
        let mut demand = stored.map_or_else(|| nothing_yet(self.id), |stored| stored.record);
        if let Some(source) = &self.source {
            demand.source = name("body.source", source)?;
        }
        if let Some(counts) = &self.counts {
            demand.counts = name("body.counts", counts)?;
        }
        if let Some(minutes) = self.target_minutes {
            demand.target_minutes = Some(minutes)
                .filter(|minutes| *minutes > 0.0 && *minutes <= MOST_MINUTES)
                .ok_or_else(|| Fault::field("body.target_minutes", "This is more than 0 and at most 1440 minutes"))?;
        }
        if let Some(detour) = self.detour {
            demand.detour = Some(detour)
                .filter(|detour| (1.0..=10.0).contains(detour))
                .ok_or_else(|| Fault::field("body.detour", "No road is shorter than the straight line: give 1 to 10, such as 1.3"))?;
        }
        if let Some(zones) = self.zones {
            check_zones(&zones)?;
            demand.zones = zones;
            demand.times = None;
        }
        if let Some(times) = self.times {
            if let Some(times) = &times {
                check_times(write, times, demand.zones.len())?;
            }
            demand.times = times;
        }
        write.save(demand, Scope::default())
    }
}

fn nothing_yet(id: AgencyId) -> Demand {
    Demand {
        id,
        source: "not said".into(),
        counts: "weight".into(),
        target_minutes: 8.0,
        detour: 1.3,
        zones: Vec::new(),
        times: None,
        rev: 0,
    }
}

fn check_zones(zones: &[DemandZone]) -> Result<(), Fault> {
    if zones.len() > MOST_ZONES {
        return Err(Fault::field(
            "body.zones",
            format!(
                "These are {} zones; {MOST_ZONES} is the most. Put zones beside each other together",
                zones.len()
            ),
        ));
    }
    let (mut ids, mut names) = (HashSet::new(), HashSet::new());
    for (at, zone) in zones.iter().enumerate() {
        let field = |what: &str| format!("body.zones[{at}].{what}");
        let given = name(&field("name"), &zone.name)?;
        if !names.insert(given.to_lowercase()) {
            return Err(Fault::field(field("name"), format!("There are two zones called {given}")));
        }
        if !ids.insert(zone.id) {
            return Err(Fault::field(field("id"), "There are two zones of this id"));
        }
        if !(-90.0..=90.0).contains(&zone.lat) || !(-180.0..=180.0).contains(&zone.lon) {
            return Err(Fault::field(
                field("lat"),
                "Latitude is from -90 to 90 degrees and longitude from -180 to 180; are they the wrong way round?",
            ));
        }
        if !(0.0..=1e9).contains(&zone.weight) {
            return Err(Fault::field(field("weight"), "A weight is a number from 0 to 1,000,000,000"));
        }
    }
    Ok(())
}

fn check_times(write: &mut Write<'_>, times: &TravelTimes, zones: usize) -> Result<(), Fault> {
    name("body.times.source", &times.source)?;
    let mut seen = HashSet::new();
    for (at, station) in times.stations.iter().enumerate() {
        write.named::<Station>(&format!("times.stations[{at}]"), *station)?;
        if !seen.insert(*station) {
            return Err(Fault::field(format!("body.times.stations[{at}]"), "This station has a column already"));
        }
    }
    if times.minutes.len() != zones {
        return Err(Fault::field(
            "body.times.minutes",
            format!(
                "There are {zones} zones and {} rows of minutes; give one row for each zone",
                times.minutes.len()
            ),
        ));
    }
    for (at, row) in times.minutes.iter().enumerate() {
        if row.len() != times.stations.len() {
            return Err(Fault::field(
                format!("body.times.minutes[{at}]"),
                "Give one time for each station, null where it is not known",
            ));
        }
        if let Some(column) = row
            .iter()
            .position(|minutes| minutes.is_some_and(|minutes| !(0.0..=MOST_MINUTES).contains(&minutes)))
        {
            return Err(Fault::field(
                format!("body.times.minutes[{at}][{column}]"),
                "Minutes are from 0 to 1440, or null",
            ));
        }
    }
    Ok(())
}
