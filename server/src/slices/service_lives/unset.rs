//! Pieces that wear with age and for which no life is set: they run out as well, and nobody has said when.

use std::collections::{BTreeMap, BTreeSet};

use fullset_calc::ratings::Kind;
use fullset_care::life::{Life, LifePart};
use serde::Serialize;
use utoipa::ToSchema;

use super::rules::many_words;

/// The most models that are named for a kind.
const MOST_MODELS: usize = 20;

/// How many pieces of a kind that wears with age have no life set.
#[derive(Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct NoLifeCount {
    /// The kind of the pieces.
    kind: Kind,
    /// How many of them have no life set; they stand in no month and in no year.
    pieces: usize,
    /// The names of their models, for which a life can be set; 20 at most.
    #[schema(max_items = 20)]
    models: Vec<String>,
    /// In words: "41 battery packs".
    words: String,
}

/// Counts pieces for which no life is set.
#[derive(Debug, Default)]
pub struct NoLife(BTreeMap<Kind, (usize, BTreeSet<String>)>);

/// Hoses and packs age whether they are used or not. Of tools, pumps and small gear few makers state a life: those count where one is stated.
fn wears_with_age(kind: Kind) -> bool {
    matches!(kind, Kind::Hose | Kind::Battery)
}

impl NoLife {
    /// Counts a piece, where its kind wears with age and nothing says how long it serves as a whole.
    pub fn add(&mut self, kind: Kind, model: &str, own: &[Life<'_>]) {
        if !wears_with_age(kind) || own.iter().any(|life| life.part == LifePart::Whole) {
            return;
        }
        let (pieces, models) = self.0.entry(kind).or_default();
        *pieces += 1;
        models.insert(model.to_owned());
    }

    /// What was counted, by kind.
    pub fn counts(self) -> Vec<NoLifeCount> {
        let counts = self.0.into_iter().map(|(kind, (pieces, models))| NoLifeCount {
            kind,
            pieces,
            models: models.into_iter().take(MOST_MODELS).collect(),
            words: many_words(kind, pieces),
        });
        counts.collect()
    }
}

#[cfg(test)]
mod tests {
    use fullset_care::life::End;

    use super::*;

    #[test]
    fn a_pack_without_a_life_is_counted_and_a_tool_is_not() {
        let life = |part| Life {
            part,
            end: End::DateUnknown,
            source: None,
        };
        let mut found = NoLife::default();
        found.add(Kind::Battery, "Orvane P5", &[]);
        found.add(Kind::Battery, "Orvane P5", &[life(LifePart::Bag)]);
        found.add(Kind::Battery, "Kestrel P2", &[]);
        found.add(Kind::Battery, "Kestrel P2", &[life(LifePart::Whole)]);
        found.add(Kind::Cutter, "Dorvan C9", &[]);
        let counts = found.counts();
        assert_eq!(counts.len(), 1, "{counts:?}");
        assert_eq!((counts[0].pieces, counts[0].words.as_str()), (3, "3 battery packs"));
        assert_eq!(counts[0].models, ["Kestrel P2", "Orvane P5"]);
    }
}
