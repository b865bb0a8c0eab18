//! Which rigs take part in a swap plan, and how.

use serde::Serialize;
use utoipa::ToSchema;

use crate::{
    platform::auth::{Permission, Role},
    slices::{
        districts::DistrictId,
        rigs::{Duty, OutAt},
        stations::StationId,
    },
};

/// What a rig does in a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// It is mended, counts where it is full, and gives what it can spare without dropping.
    Whole,
    /// It gives whatever is aboard; nothing is brought to it.
    Gives,
    /// It is left alone.
    None,
}

/// Rigs that take part because somebody said so.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Also {
    /// Whether ready reserve rigs take part as front-line ones do.
    pub reserves: bool,
    /// Rigs that are out of service, but not lent.
    pub out: bool,
}

/// How a rig takes part. What is aboard a rig at the mechanic may not be at hand, and a ready reserve stands in with what it has: both
/// are left alone unless somebody says otherwise. A stripped reserve needs none of its tools. A lent rig is somebody else's for now.
pub fn part(duty: Duty, in_service: bool, out_at: Option<OutAt>, also: Also) -> Part {
    match (in_service, duty) {
        (false, _) if also.out && out_at != Some(OutAt::Lent) => Part::Gives,
        (false, _) => Part::None,
        (true, Duty::FrontLine) => Part::Whole,
        (true, Duty::StrippedReserve) => Part::Gives,
        (true, Duty::ReadyReserve) if also.reserves => Part::Whole,
        (true, Duty::ReadyReserve) => Part::None,
    }
}

/// Somebody who may start a move.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct WhoMayStart {
    /// The roles that may start it, each once.
    pub roles: Vec<Role>,
    /// Of this station; null: more than one station is concerned.
    pub station: Option<StationId>,
    /// Of this district; null: more than one district is concerned, so that only members of the whole agency may.
    pub district: Option<DistrictId>,
    /// The same in words: "an officer or chief of Station 4, or the coordinator".
    pub words: String,
}

/// A place that a move touches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touched {
    pub station: StationId,
    pub station_name: String,
    pub district: DistrictId,
    pub district_name: String,
}

/// Who may start a move that touches these places: the rig that gets the piece and the one that gives it.
pub fn who_may(places: &[Touched]) -> WhoMayStart {
    let station = places.first().filter(|first| places.iter().all(|place| place.station == first.station));
    let district = places.first().filter(|first| places.iter().all(|place| place.district == first.district));
    let words = match (station, district) {
        (Some(place), _) => format!("an officer or chief of {}, or the coordinator", place.station_name),
        (None, Some(place)) => format!("an officer or chief of the whole of {}, or the coordinator", place.district_name),
        (None, None) => "an officer or chief of the whole agency, or the coordinator".to_owned(),
    };
    WhoMayStart {
        roles: Role::MEMBERS.into_iter().filter(|role| role.grants(Permission::Handle)).collect(),
        station: station.map(|place| place.station),
        district: district.map(|place| place.district),
        words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_takes_part() {
        let (no, yes) = (Also::default(), Also { reserves: true, out: true });
        for (duty, out, usually, said) in [
            (Duty::FrontLine, None, Part::Whole, Part::Whole),
            (Duty::ReadyReserve, None, Part::None, Part::Whole),
            (Duty::StrippedReserve, None, Part::Gives, Part::Gives),
            (Duty::FrontLine, Some(OutAt::Mechanic), Part::None, Part::Gives),
            (Duty::StrippedReserve, Some(OutAt::Other), Part::None, Part::Gives),
            (Duty::FrontLine, Some(OutAt::Lent), Part::None, Part::None),
        ] {
            let found = [no, yes].map(|also| part(duty, out.is_none(), out, also));
            assert_eq!(found, [usually, said], "{duty:?} {out:?}");
        }
    }

    #[test]
    fn who_is_asked() {
        let [one, two] = [1, 2].map(uuid::Uuid::from_u128);
        let at = |station, district, name: &str| Touched {
            station: StationId(station),
            station_name: format!("Station {name}"),
            district: DistrictId(district),
            district_name: "North".into(),
        };
        let words = |places: &[Touched]| who_may(places).words;
        assert_eq!(words(&[at(one, one, "1")]), "an officer or chief of Station 1, or the coordinator");
        assert_eq!(
            words(&[at(one, one, "1"), at(two, one, "2")]),
            "an officer or chief of the whole of North, or the coordinator"
        );
        assert_eq!(
            words(&[at(one, one, "1"), at(two, two, "2")]),
            "an officer or chief of the whole agency, or the coordinator"
        );
        assert_eq!(
            who_may(&[at(one, one, "1")]).roles,
            [Role::Officer, Role::Chief, Role::Coordinator, Role::Admin]
        );
    }
}
