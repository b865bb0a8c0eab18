use std::{collections::BTreeMap, sync::LazyLock};

use actix_web::{Either, FromRequest, HttpRequest, HttpResponse, dev::Payload, http::Method, web};
use base64::Engine as _;
use fullset_calc::units::NumberStyle;
use fullset_register::{CreatePlaces, DateOrder, LookAlikes, Reading, RegisterFile};
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::{
    IntoParams, ToSchema,
    openapi::{Object, path::ParameterIn, schema::Type},
};
use uuid::Uuid;

use super::{
    Import, Report, export,
    load::{AgencyNames, Choices},
    ops::AddImport,
    progress::{self, ImportProgress},
    undo::UndoImport,
};
use crate::{
    platform::{
        door::{Answer, Command, own_body},
        error::{self, Fault},
        http::{Api, Argument, Caller, CommandKey, Created, Doc, Json, MayPlan, Member, PathId, Query, RawBody, Shared, body, refused},
        line::Line,
    },
    slices::effects::{Effects, foresee},
};

/// Files that are being looked at: unpacked, each may hold a hundred megabytes.
static READING: LazyLock<Line> = LazyLock::new(|| Line::new(4, 2));
/// The most that a register file may weigh.
const LIMIT: usize = 8 * 1024 * 1024;

/// The register's addresses.
pub fn routes(api: &mut Api) {
    api.registry.add::<AddImport>();
    api.list::<Import>("/v1/imports");
    api.find::<Import>("/v1/imports/{id}");
    api.history::<Import>("/v1/imports/{id}/history");
    api.act::<UndoImport>(Method::POST, "/v1/imports/{id}/undo");
    api.large(
        Method::POST,
        "/v1/imports",
        LIMIT,
        Doc::new(
            "imports",
            "import_register",
            "Read a file into the register, or show what would happen",
            "Reads a spreadsheet of pieces: CSV in any usual habit, `.xlsx` or `.ods`, told by its bytes. With `dry_run` nothing is written, and the answer has every row's fate and what it would \
             do to the rigs. Without it the rows that can be read are brought in under one command, and the rest are named. Sent with \
             `Idempotency-Key`, it tells under that id how far it is, and so does a dry run.",
        )
        .takes_raw("text/csv", "The file, in any encoding, or a workbook as it is, under any media type")
        .answer("What would happen, or what was read in")
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
        "/v1/imports/{id}/progress",
        Doc::new(
            "imports",
            "show_import_progress",
            "How far an import has come that is being worked on, or a dry run",
            "By the id that the file was sent under, in `Idempotency-Key`, from when the whole file has come until it is answered. It is \
             counted in the memory of the process that works on it and waits for nothing: ask each half second. What is not worked on \
             here is not found: it has not begun, has ended, or another process of the same service works on it.",
        )
        .answer("What is being done, and how many rows are in")
        .refuses("404", "This process works on no import of the agency under this id"),
        show_progress,
    );
    api.other(
        Method::GET,
        "/v1/register.csv",
        Doc::new(
            "imports",
            "export_register",
            "The register as a file that reads back in",
            "All pieces with their models and places, as CSV with the headings that the import knows.",
        )
        .answers_raw("200", "text/csv", "The register"),
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

async fn show_progress(caller: Caller, named: PathId<Import>) -> Result<Json<ImportProgress>, Fault> {
    Json::of(&progress::shown(caller.0.agency, named.id)?)
}

/// What happens to a row.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum Fate {
    /// It becomes a piece.
    New,
    /// The agency has this piece as the row says it.
    Unchanged,
    /// It cannot be read; `words` says why.
    Refused,
    /// It is no piece.
    PassedOver,
}

/// What happens to one row.
#[derive(Debug, Serialize, ToSchema)]
struct RowFate {
    /// The line of the file.
    line: usize,
    /// The piece's tag.
    tag: Option<String>,
    /// What happens to it.
    fate: Fate,
    /// Why, or what it becomes.
    words: String,
    /// The cells of a refused row, left to right, as they stand in the file: to be corrected and read again.
    #[serde(skip_serializing_if = "Option::is_none")]
    cells: Option<Vec<String>>,
}

/// How a file was read, and with a dry run every row's fate.
#[derive(Debug, Serialize, ToSchema)]
struct ImportRun {
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

/// How a file is to be read.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct ImportQuery {
    /// The file's name; `register.csv` unless said.
    file_name: Option<String>,
    /// Nothing is written; the answer shows every row's fate. False unless said.
    #[serde(default)]
    #[param(required = false)]
    dry_run: bool,
    /// `all`: every new rig and station that the file names; `by_evidence`: those that the file bears out.
    #[param(inline)]
    create_places: Option<CreatePlaces>,
    /// For dates whose order their column does not show.
    #[param(inline)]
    date_order: Option<DateOrder>,
    /// Which sheet of a workbook is read, by its name; the first that has a register's headings, unless said.
    sheet: Option<String>,
    /// `point` (1,234.5) or `comma` (1.234,5), for numbers such as 10.500 that may be meant in two ways.
    #[param(inline)]
    number_style: Option<NumberStyle>,
    /// `ask` refuses a row whose tag is easily taken for another one; `apart` says that somebody has looked. `ask` unless said.
    #[param(inline)]
    look_alikes: Option<LookAlikes>,
}

/// What columns hold, by their headings; a column that is passed over has null.
struct Columns(BTreeMap<String, Option<String>>);

/// The header that says it.
const COLUMNS: &str = "X-Fullset-Columns";

impl FromRequest for Columns {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let named = request
            .headers()
            .get(COLUMNS)
            .map(|value| body::parse(value.to_str().unwrap_or_default().as_bytes(), COLUMNS));
        std::future::ready(named.transpose().map(|named| Self(named.unwrap_or_default())))
    }
}

