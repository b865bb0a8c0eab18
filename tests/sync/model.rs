//! A plain sequential model of the commands that phones send: what the county must look like after the acknowledged ones, in
//! the order of their revisions, and which commands must be refused or be a conflict in a state. The service, with all its
//! writers, deaths and repeats, has to agree with it.

use super::{
    belongs::{At, Places},
    known::{self, Defect, Import, Note, Piece, Rig, Station, Swap, Use, id, text},
    verdicts::{decided, released, rule, used_piece},
};
use chrono::{DateTime, Utc};
use fullset::platform::door::own_id;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

pub use super::verdicts::Verdict;

/// One command as a phone said it.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    pub command: Value,
    /// The role of its sender.
    pub role: String,
    /// The revision at which the sender last saw the record that it is about.
    pub seen: i64,
    /// When it was done, by a true clock.
    pub said: DateTime<Utc>,
    /// For an import: the tags that the file holds, and where it says they are.
    pub brings: Vec<(String, Value)>,
}

/// The county of the model.
#[derive(Debug, Clone, Default)]
pub struct Model {
    pub pieces: BTreeMap<Uuid, Piece>,
    pub defects: BTreeMap<Uuid, Defect>,
    pub notes: BTreeMap<Uuid, Note>,
    pub swaps: BTreeMap<Uuid, Swap>,
    pub rigs: BTreeMap<Uuid, Rig>,
    pub stations: BTreeMap<Uuid, Station>,
    pub uses: BTreeMap<Uuid, Use>,
    pub imports: BTreeMap<Uuid, Import>,
    /// The revision at which an import was made, and the pieces that it brought in.
    brought: BTreeMap<Uuid, (i64, Vec<Uuid>)>,
    /// Where each record belongs.
    pub places: Places,
    /// The commands that have been applied.
    applied: BTreeSet<Uuid>,
    /// Broken on purpose: *out of service* loses where its author had not seen the last change.
    pub out_may_lose: bool,
}

