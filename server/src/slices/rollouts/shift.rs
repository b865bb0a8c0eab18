//! What a shift of a station has for a rollout: one function judges it, for the command and for the screen.

use std::collections::{BTreeSet, HashMap};

use fullset_care::crew::Handled;
use serde::Serialize;
use utoipa::ToSchema;

use super::{feed::Rollout, stages::Ground};
use crate::{
    platform::{ids::MemberId, person::Person},
    slices::{members::Member, shifts::Shift},
};

/// What is known of a shift for a rollout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ShiftAnswer {
    /// The shift, as it is called at the station, or in the rollout where the station has none of that name.
    pub shift: String,
    /// False: it is on record that the station has no such shift, so that nothing is asked of it. Where nobody has said so it is true.
    pub exists: bool,
    /// How many must be signed off; null: the rollout sets no minimum for this shift.
    pub minimum: Option<u32>,
    /// How many active members belong to it; null: its roster is not on record, or there is no such shift.
    pub roster: Option<u32>,
    /// How many of them count: signed off today on everything of the new set that takes a sign-off, and on no other shift's roster of the
    /// station; null: not known, or there is no such shift.
    pub signed: Option<u32>,
    /// Its members who do not count, by name.
    #[schema(max_items = 60)]
    pub waiting: Vec<Person>,
    /// What its members are not signed off on, a sentence for each: "Ann Lee: ram of Vantor 4 missing".
    #[schema(max_items = 60)]
    pub missing: Vec<String>,
    /// Its members who are on another shift's roster of the station as well, a sentence for each: they count for none until that is mended.
    #[schema(max_items = 60)]
    pub twice: Vec<String>,
}

/// The shifts of each member at one station, by name.
type Rosters<'a> = HashMap<MemberId, Vec<&'a str>>;

/// The shifts of a station for a rollout: those that it sets a minimum for, then others that the station has. `own` is what is on record.
pub fn shift_answers(ground: &Ground, rollout: &Rollout, own: &[Shift]) -> Vec<ShiftAnswer> {
    let named = |shift: &Shift, name: &str| shift.name.to_lowercase() == name.to_lowercase();
    let mut rosters = Rosters::new();
    for shift in own.iter().filter(|shift| shift.exists) {
        for id in shift.members.iter().filter_map(|person| person.id) {
            rosters.entry(id).or_default().push(&shift.name);
        }
    }
    let asked = rollout.minimums.iter().map(|minimum| {
        let shift = own.iter().find(|shift| named(shift, &minimum.shift));
        shift_answer(ground, rollout, (&minimum.shift, Some(minimum.members)), shift, &rosters)
    });
    let others = own
        .iter()
        .filter(|shift| shift.exists && !rollout.minimums.iter().any(|minimum| named(shift, &minimum.shift)));
    asked
        .chain(others.map(|shift| shift_answer(ground, rollout, (&shift.name, None), Some(shift), &rosters)))
        .collect()
}

fn shift_answer(ground: &Ground, rollout: &Rollout, (name, minimum): (&str, Option<u32>), shift: Option<&Shift>, rosters: &Rosters<'_>) -> ShiftAnswer {
    let mut answer = ShiftAnswer {
        shift: shift.map_or(name, |shift| &shift.name).to_owned(),
        exists: shift.is_none_or(|shift| shift.exists),
        minimum,
        roster: None,
        signed: None,
        waiting: Vec::new(),
        missing: Vec::new(),
        twice: Vec::new(),
    };
    let Some(shift) = shift.filter(|shift| shift.exists) else {
        return answer;
    };
    let members = shift.members.iter().filter_map(|person| person.id.and_then(|id| ground.members.get(&id)));
    let active: Vec<&Member> = members.filter(|member| member.active).collect();
    for member in &active {
        let lacks = lacks(ground, rollout, member);
        let on = rosters.get(&member.id).map_or(&[][..], Vec::as_slice);
        if lacks.is_some() || on.len() > 1 {
            answer.waiting.push(Person {
                id: Some(member.id),
                name: member.name.clone(),
            });
        }
        if on.len() > 1 {
            let words = format!("{} is on {}: a member counts for one shift only; mend the rosters", member.name, listed(on));
            answer.twice.push(words);
        }
        answer.missing.extend(lacks.map(|words| format!("{}: {words}", member.name)));
    }
    let count = |members: usize| u32::try_from(members).unwrap_or(u32::MAX);
    answer.roster = Some(count(active.len()));
    answer.signed = Some(count(active.len() - answer.waiting.len()));
    answer
}

/// What of the new set a member is not signed off on today: "ram of Vantor 4 missing; cutter of Vantor 4 ran out on 2026-11-24"; `None`:
/// nothing.
fn lacks(ground: &Ground, rollout: &Rollout, member: &Member) -> Option<String> {
    let mut seen = BTreeSet::new();
    let mut never: Vec<(Option<&str>, Vec<&str>)> = Vec::new();
    let mut ended = Vec::new();
    for model in ground.asked(rollout) {
        let (kind, family) = (model.kind, model.family.as_deref());
        let of = Handled::new(kind, family);
        if member.is_signed_off(kind, family, ground.today) == Some(true) || !seen.insert(of.clone()) {
            continue;
        }
        let until = member.sign_offs.iter().filter(|one| one.handled() == of).map(|one| one.until).max();
        let alike = |known: &Option<&str>| known.map(str::to_lowercase) == of.family;
        match (until, never.iter_mut().find(|(known, _)| alike(known))) {
            (Some(until), _) => ended.push(format!("{} ran out on {until}", gear(kind.word(), family))),
            (None, Some((_, kinds))) => kinds.push(kind.word()),
            (None, None) => never.push((family, vec![kind.word()])),
        }
    }
    let never = never.iter().map(|(family, kinds)| format!("{} missing", gear(&listed(kinds), *family)));
    let all: Vec<String> = never.chain(ended).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

fn gear(kinds: &str, family: Option<&str>) -> String {
    family.map_or_else(|| kinds.to_owned(), |family| format!("{kinds} of {family}"))
}

/// "A shift", "A shift and B shift", "A shift, B shift and C shift".
fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
