//! Who asks: read from the bearer token or the browser's cookie. No actor, no handler.

use std::{future::Future, marker::PhantomData, pin::Pin, sync::Arc};

use actix_web::{
    FromRequest, HttpMessage as _, HttpRequest, HttpResponse,
    dev::Payload,
    http::{Method, header},
    web,
};
use serde_json::value::RawValue;
use utoipa::openapi::path::ParameterIn;
use uuid::Uuid;

use super::{
    Doc, Shared, asking, body,
    cookies::access_token,
    doc::text,
    forwarded::host_of,
    prefer::Return,
    request_bodies::unread,
    signature::{Argument, Body, uuid},
};
use crate::platform::{
    auth::{Actor, KEY_PREFIX, Role},
    door::{Act, Answer, Batch, Command, Expects, Outcome, Permission, RevisionNeed, is_client_id, permit},
    error::{self, Fault, Problem},
};

/// A signed-in member.
#[derive(Debug, Clone)]
pub struct Caller(pub Arc<Actor>);

fn shared(request: &HttpRequest) -> Result<Arc<Shared>, Fault> {
    request
        .app_data::<web::Data<Shared>>()
        .map(|data| Arc::clone(data))
        .ok_or_else(|| anyhow::anyhow!("the service was wired without its shared part").into())
}

/// Who asks. What is kept of the request tells it too, and what is read for it waits in the line of who it is.
pub(super) fn actor(request: &HttpRequest) -> Result<Arc<Actor>, Fault> {
    let actor = signed_in(request)?;
    asking::is_from(&actor);
    request.extensions_mut().insert(Arc::clone(&actor));
    Ok(actor)
}

fn signed_in(request: &HttpRequest) -> Result<Arc<Actor>, Fault> {
    let shared = shared(request)?;
    let bearer = request
        .headers()
        .get(header::AUTHORIZATION)
        .and_then(|value| value.to_str().ok())
        .and_then(|value| value.strip_prefix("Bearer ").or_else(|| value.strip_prefix("bearer ")));
    if let Some(token) = bearer.map(str::trim) {
        return if token.starts_with(KEY_PREFIX) {
            program(request, &shared, token)
        } else {
            shared.keys.actor(token)
        };
    }
    let token = access_token(request, &shared).ok_or_else(|| {
        Fault::new(
            error::SIGN_IN_NEEDED,
            "Sign in first: POST /v1/session, then send the access token as a bearer token",
        )
    })?;
    same_origin(request, &shared)?;
    shared.keys.actor(&token)
}

/// The one address at which a program's key writes.
const COMMANDS: &str = "/v1/commands";

/// A program by its key: it reads, and sends commands where the registry sees each of them.
fn program(request: &HttpRequest, shared: &Shared, token: &str) -> Result<Arc<Actor>, Fault> {
    let actor = shared.door.ended().keys().actor(token, shared.clock.now())?;
    if matches!(*request.method(), Method::GET | Method::HEAD) || request.path() == COMMANDS {
        return Ok(actor);
    }
    Err(Fault::new(
        error::NOT_ALLOWED,
        "A key reads, and sends commands to POST /v1/commands; nothing else",
    ))
}

/// A browser sends its cookies along from anywhere; a write counts only from our own pages.
pub fn same_origin(request: &HttpRequest, shared: &Shared) -> Result<(), Fault> {
    if matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS) {
        return Ok(());
    }
    let origin = request.headers().get(header::ORIGIN).and_then(|value| value.to_str().ok());
    let host = host_of(request, shared);
    let own = origin.is_some_and(|origin| {
        let named = match origin.split_once("://") {
            // Where cookies travel over TLS alone, a plain page under the same name may be anybody's.
            Some(("http", named)) if shared.plain_http => Some(named),
            Some(("https", named)) => Some(named),
            _ => None,
        };
        named == Some(host.as_str()) || shared.origins.iter().any(|known| known == origin)
    });
    if own {
        Ok(())
    } else {
        Err(Fault::new(
            error::ORIGIN_REFUSED,
            "A signed-in browser may write only from the service's own pages; other programs send a bearer token",
        ))
    }
}

impl FromRequest for Caller {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(actor(request).map(Self))
    }
}

/// A permission as a type, for the signatures of handlers.
pub trait Grant: 'static {
    /// The permission.
    const PERMISSION: Permission;
    /// What it lets a member do, after "may not".
    const WORDS: &'static str;
}

/// Keeps the register: models, pieces, places, complements, import.
#[derive(Debug, Clone, Copy)]
pub struct MayPlan;

impl Grant for MayPlan {
    const PERMISSION: Permission = Permission::Plan;
    const WORDS: &'static str = "change the register; ask the coordinator";
}

/// Keeps the members and how they sign in.
#[derive(Debug, Clone, Copy)]
pub struct MayAdminister;

