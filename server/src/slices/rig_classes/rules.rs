//! What a class asks of its rigs, and whether another asks for less. On plain values.

use fullset_calc::capability::{Level, Slot};

use super::feed::RigClass;

/// What `after` asks less than `before`, as words that go on after "This ...". Slots are compared by their ids.
pub fn eased(before: &RigClass, after: &RigClass) -> Vec<String> {
    let mut all = Vec::new();
    if after.expects < before.expects {
        let word = |level: Option<Level>| level.map_or("nothing", Level::word);
        all.push(format!(
            "expects less of {}: {} instead of {}",
            after.name,
            word(after.expects),
            word(before.expects)
        ));
    }
    for slot in before.complement.slots.iter().filter(|slot| slot.required) {
        let same = after.complement.slots.iter().find(|other| other.id == slot.id && other.required);
        match same {
            None => all.push(format!("no longer asks {} for {}", after.name, slot.name)),
            Some(other) if asks_less(slot, other) => all.push(format!("asks {} for less as {}", after.name, slot.name)),
            Some(_) => {}
        }
    }
    all
}

/// Whether something could fill the new slot that could not fill the old one.
fn asks_less(before: &Slot, after: &Slot) -> bool {
    let wider = after.kinds.iter().any(|kind| !before.kinds.contains(kind));
    // What just meets the new minimums must meet the old ones.
    wider || before.gear != after.gear || !after.minimums.meet_all(&before.minimums)
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    fn class(expects: &Value, slots: &Value) -> RigClass {
        let body = json!({ "id": uuid::Uuid::from_u128(1), "name": "Engine", "complement": { "slots": slots }, "expects": expects, "rev": 1 });
        serde_json::from_value(body).unwrap()
    }

    fn slot(id: &str, required: bool, kinds: &[&str], inches: f64) -> Value {
        let by = json!({ "value": inches, "unit": "in", "standard": "NFPA 1936", "edition": "2015" });
        let minimums = if inches > 0.0 { json!({ "cutter_opening": by }) } else { json!({}) };
        json!({ "id": id, "name": id, "kinds": kinds, "required": required, "minimums": minimums })
    }

    #[test]
    fn less_is_asked_when_more_could_fill_the_list_or_less_is_expected() {
        let whole = class(
            &json!("full"),
            &json!([slot("cut", true, &["cutter"], 7.0), slot("spare", false, &["cutter"], 0.0)]),
        );
        for (expects, slots, told) in [
            (json!("full"), json!([slot("cut", true, &["cutter"], 7.0)]), 0),
            (
                json!("heavy"),
                json!([slot("cut", true, &["cutter"], 8.0), slot("spare", true, &["cutter"], 0.0)]),
                0,
            ),
            (json!("limited"), json!([slot("cut", true, &["cutter"], 7.0)]), 1),
            (json!(null), json!([slot("cut", true, &["cutter"], 7.0)]), 1),
            (json!("full"), json!([slot("cut", false, &["cutter"], 7.0)]), 1),
            (json!("full"), json!([slot("spare", true, &["cutter"], 7.0)]), 1),
            (json!("full"), json!([slot("cut", true, &["cutter"], 6.0)]), 1),
            (json!("full"), json!([slot("cut", true, &["cutter"], 0.0)]), 1),
            (json!("full"), json!([slot("cut", true, &["cutter", "combination_tool"], 7.0)]), 1),
            (json!(null), json!([slot("spare", true, &["cutter"], 0.0)]), 2),
        ] {
            let words = eased(&whole, &class(&expects, &slots));
            assert_eq!(words.len(), told, "{words:?}");
        }
        let words = eased(&whole, &class(&json!("limited"), &json!([])));
        assert_eq!(words, ["expects less of Engine: limited instead of full", "no longer asks Engine for cut"]);
    }
}
