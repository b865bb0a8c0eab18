//! For each gap of a rig: which piece of the agency could fill it, where it is, when to expect it, whom to call. The rig page, the
//! offers of a swap and the swap itself judge with the same code.

use std::collections::{BTreeMap, HashMap, hash_map::Entry};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    capability::{self as calc, GapIn, Level, Rules},
    coverage::{Point, great_circle_m},
    ratings::Kind,
};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::load::{Aboard, Catalogue};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _},
        said::quoted,
    },
    slices::{
        agencies::day_of,
        pieces::{Piece, PieceId, PieceState, Place},
        rigs::{Rig, RigId},
        shops::Shop,
        stations::Station,
        tickets::{Ticket, TicketState},
        uses::RanOf,
    },
};

/// The most candidates that one gap names.
const MOST: usize = 20;

/// A piece that could fill a gap.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Candidate {
    /// The piece that would stand in.
    piece: PieceId,
    /// The piece's asset tag.
    tag: String,
    /// Its revision, to be named when it is taken off another rig.
    rev: i64,
    /// Id of its model.
    model: Uuid,
    /// What it is.
    kind: Kind,
    /// Where it is.
    place: Place,
    /// Where it is, in words.
    r#where: String,
    /// How it stands there, in words: "tested and waiting", "lent, 5 days overdue", "on its way since 14:20".
    state: String,
    /// Whether it could go aboard now.
    ready: bool,
    /// Whether it is on its way to this rig already.
    on_its_way: bool,
    /// When to expect it, where it is not ready and somebody has said.
    expected_on: Option<NaiveDate>,
    /// Whom to call.
    call: String,
    /// The station where it is, if it is at one.
    station: Option<Uuid>,
    /// Straight-line distance in km; absent where a station has no point.
    distance_km: Option<f64>,
    /// The level that the rig would have with it.
    restores: Level,
    /// What it would do, in words.
    words: String,
    /// What it leaves open behind.
    leaves: Option<String>,
}

/// A gap with what could fill it.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Remedy {
    /// What the gap is in.
    r#in: GapIn,
    /// The need or slot.
    id: String,
    /// The need or slot's name.
    name: String,
    /// The pieces that could fill it, those that are ready first, then the nearest; 20 at most.
    candidates: Vec<Candidate>,
    /// How many more there are.
    left_off: u32,
}

/// Every gap of a rig.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Remedies {
    /// One for each gap, in the order in which the rig's standing names them.
    items: Vec<Remedy>,
}

/// What everything is looked at with.
struct RemedySearch<'l> {
    rules: Rules,
    now: DateTime<Utc>,
    /// The day in the agency's zone.
    today: NaiveDate,
    level: Level,
    target: Level,
    aboard: &'l Aboard,
    points: HashMap<Uuid, Option<Point>>,
    names: HashMap<Uuid, String>,
    tickets: HashMap<PieceId, Ticket>,
    donors: HashMap<RigId, Option<(Aboard, calc::Answer)>>,
    ran: RanOf,
}

/// The remedies of a rig; none where there is no such rig.
pub fn remedies(db: &mut Db, agency: AgencyId, rig: RigId, now: DateTime<Utc>) -> Result<Option<Remedies>, Fault> {
    let Some(mut catalogue) = Catalogue::whole(db, agency)? else {
        return Ok(None);
    };
    let Some(aboard) = Aboard::load(db, &mut catalogue, rig)? else {
        return Ok(None);
    };
    let rules = catalogue.rules();
    let answer = catalogue.speak(|voice| calc::assess(&aboard.view(), &rules, now, voice));
    let mut names = HashMap::new();
    let mut points = HashMap::new();
    for station in record::read_all::<Station>(db, agency)? {
        points.insert(station.id.0, station.point());
        names.insert(station.id.0, station.name);
    }
    names.extend(record::read_all::<Shop>(db, agency)?.into_iter().map(|shop| (shop.id.0, shop.name)));
    names.extend(record::read_all::<Rig>(db, agency)?.into_iter().map(|rig| (rig.id.0, rig.name)));
    let tickets = record::all_but(db, agency, Ticket::KIND, TicketState::Closed.word())?
        .iter()
        .map(|row| row.read().map(|ticket: Ticket| (ticket.piece, ticket)))
        .collect::<Result<_, Fault>>()?;
    let mut looking = RemedySearch {
        rules,
        now,
        today: day_of(now, catalogue.zone),
        level: answer.level,
        target: answer.target,
        aboard: &aboard,
        points,
        names,
        tickets,
        donors: HashMap::new(),
        ran: RanOf::new(),
    };
    let wanted: Vec<&calc::Gap> = answer.gaps.iter().filter(|gap| gap.required).collect();
    let mut found: BTreeMap<usize, Vec<Candidate>> = BTreeMap::new();
    let models = catalogue.models_of(|kind| wanted.iter().any(|gap| may_mend(gap, kind)));
    let mut all: Vec<(record::Row, Piece)> = Vec::new();
    for row in record::of_parents(db, agency, Piece::KIND, &models)? {
        let piece: Piece = row.read()?;
        // What is kept for a changeover is aboard no rig before it, whatever it would mend.
        if piece.state == PieceState::Retired || piece.kept_for.is_some() || piece.place.rig() == Some(rig) {
            continue;
        }
        all.push((row, piece));
    }
    looking.ran = catalogue.ran(db, all.iter().map(|(_, piece)| piece))?;
    for (row, piece) in all {
        let at = (row.rev, row.station.map(|id| id.0));
        for (n, gap) in wanted.iter().enumerate().filter(|(_, gap)| may_mend(gap, piece.kind)) {
            if let Some(candidate) = looking.candidate(db, &mut catalogue, gap, &piece, at)? {
                found.entry(n).or_default().push(candidate);
            }
        }
    }
    let items = wanted.iter().enumerate().map(|(n, gap)| remedy(gap, found.remove(&n).unwrap_or_default()));
    Ok(Some(Remedies { items: items.collect() }))
}