impl Grant for MayAdminister {
    const PERMISSION: Permission = Permission::Administer;
    const WORDS: &'static str = "see how members sign in; ask an admin";
}

/// A signed-in member whose role grants `P`.
#[derive(Debug, Clone)]
pub struct Member<P> {
    /// Who it is.
    pub actor: Arc<Actor>,
    granted: PhantomData<fn() -> P>,
}

impl<P: Grant> FromRequest for Member<P> {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(actor(request).and_then(|actor| {
            // The role of a key for some kinds of commands is what it sends them in; it opens nothing else.
            if actor.key.as_ref().is_some_and(|key| key.kinds.is_some()) {
                return Err(Fault::new(error::NOT_ALLOWED, format!("This key may not {}", P::WORDS)));
            }
            if actor.role.grants(P::PERMISSION) {
                return Ok(Self { actor, granted: PhantomData });
            }
            Err(Fault::new(error::NOT_ALLOWED, format!("The role '{}' may not {}", actor.role, P::WORDS)))
        }))
    }
}

impl<P: Grant> Argument for Member<P> {
    fn describe(doc: &mut Doc) {
        doc.access = Some(Access::Member);
        doc.may_refuse(
            "403",
            &format!("The member's role does not allow it: it takes one of {}", roles(&[P::PERMISSION])),
        );
    }
}

/// The header in which a client names its command.
pub const KEY: &str = "Idempotency-Key";

/// The command's id that the client made, where it named one.
#[derive(Debug, Clone, Copy)]
pub struct CommandKey(pub Option<Uuid>);

impl FromRequest for CommandKey {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let named = request.headers().get(KEY).map(|value| command_key(value.to_str().unwrap_or("?").trim()));
        std::future::ready(named.transpose().map(Self))
    }
}

impl Argument for CommandKey {
    fn describe(doc: &mut Doc) {
        let words = "The command's id: a UUIDv7 that the client makes. Sent again, it acts once and is answered as before";
        // As text: generated clients put it into the header as it is, and an id of theirs is none.
        doc.parameter(ParameterIn::Header, KEY, words, text("A UUID of version 7"));
        doc.may_refuse("400", "The body or a header cannot be read");
        doc.may_refuse(
            "409",
            "The record has changed, is there already, or is not in a state that allows this; or the key was used for another command",
        );
    }
}

/// A body as it came, for endpoints that read it themselves; one that is too large is told as a problem.
#[derive(Debug)]
pub struct RawBody(pub web::Bytes);

impl FromRequest for RawBody {
    type Error = Fault;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Fault>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let bytes = web::Bytes::from_request(request, payload);
        Box::pin(async move { bytes.await.map(Self).map_err(|cause| unread(&cause)) })
    }
}

/// Who may ask: a member, or anyone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Any signed-in member.
    Member,
    /// Said aloud: no sign-in.
    Anyone,
}

impl<A: Act> Argument for Request<A> {
    fn describe(doc: &mut Doc) {
        Caller::describe(doc);
        CommandKey::describe(doc);
        Return::describe(doc);
        if doc.path.contains("{id}") {
            doc.parameter(ParameterIn::Path, "id", "The record's id, the same as `id` of the body", uuid());
        }
        if let Some(words) = A::EXPECTS.words() {
            doc.parameter(ParameterIn::Header, "If-Match", &words, text("In quotes: `\"17\"`"));
            if matches!(A::EXPECTS, RevisionNeed::Needed(_)) {
                doc.requires("If-Match");
            }
        }
        if matches!(A::EXPECTS, RevisionNeed::Needed(_) | RevisionNeed::NeededToChange(_)) {
            doc.may_refuse("428", "Name the revision that this was decided on");
        }
        doc.may_refuse(
            "403",
            &format!(
                "The member's role or reach does not allow it: it takes one of {}{}",
                roles(A::NEEDS),
                A::REACH.words()
            ),
        );
        doc.may_refuse("404", "No such record in this agency");
        Body::<A>::describe(doc);
        doc.may_refuse(
            "429",
            "More was written under this sign-in than one member may; send it again under the same key",
        );
        doc.may_refuse("503", "Nothing was done; send it again under the same key");
    }
}

/// The roles that have any of some permissions.
pub fn roles(needs: &[Permission]) -> String {
    let able = Role::MEMBERS.iter().filter(|role| needs.iter().any(|needed| role.grants(*needed)));
    able.map(|role| format!("`{role}`")).collect::<Vec<_>>().join(", ")
}

/// One REST write: the actor, and the command that its body is.
#[derive(Debug)]
pub struct Request<A: Act> {
    actor: Arc<Actor>,
    command: Command,
    returns: Return,
    /// Where the records of the kind are found, for a command that makes one.
    collection: Option<String>,
    act: PhantomData<A>,
}

