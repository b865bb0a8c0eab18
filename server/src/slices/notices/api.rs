use actix_web::{http::Method, web};

use super::{
    Notice, NoticeReading,
    ops::{ClearOfNotice, IssueNotice, ReadNotice, SeekForNotice, WithdrawNotice},
    view::{NoticeProgress, progress},
};
use crate::platform::{
    error::{self, Fault},
    http::{Api, Caller, Doc, Json, PathId, Shared},
    record::{self, Record as _},
};

/// The notices' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Notice>("/v1/notices");
    api.find::<Notice>("/v1/notices/{id}");
    api.history::<Notice>("/v1/notices/{id}/history");
    api.other(
        Method::GET,
        "/v1/notices/{id}/pieces",
        Doc::new(
            "notices",
            "show_notice_progress",
            "How far a notice has come",
            "Every piece that the notice is about, or may be about, with what was last said of it. What was looked for and not found stays open.",
        )
        .answer("The pieces")
        .refuses("404", "No such notice in this agency"),
        show,
    );
    api.act::<IssueNotice>(Method::POST, "/v1/notices");
    api.act::<WithdrawNotice>(Method::POST, "/v1/notices/{id}/withdraw");
    api.list::<NoticeReading>("/v1/notice-readings");
    api.find::<NoticeReading>("/v1/notice-readings/{id}");
    api.history::<NoticeReading>("/v1/notice-readings/{id}/history");
    api.act::<ReadNotice>(Method::POST, "/v1/notices/{id}/read");
    api.act::<SeekForNotice>(Method::POST, "/v1/notices/{id}/seek");
    api.act::<ClearOfNotice>(Method::POST, "/v1/notices/{id}/clear");
}

async fn show(shared: web::Data<Shared>, caller: Caller, notice: PathId<Notice>) -> Result<Json<NoticeProgress>, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There is no such notice in this agency");
    let (shared, agency) = (shared.into_inner(), caller.0.agency);
    let found = shared
        .read_current(agency, move |db| {
            let row = record::find(db, agency, Notice::KIND, notice.id)?.ok_or_else(missing)?;
            progress(db, agency, &row.read()?)
        })
        .await?;
    Json::of(&found)
}
