use std::collections::{BTreeSet, HashMap, HashSet};

use chrono::{DateTime, Utc};
use fullset_calc::{
    Unwatched,
    capability::{self as judge, Assessment, Level},
    ratings::Kind,
    swaps::{self as calc, Judged, SwapPlan},
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    day::{self, Answers, Today},
    donors,
    rules::{self, Also, Part, Touched, WhoMayStart},
};
use crate::{
    platform::{
        auth::{Actor, Permission},
        error::Fault,
    },
    slices::{
        capability::{Aboard, Fleet, FleetPiece},
        coverage::County,
        districts::DistrictId,
        models::ModelId,
        pieces::{PieceId, Place},
        rigs::RigId,
    },
};

/// Looks that the search for a plan may spend: about a second.
const BUDGET: u64 = 1_500_000_000;

/// One piece to move.
#[derive(Debug, Serialize, ToSchema)]
struct MoveLine {
    /// The piece that is moved.
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
    /// Who may start it, where whoever asks for the plan may not; null: you may.
    ask: Option<WhoMayStart>,
    /// The same in a sentence for people.
    words: String,
}

/// A rig that the plan makes full.
#[derive(Debug, Serialize, ToSchema)]
struct RestoredLine {
    /// The rig that is restored.
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
    /// The rig that is not restored.
    rig: RigId,
    /// The rig's name.
    name: String,
    /// Its level now.
    level: Level,
    /// Why it stays so.
    words: String,
}

/// A rig for which not every set of pieces was tried.
#[derive(Debug, Serialize, ToSchema)]
struct UndecidedLine {
    /// The rig that nothing was decided of.
    rig: RigId,
    /// The rig's name.
    name: String,
    /// Why nothing was decided, in words.
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
    /// The instant that the plan was worked out for, UTC.
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
    /// True: no plan reaches more, none as much with fewer moves, none that with fewer minutes. Of all plans in which a rig gets at most three
    /// pieces, of which none could be left out, and gives only what it can spare as it stands.
    proved: bool,
    /// The rigs for which that was not decided, because not every set of pieces was tried for them.
    undecided: Vec<UndecidedLine>,
    /// Minutes of all moves, an hour for each that is not on the map.
    minutes: f64,
    /// What to move, rig by rig.
    moves: Vec<MoveLine>,
    /// The rigs made full.
    restored: Vec<RestoredLine>,
    /// The rigs that are not full and stay so.
    unrestored: Vec<UnrestoredLine>,
    /// How many rigs that are not full would be so with pieces that could come.
    mendable: usize,
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
    /// Who asks for the plan; a move beyond their reach names who may start it.
    pub actor: &'a Actor,
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
    let (answers, rules) = (donors::answers(asked), asked.fleet.rules());
    let today = day::today(asked, &answers, &rules)?;
    let mut judged = Judged::new(&today.judging, |donor, rig| today.minutes(asked.county, donor, rig));
    let day = judged.day.clone();
    let found = calc::swap_plan(&day, &mut judged, BUDGET, &mut Unwatched).map_err(|unfit| anyhow::anyhow!("no swap plan could be made: {unfit}"))?;
    let mendable = day.rigs.iter().filter(|rig| !rig.mends.is_empty()).count();
    Ok(tell(asked, &today, &answers, found, (mendable, day.donors.len())))
}

impl PlanInput<'_> {
    /// Who starts a move where whoever asks may not: the rig that gets the piece and the one that gives it are within reach.
    fn ask(&self, held: &FleetPiece, to: &Aboard) -> Option<WhoMayStart> {
        let from = held.piece.place.rig().and_then(|rig| self.fleet.rigs.get(&rig));
        let rigs: Vec<&Aboard> = std::iter::once(to).chain(from).collect();
        if self.actor.role.grants(Permission::Handle) && rigs.iter().all(|aboard| self.actor.reaches(aboard.scope)) {
            return None;
        }
        let touched = rigs.iter().filter_map(|aboard| {
            let station = self.county.station(aboard.rig.station)?;
            let district = self.county.districts.iter().find(|district| district.id == station.district)?;
            Some(Touched {
                station: station.id,
                station_name: station.name.clone(),
                district: district.id,
                district_name: district.name.clone(),
            })
        });
        Some(rules::who_may(&touched.collect::<Vec<_>>()))
    }

    /// What a rig is with all that comes and without what goes.
    fn after(&self, found: &SwapPlan, today: &Today<'_>, aboard: &Aboard) -> Assessment {
        let moved: HashMap<Uuid, Uuid> = found.moves.iter().map(|planned| (planned.piece, planned.rig)).collect();
        let stays = aboard.pieces.iter().filter(|piece| !moved.contains_key(&piece.id)).cloned();
        let comes = today.held.iter().filter(|held| moved.get(&held.piece.id.0) == Some(&aboard.rig.id.0));
        let pieces: Vec<judge::Piece> = stays.chain(comes.map(|held| held.judged.clone())).collect();
        let view = judge::Rig {
            pieces: &pieces,
            ..aboard.view()
        };
        let rules = self.fleet.rules();
        self.fleet.speak(|voice| judge::assess(&view, &rules, self.now, voice))
    }
}

