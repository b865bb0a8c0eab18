//! The two sets of a rollout side by side: what each is, which joints between them somebody could make by accident, which adapters bridge them.
//! Worked out from the models, once for a rollout; which rig carries what does not matter for it.

use std::collections::BTreeMap;

use fullset_calc::{
    hookup::{CrossJoint, CrossVerdict, Fluid, LineRules, Mates, SetPart, cross_joints},
    ratings::Kind,
    units::{Quantity, Units},
};
use serde::Serialize;
use utoipa::ToSchema;

use super::{Rollout, RolloutId};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _, Row},
    },
    slices::{
        agencies::Agency,
        couplings::{Coupling, list},
        models::{Model, ModelId},
        pieces::{Piece, PieceState},
    },
};

/// The most joints of one answer; of more it says how many.
const MOST_JOINTS: usize = 500;
/// The most models of adapters that are looked at.
const MOST_ADAPTERS: usize = 200;

/// A model of one of the two sets.
#[derive(Debug, Serialize, ToSchema)]
pub struct SetModel {
    /// The model of the set.
    pub model: ModelId,
    /// The model's name of now.
    pub name: String,
    /// What kind of gear it is.
    pub kind: Kind,
    /// Whether a hose is, or may be, joined to it; a battery tool takes none.
    pub takes_hose: bool,
    /// The battery system that its packs are of; null: not on record, or it takes no pack.
    pub battery: Option<String>,
    /// The couplings of its ends, each once; none: not on record, or it has none.
    #[schema(max_items = 5)]
    pub couplings: Vec<String>,
    /// The fluid that it holds or is made for; null: not on record, or none.
    pub fluid: Option<Fluid>,
    /// The pressure on its plate; null: not on record, or none.
    pub pressure: Option<Quantity>,
}

/// Which of the two sets something is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SetSide {
    /// The set that leaves.
    Old,
    /// The set that comes.
    New,
}

impl SetSide {
    const fn word(self) -> &'static str {
        match self {
            Self::Old => "old",
            Self::New => "new",
        }
    }
}

/// A joint between the two sets that somebody could make.
#[derive(Debug, Serialize, ToSchema)]
pub struct RolloutJoint {
    /// Of which set what stands nearer to the source is; the other is of the other set.
    pub near_side: SetSide,
    /// What stands nearer to the source.
    pub near: ModelId,
    /// The coupling of its end towards the tool; null: not on record.
    pub near_coupling: Option<String>,
    /// What would be joined to it.
    pub far: ModelId,
    /// The coupling of its end towards the source; null: not on record.
    pub far_coupling: Option<String>,
    /// The adapter between them; null: the two mate by themselves.
    pub adapter: Option<ModelId>,
    /// What is known of it.
    pub verdict: CrossVerdict,
    /// The same as a sentence.
    pub words: String,
}

/// An adapter that bridges the two sets, or that is banned.
#[derive(Debug, Serialize, ToSchema)]
pub struct RolloutAdapter {
    /// The model of the adapter.
    pub model: ModelId,
    /// The adapter's name of now.
    pub name: String,
    /// Whether the rollout bans it.
    pub banned: bool,
    /// How many joints of the two sets it makes possible.
    pub joints: usize,
    /// How many of those are wrong by what is on record.
    pub wrong: usize,
    /// How many pieces of it the agency has that are not retired.
    pub pieces: usize,
}

/// Both sets of a rollout apart, and what could join them by accident.
#[derive(Debug, Serialize, ToSchema)]
pub struct RolloutSets {
    /// The rollout whose two sets these are.
    pub rollout: RolloutId,
    /// The set that leaves.
    #[schema(max_items = 40)]
    pub old: Vec<SetModel>,
    /// The set that comes.
    #[schema(max_items = 40)]
    pub new: Vec<SetModel>,
    /// The joints between them, by themselves first, wrong ones first, then unknown ones; 500 at most.
    #[schema(max_items = 500)]
    pub joints: Vec<RolloutJoint>,
    /// How many joints more there are.
    pub left_off: usize,
    /// The adapters that bridge the two sets or are banned, unbanned ones first.
    #[schema(max_items = 220)]
    pub adapters: Vec<RolloutAdapter>,
    /// How many models of adapters were not looked at, because there are more than 200.
    pub adapters_not_looked_at: usize,
    /// What holds whatever is said above.
    #[schema(max_items = 4)]
    pub cautions: Vec<String>,
}

