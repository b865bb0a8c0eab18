//! The board of one agency, from what a process keeps of its rigs ([`Followed`](crate::platform::follow::Followed)).

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use fullset_calc::capability::{self as calc, Completeness, Level};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        bodies,
        db::Db,
        error::Fault,
        follow::{self, Follow},
        ids::AgencyId,
        past,
        record::Record,
    },
    slices::{
        agencies::Agency,
        capability::RigStanding,
        districts::{District, DistrictId},
        rigs::{Duty, OutAt, Rig, RigId},
        stations::{Station, StationId},
    },
};

/// One rig on the board.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RigLine {
    /// The rig that the line is about.
    id: RigId,
    /// The rig's name at the revision that the board shows.
    name: String,
    /// The name of the station that the rig belongs to.
    station: String,
    /// What it is there for; only front-line rigs stand in the counts.
    pub(super) duty: Duty,
    /// Where it is while it is out of service; null: it is in service.
    pub(super) out: Option<OutAt>,
    /// Its level; the last that was known, where `known` is false.
    level: Level,
    /// The level that its class is expected to reach; null: not set.
    expects: Option<Level>,
    /// Whether it reaches that level; null: none is expected, or its own level is not known.
    as_expected: Option<bool>,
    /// Whether its list is whole.
    pub(super) completeness: Completeness,
    /// Whether checked pieces alone reach its level.
    confirmed: bool,
    /// Whether the level is settled; where it is not, the rig counts as `not_known` and in no level.
    known: bool,
    /// Whether the rig is being judged anew: what all rigs are judged by has changed a moment ago.
    pending: bool,
    /// Since when it is at this level (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    since: DateTime<Utc>,
    /// Why it is below the level that it should have, in words; first of all where its level is not known; 20 at most.
    words: Vec<String>,
    /// What its list lacks, in words; 20 at most.
    lacks: Vec<String>,
    /// Why it is not confirmed, in words; 20 at most.
    doubts: Vec<String>,
    /// What is to be known all the same: what is overdue inside the grace, limits on pieces; 20 at most.
    remarks: Vec<String>,
    /// How many further pieces it can lose before it drops a level.
    margin: Option<u32>,
    /// Until when this holds if nobody does anything.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    holds_until: Option<DateTime<Utc>>,
}

/// The most sentences of one sort that a line holds.
const MOST_WORDS: usize = 20;

/// Front-line rigs that should be able to do a full extrication, and how many can.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct Headline {
    /// Front-line rigs whose class expects full or heavy.
    pub(super) expected: u32,
    /// Those of them that are at full or heavy.
    pub(super) able: u32,
    /// Those of them that are confirmed.
    confirmed: u32,
}

impl Headline {
    fn count(&mut self, line: &RigLine) {
        if line.expects.is_some_and(Level::is_full) {
            self.expected += 1;
            if line.known && line.level.is_full() {
                self.able += 1;
                self.confirmed += u32::from(line.confirmed);
            }
        }
    }
}

/// One district on the board.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DistrictLine {
    /// The district that the line is about.
    id: DistrictId,
    /// The district's name at the revision that the board shows.
    name: String,
    /// How many full rigs it needs at least.
    min_full: u32,
    /// Its front-line rigs by level.
    totals: Totals,
    /// Its front-line rigs that should be able, and can.
    headline: Headline,
    /// Whether it has fewer rigs at full or heavy than it needs.
    pub(super) short: bool,
    /// Whether it needs more full rigs than it has rigs that are expected to be full: a number that cannot be met.
    min_above_expected: bool,
    /// Its rigs: those that are below what is expected first, then by name.
    pub(super) rigs: Vec<RigLine>,
}

/// Front-line rigs by level.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct Totals {
    /// Nobody has chosen the grades.
    not_judged: u32,
    /// Rigs that were judged and do not reach limited.
    none: u32,
    /// Rigs at limited: they can begin an extrication.
    limited: u32,
    /// Rigs at full: they can do a full extrication.
    full: u32,
    /// Heavy; counts wherever full counts.
    heavy: u32,
    /// Not known: the last answer has run out, or they are being judged anew.
    not_known: u32,
}

impl Totals {
    /// All of them.
    pub(super) fn all(self) -> u32 {
        self.not_judged + self.none + self.limited + self.full + self.heavy + self.not_known
    }

