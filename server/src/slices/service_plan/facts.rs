//! What the register says about a plan: which sets are due and why others are not, what districts can spare, what shops have.

use std::collections::{BTreeMap, HashMap, HashSet};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::service_plan::spare;

use super::{
    due::{DueDistrict, DueSet, DueShop, DueYear, PlanLeftOut, count, size},
    feed::PlanAsk,
    rules::{KnownNames, Window, window},
    stand_ins::{AwaySet, Judge, Reserve, stand_in},
};
use crate::{
    platform::{
        db::Db,
        door::lapses,
        error::Fault,
        ids::AgencyId,
        record::{self, Record, Row},
    },
    slices::{
        agencies::Agency,
        capability::{AnnualService, Fleet, FleetPiece, RigStanding, annual_service},
        districts::{District, DistrictId},
        pieces::{Piece, PieceState, Place, ToolSetId},
        rigs::{Duty, Rig, RigId},
        shops::{Shop, ShopId},
        stations::{Station, StationId},
        tool_sets::ToolSet,
    },
};

/// The register, as far as a plan needs it; a fixed number of queries.
pub struct Facts {
    agency: Agency,
    fleet: Fleet,
    now: DateTime<Utc>,
    today: NaiveDate,
    sets: Vec<(ToolSet, Option<DistrictId>)>,
    pieces: BTreeMap<ToolSetId, Vec<(Piece, Option<DistrictId>)>>,
    /// Pieces without a set that have an annual service, and those among them of which nobody knows when.
    loose: (u32, u32),
    districts: Vec<District>,
    /// The front-line rigs that are full now, and how many each district has.
    full_rigs: HashSet<RigId>,
    full: HashMap<DistrictId, u32>,
    shops: Vec<Shop>,
    rigs: HashMap<RigId, Rig>,
    stations: HashMap<StationId, String>,
}

/// All records of a kind, each with the district that it belongs to.
fn placed<R: Record>(db: &mut Db, agency: AgencyId) -> Result<Vec<(R, Option<DistrictId>)>, Fault> {
    let with_district = |row: &Row| Ok((row.read()?, row.district.map(|id| DistrictId(id.0))));
    record::all(db, agency, R::KIND)?.iter().map(with_district).collect()
}

/// What an ask may name.
pub fn known(db: &mut Db, agency: AgencyId) -> Result<KnownNames, Fault> {
    Ok(KnownNames {
        sets: record::read_all::<ToolSet>(db, agency)?.into_iter().map(|set| (set.id, set.name)).collect(),
        shops: record::read_all::<Shop>(db, agency)?.into_iter().map(|shop| (shop.id, shop.name)).collect(),
        districts: record::read_all::<District>(db, agency)?
            .into_iter()
            .map(|district| (district.id, district.name))
            .collect(),
    })
}

