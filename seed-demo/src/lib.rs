//! The invented demo county, told through the HTTP API as a seeded story.

use chrono::{DateTime, TimeDelta, Utc};

/// Somebody who may sign in.
#[derive(Debug)]
pub struct Person {
    /// The role.
    pub role: &'static str,
    /// The email.
    pub email: &'static str,
    /// The name.
    pub name: &'static str,
}

/// The agency's name.
pub const AGENCY: &str = "Calloway County Fire";
/// Its time zone.
pub const TIME_ZONE: &str = "America/Denver";
/// Everybody's password.
pub const PASSWORD: &str = "county-demo-only";
/// The admin.
pub const ADMIN: &Person = &Person { role: "admin", email: "admin@calloway.example", name: "Ada Admin" };
/// Who may sign in.
pub const SIGN_INS: &[&Person] = &[ADMIN];

/// When the story begins.
pub fn begins(end: DateTime<Utc>) -> DateTime<Utc> {
    end - TimeDelta::days(180)
}

/// Tells the story to a server.
pub async fn tell(base: &str, end: DateTime<Utc>, at: impl Fn(DateTime<Utc>)) -> anyhow::Result<()> {
    let _ = base;
    at(end);
    Ok(())
}
