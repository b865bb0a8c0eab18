//! The test records: made before the cases that write, and cleared away as far as the protocol lets.

use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    must,
    probe::{Probe, answers, command, expecting, text},
};

/// What the cases write on.
pub struct Ground {
    /// Stands in every name, so that a second run finds nothing of the first.
    pub label: String,
    pub district: Value,
    pub station: Value,
    /// Another station of the district.
    pub elsewhere: Value,
    pub piece: Value,
}

/// What the return of a piece rests on that nobody has found anything wrong with.
pub fn looked_over() -> Value {
    json!({ "readings": [{ "measure": "sound_to_look", "yes": true }] })
}

const NEEDED: [&str; 10] = [
    "district.add",
    "district.edit",
    "station.add",
    "model.add",
    "piece.add",
    "piece.take_out",
    "piece.return",
    "piece.move",
    "piece.retire",
    "defect.report",
];

impl Probe {
    pub async fn lay_ground(&self) -> Result<(), String> {
        let may = self.session["may"].as_array().map_or(&[][..], Vec::as_slice);
        let lacking: Vec<&str> = NEEDED.into_iter().filter(|kind| !may.contains(&json!(kind))).collect();
        must!(
            lacking.is_empty(),
            "{} may not send {}: take a coordinator or an admin",
            self.email,
            lacking.join(", ")
        );
        let [district, station, elsewhere, model, piece, run] = std::array::from_fn(|_| json!(Uuid::now_v7()));
        let label = format!("sync-check {}", text(&run).get(24..).unwrap_or_default());
        let made = [
            ("district.add", json!({ "id": district, "name": format!("{label} district"), "min_full": 0 })),
            (
                "station.add",
                json!({ "id": station, "name": format!("{label} station"), "district": district }),
            ),
            (
                "station.add",
                json!({ "id": elsewhere, "name": format!("{label} elsewhere"), "district": district }),
            ),
            ("model.add", json!({ "id": model, "name": format!("{label} model"), "kind": "ram" })),
            (
                "piece.add",
                json!({ "id": piece, "tag": label, "model": model, "place": { "at": "shelf", "station": station } }),
            ),
        ];
        for (kind, body) in made {
            self.apply(command(kind, body)).await?;
        }
        let ground = Ground {
            label,
            district,
            station,
            elsewhere,
            piece,
        };
        self.ground.set(ground).map_err(|_| "the test records were there already".to_owned())
    }

    pub fn ground(&self) -> Result<&Ground, String> {
        self.ground.get().ok_or_else(|| "there are no test records".to_owned())
    }

    /// A report on the test piece.
    pub fn report(&self, what: &str) -> Result<Value, String> {
        let body = json!({ "id": Uuid::now_v7(), "piece": self.ground()?.piece, "what": what, "class": "other", "severity": "usable" });
        Ok(command("defect.report", body))
    }

    /// Closes the defects and retires the piece; answers what is left, in words.
    pub async fn clear_ground(&self) -> String {
        match self.try_to_clear().await {
            Ok(words) | Err(words) => words,
        }
    }

    async fn try_to_clear(&self) -> Result<String, String> {
        let Ground { label, piece, .. } = self.ground()?;
        let kept = format!("the records named '{label} ...' are still there");
        let listed = |reply: super::probe::Reply| reply.good().map(|page| page["items"].as_array().cloned().unwrap_or_default());
        for _ in 0..20 {
            let path = format!("/v1/defects?parent={}&state=open&limit=500", text(piece));
            let open = listed(self.get(&path).await?).map_err(|words| format!("{kept}: {words}"))?;
            if open.is_empty() {
                break;
            }
            let close = |defect: &Value| {
                expecting(
                    command("defect.close", json!({ "id": defect["id"], "resolution": "a test", "evidence": looked_over() })),
                    &defect["rev"],
                )
            };
            self.send(&open.iter().map(close).collect::<Vec<_>>()).await?;
        }
        let now = self.record("pieces", piece).await?;
        let retire = expecting(
            command("piece.retire", json!({ "id": piece, "reason": "a test", "disposal": "it never was" })),
            &now["rev"],
        );
        let batch = self.send(&[retire]).await?;
        let retired = answers(&batch).iter().all(|answer| answer["outcome"] == "applied");
        must!(retired, "{kept}: the piece could not be retired: {batch}");
        Ok(format!(
            "left behind, for nothing is ever deleted here: a district, two stations, a model and a retired piece, all named '{label} ...'"
        ))
    }
}
