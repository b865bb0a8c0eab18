//! What a sign-in is answered with: the whole of it, or that a second half is missing.

use std::sync::Arc;

use actix_web::{Either, HttpRequest, cookie::Cookie};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::view::missing;
use crate::{
    platform::{
        auth::{
            ACCESS_SECONDS, Actor, AskedFrom, Credential, Email, HALF_SECONDS, NewSignIn, PasswordStamp, Role, SecondHalf, SessionTokens, passkeys_of, refusal,
        },
        db::Db,
        door::{CommandKind, SendsEmail},
        error::{self, Fault},
        http::{Accepted, Json, Shared, asked_from, refresh_token, session_cookies},
        ids::{AgencyId, MemberId},
        record::{self, Record},
    },
    slices::{
        agencies::Agency,
        devices::{Device, DeviceState},
        members::Member,
    },
};

/// A sign-in, or the first half of one.
pub type Entry = Either<Json<Session>, Accepted<Half>>;

/// The first half of a sign-in: the password was right.
#[derive(Debug, Serialize, ToSchema)]
pub struct Half {
    /// What is missing: a code, a passkey, or a second factor that is to be set up.
    missing: SecondHalf,
    /// Whether one of the member's passkeys does as well.
    passkey: bool,
    /// Stands for the first half when the second is sent.
    ticket: String,
    /// Seconds for which it does.
    expires_in: i64,
}

/// How a sign-in was asked for.
#[derive(Debug, Clone)]
pub struct SignInRequest {
    /// The network and the program of whoever asks.
    pub from: AskedFrom,
    /// By a browser: its tokens go into cookies.
    browser: bool,
    /// The refresh token that the browser came with.
    before: Option<String>,
}

impl SignInRequest {
    /// By a request; one of a browser is from the service's own pages by now.
    pub fn of(request: &HttpRequest, shared: &Shared, browser: bool) -> Self {
        Self {
            from: asked_from(request, shared),
            browser,
            before: refresh_token(request, shared).filter(|_| browser),
        }
    }
}

/// Signs in whoever has shown to know the password, or says which half is missing.
pub async fn enter(shared: Arc<Shared>, known: Credential, asked: SignInRequest) -> Result<Entry, Fault> {
    let (agency, member) = (known.agency, known.member);
    let lacks = shared.read(move |db| Ok((missing(db, agency, member)?, !passkeys_of(db, agency, member)?.is_empty())));
    if let (Some(missing), passkey) = lacks.await? {
        let half = Half {
            missing,
            passkey,
            ticket: shared.keys.sign_half(&known, missing)?,
            expires_in: HALF_SECONDS,
        };
        return Accepted::of(&half).map(Either::Right);
    }
    told(begin(shared, (agency, member, Some(known.stamp())), asked).await?).map(Either::Left)
}

/// Signs a member in, by the password that was right or by a passkey: the answer, and where it is a browser's its cookies.
pub async fn begin(
    shared: Arc<Shared>,
    (agency, member, password): (AgencyId, MemberId, Option<PasswordStamp>),
    asked: SignInRequest,
) -> Result<(Session, Vec<Cookie<'static>>), Fault> {
    // Whoever was let go gets no further, and leaves no event of a sign-in.
    shared.read(move |db| load(db, agency, Some(member), None).map(drop)).await?;
    let browser = asked.browser;
    let tokens = shared
        .slow(move |shared| {
            shared.sessions.begin(NewSignIn {
                agency,
                member: Some(member),
                device: None,
                password: password.as_ref(),
                from: &asked.from,
                before: asked.before.as_deref(),
            })
        })
        .await?;
    signed_in(shared, tokens, browser).await
}

