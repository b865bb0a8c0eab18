//! Every command kind that exists, and how records behave that the platform does not know by name.

use std::{
    any::{Any, TypeId},
    collections::{BTreeMap, BTreeSet, HashMap},
};

use chrono::{DateTime, Utc};
use serde_json::value::RawValue;
use utoipa::openapi::{RefOr, Schema};
use uuid::Uuid;

use super::{
    Act, Authority, Permission, Reach, RevisionNeed, Settle, Write,
    command::{AnyAct, Parsed},
    wording::text,
};
use crate::platform::{
    auth::{Actor, Role},
    bodies::{Shape, Upcast},
    body,
    error::{self, Fault},
    record::Record,
};

type Read = fn(&RawValue) -> Result<(Box<dyn AnyAct>, String), Fault>;

/// Adds the schemas of a body, and answers the body's name among them.
pub type BodySchema = fn(&mut Vec<(String, RefOr<Schema>)>) -> String;

/// One kind in the registry.
pub struct Kind {
    /// What it does.
    pub summary: &'static str,
    /// What was done, as history tells it.
    pub done: &'static str,
    /// What the actor needs: any one of these.
    pub needs: &'static [Permission],
    /// How far the actor must reach.
    pub reach: Reach,
    /// Whether it names the revision that it was decided on.
    pub expects: RevisionNeed,
    /// Its body in the document.
    pub body: BodySchema,
    /// The fields of its body that no history tells.
    pub untold: &'static [&'static str],
    /// Whether it takes a person.
    pub personal: bool,
    slow: bool,
    read: Read,
}

impl std::fmt::Debug for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Kind")
            .field("summary", &self.summary)
            .field("needs", &self.needs)
            .finish_non_exhaustive()
    }
}

/// What a command touched that is judged again.
#[derive(Debug, Default)]
pub struct Touched {
    /// Rigs, by their ids.
    pub rigs: BTreeSet<Uuid>,
    /// Records about which an answer of their own is kept.
    pub judged: BTreeSet<Uuid>,
}

impl Touched {
    /// Whether nothing is judged again.
    pub fn is_empty(&self) -> bool {
        self.rigs.is_empty() && self.judged.is_empty()
    }
}

