//! The answers about rigs and pieces before and after, side by side.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use fullset_calc::capability::{self as calc, Completeness, Level, Verdict};
use serde::Serialize;
use utoipa::ToSchema;

use crate::{
    platform::{
        db::Db,
        door::lapses,
        error::{Fault, Problem},
        follow::Follow as _,
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        board::{BoardRecords, Counts},
        capability::{Fleet, PieceStanding},
        pieces::PieceId,
        rigs::{Rig, RigId},
    },
};

/// The most rigs and the most pieces that are named one by one.
const MOST: usize = 200;

/// What would change for a rig.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RigEffect {
    /// The rig whose answer would change.
    rig: RigId,
    /// The rig's name once the commands were applied.
    name: String,
    /// The rig's level now; of a rig that the commands would add `none`, or `not_judged` without grades.
    before: Level,
    /// The rig's level once the commands were applied.
    after: Level,
    /// Whether it is confirmed now.
    confirmed_before: bool,
    /// Whether it would be.
    confirmed_after: bool,
    /// Whether its list is whole now.
    complete_before: Completeness,
    /// Whether it would be.
    complete_after: Completeness,
}

/// What would change for a piece.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PieceEffect {
    /// The piece whose answer would change.
    piece: PieceId,
    /// The piece's asset tag.
    tag: String,
    /// May it be used now?
    before: Option<Verdict>,
    /// Might it be used then?
    after: Option<Verdict>,
}

/// What commands would do.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Effects {
    /// Rigs whose answers would change, those whose level would change first; 200 at most.
    rigs: Vec<RigEffect>,
    /// Pieces whose answer would change; 200 at most.
    pieces: Vec<PieceEffect>,
    /// In words: "3 rigs go from none to full", then what becomes another number on the board.
    words: Vec<String>,
    /// The board's numbers now.
    board_before: Counts,
    /// The board's numbers then.
    board_after: Counts,
    /// Whether some answer would be better than now: then the act is a release.
    raises: bool,
    /// Rigs and pieces left off the lists.
    left_off: u32,
    #[serde(skip)]
    pieces_left_off: u32,
    /// Why the first command that would not be applied would not. With the code `reason-needed` the rest shows what it would do with a
    /// reason.
    problem: Option<Problem>,
}

/// The answers at one moment.
#[derive(Debug, Default)]
pub struct Picture {
    rigs: BTreeMap<RigId, (String, calc::Answer)>,
    pieces: BTreeMap<PieceId, (String, Verdict)>,
    counts: Counts,
}

