//! What crews report, in their own plain words, and how it was mended.

use crate::{catalogue::Kind, evidence::DefectClass};

/// Something that goes wrong.
#[derive(Debug, Clone, Copy)]
pub struct Fault {
    pub kinds: &'static [Kind],
    pub class: DefectClass,
    /// As the crew writes it.
    pub what: &'static str,
    /// As the next shifts write it when they see it again.
    pub again: &'static [&'static str],
    pub mend: Mend,
}

/// How it ends.
#[derive(Debug, Clone, Copy)]
pub enum Mend {
    /// It can still be used under its limit; an officer has it put right in time and looks the piece over.
    Watch(&'static str),
    /// It must not be used until it is cleaned and an officer has looked it over.
    Clean(&'static str),
    /// It must not be used; it goes to a shop.
    Shop(Repair),
    /// It can still be used under its limit, and goes to a shop within the days that the limit gives.
    Later(Repair),
}

/// What the shop does.
#[derive(Debug, Clone, Copy)]
pub struct Repair {
    /// The part, how many, and what one costs.
    pub part: Option<(&'static str, f64, f64)>,
    /// The work, and its minutes.
    pub work: (&'static str, u32),
    /// What it has to wait for, sometimes.
    pub wait: Option<&'static str>,
    /// What the first test shows, sometimes.
    pub fails: Option<&'static str>,
    pub done: &'static str,
}

pub const fn watch(kinds: &'static [Kind], what: &'static str, again: &'static [&'static str], done: &'static str) -> Fault {
    Fault {
        kinds,
        class: DefectClass::Other,
        what,
        again,
        mend: Mend::Watch(done),
    }
}

pub const fn clean(kinds: &'static [Kind], what: &'static str, done: &'static str) -> Fault {
    Fault {
        kinds,
        class: DefectClass::Other,
        what,
        again: &[],
        mend: Mend::Clean(done),
    }
}

pub const fn repair(part: Option<(&'static str, f64, f64)>, work: (&'static str, u32), done: &'static str) -> Repair {
    Repair {
        part,
        work,
        wait: None,
        fails: None,
        done,
    }
}

pub const fn shop(kinds: &'static [Kind], class: DefectClass, what: &'static str, repair: Repair) -> Fault {
    Fault {
        kinds,
        class,
        what,
        again: &[],
        mend: Mend::Shop(repair),
    }
}

pub const fn later(kinds: &'static [Kind], class: DefectClass, what: &'static str, again: &'static [&'static str], repair: Repair) -> Fault {
    Fault {
        kinds,
        class,
        what,
        again,
        mend: Mend::Later(repair),
    }
}

impl Repair {
    /// It may have to wait for something.
    pub const fn may_wait(self, what_for: &'static str) -> Self {
        Self { wait: Some(what_for), ..self }
    }

    /// The first test may show something.
    pub const fn may_fail(self, shown: &'static str) -> Self {
        Self { fails: Some(shown), ..self }
    }
}

/// What tools are used for.
pub static SCENES: &[&str] = &[
    "Two cars at the crossing, driver's door off",
    "Car on its side in the ditch, roof laid back",
    "Van against a wall, dash rolled off the driver's legs",
    "Drill on two scrap cars with the new members",
    "Truck cab, both doors and the step cut",
    "Car under a trailer, spread from behind",
    "Child's hand in a gate, spread by a finger's width",
    "Rear-end crash, tailgate opened, nobody hurt",
];
