//! Schemas of the types that go over the wire.

use crate::{check, due, notice, plan};
use utoipa::{PartialSchema, ToSchema};

fn refs(value: &serde_json::Value, found: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(map) => map.iter().for_each(|(key, value)| match value.as_str() {
            Some(target) if key == "$ref" => found.push(target.rsplit('/').next().unwrap_or_default().to_owned()),
            _ => refs(value, found),
        }),
        serde_json::Value::Array(list) => list.iter().for_each(|value| refs(value, found)),
        _ => {}
    }
}

#[test]
fn every_schema_that_is_referred_to_comes_along() {
    let mut all = Vec::new();
    macro_rules! with {
        ($($shape:ty),* $(,)?) => {$(
            all.push((<$shape>::name().into_owned(), <$shape>::schema()));
            <$shape>::schemas(&mut all);
        )*};
    }
    with!(
        crate::Fault,
        plan::CheckPlan,
        plan::PlanSnapshot,
        plan::Loosened,
        notice::Affected,
        notice::Hit,
        check::Answer,
        check::Verdict,
        check::KnownReading,
        check::MakersBound,
        check::Earlier,
        due::Due,
        due::DueState,
        due::Happened,
        due::OccasionState,
    );
    let mut wanted = Vec::new();
    for (_, schema) in &all {
        refs(&serde_json::to_value(schema).unwrap(), &mut wanted);
    }
    assert!(wanted.len() > 20, "{}", wanted.len());
    for name in wanted {
        assert!(all.iter().any(|(known, _)| *known == name), "{name} is missing");
    }
}
