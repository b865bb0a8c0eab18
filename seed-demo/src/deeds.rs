//! What members do, as data, and the command that each deed is on the wire.

use crate::{
    county::{Place, Shop},
    evidence::{DefectClass, Evidence},
};
use chrono::NaiveDate;
use serde_json::{Value, json};
use uuid::Uuid;

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
        class: DefectClass,
        out: bool,
    },
    Note {
        defect: Uuid,
        piece: Uuid,
        text: String,
        /// It is worse: the piece goes out of service.
        out: bool,
    },
    /// An officer puts a repair off, once.
    Extend {
        defect: Uuid,
        piece: Uuid,
        reason: String,
    },
    Close {
        defect: Uuid,
        piece: Uuid,
        resolution: String,
        evidence: Evidence,
    },
    TakeOut {
        piece: Uuid,
        reason: String,
        /// What is wrong; nothing, where it is for planned service.
        class: Option<DefectClass>,
    },
    Back {
        piece: Uuid,
        note: String,
        evidence: Evidence,
    },
    /// Nobody can find it.
    Missing {
        piece: Uuid,
        note: String,
    },
    Found {
        piece: Uuid,
        place: Place,
        note: String,
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
        /// How it was made unusable.
        disposal: String,
    },
    /// The annual service, with its readings.
    Serviced {
        piece: Uuid,
        on: NaiveDate,
        by_whom: &'static str,
        evidence: Evidence,
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
        /// A word of `TicketWaitReason` in the API.
        reason: &'static str,
        what_for: String,
        expected_on: Option<NaiveDate>,
    },
    Promise {
        ticket: Uuid,
        on: NaiveDate,
    },
    Cause {
        ticket: Uuid,
        /// A word of `TicketCause` in the API.
        cause: &'static str,
    },
    Line {
        ticket: Uuid,
        line: Line,
    },
    Test {
        ticket: Uuid,
        passed: bool,
        evidence: Evidence,
        note: String,
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
        /// Why it goes aboard although it does not serve there.
        despite: Option<String>,
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
        at: &'static str,
    },
    RigBack {
        rig: Uuid,
        note: String,
    },
    /// A reserve rig takes another's place, with all its tools.
    Exchange {
        from: Uuid,
        to: Uuid,
        pieces: Vec<Uuid>,
        reason: String,
    },
    /// Pieces of a rig were used.
    Use {
        used: Uuid,
        rig: Uuid,
        pieces: Vec<Uuid>,
        what: String,
        minutes: u32,
    },
    /// The crew tried what came aboard: hooked up, run, no leak.
    TryOut {
        pieces: Vec<Uuid>,
    },
    /// The crew looked over what was used; all of it, unless pieces are named.
    Looked {
        used: Uuid,
        pieces: Vec<Uuid>,
        note: &'static str,
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

pub use crate::benches::Shops;

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
            Self::Report {
                defect,
                piece,
                what,
                class,
                out,
            } => {
                let severity = if *out { "out_of_service" } else { "usable" };
                wire(
                    "defect.report",
                    json!({ "id": defect, "piece": piece, "what": what, "class": class.wire(), "severity": severity }),
                )
            }
            Self::Note { defect, text, out, .. } => {
                let severity = out.then_some("out_of_service");
                wire("defect.note", json!({ "id": defect, "text": text, "severity": severity }))
            }
            Self::Extend { defect, reason, .. } => seen("defect.extend", json!({ "id": defect, "reason": reason }), *defect),
            Self::Close {
                defect, resolution, evidence, ..
            } => seen(
                "defect.close",
                json!({ "id": defect, "resolution": resolution, "evidence": evidence.wire() }),
                *defect,
            ),
            Self::TakeOut { piece, reason, class } => wire(
                "piece.take_out",
                json!({ "id": piece, "reason": reason, "class": class.map(DefectClass::wire), "planned": class.is_none() }),
            ),
            Self::Back { piece, note, evidence } => seen("piece.return", json!({ "id": piece, "note": note, "evidence": evidence.wire() }), *piece),
            Self::Missing { piece, note } => wire("piece.report_missing", json!({ "id": piece, "note": note })),
            Self::Found { piece, place, note } => wire("piece.found", json!({ "id": piece, "place": shops.place(place), "note": note })),
            Self::Move { piece, to, arrived } => seen("piece.move", json!({ "id": piece, "to": shops.place(to), "arrived": arrived }), *piece),
            Self::Arrive { piece } => wire("piece.arrive", json!({ "id": piece })),
            Self::Retire { piece, reason, disposal } => seen("piece.retire", json!({ "id": piece, "reason": reason, "disposal": disposal }), *piece),
            Self::Serviced { piece, on, by_whom, evidence } => wire(
                "piece.serviced",
                json!({ "id": piece, "on": on, "by_whom": by_whom, "evidence": evidence.wire() }),
            ),
            Self::Undated { piece, note } => seen("piece.edit", json!({ "id": piece, "made_on": null, "note": note }), *piece),
            Self::Noted { piece, note } => seen("piece.edit", json!({ "id": piece, "note": note }), *piece),
            Self::RigOut { rig, reason, at } => wire("rig.take_out", json!({ "id": rig, "reason": reason, "at": at })),
            Self::RigBack { rig, note } => seen("rig.put_back", json!({ "id": rig, "note": note }), *rig),
            Self::Exchange { from, to, pieces, reason } => seen("rig.exchange", json!({ "id": from, "to": to, "pieces": pieces, "reason": reason }), *from),
            Self::Use {
                used,
                rig,
                pieces,
                what,
                minutes,
            } => wire(
                "use.record",
                json!({ "id": used, "rig": rig, "pieces": pieces, "what": what, "minutes": minutes }),
            ),
            Self::TryOut { pieces } => wire("piece.try_out", json!({ "pieces": pieces })),
            Self::Looked { used, pieces, note } => wire("use.check", json!({ "id": used, "pieces": pieces, "note": note })),
            Self::Start {
                swap,
                rig,
                piece,
                stands_in_for,
                slot,
                on_the_way,
                from_rig,
                despite,
            } => Wire {
                kind: "swap.start",
                body: json!({
                    "id": swap, "rig": rig, "piece": piece, "stands_in_for": stands_in_for, "slot": slot, "on_the_way": on_the_way,
                    "despite": despite,
                }),
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
            Self::Wait {
                ticket,
                reason,
                what_for,
                expected_on,
            } => wire(
                "ticket.wait",
                json!({ "id": ticket, "reason": reason, "for": what_for, "expected_on": expected_on }),
            ),
            Self::Promise { ticket, on } => wire("ticket.promise", json!({ "id": ticket, "on": on })),
            Self::Cause { ticket, cause } => wire("ticket.cause", json!({ "id": ticket, "cause": cause })),
            Self::Line { ticket, line } => wire("ticket.line", json!({ "id": ticket, "line": line.wire() })),
            Self::Test {
                ticket,
                passed,
                evidence,
                note,
            } => {
                let mut body = evidence.fields();
                body.extend([
                    ("id".to_owned(), json!(ticket)),
                    ("passed".to_owned(), json!(passed)),
                    ("note".to_owned(), json!(note)),
                ]);
                wire("ticket.test", body.into())
            }
            Self::Return { ticket, to, note, .. } => seen("ticket.return", json!({ "id": ticket, "to": shops.place(to), "note": note }), *ticket),
            Self::Drop { ticket, note, .. } => seen("ticket.drop", json!({ "id": ticket, "note": note }), *ticket),
        }
    }

    /// The records that the deed may change, whose revisions are then only known from the answer.
    pub fn touches(&self) -> Vec<Uuid> {
        match self {
            Self::Report { defect, piece, .. } | Self::Note { defect, piece, .. } | Self::Extend { defect, piece, .. } | Self::Close { defect, piece, .. } => {
                vec![*defect, *piece]
            }
            Self::TakeOut { piece, .. }
            | Self::Back { piece, .. }
            | Self::Move { piece, .. }
            | Self::Arrive { piece }
            | Self::Retire { piece, .. }
            | Self::Missing { piece, .. }
            | Self::Found { piece, .. }
            | Self::Serviced { piece, .. }
            | Self::Undated { piece, .. }
            | Self::Noted { piece, .. } => vec![*piece],
            Self::Accept { ticket, piece, .. } => vec![*ticket, *piece],
            Self::Work { ticket }
            | Self::Wait { ticket, .. }
            | Self::Promise { ticket, .. }
            | Self::Cause { ticket, .. }
            | Self::Line { ticket, .. }
            | Self::Test { ticket, .. } => vec![*ticket],
            Self::Open { ticket, piece, defects, .. } | Self::Return { ticket, piece, defects, .. } | Self::Drop { ticket, piece, defects, .. } => {
                [*ticket, *piece].into_iter().chain(defects.iter().copied()).collect()
            }
            Self::Start { swap, piece, .. } | Self::End { swap, piece, .. } | Self::Keep { swap, piece } => vec![*swap, *piece],
            Self::RigOut { rig, .. } | Self::RigBack { rig, .. } => vec![*rig],
            Self::TryOut { pieces } => pieces.clone(),
            Self::Exchange { from, to, pieces, .. } => [*from, *to].into_iter().chain(pieces.iter().copied()).collect(),
            Self::Use { used, pieces, .. } | Self::Looked { used, pieces, .. } => std::iter::once(*used).chain(pieces.iter().copied()).collect(),
        }
    }
}

impl Line {
    fn wire(&self) -> Value {
        match self {
            Self::Part { what, quantity, unit_cost } => json!({ "kind": "part", "what": what, "quantity": quantity, "unit_cost": unit_cost }),
            Self::Labour { what, minutes } => json!({ "kind": "labour", "what": what, "minutes": minutes }),
        }
    }
}