impl Argument for Columns {
    fn describe(doc: &mut Doc) {
        let words = "A JSON object: what a column holds, by its heading; null passes it over";
        doc.parameter(ParameterIn::Header, COLUMNS, words, Object::with_type(Type::String));
    }
}

fn fates(reading: &Reading, file: &RegisterFile) -> Vec<RowFate> {
    let new = reading.rows.iter().map(|row| RowFate {
        line: row.line,
        tag: Some(row.tag.clone()),
        fate: Fate::New,
        words: format!("{}, {}", row.kind.word(), row.state.word()),
        cells: None,
    });
    let refused = reading.refused.iter().map(|row| RowFate {
        line: row.line,
        tag: row.tag.clone(),
        fate: Fate::Refused,
        words: row.reason.clone(),
        cells: file.cells(row.line),
    });
    let unchanged = reading.unchanged.iter().map(|row| RowFate {
        line: row.line,
        tag: Some(row.tag.clone()),
        fate: Fate::Unchanged,
        words: "already in the register, without a difference".into(),
        cells: None,
    });
    let passed = reading.passed_over.iter().map(|row| RowFate {
        line: row.line,
        tag: None,
        fate: Fate::PassedOver,
        words: row.why.clone(),
        cells: None,
    });
    let mut fates: Vec<RowFate> = new.chain(unchanged).chain(refused).chain(passed).collect();
    fates.sort_by_key(|fate| fate.line);
    fates
}

/// The command that reads a file in.
fn command(id: Uuid, file_name: Option<String>, bytes: &[u8], choices: &Choices) -> Result<Command, Fault> {
    let body = own_body(&json!({
        "id": id,
        "file_name": file_name.unwrap_or_else(|| "register.csv".into()),
        "file": base64::engine::general_purpose::STANDARD.encode(bytes),
        "choices": choices,
    }))?;
    Ok(Command {
        id,
        kind: "import.add".into(),
        at: None,
        expects: None,
        after: None,
        by: None,
        body,
    })
}

async fn import(
    shared: web::Data<Shared>,
    member: Member<MayPlan>,
    key: CommandKey,
    Columns(columns): Columns,
    asked: Query<ImportQuery>,
    RawBody(bytes): RawBody,
) -> Result<Either<Either<Json<ImportRun>, Created<ImportRun>>, HttpResponse>, Fault> {
    let actor = member.actor;
    let asked = asked.into_inner();
    let choices = Choices {
        columns,
        sheet: asked.sheet,
        date_order: asked.date_order,
        number_style: asked.number_style,
        create_places: asked.create_places.unwrap_or_default(),
        look_alikes: asked.look_alikes.unwrap_or_default(),
    };
    let shared = shared.into_inner();
    let id = key.0.filter(|_| !asked.dry_run).unwrap_or_else(Uuid::now_v7);
    // A dry run is told of under its key, which is not spent by it.
    let _run = progress::begin(actor.agency, key.0.unwrap_or(id), id, asked.dry_run);
    let command = command(id, asked.file_name, &bytes, &choices)?;
    if asked.dry_run {
        let now = shared.clock.now();
        let agency = actor.agency;
        let place = READING
            .take(actor.sender().unwrap_or_default())
            .map_err(|_| Fault::new(error::SLOW_DOWN, "Other files are being looked at just now; send this one again in a moment").again_in(2))?;
        let file = web::block(move || choices.parse(&bytes)).await.map_err(anyhow::Error::from)??;
        drop(place);
        let mut shown = shared
            .read(move |db| {
                let reading = AgencyNames::load(db, agency, now)?.read(&file);
                Ok(ImportRun {
                    id: None,
                    dry_run: true,
                    report: Report::from(&reading),
                    effects: None,
                    rows: fates(&reading, &file),
                })
            })
            .await?;
        if shown.report.accepted > 0 {
            shown.effects = Some(foresee(&shared, actor, vec![command]).await?.without_pieces());
        }
        return Ok(Either::Left(Either::Left(Json::of(&shown)?)));
    }
    let mut batch = shared.door.send(actor, None, vec![command]).await?;
    let answer: Answer = batch.answers.pop().ok_or_else(|| anyhow::anyhow!("a command without an answer"))?;
    match (answer.record, answer.problem) {
        (Some(record), _) => {
            let import: Import = serde_json::from_str(record.get())?;
            let run = ImportRun {
                id: Some(import.id.0),
                dry_run: false,
                report: import.report,
                effects: None,
                rows: Vec::new(),
            };
            Ok(Either::Left(Either::Right(Created::of(&run)?)))
        }
        (None, Some(problem)) => Ok(Either::Right(refused(problem))),
        (None, None) => Err(anyhow::anyhow!("an import without an answer").into()),
    }
}
