use std::collections::{BTreeMap, HashMap, HashSet};

use chrono::{DateTime, Utc};
use fullset_calc::{
    capability::{self as judge, Level},
    ratings::Kind,
    swaps::{self as calc, SwapPlan},
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    day::{self, Rigs},
    donors::{self, Donors},
    rules::{self, Also, Part},
};
use crate::{
    platform::error::Fault,
    slices::{
        capability::{Fleet, FleetPiece},
        coverage::County,
        districts::DistrictId,
        models::ModelId,
        pieces::{PieceId, Place},
        rigs::RigId,
    },
};

/// Looks that all searches for a plan may spend: about a second.
const BUDGET: u64 = 1_500_000_000;
/// So often a plan is made anew because its moves did not do together; from then on the rig that failed is left as it is.
const ROUNDS: usize = 12;
/// What is said when a plan was made anew.
const LEFT_OUT: &str = " Moves that do not do together were left out: a better plan was not ruled out.";

/// One piece to move.
#[derive(Debug, Serialize, ToSchema)]
struct MoveLine {
    /// Id of the piece.
    piece: PieceId,
    /// The piece's revision, to be named when the plan is carried out.
    piece_rev: i64,
    /// The piece's asset tag.
    tag: String,
    /// What it is.
    kind: Kind,
    /// Id of its model.
    model: ModelId,
    /// Where it is.
    from: Place,
    /// The rig that gives it.
    donor_rig: Option<RigId>,
    /// To which rig.
    rig: RigId,
    /// The rig's name.
    rig_name: String,
    /// For which need of the rig's target grade; null for a piece that is needed behind the scenes.
    need: Option<String>,
    /// The need as people read it.
    need_name: String,
    /// Minutes of travel by the published curve; null where one of both is not on the map.
    minutes: Option<f64>,
    /// Straight distance in km.
    distance_km: Option<f64>,
    /// What it leaves open behind; null: nothing that counts.
    leaves: Option<String>,
    /// The same in a sentence for people.
    words: String,
}

/// A rig that the plan makes full.
#[derive(Debug, Serialize, ToSchema)]
struct RestoredLine {
    /// Id of the rig.
    rig: RigId,
    /// The rig's name.
    name: String,
    /// How many moves it takes.
    moves: usize,
    /// Demand that would be lost again if only this rig were left out.
    weight: f64,
    /// The same in a sentence for people.
    words: String,
}

/// A rig that stays as it is.
#[derive(Debug, Serialize, ToSchema)]
struct UnrestoredLine {
    /// Id of the rig.
    rig: RigId,
    /// The rig's name.
    name: String,
    /// Its level now.
    level: Level,
    /// Why it stays so.
    words: String,
}

/// What the plan counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Counted {
    /// Demand that full rigs reach in time.
    Demand,
    /// Full rigs, each as much as any other.
    Rigs,
}

/// A swap plan. Try each piece on the pump it is for before leaving; local orders come first.
#[derive(Debug, Serialize, ToSchema)]
pub struct SwapPlanView {
    /// The revision that it was made on.
    revision: i64,
    /// When.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// What is counted.
    by: Counted,
    /// Demand of all zones, or the number of rigs.
    total: f64,
    /// What full rigs reach now.
    before: f64,
    /// What they reach after the plan.
    after: f64,
    /// No plan reaches more.
    bound: f64,
    /// True: no plan reaches more, none as much with fewer moves, none that with fewer minutes.
    proved: bool,
    /// Minutes of all moves, an hour for each that is not on the map.
    minutes: f64,
    /// What to move, rig by rig.
    moves: Vec<MoveLine>,
    /// The rigs made full.
    restored: Vec<RestoredLine>,
    /// The rigs that are not full and stay so.
    unrestored: Vec<UnrestoredLine>,
    /// How many pieces are wanted on rigs that are not full.
    gaps: usize,
    /// How many pieces could be moved.
    donors: usize,
    /// How many pieces are on their way to a rig: they count as arrived.
    arriving: usize,
    /// The same in a sentence for people.
    words: String,
}