/// What each piece is for: the need of its rig that it meets and that is open now. One need names one piece; the others are needed with it.
struct For<'a> {
    before: &'a Answers,
    after: HashMap<RigId, Assessment>,
    named: BTreeSet<(RigId, String)>,
}

impl For<'_> {
    fn of(&mut self, rig: RigId, piece: &FleetPiece) -> (Option<String>, String) {
        let further = || (None, format!("a further {}", piece.piece.kind.word()));
        let needs = self.after.get(&rig).map_or(&[][..], |answer| answer.needs.as_slice());
        let Some(need) = needs.iter().find(|need| need.pieces.iter().any(|driven| driven.piece == piece.piece.id.0)) else {
            return further();
        };
        let is_open = |answer: &Assessment| answer.needs.iter().any(|known| known.need == need.need && !known.met);
        if !self.before.get(&rig).is_some_and(is_open) {
            return further();
        }
        let is_first = self.named.insert((rig, need.need.clone()));
        (is_first.then(|| need.need.clone()), need.name.clone())
    }
}

fn tell(asked: &PlanInput<'_>, today: &Today<'_>, answers: &Answers, found: SwapPlan, (mendable, donors): (usize, usize)) -> SwapPlanView {
    let name = |rig: Uuid| asked.fleet.rigs.get(&RigId(rig)).map_or_else(String::new, |aboard| aboard.rig.name.clone());
    let restored = found.restored.iter().filter_map(|restored| asked.fleet.rigs.get(&RigId(restored.rig)));
    let mut meant = For {
        before: answers,
        after: restored.map(|aboard| (aboard.rig.id, asked.after(&found, today, aboard))).collect(),
        named: BTreeSet::new(),
    };
    let moves = found.moves.into_iter().filter_map(|planned| {
        let held = today.held.iter().find(|held| held.piece.id.0 == planned.piece)?;
        let to = asked.fleet.rigs.get(&RigId(planned.rig))?;
        let way = day::minutes(asked.county, held, to);
        let (need, need_name) = meant.of(to.rig.id, held);
        Some(MoveLine {
            piece: held.piece.id,
            piece_rev: held.rev,
            tag: held.piece.tag.clone(),
            kind: held.piece.kind,
            model: held.piece.model,
            from: held.piece.place.clone(),
            donor_rig: held.piece.place.rig(),
            rig: to.rig.id,
            rig_name: to.rig.name.clone(),
            need,
            need_name,
            minutes: way.map(|(minutes, _)| (minutes * 10.0).round() / 10.0),
            distance_km: way.map(|(_, km)| (km * 10.0).round() / 10.0),
            leaves: planned.leaves,
            ask: asked.ask(held, to),
            words: planned.words,
        })
    });
    let moves = moves.collect();
    SwapPlanView {
        revision: asked.revision,
        at: asked.now,
        by: today.by,
        total: found.total,
        before: found.before,
        after: found.after,
        bound: found.bound,
        proved: found.proved,
        minutes: found.minutes,
        moves,
        restored: found
            .restored
            .into_iter()
            .map(|restored| RestoredLine {
                rig: RigId(restored.rig),
                name: name(restored.rig),
                moves: restored.moves,
                weight: restored.weight,
                words: match today.by {
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
                level: answers.get(&RigId(stays.rig)).map_or(Level::None, |answer| answer.level),
                words: stays.words,
            })
            .collect(),
        words: match today.by {
            Counted::Demand => found.words,
            Counted::Rigs => in_rigs(found.before, found.after, found.bound, &found.undecided),
        },
        undecided: found
            .undecided
            .into_iter()
            .map(|open| UndecidedLine {
                rig: RigId(open.rig),
                name: name(open.rig),
                words: open.words,
            })
            .collect(),
        mendable,
        donors,
        arriving: asked.arriving,
    }
}

fn in_rigs(before: f64, after: f64, bound: f64, undecided: &[calc::UndecidedRig]) -> String {
    let words = if after > before {
        let are = if (after - 1.0).abs() < 0.5 { "rig is" } else { "rigs are" };
        format!("{after} {are} full with these moves instead of {before}.")
    } else {
        let rigs = if (before - 1.0).abs() < 0.5 { "rig that is" } else { "rigs that are" };
        format!("No move makes more rigs full than the {before} {rigs} so now.")
    };
    if bound > after && !undecided.is_empty() {
        format!("{words} Not every set of pieces was tried: {bound} were not ruled out.")
    } else if bound > after {
        format!("{words} The search was stopped: {bound} were not ruled out.")
    } else {
        words
    }
}
