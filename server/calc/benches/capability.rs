//! How long answers take: `cargo bench -p fullset-calc --bench capability`. Plain timing, no dependency; fails nothing.
#![allow(clippy::unwrap_used, clippy::cast_precision_loss, clippy::cast_possible_truncation)]

#[path = "capability/fleet.rs"]
mod fleet;

use fleet::{Dice, complement, now, odd_rigs, random_rig, rules, typical};
use fullset_calc::capability::{Complement, Level, Piece, Rig, Rules, State, Template, Voice, assess, assess_with_pieces, level, verdicts};
use fullset_calc::units::Units;
use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::Instant;

/// Median, 95 % and longest of many single runs, in microseconds.
fn times(runs: usize, mut work: impl FnMut()) -> (f64, f64, f64) {
    let begin = Instant::now();
    let mut each = Vec::with_capacity(runs);
    // A rig that takes long is timed fewer times: at least thrice, at most two seconds.
    while each.len() < runs && (each.len() < 3 || begin.elapsed().as_secs() < 2) {
        let start = Instant::now();
        work();
        each.push(start.elapsed().as_secs_f64() * 1e6);
    }
    each.sort_by(f64::total_cmp);
    let share = |part: usize| each.get(each.len() * part / 100).copied().unwrap_or_default();
    (share(50), share(95), each.last().copied().unwrap_or_default())
}

fn tell(name: &str, rig: &Rig<'_>, rules: &Rules) {
    let voice = Voice::utc(Units::Us);
    let answer = assess(rig, rules, now(), &voice);
    let (quick, quick_95, _) = times(2000, || {
        black_box(level(black_box(rig), rules, now()));
    });
    let (whole, whole_95, _) = times(200, || drop(black_box(assess_with_pieces(black_box(rig), rules, now(), &voice))));
    println!(
        "  {name} ({} pieces): level {quick:.1} us (95 % {quick_95:.1}); whole answer with pieces {whole:.1} us (95 % {whole_95:.1})",
        rig.pieces.len()
    );
    println!(
        "    {}, target {}, confirmed {}, {:?}, margin {:?}{}, {} critical, {} at once, {} gaps, {} acts, smallest for certain: {}",
        answer.level.name(),
        answer.target.name(),
        answer.confirmed_level.name(),
        answer.completeness,
        answer.margin,
        if answer.margin_at_least { " at least" } else { "" },
        answer.critical.len(),
        answer.at_once,
        answer.gaps.len(),
        answer.restore.len(),
        answer.restore_is_smallest
    );
}

const fn rig<'a>(complement: &'a Complement, pieces: &'a [Piece]) -> Rig<'a> {
    Rig {
        out_of_service: None,
        complement: Some(complement),
        expects: Some(Level::Full),
        pieces,
    }
}

fn main() {
    let complement = complement();
    for template in Template::ALL {
        let rules = rules(*template);
        println!("{}", template.title());
        let mut pieces = typical();
        tell("a typical rig", &rig(&complement, &pieces), &rules);
        let heavy = Rig {
            expects: Some(Level::Heavy),
            ..rig(&complement, &pieces)
        };
        tell("expected to be heavy", &heavy, &rules);
        let out = |piece: &mut Piece| {
            piece.state = State::OutOfService {
                since: now(),
                reason: "leak at handle".to_owned(),
            }
        };
        for piece in &mut pieces {
            if piece.tag.starts_with("CU") {
                out(piece);
            }
        }
        tell("its cutter out of service", &rig(&complement, &pieces), &rules);
        pieces.iter_mut().filter(|p| p.tag.starts_with("PU") || p.tag.starts_with("SP")).for_each(out);
        tell("cutter, spreader and both pumps out of service", &rig(&complement, &pieces), &rules);
        tell("nothing aboard", &rig(&complement, &[]), &rules);
        for piece in &mut pieces {
            piece.checks.clear();
        }
        tell("and no check planned for anything", &rig(&complement, &pieces), &rules);
        for (name, pieces) in odd_rigs() {
            tell(name, &rig(&complement, &pieces), &rules);
        }
    }
    many(&rules(Template::En), &complement);
}

fn many(rules: &Rules, complement: &Complement) {
    let voice = Voice::utc(Units::Us);
    for trouble in [3, 1000] {
        let mut dice = Dice(7);
        let fleet: Vec<Vec<Piece>> = (0..10_000).map(|n| random_rig(&mut dice, n, trouble)).collect();
        let rigs: Vec<Rig<'_>> = fleet.iter().map(|pieces| rig(complement, pieces)).collect();
        let mut levels = BTreeMap::<Level, usize>::new();
        for one in &rigs {
            *levels.entry(level(one, rules, now()).level).or_default() += 1;
        }
        println!("{} rigs of 20 to 26 pieces, levels {levels:?}", rigs.len());
        let best_of = |runs: usize, work: &dyn Fn()| {
            let times = (0..runs).map(|_| {
                let start = Instant::now();
                work();
                start.elapsed().as_secs_f64()
            });
            times.fold(f64::INFINITY, f64::min)
        };
        let quick = best_of(5, &|| {
            for rig in &rigs {
                black_box(level(black_box(rig), rules, now()));
            }
        });
        println!(
            "  the short answers of all rigs: {:.1} ms, {:.2} us each",
            quick * 1e3,
            quick * 1e6 / rigs.len() as f64
        );
        let pieces = best_of(1, &|| {
            for rig in &rigs {
                black_box(verdicts(black_box(rig), rules, now(), &voice));
            }
        });
        println!(
            "  the answers of all their pieces: {:.1} ms, {:.2} us a rig",
            pieces * 1e3,
            pieces * 1e6 / rigs.len() as f64
        );
        let mut next = rigs.iter().cycle();
        let (median, most, longest) = times(2_000, || drop(black_box(next.next().map(|rig| assess_with_pieces(rig, rules, now(), &voice)))));
        println!("  whole answer with pieces, one rig: median {median:.1} us, 95 % {most:.1} us, longest {longest:.1} us");
    }
}
