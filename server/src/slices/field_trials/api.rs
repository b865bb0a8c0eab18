use actix_web::{http::Method, web};

use super::{
    FieldTrial, TrialAnswer, TrialReading,
    acts::{AddTrialReading, HandInTrialAnswers, StrikeTrialReading},
    ops::{CloseFieldTrial, InviteToFieldTrial, OpenFieldTrial, WithdrawFieldTrial},
    rules::Reader,
    view::{FieldTrialResult, result},
};
use crate::platform::{
    door::Permission,
    error::Fault,
    http::{Api, Caller, Doc, Json, PathId, Shared},
    record::{self, Record as _},
};

/// The addresses of field trials.
pub fn routes(api: &mut Api) {
    api.list::<FieldTrial>("/v1/field-trials");
    api.find::<FieldTrial>("/v1/field-trials/{id}");
    api.history::<FieldTrial>("/v1/field-trials/{id}/history");
    api.other(
        Method::GET,
        "/v1/field-trials/{id}/result",
        Doc::new(
            "field-trials",
            "show_field_trial_result",
            "What a field trial comes to, with its spread and where evaluators see it differently",
            "For each candidate the weighted mean of each evaluator's answers, their median with quartiles, lowest and highest, every answer, and \
             the readings with mean and sample standard deviation. A candidate stands ahead of another only where it does so whichever one \
             evaluator is left out and whatever the missing answers would have been. While the trial is open an evaluator sees others' answers \
             once he has handed in his own about each candidate; who keeps the programme of the whole agency and does not answer himself sees \
             them; anybody else, programs and shared tablets too, when it is closed.",
        )
        .answer("What it comes to; without answers, and with the reason, for a reader who may not see them yet"),
        show,
    );
    api.act::<OpenFieldTrial>(Method::POST, "/v1/field-trials");
    api.act::<InviteToFieldTrial>(Method::POST, "/v1/field-trials/{id}/invite");
    api.act::<HandInTrialAnswers>(Method::POST, "/v1/field-trials/{id}/hand-in");
    api.act::<CloseFieldTrial>(Method::POST, "/v1/field-trials/{id}/close");
    api.act::<WithdrawFieldTrial>(Method::POST, "/v1/field-trials/{id}/withdraw");
    api.list::<TrialAnswer>("/v1/trial-answers");
    api.find::<TrialAnswer>("/v1/trial-answers/{id}");
    api.history::<TrialAnswer>("/v1/trial-answers/{id}/history");
    api.list::<TrialReading>("/v1/trial-readings");
    api.find::<TrialReading>("/v1/trial-readings/{id}");
    api.history::<TrialReading>("/v1/trial-readings/{id}/history");
    api.act::<AddTrialReading>(Method::POST, "/v1/trial-readings");
    api.act::<StrikeTrialReading>(Method::POST, "/v1/trial-readings/{id}/strike");
}

async fn show(shared: web::Data<Shared>, caller: Caller, trial: PathId<FieldTrial>) -> Result<Json<FieldTrialResult>, Fault> {
    let (shared, actor) = (shared.into_inner(), caller.0);
    let reader = Reader {
        member: actor.member,
        plans: actor.role.grants(Permission::Plan) && !actor.is_bounded(),
    };
    let found = shared
        .read_current(actor.agency, move |db| {
            let row = record::find(db, actor.agency, FieldTrial::KIND, trial.id)?.ok_or_else(PathId::<FieldTrial>::missing)?;
            result(db, actor.agency, &row.read()?, reader)
        })
        .await?;
    Json::of(&found)
}
