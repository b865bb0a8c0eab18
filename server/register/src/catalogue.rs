//! Models made from what the rows say.
//!
//! Rows of one model name and kind whose hook-up and ratings agree within 1 % are one model (40 ft and 12.2 m are the
//! same length, 10,400 psi and 717 bar the same pressure); the first complete row's spelling stays. Rows that leave
//! something out join it. Rows that contradict it, or that say to be unknown what it gives, become a variant, named by
//! what differs: `H-40 (30 ft)`, `H-40 (pressure unknown)`.

use super::{
    cells::Fault,
    facts::{BATTERY, CIRCUITS, COUPLING, FLUID, Facts, PRESSURE, STANDARD, TOOL_COUPLING},
};
use fullset_calc::{
    hookup::Hookup,
    ratings::{Kind, Rating, Ratings, Term},
};
use std::collections::{BTreeMap, BTreeSet};

/// The longest name of a model.
pub(super) const LONGEST_NAME: usize = 200;

/// Beyond so many variants, the values under one name are not those of models.
const MOST_VARIANTS: usize = 40;

/// A model of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadModel {
    /// What the rows call it by: kind and name.
    pub key: String,
    /// The model's name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// What it connects to.
    pub hookup: Hookup,
    /// What it is rated for.
    pub ratings: Ratings,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A model that the agency has.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownModel {
    /// The model's name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// What it connects to.
    pub hookup: Hookup,
    /// What it is rated for.
    pub ratings: Ratings,
}

/// The key of a model.
#[must_use]
pub fn model_key(kind: Kind, name: &str) -> String {
    format!("{}:{}", kind.name(), name.to_lowercase())
}

/// What one row says of its model.
#[derive(Debug, Clone)]
pub struct ModelRow<'a> {
    /// The line of the row.
    pub line: usize,
    /// The model's name.
    pub name: &'a str,
    /// Its kind.
    pub kind: Kind,
    /// What it connects to.
    pub hookup: &'a Hookup,
    /// What it is rated for.
    pub ratings: &'a Ratings,
    /// Values that the row says to be unknown.
    pub unknown: &'a BTreeSet<&'static str>,
}

/// The models of a file.
#[derive(Debug, Clone, Default)]
pub struct Catalogue {
    /// In the order in which the file names them.
    pub models: Vec<ReadModel>,
    /// For each row the key of its model, or why it has none.
    pub of_row: Vec<Result<String, Fault>>,
    /// What was filled in, and what may be one model or two.
    pub notes: Vec<(usize, String)>,
}

/// A model in the making.
struct Variant {
    hookup: Hookup,
    ratings: Ratings,
    /// The row that stands for it; known models stand before all rows.
    founder: usize,
    /// Its name in the agency, where it has it.
    known: Option<String>,
    rows: Vec<usize>,
    /// What rows left out, and on which lines.
    left_out: BTreeMap<&'static str, Vec<usize>>,
    /// What rows say to be unknown.
    unknown: BTreeSet<&'static str>,
    /// On which lines.
    unknown_on: BTreeMap<&'static str, Vec<usize>>,
}

impl Variant {
    fn facts(&self) -> Facts<'_> {
        Facts::of(&self.hookup, &self.ratings, &self.unknown)
    }

    /// Notes what the row says to be unknown.
    fn doubt(&mut self, row: &ModelRow) {
        self.unknown.extend(row.unknown);
        for name in row.unknown {
            self.unknown_on.entry(name).or_default().push(row.line);
        }
    }

    /// Whether it matters to such a piece that this is not known.
    fn matters(&self, kind: Kind, name: &str) -> bool {
        match name {
            COUPLING | FLUID | PRESSURE => self.hookup.battery.is_none() && !matches!(kind, Kind::Battery | Kind::Charger | Kind::Accessory),
            BATTERY => self.hookup.coupling.is_none() && (kind.is_tool() || matches!(kind, Kind::Battery | Kind::Charger)),
            CIRCUITS | TOOL_COUPLING | STANDARD => true,
            term => kind.terms().iter().any(|own| own.label() == term),
        }
    }

    /// Whether it can be one model with what the row adds: figures of two lines may contradict each other.
    fn holds_with(&self, row: &ModelRow, facts: &Facts) -> bool {
        let own = self.facts();
        if self.known.is_some() || facts.given.keys().all(|name| own.given.contains_key(name)) {
            return true;
        }
        let mut both = found(self.founder, &self.hookup, &self.ratings);
        both.fill(row);
        both.ratings.faults(row.kind).is_empty() && both.hookup.faults(row.kind).is_empty()
    }

    /// Takes over what the row has and the variant has not.
    fn fill(&mut self, row: &ModelRow) {
        let own = &mut self.hookup;
        let other = row.hookup;
        own.coupling = own.coupling.take().or_else(|| other.coupling.clone());
        own.tool_coupling = own.tool_coupling.take().or_else(|| other.tool_coupling.clone());
        own.fluid = own.fluid.or(other.fluid);
        own.pressure = own.pressure.or(other.pressure);
        own.circuits = own.circuits.or(other.circuits);
        own.battery = own.battery.take().or_else(|| other.battery.clone());
        for (term, rating) in row.ratings.iter() {
            match self.ratings.get(term) {
                None => drop(self.ratings.set(term, rating.clone())),
                Some(old) if old.standard.is_none() && rating.standard.is_some() => {
                    let told = Rating {
                        figure: old.figure,
                        standard: rating.standard.clone(),
                        edition: old.edition.clone().or_else(|| rating.edition.clone()),
                    };
                    drop(self.ratings.set(term, told));
                }
                Some(_) => {}
            }
        }
    }
}

