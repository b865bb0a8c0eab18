use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{plate::MadeOn, ratings::Kind};
use fullset_care::life::{End, Life, LifePart};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::{
    rules::{Lacking, month_of, unknown_words, until},
    unset::{NoLife, NoLifeCount},
};
use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record as _, Row},
    },
    slices::{
        agencies::{Agency, Policy, day_of},
        models::{Model, ModelId},
        pieces::{Piece, PieceId, PieceState, Place, lives},
    },
};

/// The most pieces of each list of one answer.
const MOST: usize = 10_000;

/// What is asked for. Everything is optional.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ServiceLivesQuery {
    /// So many months ahead, 1 to 120; 24 unless said.
    #[param(minimum = 1, maximum = 120)]
    pub months: Option<u32>,
    /// Only pieces that belong to this district.
    pub district: Option<Uuid>,
}

/// A piece whose life is told.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct LifePiece {
    /// The piece that the life is of, as a whole or in one part.
    piece: PieceId,
    /// The piece's asset tag.
    tag: String,
    /// The kind of gear that the piece is.
    kind: Kind,
    /// The name of its model.
    model: String,
    /// Whether it may be used.
    state: PieceState,
    /// Where the piece is now, or where it is on its way to.
    place: Place,
    /// The district that it belongs to: of its home, else of where it is.
    district: Option<Uuid>,
    /// Who lends it, where it is not the agency's own to renew.
    lent_by: Option<String>,
    /// What the life is of.
    part: LifePart,
    /// When that was made.
    made_on: Option<MadeOn>,
    /// Where the life stands; null: the agency's policy for hoses.
    source: Option<String>,
}

/// A life that has ended or ends on a day.
#[derive(Debug, Serialize, ToSchema)]
pub struct DatedLife {
    /// The piece, and the part of it that the life is of.
    #[serde(flatten)]
    of: LifePiece,
    /// From that day on it may not be used.
    ends_on: NaiveDate,
    /// Whether that day has come.
    ended: bool,
}

/// A life that ends when so many charge cycles are reached.
#[derive(Debug, Serialize, ToSchema)]
pub struct CountedLife {
    /// The piece, and the part of it that the life is of.
    #[serde(flatten)]
    of: LifePiece,
    /// Its charge cycles on record.
    cycles: u32,
    /// The charge cycles of its life.
    limit: u32,
    /// Whether they are reached.
    ended: bool,
}

/// A life of which something is not on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct UnknownLife {
    /// The piece, and the part of it that the life is of.
    #[serde(flatten)]
    of: LifePiece,
    /// What is not known.
    lacks: Lacking,
}

/// How many lives of a kind end in a month in a district.
#[derive(Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct MonthLives {
    /// The calendar month in which they end: `2027-03`.
    month: String,
    /// The district that the pieces belong to; null: to none.
    district: Option<Uuid>,
    /// The kind of the pieces.
    kind: Kind,
    /// What the lives are of.
    part: LifePart,
    /// How many lives end in that month; those that have ended are left out.
    pieces: usize,
}

/// How many pieces lack what their life is counted from.
#[derive(Debug, Serialize, ToSchema)]
pub struct UnknownCount {
    /// What is not known.
    lacks: Lacking,
    /// The part that the life is of, or the piece as a whole.
    part: LifePart,
    /// The kind of the pieces.
    kind: Kind,
    /// How many lives lack it; one piece may have several.
    pieces: usize,
    /// In words: "date of make not known: 14 hoses".
    words: String,
}

/// Counts what is not known of lives, by what is lacking, kind and part.
pub fn count_unknown(lives: impl Iterator<Item = (Lacking, Kind, LifePart)>) -> Vec<UnknownCount> {
    let mut unknown: BTreeMap<(Lacking, Kind, LifePart), usize> = BTreeMap::new();
    for life in lives {
        *unknown.entry(life).or_default() += 1;
    }
    let counts = unknown.into_iter().map(|((lacks, kind, part), pieces)| UnknownCount {
        lacks,
        part,
        kind,
        pieces,
        words: unknown_words(lacks, part, kind, pieces),
    });
    counts.collect()
}

/// What runs out.
#[derive(Debug, Default, Serialize, ToSchema)]
pub struct ServiceLives {
    /// When it was worked out (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// Today, in the agency's time zone.
    today: NaiveDate,
    /// What ends on this day or later is not told.
    until: NaiveDate,
    /// How many end in which month, what has ended left out: by month, district, kind and part.
    months: Vec<MonthLives>,
    /// What has ended or ends before `until`, by day and tag; 10,000 at most.
    #[schema(max_items = 10000)]
    dated: Vec<DatedLife>,
    /// Packs whose life is counted in charge cycles, those nearest to their end first; 10,000 at most.
    #[schema(max_items = 10000)]
    counted: Vec<CountedLife>,
    /// What is not known, by what is lacking, kind and part.
    unknown_counts: Vec<UnknownCount>,
    /// The same piece by piece, by tag; 10,000 at most.
    #[schema(max_items = 10000)]
    unknown: Vec<UnknownLife>,
    /// Pieces that wear with age and for which no life is set, by kind: they stand nowhere above, and run out all the same.
    no_life: Vec<NoLifeCount>,
}

