//! A plain sequential model of a few commands: what the county must look like after the acknowledged ones, in the order of
//! their revisions. The service, with all its writers at once, has to agree with it.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use uuid::Uuid;

/// A piece as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    pub rev: i64,
    pub out: bool,
    pub reason: Option<String>,
    pub holds: Vec<Uuid>,
}

/// A defect as the model knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Defect {
    pub rev: i64,
    pub piece: Uuid,
    pub open: bool,
    pub notes: Vec<String>,
}

/// The county of the model.
#[derive(Debug, Default)]
pub struct Model {
    pub pieces: BTreeMap<Uuid, Piece>,
    pub defects: BTreeMap<Uuid, Defect>,
}

fn id(body: &Value, field: &str) -> Uuid {
    body[field]
        .as_str()
        .and_then(|id| id.parse().ok())
        .unwrap_or_else(|| panic!("no {field} in {body}"))
}

fn text(body: &Value, field: &str) -> String {
    body[field].as_str().unwrap_or_else(|| panic!("no {field} in {body}")).to_owned()
}

impl Model {
    /// Starts from records as the service lists them.
    pub fn of(pieces: &[Value]) -> Self {
        let pieces = pieces.iter().map(|piece| (id(piece, "id"), Self::piece(piece))).collect();
        Self {
            pieces,
            defects: BTreeMap::new(),
        }
    }

    /// A record of a piece in the model's terms.
    pub fn piece(record: &Value) -> Piece {
        Piece {
            rev: record["rev"].as_i64().expect("a rev"),
            out: record["state"] == "out_of_service",
            reason: record["state_reason"].as_str().map(str::to_owned),
            holds: record["holds"].as_array().expect("holds").iter().map(|hold| id(hold, "id")).collect(),
        }
    }

    /// A record of a defect in the model's terms.
    pub fn defect(record: &Value) -> Defect {
        let notes = record["repeats"]
            .as_array()
            .expect("repeats")
            .iter()
            .map(|repeat| text(repeat, "text"))
            .collect();
        Defect {
            rev: record["rev"].as_i64().expect("a rev"),
            piece: id(record, "piece"),
            open: record["state"] == "open",
            notes,
        }
    }

    /// Applies a command that the service acknowledged at this revision. What the service should have refused fails here.
    pub fn apply(&mut self, rev: i64, command: &Value) {
        let body = &command["body"];
        let expects = command["expects"].as_i64();
        match command["kind"].as_str().expect("a kind") {
            "piece.take_out" => self.put_out(rev, id(body, "id"), text(body, "reason"), None),
            "piece.return" => {
                let piece = self.pieces.get_mut(&id(body, "id")).expect("a known piece");
                assert_eq!(expects, Some(piece.rev), "a return was applied on a revision that was not the last: {command}");
                assert!(piece.out && piece.holds.is_empty(), "a return was applied to {piece:?}: {command}");
                *piece = Piece {
                    rev,
                    out: false,
                    reason: None,
                    holds: Vec::new(),
                };
            }
            "defect.report" => {
                let (defect, piece) = (id(body, "id"), id(body, "piece"));
                let new = Defect {
                    rev,
                    piece,
                    open: true,
                    notes: Vec::new(),
                };
                assert!(self.defects.insert(defect, new).is_none(), "a defect was reported twice: {command}");
                if body["severity"] == "out_of_service" {
                    self.put_out(rev, piece, text(body, "what"), Some(defect));
                }
            }
            "defect.note" => {
                let defect = self.defects.get_mut(&id(body, "id")).expect("a known defect");
                defect.rev = rev;
                defect.notes.push(text(body, "text"));
            }
            "defect.close" => {
                let defect_id = id(body, "id");
                let defect = self.defects.get_mut(&defect_id).expect("a known defect");
                assert_eq!(expects, Some(defect.rev), "a defect was closed on a revision that was not the last: {command}");
                assert!(defect.open, "a defect was closed twice: {command}");
                (defect.rev, defect.open) = (rev, false);
                let piece = self.pieces.get_mut(&defect.piece).expect("a known piece");
                piece.rev = rev;
                piece.holds.retain(|hold| *hold != defect_id);
            }
            other => panic!("the model does not know {other}: {}", json!(command)),
        }
    }

    fn put_out(&mut self, rev: i64, piece: Uuid, reason: String, hold: Option<Uuid>) {
        let piece = self.pieces.get_mut(&piece).expect("a known piece");
        (piece.rev, piece.out, piece.reason) = (rev, true, Some(reason));
        piece.holds.extend(hold);
    }
}
