//! What a changeover still waits for: the stages of a rig, worked out from plain records. The command asks them, the progress shows them.

use std::collections::{HashMap, HashSet};

use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use fullset_care::crew::asks_for_sign_off;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{feed::Rollout, rig::RolloutRig, shift::ShiftAnswer};
use crate::{
    platform::{ids::MemberId, said::quoted},
    slices::{
        members::Member,
        models::{Model, ModelId},
        pieces::{Piece, PieceState, Place},
    },
};

/// A stage on a rig's way to its new set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RolloutStage {
    /// A week is planned and has begun.
    Planned,
    /// All pieces of the new set are here.
    Received,
    /// Each was accepted, with the readings that later ones are held against, and is in service.
    Accepted,
    /// Tags are on the pieces and hose ends are paired, by a person's word.
    Marked,
    /// It is said in which compartment the set lies, and what is driven or does the work has an approved operating card.
    Stowed,
    /// Each shift of the station has its minimum signed off.
    Trained,
    /// No banned adapter is aboard.
    Apart,
    /// The new set is aboard, usable and tried on this rig.
    InService,
    /// Nothing of the old set is aboard, on its way there, or has its home there.
    Withdrawn,
}

impl RolloutStage {
    /// Whether it must stand before the changeover.
    pub const fn comes_before(self) -> bool {
        !matches!(self, Self::InService | Self::Withdrawn)
    }
}

/// How a stage stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct StageAnswer {
    /// Which of the nine stages it is about.
    pub stage: RolloutStage,
    /// Whether it stands.
    pub done: bool,
    /// What holds it up, a sentence for each thing; empty where it stands.
    #[schema(max_items = 300)]
    pub held_by: Vec<String>,
}

/// What is known of all rigs of a rollout.
#[derive(Debug)]
pub struct Ground {
    /// The day, in the agency's time zone.
    pub today: NaiveDate,
    /// The models of both sets and the banned adapters.
    pub models: HashMap<ModelId, Model>,
    /// The models with an approved operating card.
    pub carded: HashSet<ModelId>,
    /// All members.
    pub members: HashMap<MemberId, Member>,
    /// Names of rigs, stations and shops, by id.
    pub names: HashMap<uuid::Uuid, String>,
}

impl Ground {
    fn name(&self, id: uuid::Uuid) -> &str {
        self.names.get(&id).map_or("a place that is not on record", String::as_str)
    }

    fn model(&self, id: ModelId) -> String {
        self.models
            .get(&id)
            .map_or_else(|| "a model that is not on record".to_owned(), |model| model.name.clone())
    }

    /// Where a piece is, as a sentence goes on: "on Engine 4", "in Fleet shop".
    pub fn place(&self, place: &Place) -> String {
        match place {
            Place::Rig { rig } => format!("on {}", self.name(rig.0)),
            Place::Shelf { station } => format!("on the shelf of {}", self.name(station.0)),
            Place::Shop { shop } => format!("in {}", self.name(shop.0)),
            Place::Vendor { name, .. } => format!("at {name}"),
            Place::Loan { name, .. } => format!("on loan to {name}"),
            Place::Transit { to } => format!("on its way, to be {}", self.place(to)),
            Place::Retired => "retired".into(),
        }
    }

    /// Models of the set that a member must be signed off on: what is driven or does the work.
    pub(super) fn asked<'a>(&'a self, rollout: &'a Rollout) -> impl Iterator<Item = &'a Model> {
        let known = rollout.models.iter().filter_map(|id| self.models.get(id));
        known.filter(|model| asks_for_sign_off(model.kind))
    }
}

/// What is known of one rig of a rollout.
#[derive(Debug)]
pub struct RigFacts<'a> {
    /// The rollout.
    pub rollout: &'a Rollout,
    /// The rig's place in it.
    pub plan: &'a RolloutRig,
    /// The station's name.
    pub station: &'a str,
    /// The shifts of its station.
    pub shifts: &'a [ShiftAnswer],
    /// The pieces of its new set; `None`: one that is not on record any more.
    pub own: Vec<Option<&'a Piece>>,
    /// What of the old set is aboard, on its way there, or has its home there.
    pub old: Vec<&'a Piece>,
    /// What left the rig at its changeover, as it is now.
    pub gone: Vec<&'a Piece>,
    /// Banned adapters that are aboard or on their way there.
    pub banned: Vec<&'a Piece>,
}

