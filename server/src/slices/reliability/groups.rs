//! Pieces in rows: by kind, by model, by part or by age.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use chrono::Months;
use fullset_calc::{plate::MadeOn, ratings::Kind, reliability::Watched};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    facts::{History, Parts},
    lives::{Stop, WatchWindow},
    period::Period,
};

/// What a row stands for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ReliabilityBy {
    /// A kind of pieces.
    #[default]
    Kind,
    /// A model.
    Model,
    /// A part that tickets name.
    Part,
    /// Years since the date of make.
    Age,
}

/// One row before it is counted.
#[derive(Debug)]
pub struct Group<'a> {
    pub key: String,
    pub name: String,
    pub kind: Option<Kind>,
    pub watched: Vec<Watched>,
    /// The stops that count in it.
    pub stops: Vec<(History<'a>, &'a Stop)>,
}

impl<'a> Group<'a> {
    fn new(key: String, name: String, kind: Option<Kind>) -> Self {
        Self {
            key,
            name,
            kind,
            watched: Vec::new(),
            stops: Vec::new(),
        }
    }

    fn add(&mut self, history: History<'a>, seen: &WatchWindow<'a>, counts: impl Fn(&Stop) -> bool) {
        self.watched.push(seen.watched(|stop| !stop.planned && counts(stop)));
        self.stops.extend(seen.stops.iter().filter(|stop| counts(stop)).map(|stop| (history, *stop)));
    }

    /// How many planned services count in it.
    pub fn planned(&self) -> usize {
        self.stops.iter().filter(|(_, stop)| stop.planned).count()
    }
}

/// Bands of age in years: key, name, from, up to.
const BANDS: [(&str, &str, u32, Option<u32>); 5] = [
    ("0-1", "up to 1 year", 0, Some(1)),
    ("1-3", "1 to 3 years", 1, Some(3)),
    ("3-5", "3 to 5 years", 3, Some(5)),
    ("5-10", "5 to 10 years", 5, Some(10)),
    ("10+", "over 10 years", 10, None),
];

/// Puts the pieces in rows. A row without a piece under watch is not there.
pub fn groups<'a>(all: &[History<'a>], by: ReliabilityBy, period: &Period, parts: &Parts<'_>) -> Vec<Group<'a>> {
    let mut found = match by {
        ReliabilityBy::Kind => Kind::ALL
            .iter()
            .map(|kind| {
                let mut group = Group::new(kind.name().into(), kind.word().into(), Some(*kind));
                fill(&mut group, all.iter().copied().filter(|history| history.piece.kind == *kind), period, |_| true);
                group
            })
            .collect(),
        ReliabilityBy::Model => by_model(all, period),
        ReliabilityBy::Part => by_part(all, period, parts),
        ReliabilityBy::Age => by_age(all, period),
    };
    found.retain(|group| !group.watched.is_empty());
    found
}

fn fill<'a>(group: &mut Group<'a>, of: impl Iterator<Item = History<'a>>, period: &Period, counts: impl Fn(&Stop) -> bool) {
    for history in of {
        if let Some(seen) = history.within(period, None, None) {
            group.add(history, &seen, &counts);
        }
    }
}

fn by_model<'a>(all: &[History<'a>], period: &Period) -> Vec<Group<'a>> {
    let mut of: BTreeMap<(&str, Uuid), Vec<History<'a>>> = BTreeMap::new();
    for history in all {
        of.entry((history.model_name(), history.piece.model.0)).or_default().push(*history);
    }
    let group = |((name, model), pieces): ((&str, Uuid), Vec<History<'a>>)| {
        let kind = pieces.first().map(|history| history.piece.kind);
        let mut group = Group::new(model.to_string(), name.to_owned(), kind);
        fill(&mut group, pieces.into_iter(), period, |_| true);
        group
    };
    of.into_iter().map(group).collect()
}

fn by_part<'a>(all: &[History<'a>], period: &Period, parts: &Parts<'_>) -> Vec<Group<'a>> {
    let model_of: HashMap<Uuid, Uuid> = all.iter().map(|history| (history.piece.id.0, history.piece.model.0)).collect();
    let group = |(part, named): (&&str, &Vec<(Uuid, Uuid)>)| {
        let tickets: HashSet<Uuid> = named.iter().map(|(ticket, _)| *ticket).collect();
        let models: HashSet<Uuid> = named.iter().filter_map(|(_, piece)| model_of.get(piece).copied()).collect();
        let exposed: Vec<History<'a>> = all.iter().copied().filter(|history| models.contains(&history.piece.model.0)).collect();
        let kinds: BTreeSet<Kind> = exposed.iter().map(|history| history.piece.kind).collect();
        let kind = kinds.first().copied().filter(|_| kinds.len() == 1);
        let mut group = Group::new((*part).to_owned(), (*part).to_owned(), kind);
        fill(&mut group, exposed.into_iter(), period, |stop| {
            stop.tickets.iter().any(|ticket| tickets.contains(ticket))
        });
        group
    };
    parts.iter().map(group).collect()
}

fn by_age<'a>(all: &[History<'a>], period: &Period) -> Vec<Group<'a>> {
    let mut found = Vec::new();
    for (key, name, from, until) in BANDS {
        let mut group = Group::new(key.into(), name.into(), None);
        for history in all {
            let Some(made) = history.piece.made_on.map(MadeOn::earliest).or(history.piece.in_service_since) else {
                continue;
            };
            // A birthday beyond all calendars is never reached.
            let birthday = |years: u32| made.checked_add_months(Months::new(12 * years)).map(|day| period.begins(day));
            let begins = if from == 0 { None } else { birthday(from) };
            if from > 0 && begins.is_none() {
                continue;
            }
            if let Some(seen) = history.within(period, begins, until.and_then(birthday)) {
                group.add(*history, &seen, |_| true);
            }
        }
        found.push(group);
    }
    let mut unknown = Group::new("unknown".into(), "age unknown".into(), None);
    let dateless = |history: &History<'a>| history.piece.made_on.is_none() && history.piece.in_service_since.is_none();
    fill(&mut unknown, all.iter().copied().filter(dateless), period, |_| true);
    found.push(unknown);
    found
}
