//! Coupling and battery families of a file: every spelling of a family becomes its one name.
//!
//! A coupling takes the name of the agency's list; a family that is not on it is called as the file first calls it, and
//! is brought in with the file.

use super::{catalogue::ReadModel, reading::ReadCoupling, sifting::Draft};
use fullset_calc::hookup::{Couplings, fold};
use std::collections::BTreeMap;

/// The names given so far, by their folded spelling.
#[derive(Debug, Default)]
struct Names(BTreeMap<String, String>);

impl Names {
    fn settle(&mut self, written: &mut String) {
        let name = self.0.entry(fold(written)).or_insert_with(|| written.clone());
        written.clone_from(name);
    }
}

/// Gives every coupling and battery of the rows the one name of its family. `batteries` are families that the agency has.
pub(super) fn settle<'a>(drafts: impl Iterator<Item = &'a mut Draft>, couplings: &Couplings, batteries: impl Iterator<Item = &'a str>) {
    let mut met = Names::default();
    let mut packs = Names::default();
    for known in batteries {
        packs.settle(&mut known.to_owned());
    }
    for draft in drafts {
        let hookup = &mut draft.figures.hookup;
        for written in [&mut hookup.coupling, &mut hookup.tool_coupling].into_iter().flatten() {
            match couplings.find(written) {
                Some(family) => written.clone_from(&family.name),
                None => met.settle(written),
            }
        }
        if let Some(written) = &mut hookup.battery {
            packs.settle(written);
        }
    }
}

/// The coupling families that the models bring in, in the order in which they name them.
pub(super) fn brought_in(models: &[ReadModel], couplings: &Couplings) -> Vec<ReadCoupling> {
    let mut new: Vec<ReadCoupling> = Vec::new();
    let named = models
        .iter()
        .flat_map(|model| [&model.hookup.coupling, &model.hookup.tool_coupling].into_iter().flatten());
    for name in named {
        if couplings.find(name).is_none() && !new.iter().any(|one| one.name == *name) {
            new.push(ReadCoupling { name: name.clone() });
        }
    }
    new
}
