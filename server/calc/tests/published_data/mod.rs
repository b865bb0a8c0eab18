//! The files of `tests/published/data`, and dice that fall the same way in every run.
#![allow(dead_code, clippy::unwrap_used, clippy::cast_precision_loss)]

use serde_json::Value;

pub fn text(name: &str) -> String {
    let path = format!("{}/../../tests/published/data/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

pub fn data(name: &str) -> Value {
    serde_json::from_str(&text(&format!("{name}.json"))).unwrap()
}

pub fn at(value: &Value, name: &str) -> f64 {
    value[name].as_f64().unwrap_or_else(|| panic!("no number {name}"))
}

pub fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

#[track_caller]
pub fn close(a: f64, b: f64, relative: f64) {
    assert!((a - b).abs() <= relative * a.abs().max(b.abs()), "{a} is not {b}");
}

pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % u64::try_from(n).unwrap()).unwrap()
    }

    pub fn real(&mut self) -> f64 {
        self.next() as f64 / (1_u64 << 31) as f64
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }
}