/// Whether a piece of that kind could mend a gap: one that would meet it, or what alone is missing beside the tools that are there.
fn may_mend(gap: &calc::Gap, kind: Kind) -> bool {
    gap.kinds.contains(&kind) || missing_beside(gap, kind)
}

fn missing_beside(gap: &calc::Gap, kind: Kind) -> bool {
    gap.runs_again.as_ref().is_some_and(|with| with.kinds.contains(&kind))
}

fn remedy(gap: &calc::Gap, mut candidates: Vec<Candidate>) -> Remedy {
    let far = |one: &Candidate| one.distance_km.unwrap_or(f64::MAX);
    candidates.sort_by(|a, b| {
        b.on_its_way
            .cmp(&a.on_its_way)
            .then(b.ready.cmp(&a.ready))
            .then(a.leaves.is_some().cmp(&b.leaves.is_some()))
            .then(b.restores.cmp(&a.restores))
            .then(far(a).total_cmp(&far(b)))
            .then(a.tag.cmp(&b.tag))
    });
    let left_off = u32::try_from(candidates.len().saturating_sub(MOST)).unwrap_or(u32::MAX);
    candidates.truncate(MOST);
    Remedy {
        r#in: gap.r#in,
        id: gap.id.clone(),
        name: gap.name.clone(),
        candidates,
        left_off,
    }
}