/// The answer with its cookies.
pub fn told((session, cookies): (Session, Vec<Cookie<'static>>)) -> Result<Json<Session>, Fault> {
    Ok(Json::of(&session)?.with_cookies(cookies))
}

/// A sign-in.
#[derive(Debug, Serialize, ToSchema)]
pub struct Session {
    /// Bearer token for the API; not for browsers.
    #[serde(skip_serializing_if = "Option::is_none")]
    access_token: Option<String>,
    /// Spend it once for the next pair; not for browsers.
    #[serde(skip_serializing_if = "Option::is_none")]
    refresh_token: Option<String>,
    /// Seconds that the access token serves.
    expires_in: i64,
    #[serde(flatten)]
    who: WhoAmI,
}

/// Who is signed in.
#[derive(Debug, Serialize, ToSchema)]
pub struct WhoAmI {
    /// The member; null for a shared tablet and for a program.
    member: Option<Member>,
    /// The device, where one was enrolled.
    device: Option<Device>,
    /// The agency that whoever is signed in acts in.
    agency: Agency,
    /// The command kinds that the member may send: by the role, without what decides for the whole agency where the member acts in
    /// a part of it. For a shared tablet: what every member may send on it when signed; what else a
    /// signer's own role opens is taken as well.
    #[schema(value_type = Vec<CommandKind>)]
    may: Vec<&'static str>,
    /// Whether this service sends e-mail to receivers: only then can one be added that is told by e-mail.
    sends_email: bool,
}

pub fn ended() -> Fault {
    Fault::new(error::SESSION_ENDED, "This member does not sign in here any more; ask an admin")
}

pub fn find<R: Record>(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<R, Fault> {
    let row = record::find(db, agency, R::KIND, id)?.filter(|row| !row.gone);
    row.ok_or_else(ended)?.read()
}

/// Who a sign-in stands for, as records.
pub fn load(db: &mut Db, agency: AgencyId, member: Option<MemberId>, device: Option<Uuid>) -> Result<(Option<Member>, Option<Device>, Agency), Fault> {
    let member: Option<Member> = member.map(|member| find(db, agency, member.0)).transpose()?;
    if member.as_ref().is_some_and(|member| !member.active) {
        return Err(ended());
    }
    let device: Option<Device> = device.map(|device| find(db, agency, device)).transpose()?;
    if device.as_ref().is_some_and(|device| device.state == DeviceState::Revoked) {
        return Err(refusal(true));
    }
    Ok((member, device, find(db, agency, agency.0)?))
}

impl WhoAmI {
    /// Of records, and where a program asks of its key's actor.
    pub fn new(shared: &Shared, program: Option<&Actor>, (member, device, agency): (Option<Member>, Option<Device>, Agency)) -> Self {
        let registry = shared.door.registry();
        let may = match program.and_then(|actor| Some((actor, actor.key.as_ref()?))) {
            Some((actor, key)) => {
                let open = registry.open_to_programs(actor.role, actor.is_bounded());
                open.into_iter().filter(|kind| key.allows(kind)).collect()
            }
            None => {
                let role = member.as_ref().map_or(Role::Crew, |member| member.role);
                let bounded = member.as_ref().is_some_and(|member| member.actor(agency.id).is_bounded());
                registry.open_to(role, bounded)
            }
        };
        let sends_email = registry.knows::<SendsEmail>().is_some_and(|sends| sends.0);
        Self {
            may,
            sends_email,
            member,
            device,
            agency,
        }
    }
}

/// What a sign-in is answered with: a browser's tokens are in its cookies alone.
pub async fn signed_in(shared: Arc<Shared>, tokens: SessionTokens, browser: bool) -> Result<(Session, Vec<Cookie<'static>>), Fault> {
    let (agency, member, device) = (tokens.agency, tokens.member, tokens.device);
    let found = shared.read(move |db| load(db, agency, member, device)).await?;
    let actor = match (&found.0, &found.1) {
        (Some(member), _) => Actor {
            device,
            ..member.actor(agency)
        },
        (None, Some(tablet)) => tablet.actor(agency),
        (None, None) => return Err(anyhow::anyhow!("a sign-in of nobody").into()),
    };
    let access = shared.keys.sign(&actor, tokens.family)?;
    let mut session = Session {
        access_token: None,
        refresh_token: None,
        expires_in: ACCESS_SECONDS,
        who: WhoAmI::new(&shared, None, found),
    };
    if browser {
        let cookies = session_cookies(access, &tokens, shared.plain_http);
        return Ok((session, cookies.into()));
    }
    session.access_token = Some(access);
    session.refresh_token = Some(tokens.refresh);
    Ok((session, Vec::new()))
}

impl Session {
    /// The email of the member who signed in.
    pub fn email(&self) -> Option<&Email> {
        self.who.member.as_ref().map(|member| &member.email)
    }
}
