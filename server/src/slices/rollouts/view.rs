//! How far a rollout has come: each rig with its stages and what holds it up, each shift with who is not signed off yet, and week by week
//! what the districts lose.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::ratings::Kind;
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    Rollout, RolloutId, RolloutRig, RolloutRigId, RolloutWord,
    facts::Facts,
    rules::is_over,
    shift::ShiftAnswer,
    stages::{StageAnswer, held_up},
};
use crate::{
    platform::{
        db::Db,
        door::lapses,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        capability::RigStanding,
        districts::{District, DistrictId},
        pieces::{Piece, PieceId},
        rigs::{Duty, Rig, RigId},
        stations::StationId,
    },
};

/// The most sentences of what stays aboard a rig.
const MOST_STAYS: usize = 100;

/// A piece of either set, with where it is.
#[derive(Debug, Serialize, ToSchema)]
pub struct RolloutPiece {
    /// The piece of the new or the old set.
    pub piece: PieceId,
    /// The piece's tag of now.
    pub tag: String,
    /// What kind of gear it is.
    pub kind: Kind,
    /// Where it is now, as a sentence goes on: "on the shelf of Station 2".
    pub place: String,
}

/// A rig of a rollout with its stages.
#[derive(Debug, Serialize, ToSchema)]
pub struct RigProgress {
    /// The rig's place in the rollout.
    pub id: RolloutRigId,
    /// The rig that changes over.
    pub rig: RigId,
    /// The rig's name of now.
    pub name: String,
    /// Its station, whose shifts count.
    pub station: StationId,
    /// The Monday of its week; null: not planned.
    pub week: Option<NaiveDate>,
    /// The pieces of its new set that are on record, in the order of the plan.
    #[schema(max_items = 60)]
    pub pieces: Vec<RolloutPiece>,
    /// What of the old set is aboard, on its way there or has its home there; once it has changed over, what left it then, as it is now.
    #[schema(max_items = 400)]
    pub old: Vec<RolloutPiece>,
    /// What belongs with the old set by its family or battery system, is of no model that leaves, and so stays aboard, a sentence for each
    /// model. It holds nothing up.
    #[schema(max_items = 100)]
    pub stays: Vec<String>,
    /// When and by whom it was changed over; null: it was not.
    pub changed_over: Option<RolloutWord>,
    /// That the pieces are marked; null: nobody has said so.
    pub marked: Option<RolloutWord>,
    /// In which compartment they lie; null: nobody has said so.
    pub stowed: Option<RolloutWord>,
    /// Its stages, in order.
    #[schema(max_items = 9)]
    pub stages: Vec<StageAnswer>,
    /// Whether nothing holds its changeover up today; false once it has changed over.
    pub ready: bool,
    /// Revision of the rig's place in the rollout, for `expects`.
    pub rev: i64,
}

/// The shifts of a station for a rollout.
#[derive(Debug, Serialize, ToSchema)]
pub struct StationShifts {
    /// The station whose shifts these are.
    pub station: StationId,
    /// The station's name of now.
    pub name: String,
    /// The shifts that the rollout sets a minimum for, then others that the station has.
    #[schema(max_items = 24)]
    pub shifts: Vec<ShiftAnswer>,
}

/// What a week takes from a district.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeekDistrict {
    /// The district that loses full rigs meanwhile.
    pub district: DistrictId,
    /// The district's name of now.
    pub name: String,
    /// How many of its front-line rigs are full now.
    pub full: u32,
    /// How many it keeps at least.
    pub minimum: u32,
    /// How many of the full ones change over in the week.
    pub away: u32,
    /// Whether that is more than it can lose: judged by the levels of now, as if all of them were away at once.
    pub too_many: bool,
    /// The same as a sentence.
    pub words: String,
}

/// A week of a rollout.
#[derive(Debug, Serialize, ToSchema)]
pub struct RolloutWeek {
    /// Its Monday; null: the rigs without a week.
    pub week: Option<NaiveDate>,
    /// Whether it is over.
    pub over: bool,
    /// Its rigs, by name.
    #[schema(max_items = 500)]
    pub rigs: Vec<RigProgress>,
    /// The districts that lose a full rig in it for the changeover, those that cannot first.
    #[schema(max_items = 500)]
    pub districts: Vec<WeekDistrict>,
}

/// How far a rollout has come.
#[derive(Debug, Serialize, ToSchema)]
pub struct RolloutProgress {
    /// The rollout whose progress this is.
    pub rollout: RolloutId,
    /// The day that sign-offs and weeks are judged by, in the agency's time zone.
    pub today: NaiveDate,
    /// How many rigs are planned.
    pub planned: usize,
    /// How many of them have changed over.
    pub changed_over: usize,
    /// The weeks in order, at last the rigs without one.
    #[schema(max_items = 501)]
    pub weeks: Vec<RolloutWeek>,
    /// The stations of the rigs, by name.
    #[schema(max_items = 500)]
    pub stations: Vec<StationShifts>,
}

/// Full front-line rigs of now.
struct Levels {
    full: HashMap<RigId, DistrictId>,
    districts: HashMap<DistrictId, District>,
}

