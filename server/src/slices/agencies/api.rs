use actix_web::http::Method;
use fullset_calc::capability::{Grades, Template};
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    Agency,
    ops::{DecideReleaseRule, EditAgency, FoundAgency, GradeAgency},
};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json},
};

/// The agency's addresses.
pub fn routes(api: &mut Api) {
    api.registry.add::<FoundAgency>();
    api.find::<Agency>("/v1/agency");
    api.history::<Agency>("/v1/agency/history");
    api.act::<EditAgency>(Method::PATCH, "/v1/agency");
    api.act::<GradeAgency>(Method::POST, "/v1/agency/grade");
    api.act::<DecideReleaseRule>(Method::POST, "/v1/agency/release-rule");
    api.other(
        Method::GET,
        "/v1/grade-templates",
        Doc::new(
            "agencies",
            "list_grade_templates",
            "Grades to begin from, each with its source",
            "Grades that an agency can begin from, as data: each names the publication its figures come from. They are not the \
             agency's until it sends `agency.grade`.",
        )
        .answer("The templates"),
        grade_templates,
    );
}

/// Grades to begin from.
#[derive(Debug, Serialize, ToSchema)]
struct GradeTemplate {
    /// Which template it is, as a program names it.
    template: Template,
    /// What people call the template.
    title: &'static str,
    /// Where its figures come from.
    source: &'static str,
    /// The grades to begin from; they count once the agency sends them with `agency.grade`.
    grades: Grades,
}

/// All of them.
#[derive(Debug, Serialize, ToSchema)]
struct GradeTemplates {
    /// All templates that the service comes with.
    items: Vec<GradeTemplate>,
}

async fn grade_templates(_caller: Caller) -> Result<Json<GradeTemplates>, Fault> {
    let items = Template::ALL.iter().map(|template| GradeTemplate {
        template: *template,
        title: template.title(),
        source: template.source(),
        grades: template.grades(),
    });
    Json::of(&GradeTemplates { items: items.collect() })
}
