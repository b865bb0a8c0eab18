//! Who is on each rig now, and what of its gear nobody aboard is signed off on.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::ratings::Kind;
use fullset_care::crew::{Handled, Signed, unsigned};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::Crew;
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        person::Person,
        record::{self, Record as _, Row},
    },
    slices::{
        agencies::{Agency, day_of},
        members::Member,
        models::Model,
        pieces::{Piece, PieceState},
        rigs::{Rig, RigId},
    },
};

/// Gear aboard, of a kind or of a family of models, that nobody of the crew is signed off on.
#[derive(Debug, PartialEq, Serialize, ToSchema)]
pub struct UnsignedGear {
    /// The kind of gear.
    pub kind: Kind,
    /// The family of models, where they take a sign-off of their own; null: what is run as everything of its kind is.
    pub family: Option<String>,
    /// The last day of the latest sign-off that has run out; null: nobody aboard was ever signed off on it.
    pub ended: Option<NaiveDate>,
    /// The same as a sentence, with the tags of the pieces.
    pub words: String,
}

/// A rig with those who are on it.
#[derive(Debug, Serialize, ToSchema)]
pub struct RigCrew {
    /// The rig; each of the agency stands here once, crewed or not.
    pub rig: RigId,
    /// The rig's name of now; the list is in its order.
    pub name: String,
    /// Whether it was said who is aboard now. Where not, nobody knows, and nothing is said of sign-offs.
    pub known: bool,
    /// The members aboard, by name; at most 12.
    #[schema(max_items = 12)]
    pub members: Vec<Person>,
    /// Until when they are aboard; null where nobody said.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub until: Option<DateTime<Utc>>,
    /// What of its gear in service nobody aboard is signed off on.
    #[schema(max_items = 200)]
    pub unsigned: Vec<UnsignedGear>,
}

/// Who is on each rig now.
#[derive(Debug, Serialize, ToSchema)]
pub struct CrewsNow {
    /// The rigs, by name.
    #[schema(max_items = 10000)]
    pub items: Vec<RigCrew>,
}

/// The most tags of one sentence; of more it says how many.
const MOST_TAGS: usize = 3;

/// What is in service of one kind and family: how the models write the family, and the tags.
#[derive(Debug, Default)]
struct Carried {
    family: Option<String>,
    tags: Vec<String>,
}

fn sentence(kind: Kind, carried: &Carried, ended: Option<NaiveDate>) -> String {
    let tags = &carried.tags;
    let shown = tags.get(..MOST_TAGS.min(tags.len())).unwrap_or_default().join(", ");
    let more = match tags.len().saturating_sub(MOST_TAGS) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let word = if tags.len() == 1 { kind.word() } else { kind.plural() };
    let family = carried.family.as_ref().map(|family| format!("{family} ")).unwrap_or_default();
    let ended = ended.map(|day| format!("; the last sign-off ended {day}")).unwrap_or_default();
    format!("nobody aboard is signed off on the {family}{word} {shown}{more}{ended}")
}

/// Reads it.
pub fn crews_now(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<CrewsNow, Fault> {
    let own: Option<Agency> = record::find(db, agency, Agency::KIND, agency.0)?.as_ref().map(Row::read).transpose()?;
    let on = own.map_or_else(|| now.date_naive(), |own| day_of(now, own.time_zone));
    let crews: HashMap<Uuid, Crew> = record::read_all::<Crew>(db, agency)?
        .into_iter()
        .filter(|crew| crew.from <= now && now < crew.until)
        .map(|crew| (crew.id.0, crew))
        .collect();
    let signed: HashMap<Uuid, Vec<Signed>> = record::read_all::<Member>(db, agency)?
        .into_iter()
        .map(|member| {
            let sign_offs = member.sign_offs.iter().map(|one| Signed {
                of: one.handled(),
                until: one.until,
            });
            (member.id.0, sign_offs.collect())
        })
        .collect();
    let models: HashMap<Uuid, Model> = record::read_all::<Model>(db, agency)?.into_iter().map(|model| (model.id.0, model)).collect();
    let mut items = Vec::new();
    for rig in record::read_all::<Rig>(db, agency)? {
        let crew = crews.get(&rig.id.0);
        let unsigned = match crew {
            Some(crew) => unsigned_gear(&aboard(db, agency, rig.id, &models)?, crew, &signed, on),
            None => Vec::new(),
        };
        items.push(RigCrew {
            rig: rig.id,
            name: rig.name,
            known: crew.is_some(),
            members: crew.map(|crew| crew.members.clone()).unwrap_or_default(),
            until: crew.map(|crew| crew.until),
            unsigned,
        });
    }
    Ok(CrewsNow { items })
}

/// What is in service on a rig, by kind and family.
fn aboard(db: &mut Db, agency: AgencyId, rig: RigId, models: &HashMap<Uuid, Model>) -> Result<BTreeMap<Handled, Carried>, Fault> {
    let mut all: BTreeMap<Handled, Carried> = BTreeMap::new();
    for row in record::on_rig(db, agency, Piece::KIND, rig.0)? {
        let piece: Piece = row.read()?;
        if piece.state == PieceState::InService {
            let family = models.get(&piece.model.0).and_then(|model| model.family.clone());
            let carried = all.entry(Handled::new(piece.kind, family.as_deref())).or_default();
            carried.family = family;
            carried.tags.push(piece.tag);
        }
    }
    all.values_mut().for_each(|carried| carried.tags.sort_unstable());
    Ok(all)
}

fn unsigned_gear(aboard: &BTreeMap<Handled, Carried>, crew: &Crew, signed: &HashMap<Uuid, Vec<Signed>>, on: NaiveDate) -> Vec<UnsignedGear> {
    // Nobody aboard: the rig is not crewed, which is no lack of a sign-off.
    if crew.members.is_empty() {
        return Vec::new();
    }
    let all: BTreeSet<Handled> = aboard.keys().cloned().collect();
    let members = crew.members.iter().filter_map(|member| member.id);
    let crew: Vec<Vec<Signed>> = members.map(|id| signed.get(&id.0).cloned().unwrap_or_default()).collect();
    let lacks = unsigned(&all, &crew, on).into_iter();
    lacks
        .filter_map(|lack| {
            let carried = aboard.get(&lack.of)?;
            Some(UnsignedGear {
                kind: lack.of.kind,
                family: carried.family.clone(),
                ended: lack.ended,
                words: sentence(lack.of.kind, carried, lack.ended),
            })
        })
        .collect()
}
