//! Models made from what the rows say.
//!
//! Rows of one model name and kind whose hook-up and ratings agree within 1 % are one model (40 ft and 12.2 m are the
//! same length, 10,400 psi and 717 bar the same pressure); the first complete row's spelling stays. Rows that leave
//! something out join it. Rows that contradict it become a variant, named by what differs: `H-40 (30 ft)`.

use super::cells::Fault;
use fullset_calc::{
    hookup::Hookup,
    ratings::{Figure, Kind, Rating, Ratings, Term},
    units::Quantity,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use utoipa::ToSchema;

/// Two figures are the same when they differ by no more than this share, which covers rounding into other units.
const SAME: f64 = 0.01;

/// Beyond so many variants, the values under one name are not those of models.
const MOST_VARIANTS: usize = 40;

/// A model of the file.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct ReadModel {
    /// What the rows call it by: kind and name.
    pub key: String,
    /// Its name.
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
    /// Its name.
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

/// One value of a model.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Value<'a> {
    Text(&'a str),
    Count(u32),
    Size(Quantity),
    Rating(&'a Rating),
}

impl Value<'_> {
    fn same(self, other: Self) -> bool {
        match (self, other) {
            (Self::Text(a), Self::Text(b)) => a.trim().eq_ignore_ascii_case(b.trim()),
            (Self::Size(a), Self::Size(b)) => near(a, b),
            (Self::Rating(a), Self::Rating(b)) => {
                let either = |a: &Option<String>, b: &Option<String>| a.as_deref().zip(b.as_deref()).is_none_or(|(a, b)| a.eq_ignore_ascii_case(b));
                let figures = match (&a.figure, &b.figure) {
                    (Figure::Quantity(a), Figure::Quantity(b)) => near(*a, *b),
                    (a, b) => a == b,
                };
                figures && either(&a.standard, &b.standard) && either(&a.edition, &b.edition)
            }
            (a, b) => a == b,
        }
    }

    fn words(self) -> String {
        let size = |q: Quantity| format!("{} {}", q.value, q.unit.symbol());
        match self {
            Self::Text(text) => text.to_owned(),
            Self::Count(count) => format!("{count} circuits"),
            Self::Size(q) => size(q),
            Self::Rating(rating) => match rating.figure {
                Figure::Quantity(q) => size(q),
                Figure::Levels(levels) => levels.to_string(),
                Figure::Letter(letter) => letter.to_string(),
            },
        }
    }
}

fn near(a: Quantity, b: Quantity) -> bool {
    a.dimension() == b.dimension() && (a.si() - b.si()).abs() <= SAME * a.si().abs().max(b.si().abs())
}

/// Every value that is given, by what it is called.
fn values<'a>(hookup: &'a Hookup, ratings: &'a Ratings) -> BTreeMap<&'static str, Value<'a>> {
    let text = |name, text: &'a Option<String>| text.as_deref().map(|text| (name, Value::Text(text)));
    let hooks = [
        text("coupling", &hookup.coupling),
        text("tool end coupling", &hookup.tool_coupling),
        hookup.fluid.map(|fluid| ("fluid", Value::Text(fluid.name()))),
        hookup.pressure.map(|q| ("pressure", Value::Size(q))),
        hookup.circuits.map(|count| ("circuits", Value::Count(count))),
        text("battery", &hookup.battery),
    ];
    hooks
        .into_iter()
        .flatten()
        .chain(ratings.iter().map(|(term, rating)| (term.label(), Value::Rating(rating))))
        .collect()
}

fn agree(a: &BTreeMap<&str, Value>, b: &BTreeMap<&str, Value>) -> bool {
    a.iter().all(|(name, value)| b.get(name).is_none_or(|other| value.same(*other)))
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
}

impl Variant {
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
    let facts: BTreeMap<usize, BTreeMap<&'static str, Value>> = members
        .iter()
        .filter_map(|i| rows.get(*i).map(|row| (*i, values(row.hookup, row.ratings))))
        .collect();
    let mut order: Vec<usize> = members.to_vec();
    // Complete rows first, so that they found the model and the others join it.
    order.sort_by_key(|i| (std::cmp::Reverse(facts.get(i).map_or(0, BTreeMap::len)), *i));
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
            .filter(|(_, v)| agree(facts, &values(&v.hookup, &v.ratings)))
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
                let left_out: Vec<&str> = values(&variant.hookup, &variant.ratings)
                    .keys()
                    .copied()
                    .filter(|name| !facts.contains_key(name))
                    .collect();
                left_out.iter().for_each(|name| variant.left_out.entry(name).or_default().push(row.line));
                variant.rows.push(i);
            }
            None if room => {
                let mut variant = found(i, row.hookup, row.ratings);
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
    let Some(base) = variants.first().map(|v| (v.hookup.clone(), v.ratings.clone())) else {
        return;
    };
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
            let value = values(&variant.hookup, &variant.ratings)
                .get(what)
                .map(|value| value.words())
                .unwrap_or_default();
            out.notes.push((
                lines.first().copied().unwrap_or_default(),
                format!(
                    "{name}: the {what} is left out on {}; read as {value}, as on the other lines of this model",
                    lines_words(&lines)
                ),
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
    }
}

/// The name with what differs behind it; where the agency has a model of that name with these values, it is that one.
fn variant_name(row: &ModelRow, variant: &Variant, base: &(Hookup, Ratings), known: &BTreeMap<String, &KnownModel>, taken: &BTreeSet<String>) -> String {
    let own = values(&variant.hookup, &variant.ratings);
    let its = values(&base.0, &base.1);
    let mut differing: Vec<(&str, String)> = own
        .iter()
        .filter(|(name, value)| its.get(*name).is_some_and(|other| !value.same(*other)))
        .map(|(name, value)| (*name, value.words()))
        .collect();
    // What people tell models apart by stands first.
    differing.sort_by_key(|(name, _)| (*name != Term::HoseLength.label(), matches!(*name, "pressure" | "fluid" | "circuits")));
    let free = |name: &str| {
        let key = model_key(row.kind, name);
        !taken.contains(&key) || known.get(&key).is_some_and(|model| agree(&own, &values(&model.hookup, &model.ratings)))
    };
    let mut words: Vec<String> = Vec::new();
    for (_, word) in differing {
        words.push(word);
        let name = format!("{} ({})", row.name, words.join(", "));
        if free(&name) {
            return name;
        }
    }
    (2..)
        .map(|n| format!("{} ({n})", row.name))
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
