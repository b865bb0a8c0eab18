//! Whether a set of acts brings a rig to a level. A piece that is put aboard is thought of as one that does what its act says: some
//! piece of that kind, for that need, on that family.

use super::worlds::World;
use super::{is_source, is_tool, level, same, usable};
use chrono::Duration;
use fullset_calc::capability::{Act, ActKind, DueCheck, Grade, Level, Life, LifeOf, Part, Piece, State};
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};
use std::sync::Arc;
use uuid::Uuid;

/// So many ways of choosing the pieces put aboard are tried.
const MOST_WAYS: usize = 4000;

/// Whether the acts bring the rig to that level; `None` when there are too many ways to try.
pub fn reach(world: &World, acts: &[Act], target: Level) -> Option<bool> {
    let back = acts.iter().any(|act| act.act == ActKind::PutRigBack);
    let mut pieces = world.pieces.clone();
    let mut further: Vec<Vec<Piece>> = Vec::new();
    for (n, act) in acts.iter().enumerate() {
        match act.act {
            ActKind::PutRigBack => {}
            ActKind::Check | ActKind::PutRight => {
                let piece = pieces
                    .iter_mut()
                    .find(|piece| Some(piece.id) == act.piece)
                    .expect("the act names a piece aboard");
                mend(piece, world, act.act == ActKind::Check);
            }
            ActKind::PutAboard => further.push(candidates(world, act, n)),
        }
    }
    if further.iter().map(Vec::len).product::<usize>() > MOST_WAYS {
        return None;
    }
    Some(some_choice(world, &mut pieces, &further, world.out.is_some() && !back, target))
}

fn some_choice(world: &World, pieces: &mut Vec<Piece>, further: &[Vec<Piece>], out: bool, target: Level) -> bool {
    let Some((first, rest)) = further.split_first() else {
        return level(&*pieces, &world.rules, out, super::worlds::now()) >= target;
    };
    first.iter().any(|candidate| {
        pieces.push(candidate.clone());
        let reached = some_choice(world, pieces, rest, out, target);
        pieces.pop();
        reached
    })
}

/// A piece after its checks, or after its repair; age is not mended.
fn mend(piece: &mut Piece, world: &World, checks_alone: bool) {
    let now = super::worlds::now();
    piece.used_unchecked = None;
    for check in &mut piece.checks {
        check.due = Some(now + Duration::days(90));
    }
    if !checks_alone {
        (piece.state, piece.stop_use, piece.quarantine) = (State::InService, None, None);
        piece.limits.clear();
    }
    debug_assert!(world.pieces.iter().any(|aboard| aboard.id == piece.id));
}

/// Every single act on a piece aboard that could raise the level: a check where checks alone keep it back, else a repair.
pub fn mends(world: &World) -> Vec<Act> {
    let now = super::worlds::now();
    let mut all = Vec::new();
    for piece in &world.pieces {
        let old = match &piece.life {
            Life::None => false,
            Life::Ends(end) | Life::AllowedUntil(end, _) => now >= *end,
            Life::Unknown => true,
        };
        let fit = usable(piece, &world.rules.policy, now);
        let limited = piece.limits.iter().any(|limit| !limit.without.is_empty());
        if old || (fit && !limited) {
            continue;
        }
        let mut checked = piece.clone();
        mend(&mut checked, world, true);
        let enough = !fit && usable(&checked, &world.rules.policy, now);
        all.push(Act {
            act: if enough { ActKind::Check } else { ActKind::PutRight },
            piece: Some(piece.id),
            need: None,
            kind: None,
            family: None,
            words: String::new(),
        });
    }
    all
}

fn grades(world: &World) -> Vec<&Grade> {
    world.rules.grades.iter().flat_map(|grades| grades.each().map(|(_, grade)| grade)).collect()
}

/// The parts that a piece of that kind, put aboard for that need, may be meant for, each with the range that its rams cover.
fn parts<'w>(world: &'w World, kind: Kind, need: Option<&str>) -> Vec<(&'w Part, Option<(Quantity, Quantity)>)> {
    let needs = grades(world)
        .into_iter()
        .flat_map(|grade| &grade.needs)
        .filter(|other| need.is_none_or(|need| other.id == need));
    let alternatives = needs.flat_map(|need| &need.alternatives);
    let with_range = alternatives.flat_map(|a| a.parts.iter().map(|part| (part, a.covers.map(|cover| (cover.from, cover.to)))));
    with_range.filter(|(part, _)| part.kinds.contains(&kind)).collect()
}

/// Ratings that meet a part, and whatever else is asked of its kind where that does not clash.
fn just_meeting(world: &World, kind: Kind, part: &Part, range: Option<(Quantity, Quantity)>) -> Ratings {
    let mut ratings = part.minimums.clone();
    let mut ranges: Vec<_> = range.into_iter().collect();
    for (other, range) in parts(world, kind, None) {
        ranges.extend(range);
        for (term, rating) in other.minimums.iter() {
            if ratings.get(term).is_none() {
                ratings.set(term, rating.clone());
            }
        }
    }
    let size = |q: &Quantity| Rating::plain(q.value, q.unit);
    if let Some((from, _)) = ranges.iter().min_by(|a, b| a.0.si().total_cmp(&b.0.si())) {
        ratings.set(Term::RetractedLength, size(from));
    }
    if let Some((_, to)) = ranges.iter().max_by(|a, b| a.1.si().total_cmp(&b.1.si())) {
        ratings.set(Term::ExtendedLength, size(to));
    }
    ratings
}

