//! How members sign in, as the member and the admins see it.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        auth::{self, AccessEvent, AccessEventKind, Actor, OpenSignIn, credential_for, factor_of, link_of, open_sign_ins, passkeys_of, recovery_codes_of},
        db::Db,
        error::{self, Fault},
        ids::{AgencyId, MemberId},
        person::Person,
        record::{self, Record as _},
    },
    slices::{devices::Device, members::Member, sessions::is_asked},
};

/// A sign-in that has not ended.
#[derive(Debug, Serialize, ToSchema)]
pub struct SignInShown {
    /// What the sign-in is ended by: `sign_in` of `POST /v1/session/end` and of `member.sign_out`.
    id: Uuid,
    /// The name of the enrolled device; null: a browser or a program, with a password.
    device: Option<String>,
    /// What the browser or the program says of itself; up to 200 characters.
    program: Option<String>,
    /// The address that it was last seen from; of version 6 the network.
    network: Option<String>,
    /// When the sign-in began (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    since: DateTime<Utc>,
    /// When it was last refreshed.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    last_seen_at: DateTime<Utc>,
    /// When it ends at the latest; null for an enrolled device.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    ends_at: Option<DateTime<Utc>>,
    /// Whether it is the one that asks.
    this: bool,
}

/// The own sign-ins.
#[derive(Debug, Serialize, ToSchema)]
pub struct OwnSignIns {
    /// The one that was seen last first.
    #[schema(max_items = 100)]
    items: Vec<SignInShown>,
}

/// A second factor.
#[derive(Debug, Serialize, ToSchema)]
pub struct FactorShown {
    /// Since when an authenticator is; null: there is none.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    on_at: Option<DateTime<Utc>>,
    /// How many recovery codes are left.
    #[schema(maximum = 10)]
    recovery_codes: usize,
    /// How many passkeys the member has, each of which is a second factor as well.
    #[schema(maximum = 10)]
    passkeys: usize,
    /// Whether the agency asks for one in the member's role.
    required: bool,
}

/// A link that waits to be used.
#[derive(Debug, Serialize, ToSchema)]
pub struct LinkShown {
    /// Whether it invites somebody who has no password yet.
    invites: bool,
    /// When it runs out.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    expires_at: DateTime<Utc>,
}

/// How a member signs in.
#[derive(Debug, Serialize, ToSchema)]
pub struct MemberAccess {
    /// The member whose ways of signing in these are.
    id: MemberId,
    /// Whether it has a password: who was invited and has not come yet has none.
    has_password: bool,
    /// The member's authenticator, recovery codes and passkeys.
    second_factor: FactorShown,
    /// The link that waits to be used.
    link: Option<LinkShown>,
    /// Its sign-ins, the one that was seen last first.
    #[schema(max_items = 100)]
    sign_ins: Vec<SignInShown>,
}

/// Something that happened to a way of signing in.
#[derive(Debug, Serialize, ToSchema)]
pub struct EventShown {
    /// The event's id; `before` takes it to go on after it.
    id: Uuid,
    /// When it happened (UTC), by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// What kind of event it was.
    what: AccessEventKind,
    /// To whom, by the name of now; null: to a key.
    member: Option<Person>,
    /// Who did it, by the name of then; null: the member itself, or somebody who tried to be it.
    by: Option<Person>,
    /// The address; of version 6 the network.
    network: Option<String>,
    /// What the browser or the program says of itself; up to 200 characters.
    program: Option<String>,
}

/// A page of events.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccessEvents {
    /// The events, the newest first; 200 at most.
    #[schema(max_items = 200)]
    items: Vec<EventShown>,
    /// What to go on after; absent on the last page.
    #[serde(skip_serializing_if = "Option::is_none")]
    next: Option<Uuid>,
}

fn shown(db: &mut Db, agency: AgencyId, sign_in: OpenSignIn, this: Option<Uuid>) -> Result<SignInShown, Fault> {
    let device = match sign_in.device {
        Some(device) => record::find(db, agency, Device::KIND, device)?.map(|row| row.label),
        None => None,
    };
    Ok(SignInShown {
        this: this == Some(sign_in.id),
        id: sign_in.id,
        device,
        program: sign_in.from.program,
        network: sign_in.from.network,
        since: sign_in.began_at,
        last_seen_at: sign_in.seen_at,
        ends_at: sign_in.ends_at,
    })
}