/// Works out what follows from a command for what it touched.
pub type Follow = fn(&mut Write<'_>, &Touched) -> Result<(), Fault>;

/// Works out one record whose answer ran out, as of an instant, and says when it runs out next.
pub type Settler = fn(&mut Write<'_>, Uuid, DateTime<Utc>) -> Result<(), Fault>;

/// Looks at what a command has changed, once all that follows from it is worked out, and writes what comes of that.
pub type Watch = fn(&mut Write<'_>) -> Result<(), Fault>;

/// What commands may have to know of how the service runs, by type.
pub(super) type Provided = HashMap<TypeId, Box<dyn Any + Send + Sync>>;

/// Whether whoever runs the service has named a relay for e-mail.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct SendsEmail(pub bool);

/// Every command kind that exists.
#[derive(Debug)]
pub struct Registry {
    kinds: BTreeMap<&'static str, Kind>,
    everywhere: Vec<&'static str>,
    records: BTreeMap<&'static str, Shape>,
    nameable: Vec<&'static str>,
    followers: Vec<(&'static str, &'static str)>,
    settlers: BTreeMap<&'static str, Settler>,
    judged: Vec<(&'static str, &'static str)>,
    pub(super) watchers: Vec<Watch>,
    pub(super) provided: Provided,
    pub(super) follow: Follow,
    pub(super) authority: Authority,
}

impl Registry {
    /// A registry with the clock's kind alone; `follow` is run for the rigs that a command touched, `authority` finds out
    /// who acts.
    pub fn new(follow: Follow, authority: Authority) -> Self {
        let mut registry = Self {
            kinds: BTreeMap::new(),
            everywhere: Vec::new(),
            records: BTreeMap::new(),
            nameable: Vec::new(),
            followers: Vec::new(),
            settlers: BTreeMap::new(),
            judged: Vec::new(),
            watchers: Vec::new(),
            provided: Provided::default(),
            follow,
            authority,
        };
        registry.add::<Settle>();
        registry
    }

    /// Adds a kind.
    pub fn add<A: Act>(&mut self) {
        self.kinds.insert(
            A::KIND,
            Kind {
                summary: A::SUMMARY,
                done: A::DONE,
                needs: A::NEEDS,
                reach: A::REACH,
                expects: A::EXPECTS,
                body: body_schema::<A>,
                untold: A::UNTOLD,
                personal: A::PERSONAL,
                slow: A::SLOW,
                read: read::<A>,
            },
        );
    }

    /// Has every command looked at when it is done.
    pub fn watch(&mut self, watch: Watch) {
        self.watchers.push(watch);
    }

    /// Lets commands know something of how the service runs.
    pub fn provide<T: Any + Send + Sync>(&mut self, value: T) {
        self.provided.insert(TypeId::of::<T>(), Box::new(value));
    }

    /// What was provided of how the service runs, where it was.
    pub fn knows<T: Any>(&self) -> Option<&T> {
        self.provided.get(&TypeId::of::<T>()).and_then(|value| value.downcast_ref())
    }

    /// Says that there are records of a kind, and how they stand in feeds.
    pub fn know<R: Record>(&mut self) {
        if self.records.insert(R::KIND, Shape::of::<R>()).is_some() {
            return;
        }
        if R::EVERYWHERE {
            self.everywhere.push(R::KIND);
        } else if R::LAPSES.is_none() && R::LAPSES_ABOARD.is_none() {
            self.nameable.push(R::KIND);
        }
        if let Some(state) = R::FOLLOWS_WHILE {
            self.followers.push((R::KIND, state));
        }
    }

    /// The record kinds by name.
    pub fn records(&self) -> impl Iterator<Item = &'static str> {
        self.records.keys().copied()
    }

    /// How the bodies of each kind are brought up.
    pub fn shapes(&self) -> impl Iterator<Item = (&'static str, Shape)> {
        self.records.iter().map(|(kind, shape)| (*kind, *shape))
    }

    /// What brings the bodies of a kind up.
    pub fn upcasts(&self, kind: &str) -> &'static [Upcast] {
        self.records.get(kind).map_or(&[], |shape| shape.upcasts)
    }

    /// Says how a record of this kind is settled when its answer has run out.
    pub fn settle_with(&mut self, kind: &'static str, settler: Settler) {
        self.settlers.insert(kind, settler);
    }

    pub(super) fn settlers(&self) -> &BTreeMap<&'static str, Settler> {
        &self.settlers
    }

    pub(super) fn judged(&self) -> &[(&'static str, &'static str)] {
        &self.judged
    }

    /// Says that an answer of its own is kept about records of a kind, and the kind of that answer. Those that are on no rig are
    /// judged again when what all are judged by has changed.
    pub fn judge(&mut self, kind: &'static str, standing: &'static str) {
        self.judged.push((kind, standing));
    }

    pub(super) fn followers(&self) -> &[(&'static str, &'static str)] {
        &self.followers
    }

    /// The record kinds that are in every feed.
    pub fn everywhere(&self) -> &[&'static str] {
        &self.everywhere
    }

    /// The record kinds that a feed of some places may have to name without holding them: an answer about a record has that
    /// record's id, which names the record.
    pub fn nameable(&self) -> &[&'static str] {
        &self.nameable
    }

    /// The kinds by name.
    pub fn kinds(&self) -> impl Iterator<Item = (&'static str, &Kind)> {
        self.kinds.iter().map(|(name, kind)| (*name, kind))
    }

    /// The kinds that a member may send: by the role, and where the member acts in a part of the agency, by that.
    pub fn open_to(&self, role: Role, bounded: bool) -> Vec<&'static str> {
        self.open(role, bounded).map(|(name, _)| name).collect()
    }

    /// The kinds that a program's key may send in a role.
    pub fn open_to_programs(&self, role: Role, bounded: bool) -> Vec<&'static str> {
        self.open(role, bounded).filter(|(_, kind)| !kind.personal).map(|(name, _)| name).collect()
    }

    fn open(&self, role: Role, bounded: bool) -> impl Iterator<Item = (&'static str, &Kind)> {
        self.kinds()
            .filter(move |(_, kind)| kind.reach.is_open_to(bounded) && kind.needs.iter().any(|needed| role.grants(*needed)))
    }

    fn known(&self, kind: &str) -> Result<&Kind, Fault> {
        let unknown = || Fault::new(error::COMMAND_UNKNOWN, format!("'{kind}' is no command of this service")).at("kind");
        self.kinds.get(kind).ok_or_else(unknown)
    }

    /// Whether reading a kind takes a thread of its own.
    pub(super) fn slow(&self, kind: &str) -> bool {
        self.kinds.get(kind).is_some_and(|known| known.slow)
    }

    /// Refuses who may not send a kind.
    pub(super) fn permit(&self, actor: &Actor, kind: &str) -> Result<(), Fault> {
        let known = self.known(kind)?;
        permit(actor, kind, (known.needs, known.reach))?;
        match &actor.key {
            Some(_) if known.personal => Err(Fault::new(error::NOT_ALLOWED, format!("{kind} takes a person; a program does not send it"))),
            Some(key) if !key.allows(kind) => Err(Fault::new(
                error::NOT_ALLOWED,
                format!("This key may not send {kind}; have an admin make one that may"),
            )),
            _ => Ok(()),
        }
    }

    pub(super) fn read(&self, kind: &str, body: &RawValue) -> Result<(Box<dyn AnyAct>, String), Fault> {
        (self.known(kind)?.read)(body)
    }
}

