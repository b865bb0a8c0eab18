//! What the person with the phone does next, going by what the phone shows: often true, sometimes long changed.

use base64::Engine as _;
use serde_json::{Value, json};
use uuid::Uuid;

use super::phone::Phone;
use crate::{
    sync::{known::id, model::Act},
    world::{
        Rng,
        acts::{paper, tested},
    },
};

/// Pieces of this kind are imported and taken back, and mostly left alone by the others, so that some can be taken back.
pub const IMPORTED: &str = "I-";

fn rev(record: &Value) -> i64 {
    record["rev"].as_i64().expect("a rev")
}

/// What is mostly seen, sometimes something older, now and then nothing.
fn expects(rng: &mut Rng, seen: i64) -> Value {
    match rng.roll(12) {
        0 => Value::Null,
        1 => json!(seen - 1 - i64::try_from(rng.roll(4)).expect("small")),
        _ => json!(seen),
    }
}

impl Phone {
    /// Records of a kind as the phone shows them, in an order that is the same in every run.
    fn shown(&self, kind: &str, wanted: impl Fn(&Value) -> bool) -> Vec<Value> {
        let mut shown: Vec<Value> = self.replica().of_kind(kind).filter(|record| wanted(record)).cloned().collect();
        shown.sort_by_key(|record| {
            ["tag", "name", "what", "started_at"]
                .iter()
                .find_map(|field| record[*field].as_str())
                .map(str::to_owned)
        });
        shown
    }

    fn act(&mut self, rng: &mut Rng, kind: &str, body: Value, seen: i64) -> Act {
        let (said, at) = self.said_at(rng);
        let command = self.plan.rng.id(chrono::Utc::now());
        Act {
            command: json!({ "id": command, "kind": kind, "at": at, "body": body }),
            role: self.plan.role.to_owned(),
            seen,
            said,
            brings: Vec::new(),
        }
    }

    fn decided(&mut self, rng: &mut Rng, kind: &str, body: Value, seen: i64) -> Act {
        let expects = expects(rng, seen);
        let mut act = self.act(rng, kind, body, seen);
        act.command["expects"] = expects;
        act
    }

    /// Words that nobody else says.
    fn words(&mut self, what: &str) -> String {
        self.said += 1;
        format!("{what} {}.{}", self.number, self.said)
    }

    /// A whole test; the coordinator has the paper of the maker's service with it, of today. In the first hours of a day what is said may
    /// lie in the day before, for which that would be no paper.
    fn evidence(&self) -> Value {
        let mut evidence = tested();
        let now = chrono::Utc::now().with_timezone(&chrono_tz::America::Denver);
        if self.plan.role == "coordinator" && chrono::Timelike::hour(&now) >= 3 {
            evidence["makers_service"] = paper(&now.date_naive().to_string());
        }
        evidence
    }

    fn own_id(&mut self) -> Uuid {
        self.plan.rng.id(chrono::Utc::now())
    }