    fn count(&mut self, line: &RigLine) {
        let count = match line.level {
            _ if !line.known => &mut self.not_known,
            Level::NotJudged => &mut self.not_judged,
            Level::None => &mut self.none,
            Level::Limited => &mut self.limited,
            Level::Full => &mut self.full,
            Level::Heavy => &mut self.heavy,
        };
        *count += 1;
    }
}

/// Rigs that stand in no count.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct Apart {
    /// Reserve rigs with their tools aboard.
    ready_reserve: u32,
    /// Reserve rigs without tools.
    stripped_reserve: u32,
    /// Rigs that are out of service: at the mechanic, lent, or elsewhere.
    out: u32,
}

/// The board of an agency at a revision.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Board {
    /// The revision that it shows.
    revision: i64,
    /// When it was read, or the instant that was asked of.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// Whether the agency has chosen its grades; until then no rig is judged.
    grades_set: bool,
    /// Rigs that should be able to do a full extrication, and how many can.
    pub(super) headline: Headline,
    /// All front-line rigs by level.
    pub(super) totals: Totals,
    /// Rigs that stand in no count.
    pub(super) apart: Apart,
    /// The districts, by name.
    pub(super) districts: Vec<DistrictLine>,
}

impl Board {
    /// Its JSON, before that without when it was read: by it is known whether anything on it is another.
    pub fn texts(self) -> Result<(String, String), Fault> {
        let text = serde_json::to_string(&self)?;
        let lasting = serde_json::to_string(&Self {
            at: DateTime::UNIX_EPOCH,
            ..self
        })?;
        Ok((lasting, text))
    }
}

/// What this process knows of an agency's board.
#[derive(Default)]
pub struct BoardRecords {
    districts: HashMap<DistrictId, District>,
    stations: HashMap<StationId, Station>,
    rigs: HashMap<RigId, Rig>,
    standings: HashMap<RigId, RigStanding>,
    grades_set: bool,
}

const KINDS: [&str; 5] = [Agency::KIND, District::KIND, Station::KIND, Rig::KIND, RigStanding::KIND];

impl Follow for BoardRecords {
    fn advance(&mut self, db: &mut Db, agency: AgencyId, since: i64) -> Result<(), Fault> {
        for row in follow::changed(db, agency, &KINDS, since)? {
            self.take(&row.kind, row.id.0, row.gone, &row.body.0)?;
        }
        Ok(())
    }

    fn bytes(&self) -> usize {
        // A standing with all that it says is some kilobytes; the rest beside it is little.
        self.standings.len() * 6_000 + (self.rigs.len() + self.stations.len() + self.districts.len()) * 600
    }
}

impl BoardRecords {
    /// As it stood at a revision.
    pub fn as_of(db: &mut Db, id: AgencyId, revision: i64) -> Result<Self, Fault> {
        let mut known = Self::default();
        for row in past::all(db, id, &KINDS, revision)? {
            known.take(&row.kind, row.id.0, row.gone, &row.body.0)?;
        }
        Ok(known)
    }

    /// The answers about the rigs.
    pub fn standings(&self) -> impl Iterator<Item = &RigStanding> {
        self.standings.values()
    }

    /// Puts an answer that was worked out anew in the place of the one that is kept.
    pub fn replace(&mut self, rig: RigId, answer: calc::Answer, expects: Option<Level>) {
        if let Some(standing) = self.standings.get_mut(&rig) {
            let kept = &mut standing.answer;
            (kept.level, kept.confirmed_level, kept.completeness) = (answer.level, answer.confirmed_level, answer.completeness);
            (kept.confirmed, kept.expects, kept.holds_until) = (answer.confirmed(), expects, None);
            (standing.known, standing.pending) = (true, false);
        }
    }

    fn take(&mut self, kind: &str, id: Uuid, gone: bool, body: &str) -> Result<(), Fault> {
        match kind {
            Agency::KIND => self.grades_set = !gone && bodies::read::<Agency>(body)?.grades.is_some(),
            District::KIND if gone => drop(self.districts.remove(&DistrictId(id))),
            District::KIND => drop(self.districts.insert(DistrictId(id), bodies::read(body)?)),
            Station::KIND if gone => drop(self.stations.remove(&StationId(id))),
            Station::KIND => drop(self.stations.insert(StationId(id), bodies::read(body)?)),
            Rig::KIND if gone => drop(self.rigs.remove(&RigId(id))),
            Rig::KIND => drop(self.rigs.insert(RigId(id), bodies::read(body)?)),
            _ if gone => drop(self.standings.remove(&RigId(id))),
            _ => drop(self.standings.insert(RigId(id), bodies::read(body)?)),
        }
        Ok(())
    }