impl RemedySearch<'_> {
    fn named(&self, id: Uuid) -> &str {
        self.names.get(&id).map_or("a place that is not there any more", String::as_str)
    }

    /// The piece as a candidate for a gap; none where it would not serve there even when it is ready, or would cost another rig
    /// its level.
    fn candidate(
        &mut self,
        db: &mut Db,
        catalogue: &mut Catalogue,
        gap: &calc::Gap,
        piece: &Piece,
        (rev, station): (i64, Option<Uuid>),
    ) -> Result<Option<Candidate>, Fault> {
        let judged = catalogue.judged(db, piece, &self.ran)?;
        let usable = judged.is_usable(&self.rules.policy, self.now);
        // Of one that is not usable now it is asked what it would do when it has been put right.
        let sound = calc::Piece {
            state: calc::State::InService,
            quarantine: None,
            ..judged
        };
        let fit = catalogue.speak(|voice| calc::fits((gap.r#in, &gap.id), self.target, &sound, &self.aboard.view(), &self.rules, self.now, voice));
        if !fit.serves || fit.mixes_fluids {
            return Ok(None);
        }
        let leaves = match piece.place.rig() {
            None => None,
            Some(donor) => match self.leaves(db, catalogue, donor, piece.id)? {
                Ok(words) => Some(words),
                Err(()) => return Ok(None),
            },
        };
        let (here, stand) = self.whereabouts(piece);
        let on_its_way = matches!(&piece.place, Place::Transit { to } if to.rig() == Some(self.aboard.rig.id));
        let at_hand = matches!(piece.place, Place::Rig { .. } | Place::Shelf { .. } | Place::Shop { .. });
        let home = self.points.get(&self.aboard.rig.station.0).copied().flatten();
        let there = station.and_then(|id| self.points.get(&id).copied().flatten());
        let restores = fit.with.level;
        Ok(Some(Candidate {
            piece: piece.id,
            tag: piece.tag.clone(),
            rev,
            model: piece.model.0,
            kind: piece.kind,
            place: piece.place.clone(),
            r#where: here,
            state: stand,
            ready: usable && at_hand,
            on_its_way,
            expected_on: self.expected(piece),
            call: self.call(piece),
            station,
            distance_km: home.zip(there).map(|(here, there)| (great_circle_m(here, there) / 100.0).round() / 10.0),
            restores,
            words: self.does(gap, restores, missing_beside(gap, piece.kind)),
            leaves,
        }))
    }

    fn does(&self, gap: &calc::Gap, restores: Level, runs_again: bool) -> String {
        if restores > self.level {
            format!("the rig is {} with it, by the records", restores.word())
        } else if runs_again {
            format!("{} runs again with it; more is missing, the rig stays {}", gap.name, restores.word())
        } else if gap.r#in == GapIn::Slot {
            format!("fills {}; the rig stays {}", gap.name, restores.word())
        } else {
            format!("serves {}; more is missing, the rig stays {}", gap.name, restores.word())
        }
    }

    /// What another rig is without the piece; an error where it drops a level.
    fn leaves(&mut self, db: &mut Db, catalogue: &mut Catalogue, donor: RigId, piece: PieceId) -> Result<Result<String, ()>, Fault> {
        let (rules, now) = (&self.rules, self.now);
        let from = match self.donors.entry(donor) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(place) => {
                let aboard = Aboard::load(db, catalogue, donor)?;
                place.insert(aboard.map(|aboard| {
                    let with = calc::level(&aboard.view(), rules, now);
                    (aboard, with)
                }))
            }
        };
        let Some((from, with)) = from else { return Ok(Err(())) };
        let without = calc::without_piece(&from.view(), piece.0, rules, now);
        let drops = without.level < with.level || (without.completeness != with.completeness && with.level > Level::None);
        Ok(if drops {
            Err(())
        } else {
            Ok(format!("{} stays {} without it", from.rig.name, without.level.word()))
        })
    }

    /// Where the piece is and how it stands there, in words.
    fn whereabouts(&self, piece: &Piece) -> (String, String) {
        let days = |due: Option<NaiveDate>| {
            let late = due.map(|due| (self.today - due).num_days());
            match (due, late) {
                (Some(_), Some(1)) => ", 1 day overdue".to_owned(),
                (Some(_), Some(late)) if late > 0 => format!(", {late} days overdue"),
                (Some(due), _) => format!(", due back {due}"),
                _ => String::new(),
            }
        };
        let here = match &piece.place {
            Place::Rig { rig } => format!("on {}", self.named(rig.0)),
            Place::Shelf { station } => format!("on the shelf of {}", self.named(station.0)),
            Place::Shop { shop } => format!("in {}", self.named(shop.0)),
            Place::Vendor { name, .. } => format!("at {name}"),
            Place::Loan { name, .. } => format!("lent to {name}"),
            Place::Transit { to } => match &**to {
                Place::Rig { rig } => format!("on its way to {}", self.named(rig.0)),
                Place::Shelf { station } => format!("on its way to {}", self.named(station.0)),
                Place::Shop { shop } => format!("on its way to {}", self.named(shop.0)),
                Place::Vendor { name, .. } | Place::Loan { name, .. } => format!("on its way to {name}"),
                Place::Transit { .. } | Place::Retired => "on its way".to_owned(),
            },
            Place::Retired => "retired".to_owned(),
        };
        let ticket = self.tickets.get(&piece.id).map(|ticket| ticket.state);
        let stand = match (piece.state, ticket, &piece.place) {
            (_, Some(TicketState::Tested), _) => "tested and waiting".to_owned(),
            (_, Some(TicketState::Working), _) => "in repair".to_owned(),
            (_, Some(TicketState::OnHold), _) => "waiting for parts or for somebody outside".to_owned(),
            (_, Some(_), _) => "waiting for the shop".to_owned(),
            (PieceState::InService, None, Place::Loan { due_on, .. } | Place::Vendor { due_on, .. }) => format!("in service{}", days(*due_on)),
            (PieceState::InService, None, _) => "in service".to_owned(),
            (_, None, Place::Loan { due_on, .. } | Place::Vendor { due_on, .. }) => format!("out of service{}", days(*due_on)),
            (..) => format!(
                "out of service, {}",
                piece.state_reason.as_deref().map_or_else(|| "no reason on record".to_owned(), quoted)
            ),
        };
        (here, stand)
    }

    fn expected(&self, piece: &Piece) -> Option<NaiveDate> {
        let place = match &piece.place {
            Place::Loan { due_on, .. } | Place::Vendor { due_on, .. } => *due_on,
            _ => None,
        };
        self.tickets.get(&piece.id).and_then(Ticket::ready_on).or(place)
    }

    fn call(&self, piece: &Piece) -> String {
        if let Some(ticket) = self.tickets.get(&piece.id) {
            return self.named(ticket.shop.0).to_owned();
        }
        let of = |place: &Place| match place {
            Place::Rig { rig } => self.named(rig.0).to_owned(),
            Place::Shelf { station } => self.named(station.0).to_owned(),
            Place::Shop { shop } => self.named(shop.0).to_owned(),
            Place::Vendor { name, .. } | Place::Loan { name, .. } => name.clone(),
            Place::Transit { .. } | Place::Retired => String::new(),
        };
        match &piece.place {
            Place::Transit { to } => of(to),
            place => of(place),
        }
    }
}
