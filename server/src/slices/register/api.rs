use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use base64::Engine as _;
use fullset_calc::units::NumberStyle;
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::{ToSchema, openapi::path::ParameterIn};
use uuid::Uuid;

use super::{
    RegisterImport, Report, export,
    ops::{Choices, Held, ImportRegister},
    reading::Reading,
    undo::UndoImport,
};
use crate::{
    platform::{
        door::{Answer, Command, Permission, own_body},
        error::{self, Fault},
        http::{Access, Api, Caller, Doc, RawBody, Shared, body, command_key},
    },
    slices::effects::{Effects, foresee},
};

/// The most that a register file may weigh.
const LIMIT: usize = 8 * 1024 * 1024;

/// The register's addresses.
pub fn routes(api: &mut Api) {
    api.registry.add::<ImportRegister>();
    api.list::<RegisterImport>("/v1/imports");
    api.find::<RegisterImport>("/v1/imports/{id}");
    api.history::<RegisterImport>("/v1/imports/{id}/history");
    api.act::<UndoImport>(Method::POST, "/v1/imports/{id}/undo");
    api.large(
        Method::POST,
        "/v1/imports",
        LIMIT,
        Doc::new(
            "imports",
            "import_register",
            "Read a file into the register, or show what would happen",
            Access::Member,
        )
        .parameter(ParameterIn::Query, "file_name", false, "The file's name")
        .parameter(
            ParameterIn::Query,
            "dry_run",
            false,
            "`true`: nothing is written, the answer shows every row's fate",
        )
        .parameter(
            ParameterIn::Query,
            "create_places",
            false,
            "`all`: every new rig and station that the file names; `by_evidence`: those that the file bears out",
        )
        .parameter(
            ParameterIn::Query,
            "date_order",
            false,
            "`month first` or `day first`, for dates whose order the file does not show",
        )
        .parameter(
            ParameterIn::Query,
            "number_style",
            false,
            "`point` (1,234.5) or `comma` (1.234,5), for numbers such as 10.500 that may be meant in two ways",
        )
        .parameter(
            ParameterIn::Header,
            "X-Fullset-Columns",
            false,
            "JSON object: what a column holds, by its heading; null passes it over",
        )
        .parameter(
            ParameterIn::Header,
            "Idempotency-Key",
            false,
            "The command's id: a UUIDv7 that the client makes. Sent again, it acts once.",
        )
        .takes_raw("text/csv", "The file, in any encoding")
        .answers::<Shown>("200", "What would happen")
        .answers::<Shown>("201", "What was read in")
        .refuses("400", "A parameter cannot be read")
        .refuses("403", "The member's role does not allow it")
        .refuses("409", "This id was used before with another file")
        .refuses("413", "The file is too large")
        .refuses("422", "The file cannot be read as a register")
        .refuses("503", "Try again in a moment"),
        import,
    );
    api.other(
        Method::GET,
        "/v1/register.csv",
        Doc::new("imports", "export_register", "The register as a file that reads back in", Access::Member).answers_raw("200", "text/csv", "The register"),
        download,
    );
}

async fn download(shared: web::Data<Shared>, caller: Caller) -> Result<HttpResponse, Fault> {
    let agency = caller.0.agency;
    let text = shared.into_inner().read(move |db| export(db, agency)).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header(("Content-Disposition", "attachment; filename=\"register.csv\""))
        .insert_header(("Cache-Control", "no-store"))
        .body(text))
}

/// What happens to one row.
#[derive(Debug, Serialize, ToSchema)]
struct RowFate {
    /// The line of the file.
    line: usize,
    /// The piece's tag.
    tag: Option<String>,
    /// `new`, `refused` or `passed_over`.
    #[schema(value_type = String)]
    fate: &'static str,
    /// Why, or what it becomes.
    words: String,
}

/// How a file was read, and with a dry run every row's fate.
#[derive(Debug, Serialize, ToSchema)]
struct Shown {
    /// The import, once it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<Uuid>,
    /// Whether nothing was written.
    dry_run: bool,
    /// How it was read.
    #[serde(flatten)]
    report: Report,
    /// What it would do to the rigs and the board, with a dry run; null where nothing would be brought in.
    #[serde(skip_serializing_if = "Option::is_none")]
    effects: Option<Effects>,
    /// Every row, with a dry run.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rows: Vec<RowFate>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    file_name: Option<String>,
    #[serde(default)]
    dry_run: bool,
    create_places: Option<super::CreatePlaces>,
    date_order: Option<super::DateOrder>,
    number_style: Option<NumberStyle>,
}

