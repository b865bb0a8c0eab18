//! What members do, as data, and the command that each deed is on the wire.

use crate::county::{Place, Shop};
use chrono::NaiveDate;
use serde_json::{Map, Value, json};
use uuid::Uuid;

/// A measured value: what, how much, in which unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    pub what: &'static str,
    pub value: f64,
    pub unit: &'static str,
}

/// A line of a ticket.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    Part { what: &'static str, quantity: f64, unit_cost: f64 },
    Labour { what: &'static str, minutes: u32 },
}

/// One thing that a member does.
#[derive(Debug, Clone, PartialEq)]
pub enum Deed {
    Report {
        defect: Uuid,
        piece: Uuid,
        what: String,
        out: bool,
    },
    Note {
        defect: Uuid,
        text: String,
    },
    Close {
        defect: Uuid,
        piece: Uuid,
        resolution: String,
    },
    TakeOut {
        piece: Uuid,
        reason: String,
        /// For planned service, not because something is wrong.
        planned: bool,
    },
    Back {
        piece: Uuid,
        note: String,
        reading: Option<Reading>,
    },
    Move {
        piece: Uuid,
        to: Place,
        arrived: bool,
    },
    Arrive {
        piece: Uuid,
    },
    Retire {
        piece: Uuid,
        reason: String,
    },
    /// The annual service, or another correction of the register.
    Served {
        piece: Uuid,
        on: NaiveDate,
    },
    /// The date of make turns out to be unknown.
    Undated {
        piece: Uuid,
        note: String,
    },
    Noted {
        piece: Uuid,
        note: String,
    },
    Open {
        ticket: Uuid,
        piece: Uuid,
        shop: Shop,
        what: String,
        defects: Vec<Uuid>,
    },
    Accept {
        ticket: Uuid,
        piece: Uuid,
        here: bool,
    },
    Work {
        ticket: Uuid,
    },
    Wait {
        ticket: Uuid,
        what_for: String,
        expected_on: Option<NaiveDate>,
    },
    Line {
        ticket: Uuid,
        line: Line,
    },
    Test {
        ticket: Uuid,
        passed: bool,
        readings: Vec<Reading>,
        note: Option<String>,
    },
    Return {
        ticket: Uuid,
        piece: Uuid,
        defects: Vec<Uuid>,
        to: Place,
        note: String,
    },
    Drop {
        ticket: Uuid,
        piece: Uuid,
        defects: Vec<Uuid>,
        note: String,
    },
    Start {
        swap: Uuid,
        rig: Uuid,
        piece: Uuid,
        stands_in_for: Uuid,
        slot: Option<&'static str>,
        on_the_way: bool,
        from_rig: bool,
    },
    End {
        swap: Uuid,
        piece: Uuid,
        to: Option<Place>,
    },
    Keep {
        swap: Uuid,
        piece: Uuid,
    },
    RigOut {
        rig: Uuid,
        reason: String,
    },
    RigBack {
        rig: Uuid,
        note: String,
    },
}

/// A command, but for its id.
#[derive(Debug)]
pub struct Wire {
    pub kind: &'static str,
    pub body: Value,
    /// The record whose revision the command must name.
    pub expects: Option<Uuid>,
}

/// The ids of the shops; the first one is only known once the agency is there.
#[derive(Debug, Clone, Copy)]
pub struct Shops {
    pub fleet: Uuid,
    pub north: Uuid,
}

impl Shops {
    pub const fn id(&self, shop: Shop) -> Uuid {
        match shop {
            Shop::Fleet => self.fleet,
            Shop::North => self.north,
        }
    }

    /// The place on the wire.
    pub fn place(&self, place: &Place) -> Value {
        match place {
            Place::Rig(rig) => json!({ "at": "rig", "rig": rig }),
            Place::Shelf(station) => json!({ "at": "shelf", "station": station }),
            Place::Shop(shop) => json!({ "at": "shop", "shop": self.id(*shop) }),
            Place::Vendor { name, due_on } => json!({ "at": "vendor", "name": name, "due_on": due_on }),
            Place::Loan { name, due_on } => json!({ "at": "loan", "name": name, "due_on": due_on }),
        }
    }
}

impl Reading {
    fn wire(&self) -> Value {
        json!({ "measure": "other", "what": self.what, "value": { "value": self.value, "unit": self.unit } })
    }
}

fn looked() -> Value {
    json!({ "measure": "sound_to_look", "yes": true })
}

/// Looked over by somebody who answers for it, and what was measured beside.
fn evidence(readings: &[Reading]) -> Value {
    let all: Vec<Value> = std::iter::once(looked()).chain(readings.iter().map(Reading::wire)).collect();
    json!({ "readings": all })
}

fn looked_over() -> Value {
    evidence(&[])
}

fn wire(kind: &'static str, body: Value) -> Wire {
    Wire { kind, body, expects: None }
}

fn seen(kind: &'static str, body: Value, expects: Uuid) -> Wire {
    Wire {
        kind,
        body,
        expects: Some(expects),
    }
}