    /// The board of a revision at an instant, given the rigs whose answers are not settled then.
    pub fn board(&self, revision: i64, at: DateTime<Utc>, late: &HashMap<Uuid, bool>) -> Board {
        let mut board = Board {
            revision,
            at,
            grades_set: self.grades_set,
            headline: Headline::default(),
            totals: Totals::default(),
            apart: Apart::default(),
            districts: Vec::with_capacity(self.districts.len()),
        };
        let mut of: BTreeMap<DistrictId, Vec<RigLine>> = BTreeMap::new();
        for rig in self.rigs.values() {
            let Some(station) = self.stations.get(&rig.station) else { continue };
            let line = self.line(rig, station, at, late);
            match (line.out, line.duty) {
                (Some(_), _) => board.apart.out += 1,
                (None, Duty::ReadyReserve) => board.apart.ready_reserve += 1,
                (None, Duty::StrippedReserve) => board.apart.stripped_reserve += 1,
                (None, Duty::FrontLine) => {
                    board.totals.count(&line);
                    board.headline.count(&line);
                }
            }
            of.entry(station.district).or_default().push(line);
        }
        board.districts = self
            .districts
            .values()
            .map(|district| district_line(district, of.remove(&district.id).unwrap_or_default()))
            .collect();
        board.districts.sort_by(|a, b| a.name.cmp(&b.name));
        board
    }

    fn line(&self, rig: &Rig, station: &Station, at: DateTime<Utc>, late: &HashMap<Uuid, bool>) -> RigLine {
        let out = (!rig.in_service).then_some(rig.out_at.unwrap_or(OutAt::Other));
        let Some(standing) = self.standings.get(&rig.id).map(|standing| standing.clone().as_read(at, late)) else {
            return RigLine {
                id: rig.id,
                name: rig.name.clone(),
                station: station.name.clone(),
                duty: rig.duty,
                out,
                level: Level::NotJudged,
                expects: None,
                as_expected: None,
                completeness: Completeness::NoList,
                confirmed: false,
                known: false,
                pending: false,
                since: at,
                words: vec!["not known: nobody has judged it by the present rules at that time".to_owned()],
                lacks: Vec::new(),
                doubts: Vec::new(),
                remarks: Vec::new(),
                margin: None,
                holds_until: None,
            };
        };
        let answer = &standing.answer;
        let few = |words: Vec<String>| words.into_iter().take(MOST_WORDS).collect::<Vec<_>>();
        let judged = standing.known && answer.level != Level::NotJudged;
        RigLine {
            id: rig.id,
            name: rig.name.clone(),
            station: station.name.clone(),
            duty: rig.duty,
            out,
            level: answer.level,
            expects: answer.expects,
            as_expected: answer.expects.filter(|_| judged).map(|expects| answer.level >= expects),
            completeness: answer.completeness,
            confirmed: standing.known && answer.confirmed,
            known: standing.known,
            pending: standing.pending,
            since: standing.since,
            words: few(standing.unsettled().map(str::to_owned).into_iter().chain(standing.why()).collect()),
            lacks: few(standing.lacks()),
            doubts: few(answer.doubts.iter().map(|doubt| doubt.words.clone()).collect()),
            remarks: few(answer.remarks.clone()),
            margin: answer.margin,
            holds_until: answer.holds_until,
        }
    }
}

fn district_line(district: &District, mut rigs: Vec<RigLine>) -> DistrictLine {
    let (mut totals, mut headline) = (Totals::default(), Headline::default());
    // The least number of full rigs is compared with all front-line rigs that are at full and in service, whatever is expected of them.
    let mut full = 0;
    for line in rigs.iter().filter(|line| line.out.is_none()) {
        if line.duty == Duty::FrontLine {
            totals.count(line);
            headline.count(line);
        }
        full += u32::from(line.known && line.level.is_full() && line.duty == Duty::FrontLine);
    }
    rigs.sort_by(|a, b| {
        let below = |line: &RigLine| line.as_expected == Some(false);
        below(b).cmp(&below(a)).then(a.name.cmp(&b.name))
    });
    DistrictLine {
        id: district.id,
        name: district.name.clone(),
        min_full: district.min_full,
        totals,
        headline,
        short: full < district.min_full,
        min_above_expected: district.min_full > headline.expected,
        rigs,
    }
}
