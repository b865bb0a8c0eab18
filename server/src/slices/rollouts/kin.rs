//! What belongs with the old set and is of no model that leaves: its packs and charger, its other tools. A changeover leaves it aboard, and
//! nobody is to find that out on the road.

use std::collections::BTreeSet;

use fullset_calc::ratings::Kind;

use super::{feed::Rollout, stages::Ground};
use crate::slices::{
    models::{Model, ModelId},
    pieces::Piece,
};

/// Why a model belongs with the old set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kin {
    /// Of a family of which something leaves.
    Family,
    /// Of a battery system that something which leaves runs on.
    Battery,
    /// A pack or a charger of which nobody knows the battery system.
    Unknown,
}

/// A word of a model that others share with it.
type Word = fn(&Model) -> Option<&str>;

impl Kin {
    fn words(self, model: &Model) -> String {
        match self {
            Self::Family => format!("it is of the family {}, as what leaves is", model.family.as_deref().unwrap_or_default()),
            Self::Battery => format!(
                "it is of the battery system of what leaves, {}",
                model.hookup.battery.as_deref().unwrap_or_default()
            ),
            Self::Unknown => "its battery system is not on record, so that nobody knows whether it belongs to what leaves".into(),
        }
    }
}

/// The models of neither set that belong with the old one. What the new set is of as well stays for a reason.
pub fn kin(ground: &Ground, rollout: &Rollout) -> Vec<(ModelId, Kin)> {
    let of = |ids: &[ModelId], what: Word| -> BTreeSet<String> {
        let models = ids.iter().filter_map(|id| ground.models.get(id));
        models.filter_map(|model| what(model).map(str::to_lowercase)).collect()
    };
    let left = |what: Word| &of(&rollout.replaces, what) - &of(&rollout.models, what);
    let families = left(|model| model.family.as_deref());
    let batteries = left(|model| model.hookup.battery.as_deref());
    let is_of = |set: &BTreeSet<String>, word: Option<&str>| word.is_some_and(|word| set.contains(&word.to_lowercase()));
    let why = |model: &Model| match model.hookup.battery.as_deref() {
        _ if rollout.models.contains(&model.id) || rollout.replaces.contains(&model.id) => None,
        battery if is_of(&batteries, battery) => Some(Kin::Battery),
        _ if is_of(&families, model.family.as_deref()) => Some(Kin::Family),
        None if matches!(model.kind, Kind::Battery | Kind::Charger) && !batteries.is_empty() => Some(Kin::Unknown),
        _ => None,
    };
    ground.models.values().filter_map(|model| why(model).map(|why| (model.id, why))).collect()
}

/// What of it stays aboard a rig, a sentence for each model, by name.
pub fn stays(ground: &Ground, aboard: &[(&Piece, Kin)]) -> Vec<String> {
    let ids: BTreeSet<ModelId> = aboard.iter().map(|(piece, _)| piece.model).collect();
    let words = |id: ModelId| {
        let model = ground.models.get(&id)?;
        let own = || aboard.iter().filter(|(piece, _)| piece.model == id);
        let why = own().next()?.1.words(model);
        let mut tags: Vec<&str> = own().map(|(piece, _)| piece.tag.as_str()).collect();
        tags.sort_unstable();
        Some(format!("{} ({}) stays aboard: {why}", model.name, tags.join(", ")))
    };
    let mut all: Vec<String> = ids.into_iter().filter_map(words).collect();
    all.sort_unstable();
    all
}