/// What a plan is made from.
pub struct PlanInput<'a> {
    pub fleet: &'a Fleet,
    pub county: &'a County,
    /// Pieces that stand in somewhere already.
    pub taken: HashSet<PieceId>,
    /// Only rigs of this district are mended.
    pub district: Option<DistrictId>,
    /// Rigs that take part because the asker said so.
    pub also: Also,
    /// What counts; without zones it is rigs in any case.
    pub by: Counted,
    pub revision: i64,
    /// Pieces on their way to a rig, which count as arrived.
    pub arriving: usize,
    pub now: DateTime<Utc>,
}

impl PlanInput<'_> {
    /// How a rig takes part.
    pub fn part(&self, rig: RigId) -> Part {
        self.fleet.rigs.get(&rig).map_or(Part::None, |aboard| {
            let rig = &aboard.rig;
            rules::part(rig.duty, rig.in_service, rig.out_at, self.also)
        })
    }
}

/// Makes the plan.
pub fn plan(asked: &PlanInput<'_>) -> Result<SwapPlanView, Fault> {
    let PlanInput { fleet, county, now, .. } = *asked;
    let answers = donors::answers(fleet, now);
    let rigs = day::rigs(asked, &answers)?;
    let number: HashMap<RigId, usize> = rigs.rigs.iter().map(|rig| RigId(rig.id)).zip(0..).collect();
    let donors = donors::donors(asked, &answers, &number);
    let level = |rig: RigId| answers.get(&rig).map_or(Level::None, |answer| answer.level);
    let gaps = rigs.wants.iter().map(Vec::len).sum();
    let mut day = day::day(fleet, county, &rigs, &donors, now);
    let (mut left, mut round, mut bound) = (BUDGET, 0, 0.0_f64);
    let mut found = loop {
        let mut spent = 0;
        let mut watch = |looks: u64, _: f64, _: f64| {
            spent = looks;
            true
        };
        let found = calc::swap_plan(&day, left, &mut watch).map_err(|unfit| anyhow::anyhow!("no swap plan could be made: {unfit}"))?;
        left = left.saturating_sub(spent);
        // What the first search allows is allowed by all: the later ones have fewer moves to choose from.
        bound = bound.max(found.bound);
        let Some((rig, piece)) = fails(asked, &donors, &found, level) else {
            break found;
        };
        round += 1;
        // Each turn leaves out a pair of a rig and a piece, then a whole rig, so that this ends.
        let of_rig: Vec<bool> = day.gaps.iter().map(|gap| number.get(&rig) == Some(&gap.rig)).collect();
        let of_piece = donors.donors.iter().position(|donor| donor.id == piece);
        day.fits
            .retain(|fit| of_rig.get(fit.gap) != Some(&true) || (round < ROUNDS && Some(fit.donor) != of_piece));
    };
    found.bound = bound;
    let mut view = tell(asked, &rigs, &donors, found, gaps, level);
    if round > 0 {
        view.proved = false;
        view.words.push_str(LEFT_OUT);
    }
    Ok(view)
}

/// A move that does not do: its rig is not full with all that comes to it, or the rig that gives it drops.
fn fails(asked: &PlanInput<'_>, donors: &Donors<'_>, found: &SwapPlan, level: impl Fn(RigId) -> Level) -> Option<(RigId, Uuid)> {
    let rules = asked.fleet.rules();
    let mut comes: BTreeMap<RigId, Vec<&FleetPiece>> = BTreeMap::new();
    let mut goes: BTreeMap<RigId, Vec<Uuid>> = BTreeMap::new();
    for planned in &found.moves {
        let held = held_of(donors, planned.piece)?;
        comes.entry(RigId(planned.rig)).or_default().push(held);
        if let Some(from) = held.piece.place.rig() {
            goes.entry(from).or_default().push(planned.piece);
        }
    }
    let stands = |rig: RigId, wanted: Level| {
        let Some(aboard) = asked.fleet.rigs.get(&rig) else { return false };
        let gone = goes.get(&rig).map_or(&[][..], Vec::as_slice);
        let mut pieces: Vec<judge::Piece> = aboard.pieces.iter().filter(|piece| !gone.contains(&piece.id)).cloned().collect();
        pieces.extend(comes.get(&rig).into_iter().flatten().map(|held| held.judged.clone()));
        let view = judge::Rig {
            pieces: &pieces,
            ..aboard.view()
        };
        judge::level(&view, &rules, asked.now).level >= wanted
    };
    let short = comes.keys().find(|rig| !stands(**rig, Level::Full));
    if let Some(planned) = short.and_then(|rig| found.moves.iter().find(|planned| planned.rig == rig.0)) {
        return Some((RigId(planned.rig), planned.piece));
    }
    let dropped = goes.iter().find(|(rig, _)| asked.part(**rig) != Part::Gives && !stands(**rig, level(**rig)));
    let given = dropped.and_then(|(_, pieces)| pieces.first())?;
    found
        .moves
        .iter()
        .find(|planned| planned.piece == *given)
        .map(|planned| (RigId(planned.rig), planned.piece))
}

