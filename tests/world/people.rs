//! Who acts in the tests.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use uuid::Uuid;

/// Everybody's password; it opens nothing outside a test's own database.
pub const PASSWORD: &str = "three-unrelated-words";

/// A member who may sign in.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Person {
    pub id: Uuid,
    pub name: String,
    pub email: String,
    pub role: String,
    pub password: String,
    pub district: Option<Uuid>,
    pub station: Option<Uuid>,
    /// The access token of the sign-in on the ground.
    pub access: String,
    /// When that was.
    pub issued: DateTime<Utc>,
}

impl Person {
    pub fn new(agency: &str, name: &str, role: &str) -> Self {
        let email = format!("{}@{agency}.example", name.to_lowercase().replace(' ', "."));
        Self {
            id: Uuid::now_v7(),
            name: name.to_owned(),
            email,
            role: role.to_owned(),
            password: PASSWORD.to_owned(),
            district: None,
            station: None,
            access: String::new(),
            issued: DateTime::UNIX_EPOCH,
        }
    }

    pub fn at(self, station: Uuid) -> Self {
        Self {
            station: Some(station),
            ..self
        }
    }

    pub fn over(self, district: Uuid) -> Self {
        Self {
            district: Some(district),
            ..self
        }
    }

    /// Who did something, as records say it.
    pub fn told(&self) -> Value {
        json!({ "id": self.id, "name": self.name })
    }

    /// The body of `member.add`.
    pub fn body(&self) -> Value {
        json!({
            "id": self.id, "name": self.name, "email": self.email, "role": self.role, "password": self.password,
            "district": self.district, "station": self.station,
        })
    }
}