/// What holds whatever the records say (common practice, no source).
const CAUTIONS: [&str; 4] = [
    "Never join a part of the old set to a part of the new one, also where the couplings mate: the makers' manuals and local orders come before anything shown here.",
    "Fluids never mix. What was joined across the two sets comes out of service at once, and the shop says what is to be done.",
    "What is not on record is not known to be apart: look at the plate and enter it.",
    "Store and mark the two sets apart; never search for a leak by hand.",
];

fn set_models(all: &[Model], ids: &[ModelId]) -> Vec<SetModel> {
    let known = ids.iter().filter_map(|id| all.iter().find(|model| model.id == *id));
    known
        .map(|model| {
            let hookup = &model.hookup;
            let ends = [hookup.source_end(), hookup.tool_end()].into_iter().flatten();
            let mut couplings: Vec<String> = Vec::new();
            for end in ends.chain(hookup.outlets.iter().map(|outlet| outlet.coupling.as_str())) {
                if !couplings.iter().any(|known| known == end) {
                    couplings.push(end.to_owned());
                }
            }
            SetModel {
                model: model.id,
                name: model.name.clone(),
                kind: model.kind,
                takes_hose: SetPart { kind: model.kind, hookup }.is_hosed(),
                battery: hookup.battery.clone(),
                couplings,
                fluid: hookup.fluid,
                pressure: hookup.pressure,
            }
        })
        .collect()
}

/// Both sets with the adapters that might bridge them, as joints are looked for.
struct BothSets<'a> {
    old: Vec<&'a Model>,
    new: Vec<&'a Model>,
    adapters: Vec<&'a Model>,
    units: Units,
    rules: LineRules<'a>,
}

impl<'a> BothSets<'a> {
    fn side(&self, side: SetSide) -> &[&'a Model] {
        match side {
            SetSide::Old => &self.old,
            SetSide::New => &self.new,
        }
    }

    fn joints(&self, near_side: SetSide) -> Vec<RolloutJoint> {
        let far_side = match near_side {
            SetSide::Old => SetSide::New,
            SetSide::New => SetSide::Old,
        };
        let parts = |models: &[&'a Model]| {
            let all = models.iter().map(|model| SetPart {
                kind: model.kind,
                hookup: &model.hookup,
            });
            all.collect::<Vec<_>>()
        };
        let (near, far) = (self.side(near_side), self.side(far_side));
        let found = cross_joints(&parts(near), &parts(far), &parts(&self.adapters), &self.rules);
        let told = |joint: CrossJoint| {
            let (near, far) = (near.get(joint.near)?, far.get(joint.far)?);
            let adapter = joint.adapter.and_then(|at| self.adapters.get(at));
            let words = self.words(&joint, (near_side, near), (far_side, far), adapter.copied());
            Some(RolloutJoint {
                near_side,
                near: near.id,
                near_coupling: joint.near_coupling,
                far: far.id,
                far_coupling: joint.far_coupling,
                adapter: adapter.map(|model| model.id),
                verdict: joint.verdict,
                words,
            })
        };
        found.into_iter().filter_map(told).collect()
    }

    fn words(&self, joint: &CrossJoint, (near_side, near): (SetSide, &Model), (far_side, far): (SetSide, &Model), adapter: Option<&Model>) -> String {
        let known = joint.near_coupling.is_some() && joint.far_coupling.is_some();
        let by = adapter.map(|adapter| format!(" by the adapter {}", adapter.name)).unwrap_or_default();
        let mates = if known { "mates with" } else { "may mate with" };
        let why: Vec<String> = joint.misfits.iter().map(|misfit| misfit.words(self.units)).collect();
        let end = match joint.verdict {
            CrossVerdict::Alike => "nothing on record speaks against it, which is no leave to join the two".to_owned(),
            CrossVerdict::Wrong | CrossVerdict::Unknown => why.join("; "),
        };
        format!("the {} {} {mates} the {} {}{by}: {end}", near_side.word(), near.name, far_side.word(), far.name)
    }
}