/// Every stage of a rig, in order.
pub fn stages(ground: &Ground, facts: &RigFacts<'_>) -> Vec<StageAnswer> {
    let answer = |stage, held_by: Vec<String>| StageAnswer {
        stage,
        done: held_by.is_empty(),
        held_by,
    };
    vec![
        answer(RolloutStage::Planned, planned(ground, facts)),
        answer(RolloutStage::Received, received(ground, facts)),
        answer(RolloutStage::Accepted, accepted(facts)),
        answer(RolloutStage::Marked, marked(facts)),
        answer(RolloutStage::Stowed, stowed(ground, facts)),
        answer(RolloutStage::Trained, trained(ground, facts)),
        answer(RolloutStage::Apart, apart(facts)),
        answer(RolloutStage::InService, in_service(ground, facts)),
        answer(RolloutStage::Withdrawn, withdrawn(ground, facts)),
    ]
}

/// What holds a changeover up, each thing with its stage; empty where nothing does.
pub fn held_up(stages: &[StageAnswer]) -> Vec<(RolloutStage, &str)> {
    let before = stages.iter().filter(|one| one.stage.comes_before());
    before.flat_map(|one| one.held_by.iter().map(|words| (one.stage, words.as_str()))).collect()
}

fn planned(ground: &Ground, facts: &RigFacts<'_>) -> Vec<String> {
    match facts.plan.week {
        _ if facts.plan.changed_over.is_some() => Vec::new(),
        None => vec![format!("no week is planned for {}", facts.plan.rig_name)],
        Some(week) if week > ground.today => vec![format!("it is planned for the week of {week}, which has not begun")],
        Some(_) => Vec::new(),
    }
}

fn received(ground: &Ground, facts: &RigFacts<'_>) -> Vec<String> {
    let mut held = Vec::new();
    if facts.plan.pieces.is_empty() {
        held.push(format!("no piece of the new set is assigned to {}", facts.plan.rig_name));
    } else {
        let has = |model: ModelId| facts.own.iter().flatten().any(|piece| piece.model == model);
        let missing = facts.rollout.models.iter().filter(|model| !has(**model));
        held.extend(missing.map(|model| format!("no {} is assigned to {}", ground.model(*model), facts.plan.rig_name)));
    }
    for piece in &facts.own {
        let Some(piece) = piece else {
            held.push("a piece of the new set is not on record any more".into());
            continue;
        };
        match (&piece.place, piece.state) {
            (_, PieceState::Missing) => held.push(format!("{} is missing", piece.tag)),
            (_, PieceState::Retired) => held.push(format!("{} is retired", piece.tag)),
            (Place::Shelf { .. } | Place::Shop { .. }, _) => {}
            (Place::Rig { rig }, _) if *rig == facts.plan.rig && facts.plan.changed_over.is_some() => {}
            (place, _) => held.push(format!("{} is {}", piece.tag, ground.place(place))),
        }
    }
    held
}

/// Whether an acceptance test leaves readings on a piece of this kind: what is under pressure or does the work. The others are looked over.
fn is_measured(kind: Kind) -> bool {
    kind.is_source() || kind.is_tool() || kind == Kind::Hose
}

fn accepted(facts: &RigFacts<'_>) -> Vec<String> {
    let mut held = Vec::new();
    if facts.own.is_empty() {
        held.push("there is nothing to accept yet".into());
    }
    for piece in facts.own.iter().flatten() {
        if is_measured(piece.kind) && piece.baseline.is_empty() {
            held.push(format!("{} has no acceptance test with readings", piece.tag));
        } else if !is_measured(piece.kind) && piece.checked_at.is_none() && piece.passes.is_empty() {
            held.push(format!("{} was never looked over", piece.tag));
        }
        if piece.state == PieceState::OutOfService {
            let why = piece.state_reason.as_deref().map(quoted).unwrap_or_default();
            held.push(format!("{} is out of service: {why}", piece.tag));
        }
    }
    held
}

