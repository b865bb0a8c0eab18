use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        auth::{self, AccessEventKind, AccessLink, AskedFrom, Email, INVITE_DAYS, NewEvent, Permission, Role, SecretHash},
        door::{Act, Reach, Write},
        error::Fault,
        ids::MemberId,
        record::Scope,
    },
    slices::members::{AddMember, Member, note},
};

/// Invites somebody: adds a member without a password, and the link by which it sets one. The client makes the secret, as for `member.link`.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InviteMember {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: MemberId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// The email that it will sign in with; no other member has it.
    #[schema(value_type = String, max_length = 254)]
    pub email: Email,
    /// What it may do.
    pub role: Role,
    /// When set, only in this district.
    pub district: Option<Uuid>,
    /// When set, only at this station.
    pub station: Option<Uuid>,
    /// For how many days the link serves: 1 to 7, else 7.
    #[schema(minimum = 1, maximum = 7)]
    pub days: Option<u32>,
    /// The SHA-256 of the secret as it stands in the address, 64 hexadecimal digits in lower case.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub secret_sha256: String,
}

impl InviteMember {
    fn member(&self) -> AddMember {
        let reach = (self.district, self.station);
        AddMember::without_password(self.id, self.name.clone(), self.email.clone(), self.role, reach)
    }
}

impl Act for InviteMember {
    const KIND: &'static str = "member.invite";
    const SUMMARY: &'static str = "Invite a member, who sets the own password by a link";
    const DONE: &'static str = "Member invited";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.days.is_some_and(|days| !(1..=INVITE_DAYS).contains(&i64::from(days))) {
            return Err(Fault::field("body.days", format!("An invitation serves 1 to {INVITE_DAYS} days")));
        }
        self.name = crate::platform::door::name("body.name", &self.name)?;
        SecretHash::of_body(&self.secret_sha256).map(drop)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        self.member().apply(write)?;
        put(write, (self.id, self.days, true), &self.secret_sha256)
    }
}

/// Keeps a link that the actor makes.
fn put(write: &mut Write<'_>, (member, days, invites): (MemberId, Option<u32>, bool), digits: &str) -> Result<(), Fault> {
    let maker = write.actor.member.ok_or_else(|| Fault::rule("A link is made by a member"))?;
    let link = AccessLink {
        agency: write.agency,
        member,
        maker,
        invites,
        expires_at: auth::link_ends(invites, days, write.now()),
    };
    auth::put_link(write.beside(), &link, &SecretHash::of_body(digits)?)?;
    note(write, member, AccessEventKind::LinkMade)
}

/// Makes a link by which a member sets a new password, for a day; where the member was invited and has not come yet, for seven. A link from
/// before is void. The client makes the secret: 32 random bytes, which in the address `/link#{secret}` stand as base64url without padding, 43
/// signs. It sends the SHA-256 of those 43 signs and shows the address to the admin; nobody can show it again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LinkMember {
    /// The member who is to set a new password: not let go, and never the sender.
    pub id: MemberId,
    /// The SHA-256 of the secret as it stands in the address, 64 hexadecimal digits in lower case.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub secret_sha256: String,
}

impl Act for LinkMember {
    const KIND: &'static str = "member.link";
    const SUMMARY: &'static str = "Make a link by which a member sets a new password";
    const DONE: &'static str = "Link made that sets a new password";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;

    fn prepare(&mut self) -> Result<(), Fault> {
        SecretHash::of_body(&self.secret_sha256).map(drop)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.decide_for(stored.scope)?;
        if write.actor.member == Some(self.id) {
            return Err(Fault::rule("Change your own password under your account, with the present one"));
        }
        if !stored.record.active {
            return Err(Fault::rule("This member was let go; take it back first"));
        }
        let agency = write.agency;
        let invites = auth::credential_for(write.reading_beside(), agency, self.id)?.is_none();
        put(write, (self.id, None, invites), &self.secret_sha256)?;
        write.save(stored.record, stored.scope)
    }
}

/// Sets the password of the member whose link it is. The service sends it for whoever has the link.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UseLink {
    /// The member whom the link was made for.
    pub id: MemberId,
    /// The SHA-256 of the link's secret.
    pub secret_sha256: String,
    /// Hash of the new password.
    pub made: String,
    /// The network that it was used from.
    pub from: Option<String>,
}

/// Whether whoever made a link might make it now.
pub fn may_make(maker: &Member, link: &AccessLink, of: Scope) -> bool {
    let actor = maker.actor(link.agency);
    maker.active && actor.role.grants(Permission::Administer) && actor.holds(of)
}

impl Act for UseLink {
    const KIND: &'static str = "member.use_link";
    const SUMMARY: &'static str = "Set the own password by a link";
    const DONE: &'static str = "Own password set by a link";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;
    const SECRET: &'static [&'static str] = &["secret_sha256", "made", "from"];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let (hash, now) = (SecretHash::of_body(&self.secret_sha256)?, write.now());
        let link = auth::find_link(write.reading_beside(), &hash, now)?;
        let link = link
            .filter(|link| link.agency == write.agency && link.member == self.id)
            .ok_or_else(auth::link_spent)?;
        let stored = write.find::<Member>(self.id)?;
        let maker = write.find::<Member>(link.maker)?.record;
        if !stored.record.active || !may_make(&maker, &link, stored.scope) {
            return Err(auth::link_spent());
        }
        let agency = write.agency;
        auth::put_credential(write.beside(), agency, self.id, &stored.record.email, Some(&self.made))?;
        auth::void_link(write.beside(), agency, self.id)?;
        auth::end_all(write.ending(), agency, self.id, now)?;
        let event = NewEvent::own(agency, self.id, AccessEventKind::LinkUsed, AskedFrom::new(self.from, None));
        auth::note(write.beside(), event, now)?;
        write.save(stored.record, stored.scope)
    }
}