fn sign_ins(db: &mut Db, agency: AgencyId, member: MemberId, this: Option<Uuid>, now: DateTime<Utc>) -> Result<Vec<SignInShown>, Fault> {
    let open = open_sign_ins(db, agency, member, now)?;
    open.into_iter().map(|one| shown(db, agency, one, this)).collect()
}

/// The own sign-ins; none of a shared tablet or a program.
pub fn own_sign_ins(db: &mut Db, actor: &Actor, now: DateTime<Utc>) -> Result<OwnSignIns, Fault> {
    let items = match actor.member {
        Some(member) => sign_ins(db, actor.agency, member, actor.sign_in, now)?,
        None => Vec::new(),
    };
    Ok(OwnSignIns { items })
}

/// A member's second factor; none of a shared tablet or a program.
pub fn factor(db: &mut Db, agency: AgencyId, member: Option<&Member>) -> Result<FactorShown, Fault> {
    let ((on_at, recovery_codes), passkeys, required) = match member {
        Some(member) => (
            (factor_of(db, agency, member.id)?, recovery_codes_of(db, agency, member.id)?),
            passkeys_of(db, agency, member.id)?.len(),
            is_asked(db, agency, member)?,
        ),
        None => ((None, 0), 0, false),
    };
    Ok(FactorShown {
        on_at,
        recovery_codes,
        passkeys,
        required,
    })
}

/// How a member within reach signs in.
pub fn access(db: &mut Db, actor: &Actor, id: Uuid, now: DateTime<Utc>) -> Result<MemberAccess, Fault> {
    let agency = actor.agency;
    let row = record::find(db, agency, Member::KIND, id)?.filter(|row| !row.gone);
    let row = row.ok_or_else(|| Fault::new(error::NOT_FOUND, "There is no such member in this agency"))?;
    if !actor.holds(row.scope()) {
        return Err(Fault::new(
            error::OUT_OF_REACH,
            "This member is outside your station or district; ask an admin there",
        ));
    }
    let member: Member = row.read()?;
    Ok(MemberAccess {
        id: member.id,
        has_password: credential_for(db, agency, member.id)?.is_some(),
        second_factor: factor(db, agency, Some(&member))?,
        link: link_of(db, agency, member.id, now)?.map(|link| LinkShown {
            invites: link.invites,
            expires_at: link.expires_at,
        }),
        sign_ins: sign_ins(db, agency, member.id, actor.sign_in, now)?,
    })
}

/// Events of the members within reach; who is bounded sees none of keys.
pub fn events(db: &mut Db, actor: &Actor, member: Option<MemberId>, after: Option<Uuid>, limit: i64) -> Result<AccessEvents, Fault> {
    let agency = actor.agency;
    let mut names: HashMap<MemberId, String> = HashMap::new();
    for row in record::all(db, agency, Member::KIND)? {
        if actor.holds(row.scope()) {
            names.insert(MemberId(row.id.0), row.label);
        }
    }
    let of: Option<Vec<MemberId>> = match member {
        Some(member) => Some(names.contains_key(&member).then_some(member).into_iter().collect()),
        None => actor.is_bounded().then(|| names.keys().copied().collect()),
    };
    let found = auth::events(db, agency, of.as_deref(), after, limit + 1)?;
    let most = usize::try_from(limit).unwrap_or_default();
    let more = found.len() > most;
    let items: Vec<EventShown> = found.into_iter().take(most).map(|event| told(event, &names)).collect();
    Ok(AccessEvents {
        next: items.last().filter(|_| more).map(|last| last.id),
        items,
    })
}

fn told(event: AccessEvent, names: &HashMap<MemberId, String>) -> EventShown {
    EventShown {
        id: event.id,
        at: event.at,
        what: event.what,
        member: event.member.map(|id| Person {
            id: Some(id),
            name: names.get(&id).cloned().unwrap_or_default(),
        }),
        by: event.actor.map(|(id, name)| Person { id, name }),
        network: event.from.network,
        program: event.from.program,
    }
}