/// Reads it, in a fixed number of queries.
pub fn service_lives(db: &mut Db, agency: AgencyId, asked: &ServiceLivesQuery, now: DateTime<Utc>) -> Result<ServiceLives, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There is no such agency");
    let own: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(missing)?.read()?;
    let today = day_of(now, own.time_zone);
    let until = until(asked.months, today).map_err(|words| Fault::new(error::QUERY_INVALID, words).at("months"))?;
    let models: HashMap<ModelId, Model> = record::read_all::<Model>(db, agency)?.into_iter().map(|model| (model.id, model)).collect();
    let mut found = ServiceLives {
        at: now,
        today,
        until,
        ..ServiceLives::default()
    };
    let mut no_life = NoLife::default();
    for row in record::all_but(db, agency, Piece::KIND, PieceState::Retired.word())? {
        let district = row.home_district.or(row.district).map(|id| id.0);
        if asked.district.is_none() || asked.district == district {
            found.add(&row, district, (&models, &own.policy), &mut no_life)?;
        }
    }
    found.no_life = no_life.counts();
    found.finish();
    Ok(found)
}

impl ServiceLives {
    fn add(&mut self, row: &Row, district: Option<Uuid>, (models, policy): (&HashMap<ModelId, Model>, &Policy), no_life: &mut NoLife) -> Result<(), Fault> {
        let piece: Piece = row.read()?;
        let Some(model) = models.get(&piece.model) else { return Ok(()) };
        let all = lives(&piece, model.kind, &model.service_lives, policy);
        no_life.add(model.kind, &model.name, &all);
        for life in all {
            let of = told(&piece, &model.name, district, life);
            match life.end {
                End::On(day) if day < self.until => self.dated.push(DatedLife {
                    of,
                    ends_on: day,
                    ended: day <= self.today,
                }),
                End::On(_) => {}
                End::AtCycles(Some(cycles), limit) => self.counted.push(CountedLife {
                    of,
                    cycles,
                    limit,
                    ended: cycles >= limit,
                }),
                End::AtCycles(None, _) => self.unknown.push(UnknownLife { of, lacks: Lacking::Cycles }),
                End::DateUnknown => self.unknown.push(UnknownLife {
                    of,
                    lacks: Lacking::DateOfMake,
                }),
            }
        }
        Ok(())
    }

    /// Counts, then puts in order.
    fn finish(&mut self) {
        let mut months: BTreeMap<(String, Option<Uuid>, Kind, LifePart), usize> = BTreeMap::new();
        for life in self.dated.iter().filter(|life| !life.ended) {
            *months
                .entry((month_of(life.ends_on), life.of.district, life.of.kind, life.of.part))
                .or_default() += 1;
        }
        self.months = months
            .into_iter()
            .map(|((month, district, kind, part), pieces)| MonthLives {
                month,
                district,
                kind,
                part,
                pieces,
            })
            .collect();
        self.unknown_counts = count_unknown(self.unknown.iter().map(|life| (life.lacks, life.of.kind, life.of.part)));
        self.dated
            .sort_by(|a, b| (a.ends_on, &a.of.tag, a.of.part).cmp(&(b.ends_on, &b.of.tag, b.of.part)));
        self.counted
            .sort_by(|a, b| (u64::from(b.cycles) * u64::from(a.limit), &a.of.tag).cmp(&(u64::from(a.cycles) * u64::from(b.limit), &b.of.tag)));
        self.unknown.sort_by(|a, b| (&a.of.tag, a.of.part).cmp(&(&b.of.tag, b.of.part)));
        self.dated.truncate(MOST);
        self.counted.truncate(MOST);
        self.unknown.truncate(MOST);
    }
}

fn told(piece: &Piece, model: &str, district: Option<Uuid>, life: Life<'_>) -> LifePiece {
    let part = piece.parts.iter().find(|one| one.part == life.part);
    LifePiece {
        piece: piece.id,
        tag: piece.tag.clone(),
        kind: piece.kind,
        model: model.to_owned(),
        state: piece.state,
        place: piece.place.clone(),
        district,
        lent_by: piece.lent_by.as_ref().map(|lender| lender.name.clone()),
        part: life.part,
        made_on: if life.part == LifePart::Whole {
            piece.made_on
        } else {
            part.map(|one| one.made_on)
        },
        source: life.source.map(str::to_owned),
    }
}
