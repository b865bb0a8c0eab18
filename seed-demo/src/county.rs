//! The register of the county as it stands on the first day of the story: who is where, and what each rig carries.

use crate::{
    catalogue::{Family, Kind, Model, models},
    classes::Class,
    dice::Dice,
    kit::{RESERVES, kit},
    people::{ADMIN, Member, members},
    places::{DISTRICTS, District, Duty, RIGS, Rig, STATIONS, Station},
    when::{FIRST_DAY, begins, days_before, years_before},
};
use anyhow::{Context as _, Result};
use chrono::{DateTime, Datelike as _, NaiveDate, Utc};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A repair shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shop {
    /// The one that every agency begins with.
    Fleet,
    /// The county's second one.
    North,
}

/// Where a piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    Rig(Uuid),
    Shelf(Uuid),
    Shop(Shop),
    Vendor { name: &'static str, due_on: NaiveDate },
    Loan { name: &'static str, due_on: NaiveDate },
}

/// A piece on the first day.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    pub id: Uuid,
    pub tag: String,
    pub kind: Kind,
    pub family: Family,
    pub model: &'static str,
    pub serial: String,
    pub made_on: NaiveDate,
    pub since: NaiveDate,
    pub served_on: Option<NaiveDate>,
    pub place: Place,
    pub note: Option<&'static str>,
    /// What it is on its rig or shelf: "hose 2".
    pub role: &'static str,
    /// The station of its rig or shelf; 0 in a shop.
    pub station: u8,
}

/// A rig or a shelf with what lies on it and when that was last serviced, as days before the story's end.
#[derive(Debug, PartialEq)]
pub struct Unit {
    pub name: String,
    pub place: Place,
    pub served_ago: i64,
    pub pieces: Vec<Uuid>,
    pub set: Option<Uuid>,
}

