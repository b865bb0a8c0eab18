//! One page of the feed, read from one state of the database.
//!
//! Two streams are walked together in the order of revisions: the records that are in the scope, each at its latest change,
//! and the marks of what has left it. A snapshot is the same walk from the beginning; what leaves while it is being read is
//! told by a mark, and what enters carries a new revision, so that it goes over into changes without a gap.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use serde::Serialize;
use serde_json::value::RawValue;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    scopes::{Places, Scopes},
    stubs::{self, Stub},
    token::{Sealed, Token},
    unsettled::{Unsettled, unsettled},
};
use crate::{
    belongs_to, first, on,
    platform::{
        db::{
            Db,
            schema::{agency, departure, record},
            types::{Doc as Json, Uid},
        },
        door::journal_hash,
        error::{self, Fault, FieldFault},
        ids::AgencyId,
        record::{RecordKind, ScopeRow},
    },
};

/// Why a record is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GoneReason {
    /// It was deleted.
    Deleted,
    /// It is in none of the places that the feed names any more.
    OutOfScope,
}

/// A record at its latest state, or gone.
#[derive(Debug, Serialize, ToSchema)]
pub struct Change {
    /// The record's kind.
    #[schema(value_type = RecordKind)]
    pub(super) kind: String,
    /// The id of the record that changed.
    pub(super) id: Uuid,
    /// The revision of its last change, or that at which it left.
    rev: i64,
    /// The record as the change left it; absent where it is gone.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Object>)]
    pub(super) record: Option<Box<RawValue>>,
    /// Set when there is no record any more.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) gone: Option<GoneReason>,
}

/// One page of changes: a state that existed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Changes {
    /// The agency's revision when the page was read.
    pub revision: i64,
    /// The token to go on from.
    pub next: String,
    /// Whether there is more now.
    pub more: bool,
    /// The changes, in the order of their revisions.
    pub changes: Vec<Change>,
    /// The answers of the feed that do not count now, whether or not they are among the changes. Each page says it anew.
    pub unsettled: Unsettled,
    /// What records of the feed name by id and the feed does not hold; none in the agency's feed, which holds everything.
    pub stubs: Vec<Stub>,
}

impl Changes {
    /// Whether there is nothing to tell.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty() && !self.more && self.stubs.is_empty()
    }
}

/// What a client asks for.
#[derive(Debug, Clone)]
pub struct Ask {
    /// The agency whose changes are read.
    pub agency: AgencyId,
    /// The part of it.
    pub scopes: Scopes,
    /// The kinds that are in every feed.
    pub everywhere: Vec<&'static str>,
    /// The kinds that a record may name and its feed not hold.
    pub nameable: Vec<&'static str>,
    /// Where the client is; none for a snapshot.
    pub since: Option<Sealed>,
    /// The most changes that the page holds.
    pub limit: i64,
    /// The server's time, as of which answers are settled or not.
    pub now: DateTime<Utc>,
}

/// A change with its place in the walk.
type Position = (i64, String, Uuid);

fn position(change: &Change) -> Position {
    (change.rev, change.kind.clone(), change.id)
}

