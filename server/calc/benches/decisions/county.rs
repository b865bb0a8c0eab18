//! Days of a county, judged: rigs of which some lack what others have to spare, and shelves.

use super::fleet::{self, hydraulic};
use super::{BUDGET, Dice, id, minutes, report, timed};
use fullset_calc::Unwatched;
use fullset_calc::capability::{Level, Piece, Rig, State, Template};
use fullset_calc::coverage::Zone;
use fullset_calc::ratings::{Kind, Ratings};
use fullset_calc::swaps::{Fleet, FleetDonor, FleetRig, Gives, Home, Judged, swap_plan};
use std::sync::Arc;

/// Where each thing is, and what it is.
struct County {
    spots: Vec<(f64, f64)>,
    zones: Vec<(f64, f64)>,
    rigs: Vec<(usize, Vec<Piece>)>,
    shelves: Vec<(usize, Piece)>,
}

/// A typical set on one of two families, some of it broken.
fn set(dice: &mut Dice, number: usize, broken: usize) -> Vec<Piece> {
    let second = dice.below(3) == 0;
    let mut pieces = fleet::typical();
    for (n, piece) in pieces.iter_mut().enumerate() {
        piece.id = id(number * 100 + n + 1);
        piece.tag = format!("{}-{number}", piece.tag);
        if second && piece.hookup.coupling.is_some() {
            let hookup = Arc::make_mut(&mut piece.hookup);
            hookup.coupling = Some("screw lock".into());
        }
    }
    for _ in 0..broken {
        let at = dice.below(15);
        if let Some(piece) = pieces.get_mut(at) {
            piece.state = State::OutOfService {
                since: fleet::now(),
                reason: "leak".into(),
            };
        }
    }
    pieces
}

fn county(dice: &mut Dice, rigs: usize, down: usize, shelf: usize) -> County {
    let spots: Vec<(f64, f64)> = (0..14).map(|_| dice.point(20.0)).collect();
    let zones = (0..200).map(|_| dice.point(20.0)).collect();
    let of_rigs = (0..rigs)
        .map(|n| {
            let broken = if n < down { 2 + dice.below(5) } else { dice.below(2) };
            (dice.below(spots.len()), set(dice, n + 1, broken))
        })
        .collect();
    let shelves = (0..shelf).map(|n| {
        let mut own = set(dice, 1000 + n, 0);
        let at = dice.below(15);
        let mut piece = own.swap_remove(at);
        if piece.kind == Kind::PowerUnit && dice.below(3) == 0 {
            piece = fleet::piece(
                piece.tag.clone(),
                piece.id.as_u128(),
                Kind::PowerUnit,
                hydraulic("flat-face single", 10_500.0, Some(1)),
                Ratings::new(),
            );
        }
        (dice.below(spots.len()), piece)
    });
    let shelves = shelves.collect();
    County {
        spots,
        zones,
        rigs: of_rigs,
        shelves,
    }
}

fn planned(name: &str, rounds: u64, (rigs, down, shelf): (usize, usize, usize)) {
    let rules = fleet::rules(Template::En);
    let (mut judging, mut whole, mut proved, mut moves, mut most) = (Vec::new(), Vec::new(), 0, 0, (0, 0));
    for round in 0..rounds {
        let county = county(&mut Dice(4000 + round), rigs, down, shelf);
        let spot = |at: usize| county.spots.get(at).copied().unwrap();
        let fleet_rigs = county.rigs.iter().enumerate().map(|(n, (at, pieces))| FleetRig {
            id: id(n),
            name: format!("R{n}"),
            district: None,
            reaches: (0..county.zones.len())
                .filter(|z| minutes(spot(*at), *county.zones.get(*z).unwrap()) <= 8.0)
                .collect(),
            view: Rig {
                out_of_service: None,
                complement: None,
                expects: Some(Level::Full),
                pieces,
            },
            counts: true,
            is_sought: true,
            gives: Gives::Spare,
        });
        let donor = |piece, rig, home| FleetDonor {
            piece,
            rig,
            name: String::new(),
            home,
            place: String::new(),
            district: None,
            leaves: None,
        };
        let aboard = county
            .rigs
            .iter()
            .enumerate()
            .flat_map(|(n, (_, pieces))| pieces.iter().map(move |piece| (n, piece)));
        let mut donors: Vec<FleetDonor<'_>> = county.shelves.iter().map(|(_, piece)| donor(piece, None, Home::Shelf)).collect();
        donors.extend(aboard.map(|(n, piece)| donor(piece, Some(n), Home::Rig)));
        let weight = |n: usize| 1.0 + (n % 60) as f64;
        let fleet = Fleet {
            zones: (0..county.zones.len()).map(|n| Zone { id: id(n), weight: weight(n) }).collect(),
            districts: vec![],
            rigs: fleet_rigs.collect(),
            donors,
            rules: &rules,
            at: fleet::now(),
        };
        let from = |donor: usize| {
            fleet
                .donors
                .get(donor)
                .and_then(|d| d.rig)
                .map_or_else(|| county.shelves.get(donor).unwrap().0, |rig| county.rigs.get(rig).unwrap().0)
        };
        let way = |donor: usize, rig: usize| (minutes(spot(from(donor)), spot(county.rigs.get(rig).unwrap().0)) * 10.0).round() / 10.0;
        let plan = timed(&mut whole, || {
            let mut judged = timed(&mut judging, || Judged::new(&fleet, way));
            let day = judged.day.clone();
            most = (
                most.0.max(day.rigs.iter().map(|rig| rig.mends.len()).max().unwrap_or(0)),
                most.1.max(day.donors.len()),
            );
            swap_plan(&day, &mut judged, BUDGET, &mut Unwatched)
        });
        let plan = plan.unwrap();
        proved += usize::from(plan.proved);
        moves += plan.moves.len();
    }
    let of = usize::try_from(rounds).unwrap();
    report(&format!("{name}, judging alone"), &mut judging, 0, of, "");
    let note = format!(
        "{:.1} moves on average, at most {} mends of a rig and {} donors",
        moves as f64 / of as f64,
        most.0,
        most.1
    );
    report(name, &mut whole, proved, of, &note);
}

pub fn days() {
    println!("swap plan of a county, judged");
    planned("8 rigs, 4 of them down, 30 pieces on shelves", 20, (8, 4, 30));
    planned("30 rigs, 12 of them down, 60 pieces on shelves", 10, (30, 12, 60));
    planned("40 rigs, 30 of them down, 120 pieces on shelves", 5, (40, 30, 120));
}