/// Everything that there is on the first day.
#[derive(Debug)]
pub struct County {
    pub today: NaiveDate,
    pub north_shop: Uuid,
    pub districts: Vec<(Uuid, &'static District)>,
    pub stations: Vec<(Uuid, &'static Station)>,
    pub rigs: Vec<(Uuid, &'static Rig)>,
    pub members: Vec<(Uuid, &'static Member)>,
    pub models: Vec<(Uuid, Model)>,
    pub classes: Vec<(Uuid, Class)>,
    pub pieces: Vec<Piece>,
    pub units: Vec<Unit>,
}

/// When the last service before the story was, as days before its end, where the tale needs it so.
const SERVED: &[(&str, i64)] = &[("Engine 16", 365 + 38), ("Ladder 9", 365 + 12), ("Engine 19", 365 + 5), ("Ladder 23", 365 + 9)];

/// Rigs whose annual service is due, inside the agency's grace, and booked for the days to come.
pub const BOOKED: &[&str] = &["Engine 19", "Ladder 23"];

/// The day on which the ten years of Engine 22's hose end, as days before the story's end.
pub const HOSE_ENDS: i64 = 24;

/// How long a hose serves, in years.
pub const HOSE_YEARS: u32 = 10;

struct Builder {
    dice: Dice,
    at: DateTime<Utc>,
    today: NaiveDate,
    tags: BTreeMap<Kind, u32>,
    models: Vec<(Uuid, Model)>,
    pieces: Vec<Piece>,
    units: Vec<Unit>,
}

impl Builder {
    fn id(&mut self) -> Uuid {
        self.dice.id(self.at)
    }

    /// How many days ago a piece of that family came into service.
    fn age(&mut self, kind: Kind, family: Family) -> i64 {
        let years = |from: i64, to: i64| (from * 365, to * 365);
        let (from, to) = match (kind, family) {
            (Kind::Hose, Family::Twin | Family::Ester) => years(5, 8),
            (Kind::Hose, _) => years(2, 8),
            (Kind::Battery, _) => years(2, 4),
            (_, Family::Push | Family::Pack54) => years(2, 6),
            (_, Family::Bayonet | Family::Pack36) => years(4, 9),
            (_, Family::Twin | Family::Ester) => years(12, 16),
            _ => years(2, 10),
        };
        self.dice.between(from, to)
    }

    fn piece(&mut self, role: &'static str, named: &'static str, place: &Place, station: u8, served_ago: i64) -> Result<Uuid> {
        let (_, model) = self
            .models
            .iter()
            .find(|(_, model)| model.name == named)
            .with_context(|| format!("no model {named}"))?;
        let (kind, family) = (model.kind, model.family);
        let id = self.id();
        let number = self.tags.entry(kind).and_modify(|n| *n += 1).or_insert(101);
        let tag = format!("{}-{number}", kind.code());
        let age = self.age(kind, family);
        let since = days_before(self.today, age);
        let made_on = days_before(since, self.dice.between(40, 150));
        let maker: String = named.split(' ').next().unwrap_or_default().chars().take(2).collect();
        // The last three digits tell all pieces apart.
        let serial = format!(
            "{}{:02}{:02}{:03}",
            maker.to_uppercase(),
            made_on.year().rem_euclid(100),
            self.dice.between(1, 99),
            self.pieces.len()
        );
        let served_on = kind.is_serviced().then(|| days_before(self.today, served_ago));
        let piece = Piece {
            id,
            tag,
            kind,
            family,
            model: named,
            serial,
            made_on,
            since,
            served_on,
            place: place.clone(),
            note: None,
            role,
            station,
        };
        self.pieces.push(piece);
        Ok(id)
    }

    fn unit(&mut self, name: &str, place: Place, station: u8, kit: &[(&'static str, &'static str)], is_set: bool) -> Result<()> {
        let fixed = SERVED.iter().find(|(rig, _)| *rig == name).map(|(_, ago)| *ago);
        let chance = self.dice.between(FIRST_DAY + 8, FIRST_DAY + 345);
        let served_ago = fixed.unwrap_or(chance);
        let pieces = kit
            .iter()
            .map(|(role, model)| self.piece(role, model, &place, station, served_ago))
            .collect::<Result<Vec<_>>>()?;
        let set = is_set.then(|| self.id());
        self.units.push(Unit {
            name: name.to_owned(),
            place,
            served_ago,
            pieces,
            set,
        });
        Ok(())
    }
}

impl County {
    /// The county of a story that ends on that day.
    pub fn build(today: NaiveDate) -> Result<Self> {
        let at = begins(today);
        let mut dice = Dice::new(0x00C0_FFEE);
        let north_shop = dice.id(at);
        let districts = DISTRICTS.iter().map(|district| (dice.id(at), district)).collect();
        let stations: Vec<_> = STATIONS.iter().map(|station| (dice.id(at), station)).collect();
        let rigs: Vec<_> = RIGS.iter().map(|rig| (dice.id(at), rig)).collect();
        let members = members().filter(|member| member.person != &ADMIN).map(|member| (dice.id(at), member)).collect();
        let models: Vec<_> = models().into_iter().map(|model| (dice.id(at), model)).collect();
        let classes = Class::ALL.into_iter().map(|class| (dice.id(at), class)).collect();
        let mut builder = Builder {
            dice,
            at,
            today,
            tags: BTreeMap::new(),
            models,
            pieces: Vec::new(),
            units: Vec::new(),
        };
        for (id, rig) in rigs.iter().filter(|(_, rig)| rig.duty == Duty::FrontLine) {
            builder.unit(rig.name, Place::Rig(*id), rig.station, &kit(rig), true)?;
        }
        for (id, station) in &stations {
            let kit: Vec<_> = RESERVES
                .iter()
                .filter(|(number, ..)| *number == station.number)
                .map(|(_, role, model)| (*role, *model))
                .collect();
            if !kit.is_empty() {
                let name = format!("Station {} reserve", station.number);
                builder.unit(&name, Place::Shelf(*id), station.number, &kit, kit.len() >= 5)?;
            }
        }
        builder.unit(
            "Fleet shop",
            Place::Shop(Shop::Fleet),
            0,
            &[("solo power", "Ferrowick Solo"), ("bench hose", "Ferrowick Coax 30")],
            false,
        )?;
        for (id, rig) in rigs.iter().filter(|(_, rig)| rig.duty != Duty::FrontLine) {
            builder.unit(rig.name, Place::Rig(*id), rig.station, &kit(rig), rig.duty == Duty::ReadyReserve)?;
        }
        let Builder { models, pieces, units, .. } = builder;
        let mut county = Self {
            today,
            north_shop,
            districts,
            stations,
            rigs,
            members,
            models,
            classes,
            pieces,
            units,
        };
        let ends = days_before(today, HOSE_ENDS);
        let old = county.aboard("Engine 22", "hose 2")?.id;
        for piece in county.pieces.iter_mut().filter(|piece| piece.id == old) {
            piece.made_on = years_before(ends, HOSE_YEARS);
            piece.since = days_before(piece.made_on, -60);
            piece.note = Some("Last of the old twin lines; its date is stamped on the ferrule.");
        }
        Ok(county)
    }

    /// The model of a piece.
    pub fn model(&self, piece: &Piece) -> Result<&Model> {
        let found = self.models.iter().find(|(_, model)| model.name == piece.model);
        found.map(|(_, model)| model).with_context(|| format!("no model {}", piece.model))
    }

    /// What a rig carries, or a shelf holds, in that role on the first day.
    fn of(&self, unit: &str, role: &str) -> Result<&Piece> {
        let unit = self.units.iter().find(|known| known.name == unit).with_context(|| format!("no {unit}"))?;
        let found = self.pieces.iter().find(|piece| piece.role == role && unit.pieces.contains(&piece.id));
        found.with_context(|| format!("{} has no {role}", unit.name))
    }

    /// What a rig carries in that role on the first day.
    pub fn aboard(&self, rig: &str, role: &str) -> Result<&Piece> {
        self.of(rig, role)
    }

    /// What a station's shelf holds in that role on the first day.
    pub fn reserve(&self, station: u8, role: &str) -> Result<&Piece> {
        self.of(&format!("Station {station} reserve"), role)
    }

    /// What the fleet shop keeps in that role on the first day.
    pub fn in_shop(&self, role: &str) -> Result<&Piece> {
        self.of("Fleet shop", role)
    }

    pub fn rig(&self, name: &str) -> Result<(Uuid, &'static Rig)> {
        self.rigs
            .iter()
            .find(|(_, rig)| rig.name == name)
            .copied()
            .with_context(|| format!("no rig {name}"))
    }

    pub fn shelf(&self, station: u8) -> Result<Place> {
        let found = self.stations.iter().find(|(_, known)| known.number == station);
        found.map(|(id, _)| Place::Shelf(*id)).with_context(|| format!("no station {station}"))
    }
}