fn fates(reading: &Reading) -> Vec<RowFate> {
    let new = reading.rows.iter().map(|row| RowFate {
        line: row.line,
        tag: Some(row.tag.clone()),
        fate: "new",
        words: format!("{}, {}", row.kind.word(), row.state.word()),
    });
    let refused = reading.refused.iter().map(|row| RowFate {
        line: row.line,
        tag: row.tag.clone(),
        fate: "refused",
        words: row.reason.clone(),
    });
    let passed = reading.passed_over.iter().map(|row| RowFate {
        line: row.line,
        tag: None,
        fate: "passed_over",
        words: row.why.clone(),
    });
    let mut fates: Vec<RowFate> = new.chain(refused).chain(passed).collect();
    fates.sort_by_key(|fate| fate.line);
    fates
}

/// The command that reads a file in.
fn command(id: Uuid, file_name: Option<String>, bytes: &[u8], choices: &Choices) -> Result<Command, Fault> {
    let body = own_body(&json!({
        "id": id,
        "file_name": file_name.unwrap_or_else(|| "register.csv".into()),
        "file": base64::engine::general_purpose::STANDARD.encode(bytes),
        "choices": {
            "columns": choices.columns, "date_order": choices.date_order, "number_style": choices.number_style,
            "create_places": choices.create_places,
        },
    }))?;
    Ok(Command {
        id,
        kind: "register.import".into(),
        at: None,
        expects: None,
        after: None,
        by: None,
        body,
    })
}

async fn import(
    request: HttpRequest,
    shared: web::Data<Shared>,
    caller: Caller,
    asked: web::Query<Asked>,
    RawBody(bytes): RawBody,
) -> Result<HttpResponse, Fault> {
    let actor = caller.0;
    if !actor.role.grants(Permission::Plan) {
        return Err(Fault::new(
            error::NOT_ALLOWED,
            format!("The role '{}' may not import; ask the coordinator", actor.role),
        ));
    }
    let header = |name: &str| request.headers().get(name).map(|value| value.to_str().unwrap_or_default().to_owned());
    let columns = match header("X-Fullset-Columns") {
        Some(text) => body::parse(text.as_bytes(), "X-Fullset-Columns")?,
        None => std::collections::BTreeMap::new(),
    };
    let asked = asked.into_inner();
    let choices = Choices {
        columns,
        date_order: asked.date_order,
        number_style: asked.number_style,
        create_places: asked.create_places.unwrap_or_default(),
    };
    let shared = shared.into_inner();
    let id = match header("Idempotency-Key") {
        Some(key) if !asked.dry_run => command_key(&key)?,
        _ => Uuid::now_v7(),
    };
    let command = command(id, asked.file_name, &bytes, &choices)?;
    if asked.dry_run {
        let now = shared.clock.now();
        let agency = actor.agency;
        let mut shown = shared
            .read(move |db| {
                let reading = Held::load(db, agency, now)?.read(&bytes, &choices)?;
                Ok(Shown {
                    id: None,
                    dry_run: true,
                    report: Report::from(&reading),
                    effects: None,
                    rows: fates(&reading),
                })
            })
            .await?;
        if shown.report.accepted > 0 {
            shown.effects = Some(foresee(&shared, actor, vec![command]).await?.without_pieces());
        }
        return Ok(HttpResponse::Ok().json(shown));
    }
    let mut batch = shared.door.send(actor, None, vec![command]).await?;
    let answer: Answer = batch.answers.pop().ok_or_else(|| anyhow::anyhow!("a command without an answer"))?;
    match (answer.record, answer.problem) {
        (Some(record), _) => {
            let import: RegisterImport = serde_json::from_str(record.get())?;
            Ok(HttpResponse::Created().json(Shown {
                id: Some(import.id.0),
                dry_run: false,
                report: import.report,
                effects: None,
                rows: Vec::new(),
            }))
        }
        (None, Some(problem)) => Ok(HttpResponse::build(actix_web::http::StatusCode::from_u16(problem.status).unwrap_or_default())
            .content_type("application/problem+json")
            .body(serde_json::to_string(&problem)?)),
        (None, None) => Err(anyhow::anyhow!("an import without an answer").into()),
    }
}