/// Makes the models of a file.
#[must_use]
pub fn make(rows: &[ModelRow], known: &[KnownModel]) -> Catalogue {
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (i, row) in rows.iter().enumerate() {
        groups.entry(model_key(row.kind, row.name)).or_default().push(i);
    }
    let known: BTreeMap<String, &KnownModel> = known.iter().map(|model| (model_key(model.kind, &model.name), model)).collect();
    let mut out = Catalogue {
        of_row: vec![Ok(String::new()); rows.len()],
        ..Catalogue::default()
    };
    let mut made: Vec<(usize, ReadModel)> = Vec::new();
    // Names in the file and in the agency are taken; a variant may not come out as one of them.
    let mut taken: BTreeSet<String> = groups.keys().chain(known.keys()).cloned().collect();
    for (key, members) in &groups {
        group(rows, members, known.get(key).copied(), &known, &mut taken, &mut made, &mut out);
    }
    made.sort_by_key(|(line, _)| *line);
    // Two variants may turn out to be one model that the agency has.
    let mut keys = BTreeSet::new();
    out.models = made
        .into_iter()
        .map(|(_, model)| model)
        .filter(|model| keys.insert(model.key.clone()))
        .collect();
    out.notes.sort();
    out
}

/// The models of one name and kind.
fn group(
    rows: &[ModelRow],
    members: &[usize],
    own: Option<&KnownModel>,
    known: &BTreeMap<String, &KnownModel>,
    taken: &mut BTreeSet<String>,
    made: &mut Vec<(usize, ReadModel)>,
    out: &mut Catalogue,
) {
    let facts: BTreeMap<usize, Facts> = members
        .iter()
        .filter_map(|i| rows.get(*i).map(|row| (*i, Facts::of(row.hookup, row.ratings, row.unknown))))
        .collect();
    let mut order: Vec<usize> = members.to_vec();
    // Complete rows first, so that they found the model and the others join it.
    order.sort_by_key(|i| (std::cmp::Reverse(facts.get(i).map_or(0, |facts| facts.given.len())), *i));
    let mut variants: Vec<Variant> = own
        .map(|model| Variant {
            known: Some(model.name.clone()),
            ..found(0, &model.hookup, &model.ratings)
        })
        .into_iter()
        .collect();
    for i in order {
        let (Some(row), Some(facts)) = (rows.get(i), facts.get(&i)) else { continue };
        let fitting: Vec<usize> = variants
            .iter()
            .enumerate()
            .filter(|(_, v)| facts.agree(&v.facts()) && v.holds_with(row, facts))
            .map(|(at, _)| at)
            .collect();
        if fitting.len() > 1 {
            out.notes.push((
                row.line,
                format!("{} could be any of {} variants of that name; it was read as the first", row.name, fitting.len()),
            ));
        }
        let room = variants.len() < MOST_VARIANTS;
        match fitting.first().and_then(|at| variants.get_mut(*at)) {
            Some(variant) => {
                if variant.known.is_none() {
                    variant.fill(row);
                }
                variant.doubt(row);
                let left_out: Vec<&str> = variant.facts().given.keys().copied().filter(|name| !facts.given.contains_key(name)).collect();
                left_out.iter().for_each(|name| variant.left_out.entry(name).or_default().push(row.line));
                variant.rows.push(i);
            }
            None if room => {
                let mut variant = found(i, row.hookup, row.ratings);
                variant.doubt(row);
                variant.rows.push(i);
                variants.push(variant);
            }
            None => {
                let reason = format!("{} has more than {MOST_VARIANTS} different sets of values in this file", row.name);
                let fault = Fault::new(
                    "model-contradicts",
                    reason,
                    Some("give what differs from piece to piece in the note, or name the models apart".into()),
                );
                if let Some(answer) = out.of_row.get_mut(i) {
                    *answer = Err(fault);
                }
            }
        }
    }
    variants.sort_by_key(|v| (v.known.is_none(), v.founder));
    let Some(base) = variants.first().map(|v| (v.hookup.clone(), v.ratings.clone(), v.unknown.clone())) else {
        return;
    };
    let base = Facts::of(&base.0, &base.1, &base.2);
    for (nth, mut variant) in variants.into_iter().enumerate().filter(|(_, v)| !v.rows.is_empty()) {
        let Some(first) = rows.get(variant.rows.iter().copied().min().unwrap_or_default()) else {
            continue;
        };
        let name = match (variant.known.take(), nth) {
            (Some(name), _) => name,
            (None, 0) => rows.get(variant.founder).map_or(first.name, |row| row.name).to_owned(),
            (None, _) => variant_name(first, &variant, &base, known, taken),
        };
        let key = model_key(first.kind, &name);
        taken.insert(key.clone());
        for i in &variant.rows {
            if let Some(answer) = out.of_row.get_mut(*i) {
                *answer = Ok(key.clone());
            }
        }
        for (what, mut lines) in std::mem::take(&mut variant.left_out) {
            lines.sort_unstable();
            let value = variant.facts().given.get(what).map(|value| value.words()).unwrap_or_default();
            out.notes.push((
                lines.first().copied().unwrap_or_default(),
                format!(
                    "{name}: the {what} is left out on {}; read as {value}, as on the other lines of this model",
                    lines_words(&lines)
                ),
            ));
        }
        for (what, lines) in variant.unknown_on.iter().filter(|(what, _)| variant.matters(first.kind, what)) {
            let words = lines_words(&sorted(lines));
            out.notes.push((
                lines.iter().min().copied().unwrap_or_default(),
                format!("{name}: the {what} is given as unknown on {words}; it is kept as unknown and was not taken from another line"),
            ));
        }
        if nth > 0 && name != first.name {
            let lines: Vec<usize> = variant.rows.iter().filter_map(|i| rows.get(*i)).map(|row| row.line).collect();
            let words = lines_words(&sorted(&lines));
            out.notes.push((
                first.line,
                format!("{words} differ from the other lines of {}; read as the model {name}", first.name),
            ));
        }
        let new = !known.contains_key(&key);
        made.push((
            first.line,
            ReadModel {
                key,
                name,
                kind: first.kind,
                hookup: variant.hookup,
                ratings: variant.ratings,
                new,
            },
        ));
    }
}

