//! The part of the stage that is about shifts and rollouts. It adds no piece: with many more the stage could not be judged at once.

use serde_json::{Value, json};
use uuid::Uuid;

use super::stage::Stage;
use crate::world::{
    acts::{paper, tested},
    command,
};

impl Stage {
    /// Rollouts with a rig in each state, and shifts of which all is known. One brings the adapter, which is accepted and spoken for.
    pub fn roll_out(&self, adapter: Uuid) -> Vec<Value> {
        let c = &self.county;
        let shift = |id: Uuid, name: &str, station: Uuid| {
            let body = json!({ "id": id, "name": name, "station": station, "members": [self.member] });
            command("shift.add", body)
        };
        let mut evidence = tested();
        evidence["makers_service"] = paper("2026-11-25");
        let mut all = vec![
            shift(self.shifts[0], "A shift", c.station_2),
            shift(self.shifts[1], "B shift", c.station_2),
            shift(Uuid::now_v7(), "A shift", c.station_1),
            command(
                "piece.serviced",
                json!({ "id": self.adapter, "on": "2026-11-25", "by_whom": "the maker", "evidence": evidence }),
            ),
        ];
        for (n, (id, model)) in self.rollouts.iter().zip([c.models.hose, c.models.hose, adapter]).enumerate() {
            let mut body = self.rollout_body(*id, &format!("New set {n}"));
            body["models"] = json!([model]);
            all.push(command("rollout.start", body));
        }
        for (id, rollout, rig, pieces) in [
            (self.rollout_rigs[0], self.rollouts[0], c.engine_2, vec![]),
            (self.rollout_rigs[1], self.rollouts[0], c.truck_3, vec![]),
            (self.rollout_rigs[2], self.rollouts[0], self.exchanged.0, vec![c.spare_hose]),
            (self.rollout_rigs[3], self.rollouts[2], c.engine_1, vec![self.adapter]),
        ] {
            let body = json!({ "id": id, "rollout": rollout, "rig": rig, "week": "2026-11-23", "pieces": pieces });
            all.push(command("rollout_rig.plan", body));
        }
        for what in ["marked", "stowed"] {
            let body = json!({ "id": self.rollout_rigs[3], "what": what, "words": "left side, second compartment" });
            all.push(command("rollout_rig.confirm", body));
        }
        all
    }

    /// The body of `rollout.start`.
    pub fn rollout_body(&self, id: Uuid, name: &str) -> Value {
        json!({
            "id": id, "name": name, "models": [self.county.models.hose], "replaces": [self.ester],
            "minimums": [{ "shift": "A shift", "members": 1 }], "banned_adapters": [], "most_a_week": 6, "note": "the north first",
        })
    }
}
