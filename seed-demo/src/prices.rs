//! What some models cost: invented, as all else here. A few have no price, as in every register.

use crate::{
    county::County,
    deeds::Wire,
    people::COORDINATOR,
    tell::{Teller, wire},
};
use anyhow::Result;
use chrono::Days;
use serde_json::json;

/// A model, what one costs, how many days before the county's today that was said, and by whom.
const PRICES: [(&str, f64, u64, &str); 6] = [
    ("Ferrowick Coax 30", 585.0, 61, "frame contract, year 2"),
    ("Ferrowick Coax 50", 742.5, 61, "frame contract, year 2"),
    ("Korvath Line 10 m", 496.0, 118, "offer for three"),
    ("Ferrowick C-62", 9_480.0, 340, "invoice of the last one bought"),
    ("Ferrowick Duet", 8_150.0, 340, "invoice of the last one bought"),
    ("Sparrowhale Pack 54", 1_129.9, 27, "offer for ten"),
];

impl Teller {
    /// Enters the prices.
    pub async fn enter_prices(&mut self, county: &County) -> Result<()> {
        let mut wires = Vec::new();
        for (name, amount, days, source) in PRICES {
            let Some((id, _)) = county.models.iter().find(|(_, model)| model.name == name) else {
                anyhow::bail!("there is no model {name}");
            };
            let price = json!({ "amount": amount, "priced_on": county.today - Days::new(days), "source": source });
            wires.push(Wire {
                expects: Some(*id),
                ..wire("model.price", json!({ "id": id, "price": price }))
            });
        }
        self.send(&COORDINATOR, wires).await
    }
}
