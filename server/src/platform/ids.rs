//! An id type for each noun, so that a piece's id can never be handed over as a rig's.
//!
//! Ids are UUIDv7, made by the client. On PostgreSQL they are `uuid`, on SQLite 16 bytes.

/// Makes an id newtype over [`uuid::Uuid`] that both databases, serde and OpenAPI understand.
#[macro_export]
macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
            serde::Serialize, serde::Deserialize, utoipa::ToSchema,
        )]
        #[serde(transparent)]
        #[schema(value_type = uuid::Uuid)]
        pub struct $name(pub uuid::Uuid);

        impl From<uuid::Uuid> for $name {
            fn from(id: uuid::Uuid) -> Self {
                Self(id)
            }
        }

        impl From<$name> for uuid::Uuid {
            fn from(id: $name) -> Self {
                id.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
    };
}

id!(
    /// An agency: the tenant.
    AgencyId
);
id!(
    /// A member of an agency.
    MemberId
);