impl Picture {
    /// Reads the answers that are kept; of rigs that wait to be judged anew they are worked out.
    pub fn read(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<Self, Fault> {
        let mut picture = Self::default();
        let mut known = BoardRecords::default();
        known.advance(db, agency, 0)?;
        for standing in known.standings() {
            let answer = calc::Answer {
                level: standing.answer.level,
                confirmed_level: standing.answer.confirmed_level,
                completeness: standing.answer.completeness,
            };
            picture.rigs.insert(standing.id, (standing.rig_name.clone(), answer));
        }
        for standing in record::read_all::<PieceStanding>(db, agency)? {
            picture.pieces.insert(standing.id, (standing.tag, standing.answer.verdict));
        }
        let late = lapses::late(db, agency, Rig::KIND, now)?;
        if !late.is_empty()
            && let Some(fleet) = Fleet::read(db, agency)?
        {
            let rules = fleet.rules();
            for (id, aboard) in fleet.rigs.iter().filter(|(id, _)| late.contains_key(&id.0)) {
                let answer = calc::level(&aboard.view(), &rules, now);
                known.replace(*id, answer, aboard.view().expects);
                picture.rigs.insert(*id, (aboard.rig.name.clone(), answer));
            }
        }
        picture.counts = Counts::from(&known.board(0, now, &HashMap::new()));
        Ok(picture)
    }
}

impl Effects {
    /// The effects on rigs and the board alone.
    #[must_use]
    pub fn without_pieces(mut self) -> Self {
        self.left_off = self.left_off.saturating_sub(self.pieces_left_off);
        self.pieces_left_off = 0;
        self.pieces.clear();
        self
    }
}

/// The first picture beside the last.
pub fn compare(pictures: &[Picture], problem: Option<Problem>) -> Effects {
    let none = Picture::default();
    let (before, after) = (pictures.first().unwrap_or(&none), pictures.last().unwrap_or(&none));
    let mut rigs: Vec<RigEffect> = Vec::new();
    for (id, (name, then)) in &after.rigs {
        // A rig that is not there yet can do nothing now.
        let nothing = if then.level == Level::NotJudged { Level::NotJudged } else { Level::None };
        let none = calc::Answer {
            level: nothing,
            confirmed_level: nothing,
            completeness: then.completeness,
        };
        let was = before.rigs.get(id).map_or(none, |(_, was)| *was);
        if was != *then {
            rigs.push(RigEffect {
                rig: *id,
                name: name.clone(),
                before: was.level,
                after: then.level,
                confirmed_before: was.confirmed(),
                confirmed_after: then.confirmed(),
                complete_before: was.completeness,
                complete_after: then.completeness,
            });
        }
    }
    let mut pieces: Vec<PieceEffect> = Vec::new();
    for (id, (tag, verdict)) in &after.pieces {
        let was = before.pieces.get(id).map(|(_, was)| *was);
        if was != Some(*verdict) {
            pieces.push(PieceEffect {
                piece: *id,
                tag: tag.clone(),
                before: was,
                after: Some(*verdict),
            });
        }
    }
    for (id, (tag, verdict)) in before.pieces.iter().filter(|(id, _)| !after.pieces.contains_key(*id)) {
        pieces.push(PieceEffect {
            piece: *id,
            tag: tag.clone(),
            before: Some(*verdict),
            after: None,
        });
    }
    rigs.sort_by(|a, b| (a.before == a.after).cmp(&(b.before == b.after)).then(a.name.cmp(&b.name)));
    pieces.sort_by(|a, b| a.tag.cmp(&b.tag));
    let raises = rigs.iter().any(|rig| rig.after > rig.before || (rig.confirmed_after && !rig.confirmed_before))
        || pieces.iter().any(|piece| piece.after > piece.before && piece.after.is_some());
    let words = words(&rigs, &pieces, before.counts.changes(&after.counts));
    let beyond = |n: usize| u32::try_from(n.saturating_sub(MOST)).unwrap_or(u32::MAX);
    let pieces_left_off = beyond(pieces.len());
    let left_off = beyond(rigs.len()).saturating_add(pieces_left_off);
    rigs.truncate(MOST);
    pieces.truncate(MOST);
    Effects {
        rigs,
        pieces,
        words,
        board_before: before.counts,
        board_after: after.counts,
        raises,
        left_off,
        pieces_left_off,
        problem,
    }
}

fn words(rigs: &[RigEffect], pieces: &[PieceEffect], numbers: Vec<String>) -> Vec<String> {
    let mut moves: BTreeMap<(Level, Level), Vec<&str>> = BTreeMap::new();
    for rig in rigs.iter().filter(|rig| rig.before != rig.after) {
        moves.entry((rig.before, rig.after)).or_default().push(&rig.name);
    }
    let mut all: Vec<String> = moves
        .into_iter()
        .map(|((from, to), names)| match names.as_slice() {
            [one] => format!("{one} goes from {} to {}", from.word(), to.word()),
            several => format!("{} rigs go from {} to {}", several.len(), from.word(), to.word()),
        })
        .collect();
    let mut told = |n: usize, one: &str, many: &str| match n {
        0 => {}
        1 => all.push(format!("1 rig {one}")),
        n => all.push(format!("{n} rigs {many}")),
    };
    let same = || rigs.iter().filter(|rig| rig.before == rig.after);
    told(
        same().filter(|rig| rig.confirmed_after && !rig.confirmed_before).count(),
        "becomes confirmed",
        "become confirmed",
    );
    told(
        same().filter(|rig| !rig.confirmed_after && rig.confirmed_before).count(),
        "is no longer confirmed",
        "are no longer confirmed",
    );
    told(
        rigs.iter()
            .filter(|rig| rig.complete_before == Completeness::Incomplete && rig.complete_after != Completeness::Incomplete)
            .count(),
        "no longer has an incomplete list",
        "no longer have an incomplete list",
    );
    let answers = !all.is_empty();
    all.extend(numbers);
    if !answers && (all.is_empty() || !pieces.is_empty()) {
        all.push(match pieces.len() {
            0 => "no answer changes".to_owned(),
            1 => "No rig changes level; the answer for 1 piece does".to_owned(),
            n => format!("No rig changes level; the answers for {n} pieces do"),
        });
    }
    all
}
