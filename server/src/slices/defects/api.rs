use actix_web::{http::Method, web};
use fullset_calc::{
    ratings::Kind,
    release::{AgencyRules, DefectClass, Ending, Measure, RepairWithin, SayUsable, Signature},
};
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    Defect, DefectNote,
    acts::{CloseDefect, ExtendDefect, NoteDefect},
    ops::ReportDefect,
    retire::RetirePiece,
};
use crate::{
    platform::{
        error::{self, Fault},
        http::{Api, Caller, Doc, Json, Shared},
        record::{self, Record as _},
    },
    slices::agencies::{Agency, ReleaseRule},
};

/// The defects' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Defect>("/v1/defects");
    api.find::<Defect>("/v1/defects/{id}");
    api.history::<Defect>("/v1/defects/{id}/history");
    api.list::<DefectNote>("/v1/defect-notes");
    api.find::<DefectNote>("/v1/defect-notes/{id}");
    api.history::<DefectNote>("/v1/defect-notes/{id}/history");
    api.act::<ReportDefect>(Method::POST, "/v1/defects");
    api.act::<NoteDefect>(Method::POST, "/v1/defects/{id}/note");
    api.act::<ExtendDefect>(Method::POST, "/v1/defects/{id}/extend");
    api.act::<CloseDefect>(Method::POST, "/v1/defects/{id}/close");
    api.act::<RetirePiece>(Method::POST, "/v1/pieces/{id}/retire");
    api.other(
        Method::GET,
        "/v1/defect-rules",
        Doc::new(
            "defects",
            "list_defect_rules",
            "What holds for each kind of piece with each class of defect: who may say usable, within which limit, what its return \
             takes; as shipped, and as the agency has it",
            "The table that reports, notes, closings, tests and returns are held to, one row for each kind of piece and class of \
             defect, with the shipped rule beside the agency's own.",
        )
        .answer("The table, one row for each kind and class that there can be"),
        defect_rules,
    );
}

/// What the shipped table has in a cell.
#[derive(Debug, Serialize, ToSchema)]
struct ShippedRule {
    /// Who may say that the piece can still be used.
    usable_by: SayUsable,
    /// What the crew must not do meanwhile, and what to do instead; null where nobody may use it.
    limit: Option<&'static str>,
    /// How long the repair may be put off; null where nobody may use it.
    within: Option<RepairWithin>,
    /// Whose word its return takes.
    signs: Signature,
    /// What its return measures.
    readings: &'static [Measure],
}

/// What holds for one kind with one class of defect.
#[derive(Debug, Serialize, ToSchema)]
struct DefectRule {
    /// The kind of piece.
    kind: Kind,
    /// The class of defect.
    class: DefectClass,
    /// The class in words.
    words: &'static str,
    /// Who may say that the piece can still be used.
    usable_by: SayUsable,
    /// What the crew must not do meanwhile, and what to do instead; null where nobody may use it.
    limit: Option<String>,
    /// How long the repair may be put off; null where nobody may use it.
    within: Option<RepairWithin>,
    /// The same in calendar days after the day of discovery.
    repair_by_days: Option<u32>,
    /// Whether the shop must see it.
    shop_must_see: bool,
    /// Whose word its return takes.
    signs: Signature,
    /// What its return measures.
    readings: Vec<Measure>,
    /// How the case ends.
    ending: Ending,
    /// Where the shipped rule comes from.
    source: &'static str,
    /// What the shipped table has; the same, where the agency has decided nothing.
    shipped: ShippedRule,
    /// What the agency has decided otherwise; null: nothing.
    own: Option<ReleaseRule>,
}

/// The table.
#[derive(Debug, Serialize, ToSchema)]
struct DefectRules {
    /// Its rows; a kind that cannot have a class has none for it.
    items: Vec<DefectRule>,
}

/// One row of the table.
fn rule(agency: &Agency, rules: &AgencyRules, kind: Kind, class: DefectClass) -> Option<DefectRule> {
    let cell = rules.cell(kind, class)?;
    let (holds, shipped) = (cell.rule, cell.shipped);
    let own = cell.own.and_then(|own| agency.release_rules.iter().find(|rule| rule.cell == *own).cloned());
    Some(DefectRule {
        kind,
        class,
        words: class.words(),
        usable_by: holds.usable,
        limit: cell.limit.map(str::to_owned),
        within: holds.within,
        repair_by_days: holds.within.map(RepairWithin::days),
        shop_must_see: holds.shop_must_see(),
        signs: holds.signs,
        readings: cell.readings(),
        ending: holds.ending,
        source: holds.source,
        shipped: ShippedRule {
            usable_by: shipped.usable,
            limit: shipped.limit,
            within: shipped.within,
            signs: shipped.signs,
            readings: shipped.readings,
        },
        own,
    })
}

async fn defect_rules(shared: web::Data<Shared>, caller: Caller) -> Result<Json<DefectRules>, Fault> {
    let shared = shared.into_inner();
    let id = caller.0.agency;
    let missing = || Fault::new(error::NOT_FOUND, "This agency has not been founded yet");
    let agency: Agency = shared
        .read(move |db| record::find(db, id, Agency::KIND, id.0)?.ok_or_else(missing)?.read())
        .await?;
    let rules = agency.rules();
    let all = Kind::ALL.iter().flat_map(|kind| DefectClass::ALL.iter().map(move |class| (*kind, *class)));
    let items = all.filter_map(|(kind, class)| rule(&agency, &rules, kind, class)).collect();
    Json::of(&DefectRules { items })
}
