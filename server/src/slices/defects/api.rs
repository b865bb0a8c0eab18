use actix_web::{HttpResponse, http::Method};
use fullset_calc::{
    ratings::Kind,
    release::{DefectClass, Ending, RepairWithin, Ruling, SayUsable, Signature, ruling},
};
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    Defect,
    acts::{CloseDefect, ExtendDefect, NoteDefect},
    ops::ReportDefect,
    retire::RetirePiece,
};
use crate::platform::{
    error::Fault,
    http::{Access, Api, Caller, Doc},
};

/// The defects' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Defect>("/v1/defects");
    api.find::<Defect>("/v1/defects/{id}");
    api.history::<Defect>("/v1/defects/{id}/history");
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
            "What holds for each kind of piece with each class of defect: who may say usable, within which limit, what its return takes",
            Access::Member,
        )
        .answers::<DefectRules>("200", "The table, one row for each kind and class that there can be"),
        defect_rules,
    );
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
    limit: Option<&'static str>,
    /// How long the repair may be put off; null where nobody may use it.
    within: Option<RepairWithin>,
    /// The same in calendar days after the day of discovery.
    repair_by_days: Option<u32>,
    /// Whether the shop must see it.
    shop_must_see: bool,
    /// Whose word its return takes.
    signs: Signature,
    /// How the case ends.
    ending: Ending,
    /// Where this comes from.
    source: &'static str,
}

/// The table.
#[derive(Debug, Serialize, ToSchema)]
struct DefectRules {
    /// Its rows; a kind that cannot have a class has none for it.
    items: Vec<DefectRule>,
}

async fn defect_rules(_caller: Caller) -> Result<HttpResponse, Fault> {
    let all = Kind::ALL.iter().flat_map(|kind| DefectClass::ALL.iter().map(move |class| (*kind, *class)));
    let items = all.filter_map(|(kind, class)| match ruling(kind, class) {
        Ruling::NotApplicable => None,
        Ruling::Applies(rule) => Some(DefectRule {
            kind,
            class,
            words: class.words(),
            usable_by: rule.usable,
            limit: rule.limit,
            within: rule.within,
            repair_by_days: rule.within.map(RepairWithin::days),
            shop_must_see: rule.shop_must_see(),
            signs: rule.signs,
            ending: rule.ending,
            source: rule.source,
        }),
    });
    Ok(HttpResponse::Ok().json(DefectRules { items: items.collect() }))
}