impl Levels {
    fn read(db: &mut Db, agency: AgencyId, facts: &Facts, now: DateTime<Utc>) -> Result<Self, Fault> {
        let late = lapses::late(db, agency, Rig::KIND, now)?;
        let mut full = HashMap::new();
        for standing in record::read_all::<RigStanding>(db, agency)? {
            let standing = standing.as_read(now, &late);
            let Some(rig) = facts.rigs.get(&standing.id).filter(|rig| rig.duty == Duty::FrontLine) else {
                continue;
            };
            if let Some(station) = facts.stations.get(&rig.station).filter(|_| standing.is_full()) {
                full.insert(rig.id, station.district);
            }
        }
        let districts = record::read_all::<District>(db, agency)?;
        Ok(Self {
            full,
            districts: districts.into_iter().map(|district| (district.id, district)).collect(),
        })
    }

    /// What rigs that are all away at once take from their districts.
    fn lost(&self, rigs: &[RigProgress]) -> Vec<WeekDistrict> {
        let mut away: BTreeMap<DistrictId, u32> = BTreeMap::new();
        for rig in rigs.iter().filter(|rig| rig.changed_over.is_none()) {
            if let Some(district) = self.full.get(&rig.rig) {
                *away.entry(*district).or_default() += 1;
            }
        }
        let mut all: Vec<WeekDistrict> = away
            .into_iter()
            .filter_map(|(id, away)| {
                let district = self.districts.get(&id)?;
                let full = u32::try_from(self.full.values().filter(|other| **other == id).count()).unwrap_or(u32::MAX);
                let too_many = full.saturating_sub(away) < district.min_full;
                let are = if full == 1 { "rig is" } else { "rigs are" };
                let but = if too_many { ": more than it can lose at once" } else { "" };
                Some(WeekDistrict {
                    district: id,
                    name: district.name.clone(),
                    full,
                    minimum: district.min_full,
                    away,
                    too_many,
                    words: format!(
                        "{}: {full} {are} full now and it keeps {} at least; {away} of them change over in this week{but}",
                        district.name, district.min_full
                    ),
                })
            })
            .collect();
        all.sort_by(|a, b| (!a.too_many, &a.name).cmp(&(!b.too_many, &b.name)));
        all
    }
}

/// Reads it.
pub fn progress(db: &mut Db, agency: AgencyId, rollout: &Rollout, now: DateTime<Utc>) -> Result<RolloutProgress, Fault> {
    let facts = Facts::read(db, agency, rollout, now)?;
    let levels = Levels::read(db, agency, &facts, now)?;
    let mut stations: BTreeMap<StationId, StationShifts> = BTreeMap::new();
    let mut weeks: BTreeMap<(bool, Option<NaiveDate>), Vec<RigProgress>> = BTreeMap::new();
    for row in record::of_parent(db, agency, RolloutRig::KIND, rollout.id.0)? {
        let plan: RolloutRig = row.read()?;
        let Some(rig) = facts.rigs.get(&plan.rig) else { continue };
        let shifts = stations.entry(rig.station).or_insert_with(|| {
            let (name, shifts) = facts.shifts(rollout, rig.station);
            StationShifts {
                station: rig.station,
                name,
                shifts,
            }
        });
        let stages = facts.stages(rollout, &plan, (&shifts.name, &shifts.shifts));
        let one = of_rig(&facts, rig, plan, stages);
        weeks.entry((one.week.is_none(), one.week)).or_default().push(one);
    }
    let (planned, done) = (
        weeks.values().map(Vec::len).sum(),
        weeks.values().flatten().filter(|rig| rig.changed_over.is_some()).count(),
    );
    let week = |((_, week), rigs): ((bool, Option<NaiveDate>), Vec<RigProgress>)| RolloutWeek {
        week,
        over: week.is_some_and(|week| is_over(week, facts.ground.today)),
        districts: if week.is_some() { levels.lost(&rigs) } else { Vec::new() },
        rigs,
    };
    let mut stations: Vec<StationShifts> = stations.into_values().collect();
    stations.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(RolloutProgress {
        rollout: rollout.id,
        today: facts.ground.today,
        planned,
        changed_over: done,
        weeks: weeks.into_iter().map(week).collect(),
        stations,
    })
}

fn of_rig(facts: &Facts, rig: &Rig, plan: RolloutRig, stages: Vec<StageAnswer>) -> RigProgress {
    let shown = |piece: &Piece| RolloutPiece {
        piece: piece.id,
        tag: piece.tag.clone(),
        kind: piece.kind,
        place: facts.ground.place(&piece.place),
    };
    let old: Vec<RolloutPiece> = match plan.changed_over {
        None => facts.old_of(rig.id).into_iter().map(shown).collect(),
        Some(_) => plan.went.iter().filter_map(|went| facts.piece(went.piece)).map(shown).collect(),
    };
    RigProgress {
        id: plan.id,
        rig: rig.id,
        name: rig.name.clone(),
        station: rig.station,
        week: plan.week,
        pieces: plan.pieces.iter().filter_map(|id| facts.piece(*id)).map(shown).collect(),
        old,
        stays: facts.stays(rig.id).into_iter().take(MOST_STAYS).collect(),
        ready: plan.changed_over.is_none() && held_up(&stages).is_empty(),
        changed_over: plan.changed_over,
        marked: plan.marked,
        stowed: plan.stowed,
        stages,
        rev: plan.rev,
    }
}
