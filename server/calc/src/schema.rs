//! Schemas of the types that are written as one string.

use crate::plate::MadeOn;
use crate::ratings::{CapacityLetter, CuttingLevels, Term};
use crate::units::Unit;
use std::borrow::Cow;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema, schema::Type};
use utoipa::{PartialSchema, ToSchema};

macro_rules! as_text {
    ($($name:ident, $about:literal, $example:literal;)*) => {$(
        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                ObjectBuilder::new().schema_type(Type::String).description(Some($about)).examples([$example]).into()
            }
        }

        impl ToSchema for $name {
            fn name() -> Cow<'static, str> {
                stringify!($name).into()
            }
        }
    )*};
}

as_text! {
    Unit, "The symbol of a unit, as typed.", "psi";
    CuttingLevels, "NFPA cutting levels, A to E and where rated F.", "A8/B9/C8/D9/E9";
    CapacityLetter, "EN 13204 cutting capacity, A to K: the worst profile.", "H";
}

impl PartialSchema for MadeOn {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some("A day, or as far as the label names it: a month, or a year alone."))
            .pattern(Some(r"^\d{4}(-\d{2}(-\d{2})?)?$"))
            .examples(["2019-05-14", "2019-05", "2019"])
            .into()
    }
}

impl ToSchema for MadeOn {
    fn name() -> Cow<'static, str> {
        "MadeOn".into()
    }
}

impl PartialSchema for Term {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some("A term in which a piece is rated."))
            .enum_values(Some(Term::ALL.iter().copied().map(Term::name)))
            .into()
    }
}

impl ToSchema for Term {
    fn name() -> Cow<'static, str> {
        "Term".into()
    }
}

#[cfg(test)]
mod tests {
    use crate::capability::{Assessment, Complement, Policy};
    use crate::hookup::Hookup;
    use crate::ratings::Ratings;
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

    fn decisions(all: &mut Vec<(String, utoipa::openapi::RefOr<utoipa::openapi::Schema>)>) {
        macro_rules! with {
            ($($answer:ty),* $(,)?) => {$(
                all.push((<$answer>::name().into_owned(), <$answer>::schema()));
                <$answer>::schemas(all);
            )*};
        }
        with!(
            crate::coverage::Coverage,
            crate::coverage::Places,
            crate::coverage::Median,
            crate::swaps::SwapPlan,
            crate::service_plan::ServicePlan,
            crate::bench::Ranked,
            crate::reliability::Rates,
            crate::reliability::Repairs,
            crate::reliability::Trend,
            crate::reliability::PowerLaw,
            crate::reserves::Curve,
            crate::standing::Shares,
            crate::release::Needed,
            crate::release::Missing,
            crate::release::Evidence,
            crate::release::DefectClass,
        );
    }

    #[test]
    fn the_words_of_a_term_are_those_of_the_wire() {
        let schema = serde_json::to_value(crate::ratings::Term::schema()).unwrap();
        let wire = serde_json::to_value(crate::ratings::Term::ALL).unwrap();
        assert_eq!(schema["enum"], wire);
    }

    #[test]
    fn every_schema_that_is_referred_to_comes_along() {
        let mut all = Vec::new();
        Assessment::schemas(&mut all);
        Complement::schemas(&mut all);
        Policy::schemas(&mut all);
        Hookup::schemas(&mut all);
        Ratings::schemas(&mut all);
        decisions(&mut all);
        let mut wanted = Vec::new();
        for schema in [
            Assessment::schema(),
            Complement::schema(),
            Policy::schema(),
            Hookup::schema(),
            Ratings::schema(),
        ] {
            refs(&serde_json::to_value(schema).unwrap(), &mut wanted);
        }
        for (_, schema) in &all {
            refs(&serde_json::to_value(schema).unwrap(), &mut wanted);
        }
        assert!(wanted.len() > 20);
        for name in wanted {
            assert!(all.iter().any(|(known, _)| *known == name), "{name} is missing");
        }
        let rating = serde_json::to_value(Ratings::schema()).unwrap();
        assert_eq!(rating["additionalProperties"]["$ref"], "#/components/schemas/Rating");
    }
}