    /// The commands of one thing that is done.
    pub fn say(&mut self, mut rng: Rng) -> Vec<Act> {
        let rng = &mut rng;
        if self.plan.role == "coordinator" && rng.chance(40) {
            return self.plan_something(rng);
        }
        let touches_imports = rng.chance(3);
        let pieces = self.shown("piece", |piece| touches_imports || !piece["tag"].as_str().expect("a tag").starts_with(IMPORTED));
        let Some(piece) = rng.pick(&pieces).cloned() else {
            return Vec::new();
        };
        let (own, seen) = (id(&piece, "id"), rev(&piece));
        let of = |wanted: &dyn Fn(&Value) -> bool| pieces.iter().filter(|piece| wanted(piece)).cloned().collect::<Vec<_>>();
        match rng.roll(20) {
            3 => {
                let rigs = self.shown("rig", |_| true);
                let Some(rig) = rng.pick(&rigs).cloned() else { return Vec::new() };
                let (used, what) = (self.own_id(), self.words("two cars"));
                vec![self.act(rng, "use.record", json!({ "id": used, "rig": rig["id"], "pieces": [own], "what": what }), 0)]
            }
            4 | 5 => self.on_a_defect(rng, |phone, rng, defect| {
                let text = phone.words("again");
                phone.act(rng, "defect.note", json!({ "id": defect["id"], "text": text }), rev(defect))
            }),
            6 | 7 => self.on_a_defect(rng, |phone, rng, defect| {
                let resolution = phone.words("put right");
                phone.decided(
                    rng,
                    "defect.close",
                    json!({ "id": defect["id"], "resolution": resolution, "evidence": phone.evidence() }),
                    rev(defect),
                )
            }),
            8..=10 => {
                let reason = self.words("stiff");
                vec![self.act(rng, "piece.take_out", json!({ "id": own, "reason": reason }), seen)]
            }
            11..=13 => {
                let out = of(&|piece| piece["state"] == "out_of_service");
                let piece = rng.pick(&out).unwrap_or(&piece).clone();
                let note = self.words("looked at");
                vec![self.decided(
                    rng,
                    "piece.return",
                    json!({ "id": piece["id"], "note": note, "evidence": self.evidence() }),
                    rev(&piece),
                )]
            }
            14 | 15 => {
                let body = json!({ "id": own, "to": self.somewhere(rng), "arrived": rng.chance(50) });
                vec![self.decided(rng, "piece.move", body, seen)]
            }
            16 => {
                let on_the_way = of(&|piece| piece["place"]["at"] == "transit");
                let piece = rng.pick(&on_the_way).unwrap_or(&piece).clone();
                vec![self.act(rng, "piece.arrive", json!({ "id": piece["id"] }), rev(&piece))]
            }
            17 => self.stand_in(rng, &of(&|piece| piece["place"]["at"] == "shelf"), &piece),
            18 => {
                let open = self.shown("swap", |swap| swap["state"] == "open");
                let Some(swap) = rng.pick(&open).cloned() else { return Vec::new() };
                let body = json!({ "id": swap["id"] });
                if rng.chance(30) {
                    return vec![self.decided(rng, "swap.keep", body, rev(&swap))];
                }
                let body = json!({ "id": swap["id"], "on_the_way": rng.chance(50) });
                vec![self.decided(rng, "swap.end", body, rev(&swap))]
            }
            19 => {
                let rigs = self.shown("rig", |_| true);
                let Some(rig) = rng.pick(&rigs).cloned() else { return Vec::new() };
                if rig["in_service"] == false {
                    return vec![self.decided(rng, "rig.put_back", json!({ "id": rig["id"] }), rev(&rig))];
                }
                let reason = self.words("brakes");
                vec![self.act(rng, "rig.take_out", json!({ "id": rig["id"], "reason": reason }), rev(&rig))]
            }
            _ => self.report(rng, own, seen),
        }
    }

    /// Reports a defect, and often looks again: what follows names what it follows.
    fn report(&mut self, rng: &mut Rng, piece: Uuid, seen: i64) -> Vec<Act> {
        let defect = self.own_id();
        let severity = if rng.chance(40) { "out_of_service" } else { "usable" };
        let what = self.words("mark");
        let body = json!({ "id": defect, "piece": piece, "what": what, "class": "other", "severity": severity });
        let mut said = vec![self.act(rng, "defect.report", body, seen)];
        for _ in 0..rng.roll(3) {
            let text = self.words("again");
            let mut note = self.act(rng, "defect.note", json!({ "id": defect, "text": text }), 0);
            let before = said.last().expect("there is one").command["id"].clone();
            note.command["after"] = before;
            said.push(note);
        }
        said
    }

    fn on_a_defect(&mut self, rng: &mut Rng, act: impl Fn(&mut Self, &mut Rng, &Value) -> Act) -> Vec<Act> {
        let open = self.shown("defect", |defect| defect["state"] == "open");
        let Some(defect) = rng.pick(&open).cloned() else { return Vec::new() };
        vec![act(self, rng, &defect)]
    }

