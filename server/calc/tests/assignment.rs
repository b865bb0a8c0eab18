//! Cheapest pairings against `tests/published/data`.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::cast_possible_truncation, clippy::cast_precision_loss)]

mod published_data;

use fullset_calc::assignment::assignment;
use published_data::{at, data};
use serde_json::Value;

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

#[test]
fn every_published_assignment_is_met() {
    let file = data("assignment_instances");
    let costs = |case: &Value| -> Vec<Vec<Option<f64>>> { list(&case["cost"]).iter().map(|row| list(row).iter().map(Value::as_f64).collect()).collect() };
    let pairs = |rows: &Value, columns: &Value| -> Vec<(usize, usize)> {
        let number = |v: &Value| v.as_u64().unwrap() as usize;
        list(rows).iter().map(number).zip(list(columns).iter().map(number)).collect()
    };
    for case in list(&file["cases"]) {
        let cost = costs(case);
        let found = assignment(&cost).unwrap();
        assert_eq!(found.cost, at(case, "optimum"), "{}", case["id"]);
        assert_eq!(found.pairs.len(), cost.len().min(cost[0].len()));
        if case["unique"] == true {
            assert_eq!(found.pairs, pairs(&case["rows"], &case["cols"]), "{}", case["id"]);
        }
    }
    for case in list(&file["forbidden"]) {
        let cost = costs(case);
        let found = assignment(&cost).unwrap();
        assert_eq!(found.pairs.len() as f64, at(case, "max_cardinality"), "{}", case["id"]);
        assert_eq!(found.cost, at(case, "min_cost_at_max_cardinality"), "{}", case["id"]);
        assert!(found.pairs.iter().all(|(r, c)| cost[*r][*c].is_some()));
    }
    assert_eq!(assignment(&[]).unwrap().pairs.len(), 0);
}