fn marked(facts: &RigFacts<'_>) -> Vec<String> {
    match facts.plan.marked {
        Some(_) => Vec::new(),
        None => vec!["nobody has said that the tags are on the pieces and the hose ends are paired".into()],
    }
}

fn stowed(ground: &Ground, facts: &RigFacts<'_>) -> Vec<String> {
    let mut held = Vec::new();
    if facts.plan.stowed.is_none() {
        held.push("nobody has said in which compartment the new set lies".into());
    }
    let bare = ground.asked(facts.rollout).filter(|model| !ground.carded.contains(&model.id));
    held.extend(bare.map(|model| format!("{} has no approved operating card", model.name)));
    held
}

fn trained(ground: &Ground, facts: &RigFacts<'_>) -> Vec<String> {
    let alike = ground.asked(facts.rollout).filter(|model| model.family.is_none());
    let mut held: Vec<String> = alike
        .map(|model| format!("{} names no family, so that nobody is signed off on it apart from what it replaces", model.name))
        .collect();
    let station = facts.station;
    // That each of its shifts is said not to be leaves nobody who could be trained; it is no leave to change over.
    if facts.shifts.iter().all(|answer| !answer.exists) {
        held.push(format!("{station}: no shift that it has is on record; enter the roster of each"));
    }
    for answer in facts.shifts.iter().filter(|answer| answer.exists) {
        let shift = &answer.shift;
        match (answer.minimum, answer.signed) {
            (_, None) => held.push(format!("{shift} of {station}: who belongs to it is not known; enter its roster")),
            (None, Some(_)) => held.push(format!("{shift} of {station}: the rollout sets no minimum for it")),
            (Some(minimum), Some(signed)) if signed < minimum => {
                held.push(format!("{shift} of {station}: {signed} of at least {minimum} are signed off on the new set"));
                let twice: Vec<String> = answer.twice.iter().filter(|words| !held.contains(words)).cloned().collect();
                held.extend(twice);
            }
            _ => {}
        }
    }
    held
}

fn apart(facts: &RigFacts<'_>) -> Vec<String> {
    let banned = facts.banned.iter();
    banned
        .map(|piece| {
            format!(
                "{} is aboard {} or on its way there, and such adapters are banned while the rollout runs",
                piece.tag, facts.plan.rig_name
            )
        })
        .collect()
}

fn in_service(ground: &Ground, facts: &RigFacts<'_>) -> Vec<String> {
    if facts.plan.changed_over.is_none() {
        return vec![format!("{} has not changed over", facts.plan.rig_name)];
    }
    let mut held = Vec::new();
    for piece in facts.own.iter().flatten() {
        if piece.place.rig() != Some(facts.plan.rig) {
            held.push(format!("{} is {}", piece.tag, ground.place(&piece.place)));
        } else if piece.state != PieceState::InService {
            held.push(format!("{} is not in service", piece.tag));
        } else if piece.untried_since().is_some() {
            held.push(format!("{} was not tried on {} yet", piece.tag, facts.plan.rig_name));
        }
    }
    held
}

fn withdrawn(ground: &Ground, facts: &RigFacts<'_>) -> Vec<String> {
    if facts.plan.changed_over.is_none() {
        return vec!["the old set leaves at the changeover".into()];
    }
    let rig = facts.plan.rig;
    let old = facts.old.iter().map(|piece| match piece.place.end().rig() {
        Some(there) if there == rig => format!("{} of the old set is {}", piece.tag, ground.place(&piece.place)),
        _ => format!("{} of the old set still has its home on {}", piece.tag, facts.plan.rig_name),
    });
    let is_old = |piece: &Piece| facts.old.iter().any(|one| one.id == piece.id);
    let under_way = facts.gone.iter().filter(|piece| matches!(piece.place, Place::Transit { .. }) && !is_old(piece));
    let under_way = under_way.map(|piece| format!("{} of the old set is {}", piece.tag, ground.place(&piece.place)));
    old.chain(under_way).collect()
}