    fn stand_in(&mut self, rng: &mut Rng, reserves: &[Value], other: &Value) -> Vec<Act> {
        let rigs = self.shown("rig", |_| true);
        let Some(rig) = rng.pick(&rigs).cloned() else { return Vec::new() };
        // Mostly from a shelf, sometimes whatever comes to hand, also off another rig.
        let piece = if rng.chance(80) { rng.pick(reserves).unwrap_or(other) } else { other };
        let mut body = json!({ "id": self.own_id(), "rig": rig["id"], "piece": piece["id"], "on_the_way": rng.chance(40) });
        if self.plan.role != "crew" {
            body["despite"] = json!(self.words("better than nothing"));
        }
        let seen = rev(piece);
        if rng.chance(60) {
            vec![self.decided(rng, "swap.start", body, seen)]
        } else {
            vec![self.act(rng, "swap.start", body, seen)]
        }
    }

    /// A place that the phone knows: a shop, a vendor, any station's shelf, or a rig of its scope.
    fn somewhere(&self, rng: &mut Rng) -> Value {
        if let Some(shop) = rng.pick(&self.shown("shop", |_| true)).filter(|_| rng.chance(20)) {
            return json!({ "at": "shop", "shop": shop["id"] });
        }
        if rng.chance(5) {
            return json!({ "at": "vendor", "name": "Harbor Hydraulics", "due_on": null });
        }
        let (stations, rigs) = (self.shown("station", |_| true), self.shown("rig", |_| true));
        match (rng.chance(40), rng.pick(&rigs), rng.pick(&stations)) {
            (true, Some(rig), _) => json!({ "at": "rig", "rig": rig["id"] }),
            (_, _, Some(station)) => json!({ "at": "shelf", "station": station["id"] }),
            // A shop's feed names no station of a piece without a home, and one that has been read in part may not have come to them.
            _ => json!({ "at": "vendor", "name": "Harbor Hydraulics", "due_on": null }),
        }
    }

    /// What coordinators do: rigs and stations change places, files are read in and taken back.
    fn plan_something(&mut self, rng: &mut Rng) -> Vec<Act> {
        let stations = self.shown("station", |_| true);
        let Some(station) = rng.pick(&stations).cloned() else { return Vec::new() };
        match rng.roll(7) {
            0 | 1 => {
                let rigs = self.shown("rig", |_| true);
                let Some(rig) = rng.pick(&rigs).cloned() else { return Vec::new() };
                let mut body = json!({ "id": rig["id"], "station": station["id"] });
                if rng.chance(40) {
                    body["name"] = json!(self.words("Rig"));
                }
                vec![self.decided(rng, "rig.edit", body, rev(&rig))]
            }
            2 => {
                let districts = self.shown("district", |_| true);
                let Some(district) = rng.pick(&districts).cloned() else { return Vec::new() };
                let body = json!({ "id": station["id"], "district": district["id"] });
                vec![self.decided(rng, "station.edit", body, rev(&station))]
            }
            3 | 4 => {
                let import = self.own_id();
                let (tag, place) = (self.words("x").replace([' ', '.'], "-"), station["name"].as_str().expect("a name"));
                let tags = [format!("{IMPORTED}{tag}-1"), format!("{IMPORTED}{tag}-2")];
                let rows = tags.each_ref().map(|row| format!("{row},hand pump,Dorvan H{tag},{place} reserve\n")).concat();
                let file = base64::engine::general_purpose::STANDARD.encode(format!("Asset tag,Kind,Model,Assigned to\n{rows}"));
                let body = json!({ "id": import, "file_name": "more.csv", "file": file });
                let mut read_in = self.act(rng, "import.add", body, 0);
                read_in.brings = tags.map(|tag| (tag, json!({ "at": "shelf", "station": station["id"] }))).into();
                self.imports.push((import, read_in.command["id"].clone()));
                vec![read_in]
            }
            _ if !self.imports.is_empty() => {
                let (import, command) = self.imports.swap_remove(rng.roll(self.imports.len()));
                let mut undo = self.act(rng, "import.undo", json!({ "id": import }), 0);
                undo.command["after"] = command;
                vec![undo]
            }
            _ => {
                let standing = self.shown("import", |import| import["undone_at"].is_null());
                let Some(import) = rng.pick(&standing).cloned() else { return Vec::new() };
                vec![self.act(rng, "import.undo", json!({ "id": import["id"] }), rev(&import))]
            }
        }
    }
}