impl<A: Act> Request<A> {
    /// Sends the command and answers as HTTP users expect.
    pub async fn send(self, shared: &Shared) -> Result<HttpResponse, Fault> {
        let Batch { mut answers, .. } = shared.door.send(self.actor, None, vec![self.command]).await?;
        let answer = answers.pop().ok_or_else(|| anyhow::anyhow!("a command without an answer"))?;
        answered(answer, A::CREATES, self.collection.as_deref(), self.returns)
    }
}

/// A command's answer as HTTP users expect it. `collection` is the address under which what it made is found by its id.
pub fn answered(answer: Answer, creates: bool, collection: Option<&str>, returns: Return) -> Result<HttpResponse, Fault> {
    match (answer.outcome, answer.problem.clone()) {
        (Outcome::Applied | Outcome::Repeated, _) | (_, None) => {
            let mut response = if creates { HttpResponse::Created() } else { HttpResponse::Ok() };
            if let Some(main) = answer.records.first() {
                response.insert_header((header::ETAG, format!("\"{}\"", main.rev)));
                if let Some(collection) = collection {
                    response.insert_header((header::LOCATION, format!("{collection}/{}", main.id)));
                }
            }
            returns.say(&mut response);
            Ok(response.json(match returns {
                Return::Minimal => answer.minimal(),
                Return::Representation => answer,
            }))
        }
        (_, Some(problem)) => Ok(refused(problem)),
    }
}

/// A problem as HTTP users expect it.
pub fn refused(problem: Problem) -> HttpResponse {
    let status = actix_web::http::StatusCode::from_u16(problem.status).unwrap_or_default();
    super::problem::body(&mut HttpResponse::build(status), problem)
}

impl<A: Act> FromRequest for Request<A> {
    type Error = Fault;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Fault>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let head = rest_head::<A>(request);
        let returns = Return::of(request);
        let path_id = request.match_info().get("id").map(str::to_owned);
        let collection = (A::CREATES && path_id.is_none()).then(|| request.path().to_owned());
        let bytes = RawBody::from_request(request, payload);
        Box::pin(async move {
            let (actor, id, expects) = head?;
            let RawBody(bytes) = bytes.await?;
            let raw = with_path_id(&bytes, path_id)?;
            let command = Command {
                id,
                kind: A::KIND.to_owned(),
                at: None,
                expects: expects.map(Expects::Revision),
                after: None,
                by: None,
                body: raw,
            };
            Ok(Self {
                actor,
                command,
                returns,
                collection,
                act: PhantomData,
            })
        })
    }
}

/// A command's id as the header `Idempotency-Key` gives it.
fn command_key(key: &str) -> Result<Uuid, Fault> {
    let id = key.parse().ok().filter(|id| is_client_id(*id));
    id.ok_or_else(|| Fault::new(error::BODY_UNREADABLE, "Idempotency-Key is a UUID of version 7 that the client makes").at("Idempotency-Key"))
}

fn rest_head<A: Act>(request: &HttpRequest) -> Result<(Arc<Actor>, Uuid, Option<i64>), Fault> {
    let actor = actor(request)?;
    permit(&actor, A::KIND, (A::NEEDS, A::REACH))?;
    let text = |name: header::HeaderName| request.headers().get(name).map(|value| value.to_str().unwrap_or("?").trim().to_owned());
    let id = match text(header::HeaderName::from_static("idempotency-key")) {
        Some(key) => command_key(&key)?,
        None => Uuid::now_v7(),
    };
    let expects = match text(header::IF_MATCH) {
        Some(tag) => Some(
            tag.trim_matches('"')
                .parse()
                .map_err(|_| Fault::new(error::BODY_UNREADABLE, "If-Match is the revision of the record, in quotes: \"17\"").at("If-Match"))?,
        ),
        None => None,
    };
    Ok((actor, id, expects))
}

/// The id in the path is the id of the body; a body that names another is refused.
fn with_path_id(bytes: &[u8], path_id: Option<String>) -> Result<Box<RawValue>, Fault> {
    let text = if bytes.is_empty() { &b"{}"[..] } else { bytes };
    let Some(path_id) = path_id else { return body::parse(text, "body") };
    let id: Uuid = path_id.parse().map_err(|_| Fault::new(error::NOT_FOUND, format!("'{path_id}' is no id")))?;
    let mut fields: serde_json::Map<String, serde_json::Value> = body::parse(text, "body")?;
    match fields.get("id").map(|named| named.as_str().and_then(|named| named.parse::<Uuid>().ok())) {
        Some(named) if named != Some(id) => {
            return Err(Fault::new(error::ID_MISMATCH, "The id in the body is not the id in the path").at("body.id"));
        }
        _ => fields.insert("id".into(), id.to_string().into()),
    };
    Ok(RawValue::from_string(serde_json::Value::Object(fields).to_string())?)
}
