//! One row of the table: a rig in a sentence, and the answers that a practitioner gives.

use super::kit::now;
use chrono::{DateTime, Utc};
use fullset_calc::capability::{
    Alternative, Assessment, Batteries, Complement, Completeness, GapIn, Grade, Grades, Level, NearCode, Need, Notice, Part, Piece, ReasonCode, Rig, Rules,
    Slot, Template, Voice, assess, level,
};
use fullset_calc::ratings::{Gear, Kind, Ratings};
use fullset_calc::units::Units;
use std::sync::Arc;

/// Common practice of the trade, no source.
pub const PRACTICE: &str = "common practice, no source";

pub struct Scene {
    pub says: &'static str,
    pub source: &'static str,
    pieces: Vec<Piece>,
    rules: Rules,
    out: Option<Notice>,
    list: Option<Complement>,
    expects: Option<Level>,
    at: DateTime<Utc>,
    level: Level,
    confirmed_level: Level,
    completeness: Completeness,
    near: Vec<(&'static str, NearCode)>,
    doubts: Vec<ReasonCode>,
    also: bool,
    remarks: bool,
    still_runs: Option<&'static str>,
    runs_again: Vec<(&'static str, Option<&'static [Kind]>)>,
    open: Option<Vec<&'static str>>,
}

/// A rig with these pieces under the EN template, packs as pieces, on the morning of the table. Unless said otherwise it has no
/// list, and its level is confirmed.
pub fn scene(says: &'static str, source: &'static str, pieces: Vec<Piece>, level: Level) -> Scene {
    let mut rules = Rules {
        grades: Some(Arc::new(Template::En.grades())),
        ..Rules::default()
    };
    rules.policy.batteries = Batteries::AsPieces;
    Scene {
        says,
        source,
        pieces,
        rules,
        out: None,
        list: None,
        expects: None,
        at: now(),
        level,
        confirmed_level: level,
        completeness: Completeness::NoList,
        near: Vec::new(),
        doubts: Vec::new(),
        also: false,
        remarks: false,
        still_runs: None,
        runs_again: Vec::new(),
        open: None,
    }
}

impl Scene {
    pub fn rules(mut self, change: impl FnOnce(&mut Rules)) -> Self {
        change(&mut self.rules);
        self
    }

    pub fn nfpa(self) -> Self {
        self.by(Template::Nfpa.grades())
    }

    pub fn by(self, grades: Grades) -> Self {
        self.rules(|r| r.grades = Some(Arc::new(grades)))
    }

    /// The template that is in force, with something of its full grade changed.
    pub fn full_asks(self, change: impl FnOnce(&mut Grade)) -> Self {
        self.rules(|r| change(&mut Arc::make_mut(r.grades.as_mut().unwrap()).full))
    }

    pub fn list(mut self, slots: Vec<Slot>, completeness: Completeness) -> Self {
        (self.list, self.completeness) = (Some(Complement { slots }), completeness);
        self
    }

    pub fn expects(mut self, level: Level) -> Self {
        self.expects = Some(level);
        self
    }

    pub fn rig_out(mut self) -> Self {
        self.out = Some(super::kit::notice("brakes"));
        self
    }

    pub fn when(mut self, at: DateTime<Utc>) -> Self {
        self.at = at;
        self
    }

    /// The level that confirmed pieces alone reach, and reasons that must be given for the difference.
    pub fn confirmed_only(mut self, level: Level, doubts: &[ReasonCode]) -> Self {
        (self.confirmed_level, self.doubts) = (level, doubts.to_vec());
        self
    }

    /// A near miss that must be told of the need or slot with that short name.
    pub fn near(mut self, gap: &'static str, code: NearCode) -> Self {
        self.near.push((gap, code));
        self
    }

    /// Something beside the needs holds it down, and is said.
    pub fn held_down(mut self) -> Self {
        self.also = true;
        self
    }

    /// Something is remarked that does not hold it down.
    pub fn remarked(mut self) -> Self {
        self.remarks = true;
        self
    }

    /// Below limited, a sentence names the piece that still runs.
    pub fn still_runs(mut self, tag: &'static str) -> Self {
        self.still_runs = Some(tag);
        self
    }

    /// The slots of the list that nothing fills.
    pub fn open(mut self, slots: &[&'static str]) -> Self {
        self.open = Some(slots.to_vec());
        self
    }

    /// What alone keeps the need with that short name from running; none: more than that is missing.
    pub fn runs_again(mut self, gap: &'static str, with: impl Into<Option<&'static [Kind]>>) -> Self {
        self.runs_again.push((gap, with.into()));
        self
    }

    fn rig(&self) -> Rig<'_> {
        Rig {
            out_of_service: self.out.as_ref(),
            complement: self.list.as_ref(),
            expects: self.expects,
            pieces: &self.pieces,
        }
    }