/// Reads a page.
pub fn page(db: &mut Db, ask: Ask) -> Result<Changes, Fault> {
    let Ask {
        agency,
        scopes,
        everywhere,
        nameable,
        since,
        limit,
        now,
    } = ask;
    let (revision, head, horizon): (i64, Vec<u8>, i64) = on!(&mut *db, conn => agency::table
        .find(Uid::from(agency))
        .select((agency::rev, agency::journal_head, agency::horizon))
        .first(conn))?;
    let scope = scopes.to_string();
    let token = match since {
        Some(sealed) => {
            // A place that was there when the page before was read is there while nobody has written.
            if sealed.token.at != revision {
                places_exist(db, agency, &scopes)?;
            }
            let token = opened(db, agency, &scope, sealed, (revision, &head))?;
            if token.snapshot.unwrap_or(token.rev) < horizon {
                return Err(Fault::new(
                    error::RESYNC_REQUIRED,
                    "This token is older than what the service remembers of deleted records; take a new snapshot by leaving `since` out",
                )
                .at("since"));
            }
            token
        }
        None => {
            places_exist(db, agency, &scopes)?;
            Token {
                at: revision,
                rev: 0,
                after: None,
                snapshot: Some(revision),
            }
        }
    };
    let wanted = usize::try_from(limit).unwrap_or(usize::MAX);
    let (mut changes, mut end) = in_scope(db, agency, &scopes, &everywhere, &token, limit)?;
    let known = token.snapshot.unwrap_or_default().max(token.rev);
    if let Scopes::Places(places) = &scopes
        && known < revision
    {
        let (marks, marks_end) = left(db, agency, places, &everywhere, &token, limit)?;
        changes.extend(marks);
        changes.sort_by_cached_key(position);
        end = [end, marks_end].into_iter().flatten().min();
    }
    if let Some(end) = &end {
        changes.retain(|change| position(change) <= *end);
    }
    if changes.len() > wanted {
        changes.truncate(wanted);
        end = changes.last().map(position);
    }
    let next = match &end {
        // Inside a revision the walk goes on after the record; a finished one is behind it whole.
        Some((rev, kind, id)) => Token {
            at: revision,
            rev: rev - 1,
            after: Some((kind.clone(), *id)),
            snapshot: token.snapshot,
        },
        None => Token {
            at: revision,
            rev: revision,
            after: None,
            snapshot: None,
        },
    };
    // What was gone when the snapshot began has never been told.
    changes.retain(|change| change.gone.is_none() || token.snapshot.is_none_or(|begun| change.rev > begun));
    let stubs = match &scopes {
        Scopes::Agency => Vec::new(),
        Scopes::Places(places) => stubs::stubs(db, agency, places, &nameable, (token.at, revision), &changes)?,
    };
    Ok(Changes {
        revision,
        next: next.write(agency, &scope, &head),
        more: end.is_some(),
        changes,
        unsettled: unsettled(db, agency, &scopes, now)?,
        stubs,
    })
}

/// The token, when it is one of this database's.
fn opened(db: &mut Db, agency: AgencyId, scope: &str, sealed: Sealed, (revision, head): (i64, &[u8])) -> Result<Token, Fault> {
    let at = sealed.token.at;
    if at == revision {
        return sealed.open(agency, scope, Some(head));
    }
    // Ahead of the database: it was put back to an older copy.
    let key = if at > revision { None } else { journal_hash(db, agency, at)? };
    sealed.open(agency, scope, key.as_deref())
}

/// Refuses a feed of a place that is not there, at its start and when the place goes: it would stay empty for ever, and nobody
/// would know why.
fn places_exist(db: &mut Db, agency: AgencyId, scopes: &Scopes) -> Result<(), Fault> {
    let Scopes::Places(places) = scopes else { return Ok(()) };
    let named: Vec<(&'static str, Uuid)> = places.named().collect();
    let kinds: Vec<&str> = named.iter().map(|(kind, _)| *kind).collect();
    let ids: Vec<Uid> = named.iter().map(|(_, id)| Uid(*id)).collect();
    let there: Vec<(String, Uid)> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq_any(kinds)).and(record::id.eq_any(ids)).and(record::gone.eq(false)))
        .select((record::kind, record::id))
        .load(conn))?;
    let gone = named
        .into_iter()
        .filter(|(kind, id)| !there.iter().any(|(of, known)| of == kind && known.0 == *id));
    let errors: Vec<FieldFault> = gone
        .map(|(kind, id)| FieldFault {
            field: format!("{kind}:{id}"),
            detail: format!("There is no {kind} with this id in the agency, or no longer"),
        })
        .collect();
    if errors.is_empty() {
        return Ok(());
    }
    Err(Fault {
        errors,
        ..Fault::new(
            error::SCOPE_GONE,
            "The feed names a place that is not there; leave out what `errors` names, and take a new snapshot of the rest by leaving `since` out",
        )
        .at("scope")
    })
}

type ChangeRow = (String, Uid, i64, bool, Json);