impl Deed {
    /// The command.
    pub fn wire(&self, shops: &Shops) -> Wire {
        match self {
            Self::Report { defect, piece, what, out } => {
                let severity = if *out { "out_of_service" } else { "usable" };
                wire(
                    "defect.report",
                    json!({ "id": defect, "piece": piece, "what": what, "class": "other", "severity": severity }),
                )
            }
            Self::Note { defect, text } => wire("defect.note", json!({ "id": defect, "text": text })),
            Self::Close { defect, resolution, .. } => seen(
                "defect.close",
                json!({ "id": defect, "resolution": resolution, "evidence": looked_over() }),
                *defect,
            ),
            Self::TakeOut { piece, reason, planned } => wire("piece.take_out", json!({ "id": piece, "reason": reason, "planned": planned })),
            Self::Back { piece, note, reading } => seen(
                "piece.return",
                json!({ "id": piece, "note": note, "evidence": evidence(reading.as_slice()) }),
                *piece,
            ),
            Self::Move { piece, to, arrived } => seen("piece.move", json!({ "id": piece, "to": shops.place(to), "arrived": arrived }), *piece),
            Self::Arrive { piece } => wire("piece.arrive", json!({ "id": piece })),
            Self::Retire { piece, reason } => seen(
                "piece.retire",
                json!({ "id": piece, "reason": reason, "disposal": "Cut up, so that nobody can use it again" }),
                *piece,
            ),
            Self::Served { piece, on } => seen("piece.edit", json!({ "id": piece, "last_service_on": on }), *piece),
            Self::Undated { piece, note } => seen("piece.edit", json!({ "id": piece, "made_on": null, "note": note }), *piece),
            Self::Noted { piece, note } => seen("piece.edit", json!({ "id": piece, "note": note }), *piece),
            Self::RigOut { rig, reason } => wire("rig.take_out", json!({ "id": rig, "reason": reason })),
            Self::RigBack { rig, note } => seen("rig.put_back", json!({ "id": rig, "note": note }), *rig),
            Self::Start {
                swap,
                rig,
                piece,
                stands_in_for,
                slot,
                on_the_way,
                from_rig,
            } => Wire {
                kind: "swap.start",
                body: json!({ "id": swap, "rig": rig, "piece": piece, "stands_in_for": stands_in_for, "slot": slot, "on_the_way": on_the_way }),
                // Taking a piece off another rig is decided on what was seen there.
                expects: from_rig.then_some(*piece),
            },
            Self::End { swap, to, .. } => {
                let to = to.as_ref().map(|to| shops.place(to));
                seen("swap.end", json!({ "id": swap, "to": to }), *swap)
            }
            Self::Keep { swap, .. } => seen("swap.keep", json!({ "id": swap }), *swap),
            Self::Open {
                ticket,
                piece,
                shop,
                what,
                defects,
            } => wire(
                "ticket.open",
                json!({ "id": ticket, "piece": piece, "shop": shops.id(*shop), "what": what, "defects": defects }),
            ),
            Self::Accept { ticket, here, .. } => wire("ticket.accept", json!({ "id": ticket, "piece_is_here": here })),
            Self::Work { ticket } => wire("ticket.work", json!({ "id": ticket })),
            Self::Wait { ticket, what_for, expected_on } => wire("ticket.wait", json!({ "id": ticket, "for": what_for, "expected_on": expected_on })),
            Self::Line { ticket, line } => wire("ticket.line", json!({ "id": ticket, "line": line.wire() })),
            Self::Test {
                ticket,
                passed,
                readings,
                note,
            } => {
                let looked = passed.then(looked);
                let readings: Vec<Value> = looked.into_iter().chain(readings.iter().map(Reading::wire)).collect();
                let note = note.as_deref().unwrap_or(if *passed {
                    "Repaired, tested, nothing else found"
                } else {
                    "Falls short on the gauge"
                });
                wire("ticket.test", json!({ "id": ticket, "passed": passed, "readings": readings, "note": note }))
            }
            Self::Return { ticket, to, note, .. } => seen("ticket.return", json!({ "id": ticket, "to": shops.place(to), "note": note }), *ticket),
            Self::Drop { ticket, note, .. } => seen("ticket.drop", json!({ "id": ticket, "note": note }), *ticket),
        }
    }

    /// The records that the deed may change, whose revisions are then only known from the answer.
    pub fn touches(&self) -> Vec<Uuid> {
        match self {
            Self::Report { defect, piece, .. } | Self::Close { defect, piece, .. } => vec![*defect, *piece],
            Self::Note { defect, .. } => vec![*defect],
            Self::TakeOut { piece, .. }
            | Self::Back { piece, .. }
            | Self::Move { piece, .. }
            | Self::Arrive { piece }
            | Self::Retire { piece, .. }
            | Self::Served { piece, .. }
            | Self::Undated { piece, .. }
            | Self::Noted { piece, .. } => vec![*piece],
            Self::Accept { ticket, piece, .. } => vec![*ticket, *piece],
            Self::Work { ticket } | Self::Wait { ticket, .. } | Self::Line { ticket, .. } | Self::Test { ticket, .. } => vec![*ticket],
            Self::Open { ticket, piece, defects, .. } | Self::Return { ticket, piece, defects, .. } | Self::Drop { ticket, piece, defects, .. } => {
                [*ticket, *piece].into_iter().chain(defects.iter().copied()).collect()
            }
            Self::Start { swap, piece, .. } | Self::End { swap, piece, .. } | Self::Keep { swap, piece } => vec![*swap, *piece],
            Self::RigOut { rig, .. } | Self::RigBack { rig, .. } => vec![*rig],
        }
    }
}

impl Line {
    fn wire(&self) -> Value {
        let mut line = Map::new();
        match self {
            Self::Part { what, quantity, unit_cost } => {
                line.insert("kind".into(), "part".into());
                line.insert("what".into(), (*what).into());
                line.insert("quantity".into(), json!(quantity));
                line.insert("unit_cost".into(), json!(unit_cost));
            }
            Self::Labour { what, minutes } => {
                line.insert("kind".into(), "labour".into());
                line.insert("what".into(), (*what).into());
                line.insert("minutes".into(), json!(minutes));
            }
        }
        line.into()
    }
}