impl Model {
    /// Starts from records as the service holds them.
    pub fn of<'a>(records: impl Iterator<Item = (&'a str, &'a Value)>) -> Self {
        let mut model = Self::default();
        for (kind, record) in records {
            let own = id(record, "id");
            match kind {
                "piece" => drop(model.pieces.insert(own, known::piece(record))),
                "defect" => drop(model.defects.insert(own, known::defect(record))),
                "defect_note" => drop(model.notes.insert(own, known::note(record))),
                "swap" => drop(model.swaps.insert(own, known::swap(record))),
                "rig" => drop(model.rigs.insert(own, known::rig(record))),
                "station" => drop(model.stations.insert(own, known::station(record))),
                _ => {}
            }
            model.places.begin(kind, own, record);
        }
        model.places.settle(&model.pieces);
        model
    }

    /// What must become of a command in this state.
    pub fn judge(&self, act: &Act) -> Verdict {
        let (command, body) = (&act.command, &act.command["body"]);
        let kind = command["kind"].as_str().expect("a kind");
        if command["after"].is_string() && !self.applied.contains(&id(command, "after")) {
            return Verdict::Refused("after-refused");
        }
        let needs: &[&str] = match kind {
            "defect.report" | "defect.note" | "piece.take_out" | "piece.arrive" | "rig.take_out" | "swap.start" | "use.record" => {
                &["crew", "officer", "coordinator"]
            }
            "rig.edit" | "station.edit" | "import.add" | "import.undo" => &["coordinator"],
            _ => &["officer", "coordinator"],
        };
        if !needs.contains(&act.role.as_str()) {
            return Verdict::Refused("not-allowed");
        }
        let missing = Verdict::Refused("not-found");
        let own = id(body, "id");
        match kind {
            "defect.report" if !self.pieces.contains_key(&id(body, "piece")) => Verdict::Refused("field-invalid"),
            // What nobody has named can still be used by an officer's word alone.
            "defect.report" => {
                let (piece, usable) = (&self.pieces[&id(body, "piece")], body["severity"] == "usable");
                rule(if usable {
                    act.role != "crew" && piece.limits.len() < 60
                } else {
                    piece.holds.len() < 60
                })
            }
            "defect.note" => self.defects.get(&own).map_or(missing, |defect| rule(defect.open && defect.notes < 100)),
            "defect.close" => self.defects.get(&own).map_or(missing, |defect| {
                released(decided(command, defect.rev, defect.open), &self.pieces[&defect.piece], true, act)
            }),
            "piece.take_out" => self.pieces.get(&own).map_or(missing, |_| Verdict::Applies),
            "piece.return" => self.pieces.get(&own).map_or(missing, |piece| {
                released(decided(command, piece.rev, piece.out && piece.holds.is_empty()), piece, piece.unnamed, act)
            }),
            "piece.move" => self
                .pieces
                .get(&own)
                .map_or(missing, |piece| decided(command, piece.rev, piece.place != body["to"])),
            "piece.arrive" => self.pieces.get(&own).map_or(missing, |piece| rule(piece.place["at"] == "transit")),
            "swap.start" => self.judge_stand_in(act),
            "swap.end" | "swap.keep" => self.swaps.get(&own).map_or(missing, |swap| decided(command, swap.rev, swap.state == "open")),
            "use.record" if !self.pieces.contains_key(&used_piece(body)) => Verdict::Refused("field-invalid"),
            "use.record" => Verdict::Applies,
            "rig.take_out" => self.rigs.get(&own).map_or(missing, |_| Verdict::Applies),
            "rig.put_back" => self.rigs.get(&own).map_or(missing, |rig| decided(command, rig.rev, rig.out)),
            "rig.edit" => self.rigs.get(&own).map_or(missing, |rig| decided(command, rig.rev, true)),
            "station.edit" => self.stations.get(&own).map_or(missing, |station| decided(command, station.rev, true)),
            "import.add" => Verdict::Applies,
            "import.undo" => self.imports.get(&own).map_or(missing, |import| rule(!import.undone && self.untouched(own))),
            other => panic!("the model does not know {other}: {command}"),
        }
    }

    fn judge_stand_in(&self, act: &Act) -> Verdict {
        let (command, body) = (&act.command, &act.command["body"]);
        let (piece_id, rig) = (id(body, "piece"), id(body, "rig"));
        let Some(piece) = self.pieces.get(&piece_id) else {
            return Verdict::Refused("field-invalid");
        };
        if command["expects"].as_i64().is_some_and(|rev| rev != piece.rev) {
            return Verdict::Conflict;
        }
        let stands_in = self.swaps.values().any(|swap| swap.piece == piece_id && swap.state == "open");
        let aboard = piece.place["rig"].as_str().is_some();
        if piece.out || stands_in || (aboard && id(&piece.place, "rig") == rig) {
            return Verdict::Refused("rule-broken");
        }
        match piece.place["at"].as_str() {
            // Taking a piece off another rig is a decision, on what was seen.
            Some("rig") if act.role == "crew" => Verdict::Refused("not-allowed"),
            Some("rig") => decided(command, piece.rev, true),
            // What speaks against it has been overruled, or there is nothing that could.
            Some("shelf" | "shop") if body["despite"].is_string() || !piece.tool => Verdict::Applies,
            Some("shelf" | "shop") => Verdict::AsItFits,
            _ => Verdict::Refused("rule-broken"),
        }
    }

    /// Whether nobody has worked with what an import brought in.
    fn untouched(&self, import: Uuid) -> bool {
        let (made, pieces) = &self.brought[&import];
        pieces.iter().all(|piece| self.pieces.get(piece).is_some_and(|piece| piece.rev == *made))
            && !self.defects.values().any(|defect| pieces.contains(&defect.piece))
            && !self.swaps.values().any(|swap| pieces.contains(&swap.piece))
    }

    /// Whether a record that a conflict showed is how it stands.
    pub fn shows(&self, act: &Act, current: &Value) -> bool {
        let own = id(current, "id");
        let named = id(&act.command["body"], if act.command["kind"] == "swap.start" { "piece" } else { "id" });
        let kind = act.command["kind"].as_str().expect("a kind");
        own == named
            && match kind.split('.').next() {
                _ if kind == "swap.start" => self.pieces.get(&own) == Some(&known::piece(current)),
                Some("piece") => self.pieces.get(&own) == Some(&known::piece(current)),
                Some("defect") => self.defects.get(&own) == Some(&known::defect(current)),
                Some("swap") => self.swaps.get(&own) == Some(&known::swap(current)),
                Some("rig") => self.rigs.get(&own) == Some(&known::rig(current)),
                _ => self.stations.get(&own) == Some(&known::station(current)),
            }
    }

    /// Applies a command that the service acknowledged at this revision. What it should not have applied is a fault.
    pub fn apply(&mut self, rev: i64, act: &Act) -> Result<(), String> {
        let (command, body) = (&act.command, &act.command["body"]);
        match self.judge(act) {
            Verdict::Applies | Verdict::AsItFits => {}
            verdict => return Err(format!("applied at {rev}, where the model says {verdict:?}: {command}")),
        }
        self.applied.insert(id(command, "id"));
        let own = id(body, "id");
        let place = |to: &Value, arrived: bool| if arrived { to.clone() } else { json!({ "at": "transit", "to": to }) };
        match command["kind"].as_str().expect("a kind") {
            "piece.take_out" => {
                self.put_out(rev, own, text(body, "reason"), None, act.seen);
                self.pieces.get_mut(&own).expect("judged").unnamed = true;
            }
            "piece.return" => {
                let piece = self.pieces.get_mut(&own).expect("judged");
                (piece.rev, piece.out, piece.reason, piece.unnamed) = (rev, false, None, false);
            }
            "piece.move" => self.bring(rev, own, place(&body["to"], body["arrived"] == true)),
            "piece.arrive" => {
                let to = self.pieces[&own].place["to"].clone();
                self.bring(rev, own, to);
            }
            "defect.report" => {
                let piece = id(body, "piece");
                let new = Defect {
                    rev,
                    piece,
                    open: true,
                    notes: 0,
                };
                self.places.put("defect", own, self.places.of("piece", piece));
                if self.defects.insert(own, new).is_some() {
                    return Err(format!("a defect was reported twice: {command}"));
                }
                if body["severity"] == "out_of_service" {
                    self.put_out(rev, piece, text(body, "what"), Some(own), act.seen);
                } else {
                    let piece = self.pieces.get_mut(&piece).expect("judged");
                    piece.rev = rev;
                    piece.limits.insert(own);
                }
            }
            "defect.note" => {
                let defect = self.defects.get_mut(&own).expect("judged");
                defect.rev = rev;
                defect.notes += 1;
                let note = Note {
                    rev,
                    defect: own,
                    piece: defect.piece,
                    text: text(body, "text"),
                    open: true,
                };
                // Both belong to those who have the piece now.
                let there = self.places.of("piece", note.piece);
                let noted = own_id(&format!("defect note {}", id(command, "id")));
                self.places.put("defect", own, there);
                self.places.put("defect_note", noted, there);
                self.notes.insert(noted, note);
            }
            "defect.close" => {
                let defect = self.defects.get_mut(&own).expect("judged");
                (defect.rev, defect.open) = (rev, false);
                let piece = self.pieces.get_mut(&defect.piece).expect("a piece with a defect is never taken away");
                piece.rev = rev;
                piece.holds.remove(&own);
                piece.limits.remove(&own);
                for note in self.notes.values_mut().filter(|note| note.defect == own && note.open) {
                    (note.rev, note.open) = (rev, false);
                }
            }
            "swap.start" => {
                let (rig, piece) = (id(body, "rig"), id(body, "piece"));
                let new = Swap {
                    rev,
                    rig,
                    piece,
                    state: "open".to_owned(),
                    from: self.pieces[&piece].place.clone(),
                };
                self.swaps.insert(own, new);
                self.places.put("swap", own, self.places.of("rig", rig));
                self.bring(rev, piece, place(&json!({ "at": "rig", "rig": rig }), body["on_the_way"] != true));
            }
            "swap.end" => {
                let swap = self.swaps.get_mut(&own).expect("judged");
                (swap.rev, swap.state) = (rev, "ended".to_owned());
                let (piece, from) = (swap.piece, swap.from.clone());
                self.bring(rev, piece, place(&from, body["on_the_way"] != true));
            }
            "swap.keep" => {
                let swap = self.swaps.get_mut(&own).expect("judged");
                (swap.rev, swap.state) = (rev, "kept".to_owned());
                let (own, rig) = (swap.piece, swap.rig);
                let piece = self.pieces.get_mut(&own).expect("a piece with a swap is never taken away");
                (piece.rev, piece.home) = (rev, json!({ "at": "rig", "rig": rig }));
                self.settle(rev, own);
            }
            "use.record" => {
                let rig = id(body, "rig");
                self.uses.insert(own, Use { rev, rig });
                self.pieces.get_mut(&used_piece(body)).expect("judged").rev = rev;
                self.places.put("use", own, self.places.of("rig", rig));
            }
            "rig.take_out" | "rig.put_back" => {
                let rig = self.rigs.get_mut(&own).expect("judged");
                (rig.rev, rig.out) = (rev, command["kind"] == "rig.take_out");
            }
            "rig.edit" => {
                let rig = self.rigs.get_mut(&own).expect("judged");
                (rig.rev, rig.station) = (rev, id(body, "station"));
                let there = At {
                    rig: Some(own),
                    ..self.places.of("station", rig.station).at
                };
                let moved = if there == self.places.of("rig", own).at {
                    Vec::new()
                } else {
                    self.places.rescope(|old| old.rig == Some(own), |_| there)
                };
                self.touch(rev, moved);
            }
            "station.edit" => {
                let station = self.stations.get_mut(&own).expect("judged");
                (station.rev, station.district) = (rev, id(body, "district"));
                let district = Some(station.district);
                let moved = if self.places.of("station", own).at.district == district {
                    Vec::new()
                } else {
                    self.places.rescope(|old| old.station == Some(own), |old| At { district, ..old })
                };
                self.touch(rev, moved);
            }
            "import.undo" => {
                let import = self.imports.get_mut(&own).expect("judged");
                (import.rev, import.undone) = (rev, true);
                for piece in &self.brought[&own].1 {
                    self.pieces.remove(piece);
                    self.places.take("piece", *piece);
                }
            }
            other => panic!("the model does not know {other}"),
        }
        Ok(())
    }

    /// An import's pieces come in, under the ids that the service made, at the places that the file named.
    pub fn bring_in(&mut self, rev: i64, act: &Act, made: Vec<(Uuid, Value)>) {
        let import = id(&act.command["body"], "id");
        self.applied.insert(id(&act.command, "id"));
        self.imports.insert(import, Import { rev, undone: false });
        self.brought.insert(import, (rev, made.iter().map(|(own, _)| *own).collect()));
        for (own, place) in made {
            let new = Piece {
                rev,
                out: false,
                reason: None,
                holds: BTreeSet::new(),
                limits: BTreeSet::new(),
                hose_made_on: None,
                unnamed: false,
                under_pressure: true,
                tool: false,
                home: place.clone(),
                place,
            };
            self.places.put("piece", own, self.places.of_piece(&new));
            self.pieces.insert(own, new);
        }
    }

    fn put_out(&mut self, rev: i64, piece: Uuid, reason: String, hold: Option<Uuid>, seen: i64) {
        let piece = self.pieces.get_mut(&piece).expect("judged");
        if self.out_may_lose && seen < piece.rev {
            return;
        }
        (piece.rev, piece.out, piece.reason) = (rev, true, Some(reason));
        piece.holds.extend(hold);
    }

    fn bring(&mut self, rev: i64, piece: Uuid, to: Value) {
        let found = self.pieces.get_mut(&piece).expect("judged");
        (found.rev, found.place) = (rev, to);
        self.settle(rev, piece);
    }

    /// A piece belongs where its place and its home are.
    fn settle(&mut self, rev: i64, piece: Uuid) {
        let there = self.places.of_piece(&self.pieces[&piece]);
        let moved = self.places.of("piece", piece) != there;
        self.places.put("piece", piece, there);
        // Its open defects go with it, and what was noted of them.
        for (own, defect) in self.defects.iter_mut().filter(|(_, defect)| moved && defect.open && defect.piece == piece) {
            if self.places.of("defect", *own) != there {
                self.places.put("defect", *own, there);
                defect.rev = rev;
            }
        }
        for (own, note) in self.notes.iter_mut().filter(|(_, note)| moved && note.open && note.piece == piece) {
            self.places.put("defect_note", *own, there);
            note.rev = rev;
        }
    }

    /// What changes its scope is told anew.
    fn touch(&mut self, rev: i64, moved: Vec<(String, Uuid)>) {
        for (kind, id) in moved {
            match kind.as_str() {
                "piece" => self.pieces.get_mut(&id).into_iter().for_each(|piece| piece.rev = rev),
                "defect" => self.defects.get_mut(&id).into_iter().for_each(|defect| defect.rev = rev),
                "defect_note" => self.notes.get_mut(&id).into_iter().for_each(|note| note.rev = rev),
                "swap" => self.swaps.get_mut(&id).into_iter().for_each(|swap| swap.rev = rev),
                "use" => self.uses.get_mut(&id).into_iter().for_each(|used| used.rev = rev),
                "rig" => self.rigs.get_mut(&id).into_iter().for_each(|rig| rig.rev = rev),
                _ => {}
            }
        }
    }
}
