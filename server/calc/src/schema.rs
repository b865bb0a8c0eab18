//! Schemas of the types that are written as one string.

use crate::ratings::{CapacityLetter, CuttingLevels};
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