fn found(founder: usize, hookup: &Hookup, ratings: &Ratings) -> Variant {
    Variant {
        hookup: hookup.clone(),
        ratings: ratings.clone(),
        founder,
        known: None,
        rows: Vec::new(),
        left_out: BTreeMap::new(),
        unknown: BTreeSet::new(),
        unknown_on: BTreeMap::new(),
    }
}

fn sorted(lines: &[usize]) -> Vec<usize> {
    let mut lines = lines.to_vec();
    lines.sort_unstable();
    lines
}

/// The name with what differs behind it; where the agency has a model of that name with these values, it is that one.
fn variant_name(row: &ModelRow, variant: &Variant, base: &Facts, known: &BTreeMap<String, &KnownModel>, taken: &BTreeSet<String>) -> String {
    let own = variant.facts();
    let mut differing = own.differing(base);
    // What people tell models apart by stands first.
    differing.sort_by_key(|(name, _)| (*name != Term::HoseLength.label(), matches!(*name, PRESSURE | FLUID | CIRCUITS)));
    let nothing = BTreeSet::new();
    let free = |name: &str| {
        let key = model_key(row.kind, name);
        !taken.contains(&key)
            || known
                .get(&key)
                .is_some_and(|model| own.agree(&Facts::of(&model.hookup, &model.ratings, &nothing)))
    };
    let named = |behind: &str| {
        let room = LONGEST_NAME.saturating_sub(behind.chars().count() + 3);
        let name: String = row.name.chars().take(room).collect();
        format!("{} ({behind})", name.trim_end())
    };
    let mut words: Vec<String> = Vec::new();
    for (_, word) in differing {
        words.push(word);
        let name = named(&words.join(", "));
        if free(&name) && name.chars().count() <= LONGEST_NAME {
            return name;
        }
    }
    (2..)
        .map(|n| named(&n.to_string()))
        .find(|name| free(name))
        .unwrap_or_else(|| row.name.to_owned())
}

/// `line 5`, `lines 5, 9 and 12`, `lines 5, 9, 12 and 40 more`.
#[must_use]
pub fn lines_words(lines: &[usize]) -> String {
    match lines {
        [one] => format!("line {one}"),
        [first @ .., last] if lines.len() <= 8 => format!("lines {} and {last}", first.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")),
        many => format!(
            "lines {} and {} more",
            many.iter().take(7).map(usize::to_string).collect::<Vec<_>>().join(", "),
            many.len().saturating_sub(7)
        ),
    }
}