/// "1 piece has", "3 pieces have".
fn number(n: u32, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

impl Facts {
    /// Reads it.
    pub fn load(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<Self, Fault> {
        let own = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(|| anyhow::anyhow!("an agency without its record"))?;
        let own: Agency = own.read()?;
        let mut pieces: BTreeMap<ToolSetId, Vec<_>> = BTreeMap::new();
        let mut loose = (0, 0);
        for (piece, district) in placed::<Piece>(db, agency)? {
            if piece.state == PieceState::Retired {
                continue;
            }
            match (piece.tool_set, annual_service(&piece, piece.kind, &own.policy)) {
                (Some(set), _) => pieces.entry(set).or_default().push((piece, district)),
                (None, AnnualService::None) => {}
                (None, AnnualService::DueOn(_)) => loose.0 += 1,
                (None, AnnualService::Unknown) => loose = (loose.0 + 1, loose.1 + 1),
            }
        }
        let rigs: HashMap<RigId, Rig> = record::read_all::<Rig>(db, agency)?.into_iter().map(|rig| (rig.id, rig)).collect();
        let (mut full_rigs, mut full) = (HashSet::new(), HashMap::new());
        let late = lapses::late(db, agency, Rig::KIND, now)?;
        for (standing, district) in placed::<RigStanding>(db, agency)? {
            let standing = standing.as_read(now, &late);
            let front_line = rigs.get(&standing.id).is_some_and(|rig| rig.duty == Duty::FrontLine);
            if let Some(district) = district.filter(|_| front_line && standing.is_full()) {
                full_rigs.insert(standing.id);
                *full.entry(district).or_default() += 1;
            }
        }
        let fleet = Fleet::read(db, agency)?.ok_or_else(|| anyhow::anyhow!("an agency without its record"))?;
        Ok(Self {
            now,
            fleet,
            today: now.with_timezone(&own.time_zone).date_naive(),
            agency: own,
            sets: placed(db, agency)?,
            pieces,
            loose,
            districts: record::read_all(db, agency)?,
            full_rigs,
            full,
            shops: record::read_all(db, agency)?,
            rigs,
            stations: record::read_all::<Station>(db, agency)?
                .into_iter()
                .map(|station| (station.id, station.name))
                .collect(),
        })
    }

    /// What an ask may name.
    pub fn known(&self) -> KnownNames {
        KnownNames {
            sets: self.sets.iter().map(|(set, _)| (set.id, set.name.clone())).collect(),
            shops: self.shops.iter().map(|shop| (shop.id, shop.name.clone())).collect(),
            districts: self.districts.iter().map(|district| (district.id, district.name.clone())).collect(),
        }
    }

    fn pieces(&self, set: ToolSetId) -> &[(Piece, Option<DistrictId>)] {
        self.pieces.get(&set).map_or(&[], Vec::as_slice)
    }

    /// The district of a set: its home's, or the one where most of its pieces are.
    fn district(&self, set: &ToolSet, home: Option<DistrictId>) -> Option<DistrictId> {
        home.or_else(|| {
            let mut votes: BTreeMap<DistrictId, usize> = BTreeMap::new();
            for district in self.pieces(set.id).iter().filter_map(|(_, district)| *district) {
                *votes.entry(district).or_default() += 1;
            }
            votes.into_iter().max_by_key(|(_, votes)| *votes).map(|(district, _)| district)
        })
    }

    /// The rig that a set belongs on: by its home, or by where its pieces are.
    fn rig(&self, set: &ToolSet) -> Option<RigId> {
        match &set.home {
            Some(home) => home.rig(),
            None => self.pieces(set.id).iter().find_map(|(piece, _)| piece.place.rig()),
        }
    }

    /// Whether a rig that counts as full now may drop while a set is away: the one of its home, or any that its pieces are on.
    fn serves_a_full_rig(&self, set: &ToolSet) -> bool {
        let is_full = |rig: RigId| self.full_rigs.contains(&rig);
        match &set.home {
            Some(home) => home.rig().is_some_and(is_full),
            None => self.pieces(set.id).iter().filter_map(|(piece, _)| piece.place.rig()).any(is_full),
        }
    }

    fn home_words(&self, set: &ToolSet) -> String {
        let station = |id: &StationId| self.stations.get(id).cloned().unwrap_or_default();
        match &set.home {
            Some(Place::Rig { rig }) => self
                .rigs
                .get(rig)
                .map_or_else(String::new, |rig| format!("{}, {}", rig.name, station(&rig.station))),
            Some(Place::Shelf { station: of }) => format!("reserve of {}", station(of)),
            Some(Place::Shop { shop }) => self
                .shops
                .iter()
                .find(|known| known.id == *shop)
                .map_or_else(String::new, |shop| shop.name.clone()),
            Some(Place::Vendor { name, .. } | Place::Loan { name, .. }) => name.clone(),
            Some(Place::Transit { .. } | Place::Retired) | None => "no home".into(),
        }
    }

    fn spared(&self, ask: &PlanAsk) -> Vec<DueDistrict> {
        let spared = |district: &District| {
            let full = self.full.get(&district.id).copied().unwrap_or_default();
            let reckoned = count(spare(size(full), size(district.min_full)));
            DueDistrict {
                id: district.id,
                name: district.name.clone(),
                full,
                minimum: district.min_full,
                stand_ins: 0,
                most_away: reckoned,
                by_period: (0..ask.periods).map(|period| ask.said(district.id, period).unwrap_or(reckoned)).collect(),
                reserves: Vec::new(),
            }
        };
        self.districts.iter().map(spared).collect()
    }

    /// The sets of full rigs of a district that may be away, each with what its rig goes without then.
    pub fn gone(&self, year: &DueYear, district: DistrictId) -> Vec<AwaySet<'_>> {
        let mine = year
            .sets
            .iter()
            .enumerate()
            .filter(|(_, set)| set.district == Some(district) && set.takes_place);
        let rig_of = |set: &DueSet| self.sets.iter().find(|(known, _)| known.id == set.set).and_then(|(known, _)| self.rig(known));
        let gone = |(at, set): (usize, &DueSet)| {
            let rig = rig_of(set)?;
            let too = |other: &&DueSet| other.earliest <= set.latest && set.earliest <= other.latest && rig_of(other) == Some(rig);
            let away = year.sets.iter().filter(too).flat_map(|other| self.pieces(other.set));
            Some(AwaySet {
                at,
                rig: self.fleet.rigs.get(&rig)?,
                periods: set.earliest..=set.latest,
                pieces: away.map(|(piece, _)| piece.id).collect(),
            })
        };
        mine.filter_map(gone).collect()
    }

    /// The reserve sets of a district, with what of them lies on its shelves.
    pub fn reserves(&self, year: &DueYear, district: DistrictId) -> Vec<Reserve<'_>> {
        let on_shelf = |held: &&FleetPiece| matches!(held.piece.place, Place::Shelf { .. }) && held.scope.district == Some(district.0);
        let reserve = |(set, _): &(ToolSet, Option<DistrictId>)| {
            let due = year.sets.iter().position(|due| due.set == set.id);
            let own = |held: &&FleetPiece| held.piece.tool_set == Some(set.id);
            Reserve {
                set: set.id,
                name: set.name.clone(),
                pieces: self.fleet.pieces.iter().filter(own).filter(on_shelf).collect(),
                due,
                served_by: due.and_then(|at| year.sets.get(at)).map(|set| set.latest),
            }
        };
        let here = |(set, home): &&(ToolSet, Option<DistrictId>)| *home == Some(district) && matches!(set.home, Some(Place::Shelf { .. }));
        self.sets.iter().filter(here).map(reserve).collect()
    }

    /// What stand-ins are judged by.
    pub fn judge(&self) -> Judge<'_> {
        Judge::new(&self.fleet, &self.agency.policy, self.now, self.agency.time_zone)
    }

    /// What is due in the plan, and what is not. A fault names a field of the ask, under `body`.
    pub fn due(&self, ask: &PlanAsk) -> Result<DueYear, Fault> {
        ask.check("body", &self.known())?;
        if ask.begins(self.today).is_none() {
            return Err(Fault::field(
                "body.first_day",
                format!("This plan is over today, {}; begin it later", self.today),
            ));
        }
        let districts = self.spared(ask);
        let mut year = DueYear {
            periods: ask.named_periods(),
            sets: Vec::new(),
            shops: self.open(ask),
            left_out: Vec::new(),
            districts,
            stand_ins: BTreeMap::new(),
        };
        let mut later = 0;
        for (set, home) in &self.sets {
            self.weigh(ask, set, *home, &mut year, &mut later)?;
        }
        if later > 0 {
            year.left_out.push(PlanLeftOut {
                set: None,
                name: number(later, "set"),
                words: "fall due so late that their windows begin after the plan's end.".into(),
            });
        }
        if self.loose.0 > 0 {
            let mut words = "belong to no set, and a plan sends sets: put them into one to have them planned.".to_owned();
            if self.loose.1 > 0 {
                let pieces = number(self.loose.1, "piece");
                words.push_str(&format!(" Of {pieces} among them nobody knows when the annual service is due."));
            }
            year.left_out.push(PlanLeftOut {
                set: None,
                name: number(self.loose.0, "piece"),
                words,
            });
        }
        year.sets.sort_by(|a, b| a.due_on.cmp(&b.due_on).then_with(|| a.name.cmp(&b.name)));
        stand_in(self, ask, &mut year);
        Ok(year)
    }

    fn open(&self, ask: &PlanAsk) -> Vec<DueShop> {
        let names: HashMap<ShopId, &str> = self.shops.iter().map(|shop| (shop.id, shop.name.as_str())).collect();
        let open = ask.shops.iter().map(|shop| DueShop {
            id: shop.shop,
            name: names.get(&shop.shop).copied().unwrap_or_default().to_owned(),
            hours: (0..ask.periods).map(|period| shop.hours_in(period)).collect(),
        });
        open.collect()
    }

    /// Puts one set among what is due or what is left out.
    fn weigh(&self, ask: &PlanAsk, set: &ToolSet, home: Option<DistrictId>, year: &mut DueYear, later: &mut u32) -> Result<(), Fault> {
        let pieces = self.pieces(set.id);
        if pieces.is_empty() {
            return Ok(());
        }
        let pinned = ask.pins.iter().enumerate().find(|(_, pin)| pin.set == set.id);
        let (mut first, mut unknown): (Option<(NaiveDate, &str)>, Vec<&str>) = (None, Vec::new());
        for (piece, _) in pieces {
            match annual_service(piece, piece.kind, &self.agency.policy) {
                AnnualService::DueOn(day) if first.is_none_or(|(known, _)| day < known) => first = Some((day, &piece.tag)),
                AnnualService::Unknown => unknown.push(&piece.tag),
                AnnualService::DueOn(_) | AnnualService::None => {}
            }
        }
        let dateless = format!(
            "Nobody knows when {} of its pieces ({}) {} due: neither a last annual service nor a first day of service is on record. Enter one of them.",
            unknown.len(),
            unknown.join(", "),
            if unknown.len() == 1 { "is" } else { "are" },
        );
        let Some((due_on, tag)) = first else {
            if let Some((at, _)) = pinned {
                return Err(Fault::field(
                    format!("body.pins[{at}].set"),
                    "This set has no due day; enter the last annual service or the first day of service of its pieces first",
                ));
            }
            let words = if unknown.is_empty() {
                "None of its pieces has an annual service.".into()
            } else {
                dateless
            };
            year.left_out.push(PlanLeftOut {
                set: Some(set.id),
                name: set.name.clone(),
                words,
            });
            return Ok(());
        };
        let last = ask.last();
        let found = window(ask, due_on, self.today, ask.days_of(set.id));
        let Some(Window {
            earliest,
            due,
            latest,
            overdue,
        }) = found.or(pinned.map(|_| Window {
            earliest: last,
            due: last,
            latest: last,
            overdue: false,
        }))
        else {
            *later += 1;
            return Ok(());
        };
        let district = self.district(set, home);
        let reserve = self.rig(set).is_none();
        // What a reserve set counts for is worked out when all that is due is known.
        let takes_place = !reserve && district.is_some() && self.serves_a_full_rig(set);
        let mut words = format!("{tag} is due on {due_on}{}.", if overdue { ", overdue when the plan begins" } else { "" });
        if !reserve && !takes_place && district.is_some() {
            words.push_str(" Its rig is not full now: its district loses no full rig while it is away.");
        }
        match pinned {
            Some((_, pin)) if found.is_none() || !(earliest..=latest).contains(&pin.period) => words.push_str(" It is settled outside of its window."),
            _ => {}
        }
        year.sets.push(DueSet {
            set: set.id,
            name: set.name.clone(),
            district,
            home_words: self.home_words(set),
            pieces: count(pieces.len()),
            due_on,
            due_period: due,
            earliest,
            latest,
            hours: ask.hours_of(set.id),
            overdue,
            takes_place,
            words,
        });
        if !unknown.is_empty() {
            year.left_out.push(PlanLeftOut {
                set: Some(set.id),
                name: set.name.clone(),
                words: format!("It is planned by its other pieces. {dateless}"),
            });
        }
        Ok(())
    }
}