fn held_of<'f>(donors: &Donors<'f>, piece: Uuid) -> Option<&'f FleetPiece> {
    donors.held.iter().copied().find(|held| held.piece.id.0 == piece)
}

fn tell(asked: &PlanInput<'_>, rigs: &Rigs, donors: &Donors<'_>, found: SwapPlan, gaps: usize, level: impl Fn(RigId) -> Level) -> SwapPlanView {
    let name = |rig: Uuid| asked.fleet.rigs.get(&RigId(rig)).map_or_else(String::new, |aboard| aboard.rig.name.clone());
    // The moves to a rig stand in the order of its wants, one for each: by their names slots may be alike.
    let mut told: HashMap<Uuid, usize> = HashMap::new();
    let mut need_of = |rig: Uuid| {
        let at = rigs.rigs.iter().position(|known| known.id == rig)?;
        let nth = told.entry(rig).or_default();
        *nth += 1;
        rigs.wants.get(at)?.get(*nth - 1)?.need.clone()
    };
    let moves = found.moves.into_iter().filter_map(|planned| {
        let held = held_of(donors, planned.piece)?;
        let way = day::minutes(asked.county, held, asked.fleet.rigs.get(&RigId(planned.rig))?);
        Some(MoveLine {
            piece: held.piece.id,
            piece_rev: held.rev,
            tag: held.piece.tag.clone(),
            kind: held.piece.kind,
            model: held.piece.model,
            from: held.piece.place.clone(),
            donor_rig: held.piece.place.rig(),
            rig: RigId(planned.rig),
            rig_name: name(planned.rig),
            need: need_of(planned.rig),
            need_name: planned.slot,
            minutes: way.map(|(minutes, _)| (minutes * 10.0).round() / 10.0),
            distance_km: way.map(|(_, km)| (km * 10.0).round() / 10.0),
            leaves: planned.leaves,
            words: planned.words,
        })
    });
    SwapPlanView {
        revision: asked.revision,
        at: asked.now,
        by: rigs.by,
        total: found.total,
        before: found.before,
        after: found.after,
        bound: found.bound,
        proved: found.proved,
        minutes: found.minutes,
        moves: moves.collect(),
        restored: found
            .restored
            .into_iter()
            .map(|restored| RestoredLine {
                rig: RigId(restored.rig),
                name: name(restored.rig),
                moves: restored.moves,
                weight: restored.weight,
                words: match rigs.by {
                    Counted::Demand => restored.words,
                    Counted::Rigs => format!("{} becomes full.", name(restored.rig)),
                },
            })
            .collect(),
        unrestored: found
            .unrestored
            .into_iter()
            .map(|stays| UnrestoredLine {
                rig: RigId(stays.rig),
                name: name(stays.rig),
                level: level(RigId(stays.rig)),
                words: stays.words,
            })
            .collect(),
        gaps,
        donors: donors.donors.len(),
        arriving: asked.arriving,
        words: match rigs.by {
            Counted::Demand => found.words,
            Counted::Rigs => in_rigs(found.before, found.after, found.bound),
        },
    }
}

fn in_rigs(before: f64, after: f64, bound: f64) -> String {
    let words = if after > before {
        let are = if (after - 1.0).abs() < 0.5 { "rig is" } else { "rigs are" };
        format!("{after} {are} full with these moves instead of {before}.")
    } else {
        let rigs = if (before - 1.0).abs() < 0.5 { "rig that is" } else { "rigs that are" };
        format!("No move makes more rigs full than the {before} {rigs} so now.")
    };
    if bound > after {
        format!("{words} The search was stopped: {bound} were not ruled out.")
    } else {
        words
    }
}