fn body_schema<A: Act>(schemas: &mut Vec<(String, RefOr<Schema>)>) -> String {
    schemas.push((A::name().into_owned(), A::schema()));
    A::schemas(schemas);
    A::name().into_owned()
}

/// Refuses a role that has none of the permissions that a kind needs, and whoever does not reach far enough for it.
pub fn permit(actor: &Actor, kind: &str, (needs, reach): (&[Permission], Reach)) -> Result<(), Fault> {
    let role = actor.role;
    if needs.iter().any(|needed| role.grants(*needed)) {
        return reach.permit(actor, kind);
    }
    Err(match role {
        Role::Tablet => Fault::new(
            error::SIGNATURE_NEEDED,
            format!("A shared tablet sends {kind} in a batch, signed by a member with the PIN: put `by` on the command"),
        ),
        _ => Fault::new(error::NOT_ALLOWED, format!("The role '{role}' may not send {kind}; ask a member who may")),
    })
}

fn read<A: Act>(raw: &RawValue) -> Result<(Box<dyn AnyAct>, String), Fault> {
    let mut act: A = body::parse(raw.get().as_bytes(), "body")?;
    if raw.get().contains("\\u0000") && holds_nul(&serde_json::from_str(raw.get())?) {
        return Err(Fault::field("body", "The text holds a NUL character; take it out"));
    }
    let journaled = if A::SECRET.is_empty() {
        raw.get().to_owned()
    } else {
        let mut value: serde_json::Value = serde_json::from_str(raw.get())?;
        if let Some(fields) = value.as_object_mut() {
            for secret in A::SECRET {
                if fields.contains_key(*secret) {
                    fields.insert((*secret).to_owned(), "not kept".into());
                }
            }
        }
        value.to_string()
    };
    act.prepare()?;
    if let Some(reason) = act.reason() {
        text("body.reason", reason)?;
    }
    Ok((Box::new(Parsed(act)), journaled))
}

fn holds_nul(value: &serde_json::Value) -> bool {
    match value {
        serde_json::Value::String(text) => text.contains('\0'),
        serde_json::Value::Array(items) => items.iter().any(holds_nul),
        serde_json::Value::Object(fields) => fields.iter().any(|(name, value)| name.contains('\0') || holds_nul(value)),
        _ => false,
    }
}
