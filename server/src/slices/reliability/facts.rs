//! What the record says of every piece, with its model and the parts of its repairs: kept between requests, and brought forward by
//! what has changed since.

use std::collections::{BTreeMap, BTreeSet, HashMap, hash_map::Entry};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{hookup::Hookup, plate::MadeOn, ratings::Kind, reliability::Watched};
use serde::Deserialize;
use uuid::Uuid;

use super::{
    lives::{Life, State, WatchWindow},
    period::Period,
};
use crate::{
    platform::{
        bodies,
        db::Db,
        error::Fault,
        follow::{self, Follow},
        ids::AgencyId,
        record::Record as _,
    },
    slices::{
        models::{Model, ModelId, ModelPrice},
        pieces::{Piece, PieceId, PieceState, Place},
        swaps::{Swap, SwapState},
        tickets::{LineKind, Ticket, TicketState},
    },
};

/// The part of a piece's record that says what it is and where it belongs.
#[derive(Debug, Deserialize)]
pub struct PieceNow {
    pub id: PieceId,
    pub tag: String,
    pub model: ModelId,
    pub kind: Kind,
    pub made_on: Option<MadeOn>,
    pub in_service_since: Option<NaiveDate>,
    pub state: PieceState,
    pub home: Option<Place>,
    pub place: Place,
    #[serde(default)]
    pub kept_for: Option<Uuid>,
}

/// A piece that is or was on the register.
struct PieceLife {
    now: PieceNow,
    gone: bool,
    life: Life,
}

/// The part of a model's record that is asked for here.
#[derive(Debug)]
pub struct ModelNow {
    pub name: String,
    pub kind: Kind,
    pub hookup: Hookup,
    pub price: Option<ModelPrice>,
}

/// A closed ticket: its piece and the parts that it names.
struct Repair {
    piece: Uuid,
    parts: BTreeSet<String>,
}

/// A stand-in in a piece's slot.
#[derive(Debug, Clone, Copy)]
pub struct StandIn {
    /// The piece whose slot it takes.
    pub covers: PieceId,
    /// When it was sent.
    pub from: DateTime<Utc>,
    /// When it went back; none while it has the slot, and where it was kept there.
    pub until: Option<DateTime<Utc>>,
}

/// The pieces of an agency with what has happened to them.
#[derive(Default)]
pub struct Histories {
    pieces: HashMap<Uuid, PieceLife>,
    models: HashMap<Uuid, ModelNow>,
    repairs: HashMap<Uuid, Repair>,
    stand_ins: HashMap<Uuid, StandIn>,
}

impl Follow for Histories {
    fn advance(&mut self, db: &mut Db, agency: AgencyId, since: i64) -> Result<(), Fault> {
        for row in follow::changed(db, agency, &[Model::KIND, Ticket::KIND, Swap::KIND], since)? {
            match row.kind.as_str() {
                Model::KIND if row.gone => drop(self.models.remove(&row.id.0)),
                Model::KIND => drop(self.models.insert(row.id.0, ModelNow::from(row.read::<Model>()?))),
                Swap::KIND => match Some(row.read::<Swap>()?).filter(|_| !row.gone).and_then(StandIn::of) {
                    Some(stand_in) => drop(self.stand_ins.insert(row.id.0, stand_in)),
                    None => drop(self.stand_ins.remove(&row.id.0)),
                },
                _ => match Some(row.read::<Ticket>()?).filter(|ticket| !row.gone && ticket.state == TicketState::Closed) {
                    Some(ticket) => drop(self.repairs.insert(row.id.0, Repair::from(ticket))),
                    None => drop(self.repairs.remove(&row.id.0)),
                },
            }
        }
        follow::states(db, agency, Piece::KIND, since, |id, gone, body| {
            let body = bodies::current(&body.0, Piece::UPCASTS)?;
            let (state, now): (State, PieceNow) = (serde_json::from_str(&body)?, serde_json::from_str(&body)?);
            match self.pieces.entry(id) {
                Entry::Occupied(known) => {
                    let known = known.into_mut();
                    known.life.take(state);
                    (known.now, known.gone) = (now, gone);
                }
                Entry::Vacant(place) => drop(place.insert(PieceLife {
                    now,
                    gone,
                    life: Life::new(state),
                })),
            }
            Ok(())
        })
    }