/// The records of the scope that have changed since the token, no more and no heavier than a page may be, and where they were cut.
fn in_scope(
    db: &mut Db,
    agency: AgencyId,
    scopes: &Scopes,
    everywhere: &[&'static str],
    token: &Token,
    limit: i64,
) -> Result<(Vec<Change>, Option<Position>), Fault> {
    let wanted = usize::try_from(limit).unwrap_or(usize::MAX);
    let (rows, more) = first!(
        db,
        ChangeRow,
        {
            let mut query = record::table
                .filter(record::agency.eq(Uid::from(agency)))
                .order((record::rev, record::kind, record::id))
                .limit(limit + 1)
                .select((record::kind, record::id, record::rev, record::gone, record::body))
                .into_boxed();
            if let Scopes::Places(places) = scopes {
                query = query.filter(record::kind.eq_any(everywhere.to_vec()).or(belongs_to!(places)));
            }
            query = match &token.after {
                None => query.filter(record::rev.gt(token.rev)),
                Some((kind, after)) => query.filter(
                    record::rev.gt(token.rev + 1).or(record::rev
                        .eq(token.rev + 1)
                        .and(record::kind.gt(kind.clone()).or(record::kind.eq(kind.clone()).and(record::id.gt(Uid(*after)))))),
                ),
            };
            query
        },
        wanted,
        |(.., body)| body.0.len()
    )?;
    let changes = rows
        .into_iter()
        .map(|(kind, id, rev, gone, body)| {
            Ok(Change {
                kind,
                id: id.0,
                rev,
                record: if gone { None } else { Some(RawValue::from_string(body.0)?) },
                gone: gone.then_some(GoneReason::Deleted),
            })
        })
        .collect::<Result<Vec<Change>, Fault>>()?;
    let end = changes.last().filter(|_| more).map(position);
    Ok((changes, end))
}

/// What has left the scope since the token and is not back, and where the stream of marks was cut.
fn left(
    db: &mut Db,
    agency: AgencyId,
    places: &Places,
    everywhere: &[&'static str],
    token: &Token,
    limit: i64,
) -> Result<(Vec<Change>, Option<Position>), Fault> {
    let ids: Vec<Uid> = places.named().map(|(_, id)| Uid(id)).collect();
    let from = token.snapshot.unwrap_or_default().max(token.rev);
    let marks: Vec<(String, Uid, i64, ScopeRow)> = on!(db, conn => {
        let mut query = departure::table
            .inner_join(record::table.on(
                record::agency.eq(departure::agency).and(record::kind.eq(departure::kind)).and(record::id.eq(departure::id)),
            ))
            .filter(departure::agency.eq(Uid::from(agency)).and(departure::place.eq_any(ids)).and(departure::rev.gt(from)))
            .order((departure::rev, departure::kind, departure::id))
            .limit(limit + 1)
            .select((departure::kind, departure::id, departure::rev, ScopeRow::as_select()))
            .into_boxed();
        if let Some((kind, after)) = &token.after {
            query = query.filter(
                departure::rev.ne(token.rev + 1)
                    .or(departure::kind.gt(kind.clone()).or(departure::kind.eq(kind.clone()).and(departure::id.gt(Uid(*after))))),
            );
        }
        query.load(conn)
    })?;
    let wanted = usize::try_from(limit).unwrap_or(usize::MAX);
    let cut = (marks.len() > wanted)
        .then(|| wanted.checked_sub(1).and_then(|last| marks.get(last)))
        .flatten()
        .map(|(kind, id, rev, _)| (*rev, kind.clone(), id.0));
    let mut told = std::collections::BTreeSet::new();
    let mut changes: Vec<Change> = marks
        .into_iter()
        .take(wanted)
        // A record that left twice is told at the later time.
        .rev()
        .filter(|(kind, id, _, now)| !everywhere.contains(&kind.as_str()) && !places.hold((*now).into()) && told.insert((kind.clone(), id.0)))
        .map(|(kind, id, rev, _)| Change {
            kind,
            id: id.0,
            rev,
            record: None,
            gone: Some(GoneReason::OutOfScope),
        })
        .collect();
    changes.reverse();
    Ok((changes, cut))
}