    /// Everything in which the answer differs from the practitioner's.
    pub fn differs(&self) -> Vec<String> {
        let answer = assess(&self.rig(), &self.rules, self.at, &Voice::utc(Units::Si));
        let alone = level(&self.rig(), &self.rules, self.at).level;
        let mut all = Vec::new();
        let mut say = |what: &str, has: String, wants: String| {
            if has != wants {
                all.push(format!("{}: {what} is {has}, should be {wants} [{}]", self.says, self.source));
            }
        };
        say("level", format!("{:?}", answer.level), format!("{:?}", self.level));
        say("level alone", format!("{alone:?}"), format!("{:?}", self.level));
        say(
            "confirmed level",
            format!("{:?}", answer.confirmed_level),
            format!("{:?}", self.confirmed_level),
        );
        let confirmed = self.level > Level::None && self.level == self.confirmed_level;
        say("confirmed", answer.confirmed.to_string(), confirmed.to_string());
        say("completeness", format!("{:?}", answer.completeness), format!("{:?}", self.completeness));
        for code in &self.doubts {
            let told: Vec<ReasonCode> = answer.doubts.iter().map(|doubt| doubt.code).collect();
            say(
                "doubt",
                format!("{told:?} with {code:?}: {}", told.contains(code)),
                format!("{told:?} with {code:?}: true"),
            );
        }
        for (gap, code) in &self.near {
            let told = near(&answer, gap);
            say(
                gap,
                format!("near {told:?} with {code:?}: {}", told.contains(code)),
                format!("near {told:?} with {code:?}: true"),
            );
        }
        if let Some(open) = &self.open {
            let empty = answer.fillings.iter().filter(|filling| filling.piece.is_none());
            let empty: Vec<&str> = empty.map(|filling| filling.slot.as_str()).collect();
            say("open slots", format!("{empty:?}"), format!("{open:?}"));
            let gaps = answer.gaps.iter().filter(|gap| gap.r#in == GapIn::Slot);
            let gaps: Vec<&str> = gaps.map(|gap| gap.id.as_str()).collect();
            say("gaps of slots", format!("{gaps:?}"), format!("{open:?}"));
        }
        for (gap, with) in &self.runs_again {
            let open = answer.gaps.iter().find(|other| other.id == *gap && other.r#in == GapIn::Need);
            let told = open.map(|gap| gap.runs_again.as_ref().map(|with| with.kinds.as_slice()));
            say("runs again with", format!("{told:?}"), format!("{:?}", Some(*with)));
        }
        if self.also {
            say("what holds it down beside the needs", (!answer.also.is_empty()).to_string(), "true".into());
        }
        if self.remarks {
            say("a remark", (!answer.remarks.is_empty()).to_string(), "true".into());
        }
        if let Some(tag) = self.still_runs {
            say(
                "what still runs",
                answer.still_runs.iter().any(|words| words.contains(tag)).to_string(),
                "true".into(),
            );
        }
        all
    }
}

fn near(answer: &Assessment, gap: &str) -> Vec<NearCode> {
    let gaps = answer.gaps.iter().filter(|other| other.id == gap);
    gaps.flat_map(|gap| gap.near.iter().map(|near| near.code)).collect()
}

pub fn slot(id: &str, kind: Kind) -> Slot {
    Slot {
        id: id.into(),
        name: id.into(),
        kinds: vec![kind],
        required: true,
        gear: None,
        minimums: Ratings::new(),
    }
}

pub fn gear_slot(id: &str, gear: Gear) -> Slot {
    Slot {
        gear: Some(gear),
        ..slot(id, Kind::Accessory)
    }
}

pub fn part(kinds: &[Kind]) -> Part {
    Part {
        kinds: kinds.to_vec(),
        gear: None,
        minimums: Ratings::new(),
        drives: Vec::new(),
    }
}

pub fn need(id: &str, ways: Vec<Vec<Part>>) -> Need {
    Need {
        id: id.into(),
        name: id.into(),
        alternatives: ways.into_iter().map(|parts| Alternative { parts, covers: None }).collect(),
    }
}

/// A grade that asks for its needs alone.
pub fn grade(needs: Vec<Need>) -> Grade {
    Grade {
        needs,
        tools_at_once: 0,
        kinds_of_drive: 0,
        spare_packs: 0,
        line_length: None,
        hand_pump: false,
    }
}

/// Limited is any cutter or combination tool; full is what is said.
pub fn own(full: Grade) -> Grades {
    Grades {
        limited: grade(vec![need("any", vec![vec![part(&[Kind::Cutter, Kind::CombinationTool])]])]),
        full,
        heavy: None,
    }
}