    fn bytes(&self) -> usize {
        let stops: usize = self.pieces.values().map(|piece| piece.life.stops.len()).sum();
        self.pieces.len() * 600 + stops * 250 + self.models.len() * 600 + self.repairs.len() * 200 + self.stand_ins.len() * 100
    }
}

impl From<Model> for ModelNow {
    fn from(model: Model) -> Self {
        Self {
            name: model.name,
            kind: model.kind,
            hookup: model.hookup,
            price: model.price,
        }
    }
}

impl StandIn {
    /// Of a swap that covers a piece.
    fn of(swap: Swap) -> Option<Self> {
        Some(Self {
            covers: swap.stands_in_for?,
            from: swap.started_at,
            until: swap.ended_at.filter(|_| swap.state == SwapState::Ended),
        })
    }
}

impl From<Ticket> for Repair {
    fn from(ticket: Ticket) -> Self {
        let named = ticket.lines.iter().filter(|line| line.kind == LineKind::Part);
        Self {
            piece: ticket.piece.0,
            parts: named
                .map(|line| line.what.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase())
                .collect(),
        }
    }
}

/// A piece with its model and what has happened to it.
#[derive(Debug, Clone, Copy)]
pub struct History<'k> {
    /// The piece now.
    pub piece: &'k PieceNow,
    /// Its model, while that is on the register.
    pub model: Option<&'k ModelNow>,
    life: &'k Life,
}

impl<'k> History<'k> {
    /// The name of its model.
    pub fn model_name(&self) -> &'k str {
        self.model.map_or("", |model| &model.name)
    }

    /// What was seen of it in a period, and in between two instants.
    pub fn within(&self, period: &Period, from: Option<DateTime<Utc>>, until: Option<DateTime<Utc>>) -> Option<WatchWindow<'k>> {
        let serves = self.piece.in_service_since.map(|day| period.begins(day));
        let from = [serves, from].into_iter().flatten().fold(period.from, DateTime::max);
        self.life.between(from, until.map_or(period.until, |until| until.min(period.until)))
    }

    /// As it is computed with.
    pub fn watched(&self, period: &Period) -> Option<Watched> {
        Some(self.within(period, None, None)?.watched(|stop| !stop.planned))
    }

    /// When its watch began.
    pub fn begins(&self, period: &Period) -> Option<DateTime<Utc>> {
        Some(self.within(period, None, None)?.begins)
    }
}

/// The parts that tickets name, each with the closed tickets that have it and their pieces.
pub type Parts<'k> = BTreeMap<&'k str, Vec<(Uuid, Uuid)>>;

impl Histories {
    /// Every piece on the register, by tag.
    pub fn all(&self) -> Vec<History<'_>> {
        let there = self.pieces.values().filter(|piece| !piece.gone);
        let mut all: Vec<History<'_>> = there
            .map(|piece| History {
                piece: &piece.now,
                model: self.models.get(&piece.now.model.0),
                life: &piece.life,
            })
            .collect();
        all.sort_unstable_by(|a, b| a.piece.tag.cmp(&b.piece.tag).then(a.piece.id.cmp(&b.piece.id)));
        all
    }

    /// The stand-ins of each piece, in any order.
    pub fn stand_ins(&self) -> HashMap<PieceId, Vec<StandIn>> {
        let mut of: HashMap<PieceId, Vec<StandIn>> = HashMap::new();
        for stand_in in self.stand_ins.values() {
            of.entry(stand_in.covers).or_default().push(*stand_in);
        }
        of
    }

    /// Whether a model is on the register.
    pub fn has_model(&self, id: Uuid) -> bool {
        self.models.contains_key(&id)
    }

    /// The parts of all repairs.
    pub fn parts(&self) -> Parts<'_> {
        let mut parts = Parts::new();
        for (ticket, repair) in &self.repairs {
            for part in &repair.parts {
                parts.entry(part).or_default().push((*ticket, repair.piece));
            }
        }
        parts
    }
}
