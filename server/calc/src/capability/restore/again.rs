//! What alone keeps a need from running: a source, hose, adapter or pack that is missing beside sound tools. Each is thought of as for
//! the restoring sets; whether it does is asked of the need itself.

use super::super::beside::RunsAgain;
use super::super::board::{Board, carries_packs, own_packs};
use super::super::input::Rig;
use super::super::wire::Level;
use super::super::words;
use super::offers::{Offer, Offers};
use crate::ratings::Kind;
use crate::sets;
use chrono::{DateTime, Utc};

/// So many choices are asked at most; no rig has as many families.
const TRIES: usize = 80;

/// In this order: what mends most stands first.
const KINDS: [Kind; 5] = [Kind::PowerUnit, Kind::HandPump, Kind::Hose, Kind::Adapter, Kind::Battery];

/// For each of these needs of a grade: what one part, or one source with one hose, would let it run again; none: more is missing.
pub(in super::super) fn runs_again(board: &Board<'_>, level: Level, needs: &[usize], at: DateTime<Utc>) -> Vec<Option<RunsAgain>> {
    if needs.is_empty() {
        return Vec::new();
    }
    let offers = Offers::new(board, level, at);
    let bare = Rig {
        out_of_service: None,
        complement: None,
        expects: None,
        pieces: &[],
    };
    let pieces = board.pieces.iter().copied().chain(offers.all.iter().map(|offer| &offer.piece));
    let mut with = Board::of(&bare, pieces, board.rules, at);
    with.own_pack = own_packs(board.rules, &with.pieces, carries_packs(&board.pieces));
    let Some(grade) = with.grade(level) else {
        return needs.iter().map(|_| None).collect();
    };
    let own = board.pieces.len();
    let aboard = (0..own).fold(0, |set, i| set | sets::one(i)) & with.usable;
    // A whole second line is what is missing only where none is aboard: else the tool is the stranger.
    let has_line_parts = board.usable & (board.lines.sources | board.lines.hoses) != 0;
    let choices = choices(&offers, !has_line_parts);
    let found = needs.iter().map(|need| {
        let works = |choice: &&Vec<usize>| {
            let alive = choice.iter().fold(aboard, |alive, n| alive | sets::one(own + n));
            with.is_met_alone_with(grade, *need, alive)
        };
        choices.iter().take(TRIES).find(works).map(|choice| tell(&offers, choice))
    });
    let found = found.collect();
    board.count(with.work());
    found
}

/// Single parts, then with `pairs` a source with a hose of its family; those that are alike once.
fn choices(offers: &Offers, pairs: bool) -> Vec<Vec<usize>> {
    let mut single: Vec<usize> = Vec::new();
    for kind in KINDS {
        for (n, offer) in offers.all.iter().enumerate() {
            let alike = |known: &usize| {
                let other = offers.all.get(*known);
                other.is_some_and(|other| other.piece.kind == kind && other.piece.hookup == offer.piece.hookup)
            };
            if offer.is_beside() && offer.piece.kind == kind && !single.iter().any(alike) {
                single.push(n);
            }
        }
    }
    let of = |test: fn(Kind) -> bool| {
        single
            .iter()
            .copied()
            .filter(move |n| offers.all.get(*n).is_some_and(|offer| test(offer.piece.kind)))
    };
    let (sources, hoses): (Vec<usize>, Vec<usize>) = (of(Kind::is_source).collect(), of(|kind| kind == Kind::Hose).collect());
    let mates = |source: usize, hose: usize| {
        let coupling = |n: usize| offers.all.get(n).map(|offer| (&offer.piece.hookup.coupling, offer.piece.hookup.fluid));
        coupling(source) == coupling(hose)
    };
    let pairs = sources
        .iter()
        .filter(|_| pairs)
        .flat_map(|source| hoses.iter().filter(|hose| mates(*source, **hose)).map(|hose| vec![*source, *hose]));
    single.iter().map(|n| vec![*n]).chain(pairs).collect()
}

fn tell(offers: &Offers, choice: &[usize]) -> RunsAgain {
    let chosen: Vec<&Offer> = choice.iter().filter_map(|n| offers.all.get(*n)).collect();
    let kinds: Vec<Kind> = chosen.iter().map(|offer| offer.piece.kind).collect();
    let family = chosen.first().and_then(|offer| offer.family());
    let named: Vec<String> = kinds.iter().map(|kind| words::one(kind.word())).collect();
    let named: Vec<&str> = named.iter().map(String::as_str).collect();
    let (verb, link) = match kinds.as_slice() {
        [Kind::Adapter] => ("would run", "from"),
        [Kind::Battery] => ("runs again", "of"),
        [_] => ("runs again", "on"),
        _ => ("would run", "on"),
    };
    let on = family.as_deref().map_or_else(String::new, |family| format!(" {link} {family}"));
    RunsAgain {
        words: format!("{verb} with {}{on}", words::listed(&named, "and")),
        kinds,
        family,
    }
}
