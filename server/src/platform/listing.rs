//! Lists of records: what they are narrowed by, and their pages.

use diesel::{dsl::not, prelude::*};
use uuid::Uuid;

use super::{
    db::{Db, schema::record, types::Uid},
    error::{self, Fault},
    ids::AgencyId,
    record::{Record, Row, find},
};
use crate::first;

diesel::define_sql_function! {
    /// Text in small letters.
    fn lower(text: diesel::sql_types::Text) -> diesel::sql_types::Text;
}

/// What a list is narrowed by. Everything is optional.
#[derive(Debug, Clone, Default, serde::Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Filter {
    /// Only records of this district.
    pub district: Option<Uuid>,
    /// Only records of this station.
    pub station: Option<Uuid>,
    /// Only records of this rig.
    pub rig: Option<Uuid>,
    /// Only records in this shop.
    pub shop: Option<Uuid>,
    /// Only records that belong to this one, for example the defects of a piece.
    pub parent: Option<Uuid>,
    /// Only records in this state. One that the kind does not have is refused, and the refusal names those that it has.
    pub state: Option<String>,
    /// For pieces: only the one with this tag, in whatever case.
    pub tag: Option<String>,
    /// For pieces: only those with this serial number, whatever its case and spaces; a retired piece has given its number up.
    pub serial: Option<String>,
    /// Only records whose tag or name starts so.
    pub q: Option<String>,
    /// Up to this many, 1 to 500; 100 unless said.
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<i64>,
    /// Go on after this key, taken from `next` of the page before.
    pub after: Option<String>,
}

/// The separator inside a list key: no label holds it.
const KEY_BREAK: char = '\u{1}';

/// The most bytes of a label: 200 signs of four.
const MOST_LABEL_BYTES: usize = 800;

/// The key of the last row of a page.
pub fn key_of(row: &Row) -> String {
    key(&row.label, row.id.0)
}

/// The key of a row with that label and id.
pub fn key(label: &str, id: Uuid) -> String {
    use base64::Engine as _;
    base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(format!("{label}{KEY_BREAK}{id}"))
}

/// The label and the id of a key that a client sent, where they may be asked for.
pub fn key_parts(key: &str) -> Option<(String, Uuid)> {
    use base64::Engine as _;
    let text = String::from_utf8(base64::engine::general_purpose::URL_SAFE_NO_PAD.decode(key).ok()?).ok()?;
    let (label, id) = text.rsplit_once(KEY_BREAK)?;
    // No label is longer or holds such a sign, and PostgreSQL takes no NUL.
    if label.len() > MOST_LABEL_BYTES || label.chars().any(char::is_control) {
        return None;
    }
    Some((label.to_owned(), id.parse().ok()?))
}

/// Text as a pattern that stands for nothing else.
fn literally(text: &str) -> String {
    text.replace('\\', "\\\\").replace('%', "\\%").replace('_', "\\_")
}

/// What `tag` and `serial` ask for, after `state` has been held to what there is.
fn exact<R: Record>(filter: &Filter) -> Result<(Option<String>, Option<String>), Fault> {
    let refused = |field: &str, words: String| Fault::new(error::QUERY_INVALID, words).at(field);
    let what = R::KIND.replace('_', " ");
    let states = R::states();
    if let Some(state) = filter.state.as_deref().filter(|state| !states.contains(state)) {
        return Err(refused(
            "state",
            match states.as_slice() {
                [] => format!("A {what} has no state; leave `state` out"),
                known => format!("'{state}' is no state of a {what}; it is one of {}", known.join(", ")),
            },
        ));
    }
    let only = |field: &str| refused(field, format!("A {what} has no {field}; only pieces have one"));
    let tag = match &filter.tag {
        Some(tag) => Some(R::tagged_as(tag).ok_or_else(|| only("tag"))?),
        None => None,
    };
    let stamp = match &filter.serial {
        Some(serial) => Some(format!("%{}", literally(&R::stamped_as(serial).ok_or_else(|| only("serial"))?))),
        None => None,
    };
    Ok((tag, stamp))
}

/// Refuses a place that is not there: the list would be empty, and nobody would know why.
fn check_places(db: &mut Db, agency: AgencyId, filter: &Filter) -> Result<(), Fault> {
    for (kind, id) in [
        ("district", filter.district),
        ("station", filter.station),
        ("rig", filter.rig),
        ("shop", filter.shop),
    ] {
        let Some(id) = id else { continue };
        if find(db, agency, kind, id)?.is_none_or(|row| row.gone) {
            return Err(Fault::new(error::QUERY_INVALID, format!("There is no {kind} with the id {id} in this agency")).at(kind));
        }
    }
    Ok(())
}

/// One page of live records in the order of their labels, no heavier than one answer may be, and whether there are more: one query,
/// whatever the length.
pub fn page<R: Record>(db: &mut Db, agency: AgencyId, filter: &Filter) -> Result<(Vec<Row>, bool), Fault> {
    let limit = filter.limit.unwrap_or(100);
    if !(1..=500).contains(&limit) {
        return Err(Fault::new(error::QUERY_INVALID, "limit is a number from 1 to 500").at("limit"));
    }
    if [&filter.q, &filter.state, &filter.tag, &filter.serial]
        .into_iter()
        .flatten()
        .any(|text| text.contains('\0'))
    {
        return Err(Fault::new(error::QUERY_INVALID, "A query holds no NUL character; take it out").at("q"));
    }
    let after = match filter.after.as_deref() {
        Some(key) => Some(
            key_parts(key)
                .ok_or_else(|| Fault::new(error::QUERY_INVALID, "after is not a key that a page answered; leave it out to start over").at("after"))?,
        ),
        None => None,
    };
    let (tag, stamp) = exact::<R>(filter)?;
    check_places(db, agency, filter)?;
    let prefix = filter.q.as_ref().map(|q| format!("{}%", literally(q)));
    let wanted = usize::try_from(limit).unwrap_or(usize::MAX);
    Ok(first!(
        db,
        Row,
        {
            // Spelled as in the index that this order comes from.
            let mut query = record::table
                .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(R::KIND)).and(not(record::gone)))
                .select(Row::as_select())
                .order((record::label.asc(), record::id.asc()))
                .limit(limit + 1)
                .into_boxed();
            if let Some(id) = filter.district {
                query = query.filter(record::district.eq(Uid(id)));
            }
            if let Some(id) = filter.station {
                query = query.filter(record::station.eq(Uid(id)));
            }
            if let Some(id) = filter.rig {
                query = query.filter(record::rig.eq(Uid(id)));
            }
            if let Some(id) = filter.shop {
                query = query.filter(record::shop.eq(Uid(id)));
            }
            if let Some(id) = filter.parent {
                query = query.filter(record::parent.eq(Uid(id)));
            }
            if let Some(state) = &filter.state {
                query = query.filter(record::state.eq(state.clone()));
            }
            if let Some(tag) = &tag {
                query = query.filter(record::uniq.eq(tag.clone()));
            }
            if let Some(stamp) = &stamp {
                query = query.filter(record::mark.like(stamp.clone()).escape('\\'));
            }
            if let Some(prefix) = &prefix {
                query = query.filter(lower(record::label).like(lower(prefix.clone())).escape('\\'));
            }
            if let Some((label, id)) = &after {
                query = query.filter(record::label.gt(label.clone()).or(record::label.eq(label.clone()).and(record::id.gt(Uid(*id)))));
            }
            query
        },
        wanted,
        |row| row.body.0.len()
    )?)
}
