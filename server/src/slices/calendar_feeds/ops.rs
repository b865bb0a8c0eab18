use serde::Deserialize;
use utoipa::ToSchema;

use super::{CalendarFeed, CalendarFeedId, CalendarFeedState, CalendarPlace, rows};
use crate::{
    platform::{
        auth::SecretHash,
        door::{Act, Permission, Reach, Write, name},
        error::{self, Fault},
        record::Scope,
    },
    slices::{districts::District, rigs::Rig, shops::Shop, stations::Station},
};

/// The most feeds of an agency whose addresses answer.
const MOST_FEEDS: usize = 200;

/// Adds a calendar feed. The client makes the secret: 32 random bytes, which in the address `/v1/calendars/{secret}/checks.ics` stand as
/// base64url without padding, 43 signs. It sends the SHA-256 of those 43 signs and shows the address to the member; nobody can show it again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddCalendarFeed {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: CalendarFeedId,
    /// What it is called: 1 to 200 characters.
    pub name: String,
    /// Whose checks it shows.
    pub place: CalendarPlace,
    /// The SHA-256 of the secret as it stands in the address, 64 hexadecimal digits in lower case.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub secret_sha256: String,
}

/// Where the place of a calendar is; its field is named where there is none.
fn scope(write: &mut Write<'_>, place: CalendarPlace) -> Result<Scope, Fault> {
    Ok(match place {
        CalendarPlace::District { district } => Scope {
            district: Some(write.named::<District>("place.district", district)?.record.id.0),
            ..Scope::default()
        },
        CalendarPlace::Station { station } => write.named::<Station>("place.station", station)?.scope,
        CalendarPlace::Rig { rig } => write.named::<Rig>("place.rig", rig)?.scope,
        CalendarPlace::Shop { shop } => Scope {
            shop: Some(write.named::<Shop>("place.shop", shop)?.record.id.0),
            ..Scope::default()
        },
    })
}

impl Act for AddCalendarFeed {
    const KIND: &'static str = "calendar_feed.add";
    const SUMMARY: &'static str = "Add a calendar of checks that can be subscribed to";
    const DONE: &'static str = "Calendar added";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        SecretHash::of_body(&self.secret_sha256).map(drop)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<CalendarFeed>(self.id)?;
        let scope = scope(write, self.place)?;
        write.reach(scope)?;
        let active = write.all::<CalendarFeed>()?;
        if active.iter().filter(|stored| stored.record.state == CalendarFeedState::Active).count() >= MOST_FEEDS {
            return Err(Fault::rule(format!("{MOST_FEEDS} calendars are the most; revoke one that nobody reads")));
        }
        let hash = SecretHash::of_body(&self.secret_sha256)?;
        let agency = write.agency;
        if rows::find(write.reading_beside(), &hash)?.is_some() {
            return Err(Fault::new(error::ALREADY_THERE, "A calendar has this secret; make another").at("body.secret_sha256"));
        }
        rows::add(write.beside(), agency, self.id.0, &hash)?;
        let record = CalendarFeed {
            id: self.id,
            name: self.name,
            place: self.place,
            state: CalendarFeedState::Active,
            added_at: write.head.at,
            added_by: write.actor.person(),
            revoked_at: None,
            revoked_by: None,
            rev: 0,
        };
        write.save(record, scope)
    }
}

/// Revokes a calendar feed, for good: from then on its address answers as if it had never been.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RevokeCalendarFeed {
    /// The feed to revoke; one that is not revoked yet.
    pub id: CalendarFeedId,
}

impl Act for RevokeCalendarFeed {
    const KIND: &'static str = "calendar_feed.revoke";
    const SUMMARY: &'static str = "Revoke a calendar of checks: its address answers no more";
    const DONE: &'static str = "Calendar revoked";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<CalendarFeed>(self.id)?;
        write.reach(stored.scope)?;
        if stored.record.state == CalendarFeedState::Revoked {
            return Err(Fault::rule("This calendar has been revoked already"));
        }
        let agency = write.agency;
        rows::forget(write.beside(), agency, self.id.0)?;
        let record = CalendarFeed {
            state: CalendarFeedState::Revoked,
            revoked_at: Some(write.head.at),
            revoked_by: Some(write.actor.person()),
            ..stored.record
        };
        write.save(record, stored.scope)
    }
}