/// The names aboard that the act's family speaks of; one of its own when it speaks of none.
fn names_in<'w>(family: Option<&str>, names: impl Iterator<Item = &'w str>) -> Vec<String> {
    let folded = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    let mut all: Vec<String> = Vec::new();
    for name in names {
        let named = family.is_none_or(|family| folded(family).contains(&folded(name)));
        if named && !all.iter().any(|known| same(known, name)) {
            all.push(name.to_owned());
        }
    }
    if all.is_empty() {
        all.push("to be chosen".into());
    }
    all
}

fn candidates(world: &World, act: &Act, n: usize) -> Vec<Piece> {
    let kind = act.kind.expect("an act that puts a piece aboard says of which kind");
    let family = act.family.as_deref();
    let hookups = || world.pieces.iter().map(|piece| &*piece.hookup);
    let couplings = names_in(
        family,
        hookups().flat_map(|h| {
            h.coupling
                .iter()
                .chain(&h.tool_coupling)
                .chain(h.outlets.iter().map(|o| &o.coupling))
                .map(String::as_str)
        }),
    );
    let packs = names_in(family, hookups().filter_map(|h| h.battery.as_deref()));
    let mut fluids: Vec<Fluid> = Fluid::ALL
        .iter()
        .copied()
        .filter(|fluid| family.is_some_and(|text| text.contains(fluid.name())))
        .collect();
    if fluids.is_empty() {
        fluids = hookups().filter_map(|h| h.fluid).chain([Fluid::MineralOil]).collect();
        fluids.sort();
        fluids.dedup();
    }
    let mut pressures: Vec<Quantity> = Vec::new();
    for pressure in hookups().filter_map(|h| h.pressure).chain([Quantity::new(720.0, Unit::Bar)]) {
        if !pressures.iter().any(|known| known.si().total_cmp(&pressure.si()).is_eq()) {
            pressures.push(pressure);
        }
    }
    let strong = Quantity::new(200.0, Unit::Megapascal);
    let mut hookups: Vec<Hookup> = Vec::new();
    for fluid in fluids {
        for near in &couplings {
            let wet = Hookup {
                coupling: Some(near.clone()),
                fluid: Some(fluid),
                pressure: Some(strong),
                ..Hookup::default()
            };
            match kind {
                kind if is_source(kind) => hookups.extend(pressures.iter().map(|pressure| Hookup {
                    pressure: Some(*pressure),
                    circuits: Some(12),
                    ..wet.clone()
                })),
                kind if is_tool(kind) => hookups.push(Hookup {
                    pressure: Some(Quantity::new(1.0, Unit::Bar)),
                    allowable_pressure: Some(strong),
                    ..wet
                }),
                Kind::Hose | Kind::Adapter => hookups.extend(couplings.iter().map(|far| Hookup {
                    tool_coupling: Some(far.clone()),
                    ..wet.clone()
                })),
                _ => {}
            }
        }
    }
    if is_tool(kind) || kind == Kind::Battery {
        hookups.extend(packs.into_iter().map(|pack| Hookup {
            battery: Some(pack),
            ..Hookup::default()
        }));
    }
    if kind == Kind::Accessory {
        hookups.push(Hookup::default());
    }
    let mut ratings: Vec<(Ratings, Option<fullset_calc::ratings::Gear>)> = match kind {
        Kind::Hose => vec![([(Term::HoseLength, Rating::plain(100.0, Unit::Metre))].into_iter().collect(), None)],
        _ => parts(world, kind, act.need.as_deref())
            .into_iter()
            .map(|(part, range)| (just_meeting(world, kind, part, range), part.gear))
            .collect(),
    };
    ratings.dedup();
    if ratings.is_empty() {
        ratings.push((Ratings::new(), None));
    }
    let mut all = Vec::new();
    for (ratings, gear) in ratings {
        for hookup in &hookups {
            let mut piece = Piece {
                id: Uuid::from_u128(9_000_000 + (n * 10_000 + all.len()) as u128),
                tag: format!("NEW-{n}"),
                kind,
                gear: gear.filter(|_| kind == Kind::Accessory),
                hookup: Arc::new(hookup.clone()),
                ratings: Arc::new(ratings.clone()),
                rated_at: Arc::default(),
                fixed_to: None,
                state: State::InService,
                stop_use: None,
                quarantine: None,
                life: Life::None,
                checks: Vec::<DueCheck>::new(),
                limits: Vec::new(),
                last_check: None,
                used_unchecked: None,
                used_while_out: None,
                released: None,
                looser_rules: Vec::new(),
                life_of: LifeOf::Piece,
                untried_since: None,
            };
            super::sound::make_sound(&mut piece);
            all.push(piece);
        }
    }
    all
}

/// Every set of `size` of these.
pub fn subsets<T: Clone>(of: &[T], size: usize) -> Vec<Vec<T>> {
    let Some((last, rest)) = of.split_last() else {
        return if size == 0 { vec![Vec::new()] } else { Vec::new() };
    };
    let mut all = subsets(rest, size);
    if size > 0 {
        all.extend(subsets(rest, size - 1).into_iter().map(|mut set| {
            set.push(last.clone());
            set
        }));
    }
    all
}
