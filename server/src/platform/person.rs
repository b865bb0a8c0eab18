//! Who did something, as records and answers say it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::ids::MemberId;

/// Who did something: the member by id, with the name beside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Person {
    /// The member; null where it was the service itself: its clock or its command line.
    #[serde(default)]
    #[schema(required)]
    pub id: Option<MemberId>,
    /// The name that the member had then, or what it was of the service. The member's own record has the name of now.
    pub name: String,
}