/// Reads it.
pub fn sets(db: &mut Db, agency: AgencyId, rollout: &Rollout) -> Result<RolloutSets, Fault> {
    let own: Option<Agency> = record::find(db, agency, Agency::KIND, agency.0)?.as_ref().map(Row::read).transpose()?;
    let own = own.ok_or_else(|| anyhow::anyhow!("an agency without its record"))?;
    let models = record::read_all::<Model>(db, agency)?;
    let mates = Mates::from(&list(&record::read_all::<Coupling>(db, agency)?));
    let of = |ids: &[ModelId]| -> Vec<&Model> { ids.iter().filter_map(|id| models.iter().find(|model| model.id == *id)).collect() };
    // An adapter of the new set belongs to it and bridges nothing by accident.
    let bridges = models.iter().filter(|model| model.kind == Kind::Adapter && !rollout.models.contains(&model.id));
    let (mut adapters, others): (Vec<&Model>, Vec<&Model>) = bridges.partition(|model| rollout.banned_adapters.contains(&model.id));
    let room = MOST_ADAPTERS.saturating_sub(adapters.len());
    let adapters_not_looked_at = others.len().saturating_sub(room);
    adapters.extend(others.into_iter().take(room));
    let both = BothSets {
        old: of(&rollout.replaces),
        new: of(&rollout.models),
        adapters,
        units: own.units,
        rules: LineRules {
            tolerance: own.policy.pressure_tolerance,
            adapters: true,
            mates: &mates,
        },
    };
    let mut joints = both.joints(SetSide::Old);
    joints.extend(both.joints(SetSide::New));
    joints.sort_by_key(|joint| (joint.adapter.is_some(), joint.verdict));
    let adapters = bridging(db, agency, rollout, &both, &joints)?;
    let left_off = joints.len().saturating_sub(MOST_JOINTS);
    joints.truncate(MOST_JOINTS);
    Ok(RolloutSets {
        rollout: rollout.id,
        old: set_models(&models, &rollout.replaces),
        new: set_models(&models, &rollout.models),
        joints,
        left_off,
        adapters,
        adapters_not_looked_at,
        cautions: CAUTIONS.map(str::to_owned).into(),
    })
}

fn bridging(db: &mut Db, agency: AgencyId, rollout: &Rollout, both: &BothSets<'_>, joints: &[RolloutJoint]) -> Result<Vec<RolloutAdapter>, Fault> {
    let mut counts: BTreeMap<ModelId, (usize, usize)> = BTreeMap::new();
    for joint in joints {
        if let Some(adapter) = joint.adapter {
            let count = counts.entry(adapter).or_default();
            count.0 += 1;
            count.1 += usize::from(joint.verdict == CrossVerdict::Wrong);
        }
    }
    let shown = both
        .adapters
        .iter()
        .filter(|model| counts.contains_key(&model.id) || rollout.banned_adapters.contains(&model.id));
    let shown: Vec<&&Model> = shown.collect();
    let ids: Vec<uuid::Uuid> = shown.iter().map(|model| model.id.0).collect();
    let mut live: BTreeMap<ModelId, usize> = BTreeMap::new();
    for row in record::of_parents(db, agency, Piece::KIND, &ids)? {
        let piece: Piece = row.read()?;
        if piece.state != PieceState::Retired {
            *live.entry(piece.model).or_default() += 1;
        }
    }
    let mut all: Vec<RolloutAdapter> = shown
        .into_iter()
        .map(|model| {
            let (joints, wrong) = counts.get(&model.id).copied().unwrap_or_default();
            RolloutAdapter {
                model: model.id,
                name: model.name.clone(),
                banned: rollout.banned_adapters.contains(&model.id),
                joints,
                wrong,
                pieces: live.get(&model.id).copied().unwrap_or_default(),
            }
        })
        .collect();
    all.sort_by(|a, b| (a.banned, &a.name).cmp(&(b.banned, &b.name)));
    Ok(all)
}
