use std::{io::Write as _, path::PathBuf};

use anyhow::Context as _;
use base64::Engine as _;
use clap::{Args, Subcommand};
use fullset_calc::units::NumberStyle;
use fullset_register::{CreatePlaces, DateOrder, LookAlikes};
use serde_json::json;
use uuid::Uuid;

use super::{
    Database,
    keep::{explain, operator, send, which},
    runtime,
};
use crate::{
    app,
    platform::{
        clock::Clock,
        db::{Access, Db},
    },
    slices::imports::{self, AgencyNames, Choices, Import, Report},
};

/// Read a file into the register
#[derive(Debug, Subcommand)]
pub enum ImportKind {
    /// Read a register file (CSV of any usual kind, .xlsx or .ods)
    Register(RegisterFile),
}

/// Read a register file
#[derive(Debug, Args)]
pub struct RegisterFile {
    #[command(flatten)]
    database: Database,
    /// The file
    file: PathBuf,
    /// The agency, where several are kept
    #[arg(long)]
    agency: Option<String>,
    /// Write nothing; show what would happen
    #[arg(long)]
    dry_run: bool,
    /// Print the report as JSON: `accepted`, `refused` with `line`, `column`, `code`, `reason`, `hint`, and more
    #[arg(long)]
    json: bool,
    /// Bring in every new rig and station that the file names
    #[arg(long)]
    create_places: bool,
    /// How numbers such as 10.500 are meant, where the file does not show it
    #[arg(long, value_name = "point|comma", value_parser = number_style)]
    number_style: Option<NumberStyle>,
    /// The sheet of a workbook, by its name; the first that has a register's headings, unless said
    #[arg(long)]
    sheet: Option<String>,
    /// Which comes first in dates such as 6/7/2025, where their column does not show it
    #[arg(long, value_name = "day|month", value_parser = date_order)]
    date_order: Option<DateOrder>,
    /// Tags that look alike (HT-1O01, HT-1001) are pieces apart: somebody has looked
    #[arg(long)]
    look_alikes_apart: bool,
    /// What a column holds, as HEADING=FIELD; nothing after the sign passes it over; may be said again
    #[arg(long = "column", value_name = "HEADING=FIELD")]
    columns: Vec<String>,
}

impl ImportKind {
    pub fn run(self) -> anyhow::Result<()> {
        let Self::Register(import) = self;
        import.run()
    }
}

impl RegisterFile {
    fn run(self) -> anyhow::Result<()> {
        let bytes = std::fs::read(&self.file).with_context(|| format!("cannot read {}", self.file.display()))?;
        let location = &self.database.database;
        let agency = which(location, self.agency.as_deref())?;
        let mut columns = std::collections::BTreeMap::new();
        for column in &self.columns {
            let (heading, field) = column.rsplit_once('=').with_context(|| format!("--column {column}: write HEADING=FIELD"))?;
            columns.insert(heading.to_owned(), (!field.is_empty()).then(|| field.to_owned()));
        }
        let create_places = if self.create_places { CreatePlaces::All } else { CreatePlaces::ByEvidence };
        let look_alikes = if self.look_alikes_apart { LookAlikes::Apart } else { LookAlikes::Ask };
        let choices = Choices {
            columns,
            sheet: self.sheet,
            date_order: self.date_order,
            number_style: self.number_style,
            create_places,
            look_alikes,
        };
        let report = if self.dry_run {
            let parsed = choices.parse(&bytes).map_err(|fault| explain(&fault))?;
            let mut db = Db::open(location, Access::Read)?;
            let now = Clock::system().now();
            let reading = db
                .transaction(Access::Read, |db| Ok(AgencyNames::load(db, agency, now)?.read(&parsed)))
                .map_err(|fault| explain(&fault))?;
            Report::from(&reading)
        } else {
            let body = json!({
                "id": Uuid::now_v7(),
                "file_name": self.file.file_name().map_or_else(|| "register.csv".into(), |name| name.to_string_lossy().into_owned()),
                "file": base64::engine::general_purpose::STANDARD.encode(&bytes),
                "choices": choices,
            });
            let answers = runtime()?.block_on(async {
                let door = app::door(location, Clock::system())?;
                send(&door, &operator(agency), vec![("import.add", body)]).await
            })?;
            let record = answers
                .into_iter()
                .next()
                .and_then(|answer| answer.record)
                .context("the import was not answered")?;
            serde_json::from_str::<Import>(record.get())?.report
        };
        if self.json {
            println!("{}", serde_json::to_string_pretty(&report)?);
        } else {
            say(&report, self.dry_run);
        }
        Ok(())
    }
}

fn date_order(text: &str) -> Result<DateOrder, String> {
    match text {
        "day" => Ok(DateOrder::DayFirst),
        "month" => Ok(DateOrder::MonthFirst),
        _ => Err("write day (19/6/2025) or month (6/19/2025)".into()),
    }
}

fn number_style(text: &str) -> Result<NumberStyle, String> {
    match text {
        "point" => Ok(NumberStyle::Point),
        "comma" => Ok(NumberStyle::Comma),
        _ => Err(format!(
            "write point ({}) or comma ({})",
            NumberStyle::Point.example(),
            NumberStyle::Comma.example()
        )),
    }
}

fn say(report: &Report, dry_run: bool) {
    let would = if dry_run { "would be " } else { "" };
    println!(
        "{} pieces {would}read in, {} of them out of service; {} are there already; {} rows {would}refused.",
        report.accepted,
        report.out_of_service,
        report.unchanged,
        report.refused.len()
    );
    let creates = report.creates;
    println!(
        "New: {} districts, {} stations, {} rigs, {} shops, {} couplings, {} models.",
        creates.districts, creates.stations, creates.rigs, creates.shops, creates.couplings, creates.models
    );
    if report.open_numbers > 0 {
        println!("{} numbers may be meant in two ways; say --number-style point or comma.", report.open_numbers);
    }
    if report.open_dates > 0 {
        println!("{} dates may be meant in two ways; say --date-order day or month.", report.open_dates);
    }
    for row in &report.refused {
        let column = row.column.as_ref().map(|column| format!(", {column}")).unwrap_or_default();
        let hint = row.hint.as_ref().map(|hint| format!(" ({hint})")).unwrap_or_default();
        println!("  line {}{column}: {}{hint}", row.line, row.reason);
    }
    for note in &report.notes {
        match note.line {
            Some(line) => println!("  note, line {line}: {}", note.words),
            None => println!("  note: {}", note.words),
        }
    }
}

/// Write the register as a file
#[derive(Debug, Subcommand)]
pub enum Export {
    /// Write the register as CSV to standard output or a file
    Register(ExportRegister),
}

/// Write the register as CSV
#[derive(Debug, Args)]
pub struct ExportRegister {
    #[command(flatten)]
    database: Database,
    /// The agency, where several are kept
    #[arg(long)]
    agency: Option<String>,
    /// The file; standard output, unless said
    #[arg(long)]
    output: Option<PathBuf>,
}

impl Export {
    pub fn run(self) -> anyhow::Result<()> {
        let Self::Register(export) = self;
        let location = &export.database.database;
        let agency = which(location, export.agency.as_deref())?;
        let text = Db::open(location, Access::Read)?
            .transaction(Access::Read, |db| imports::export(db, agency))
            .map_err(|fault| explain(&fault))?;
        match export.output {
            Some(path) => std::fs::write(&path, text).with_context(|| format!("cannot write {}", path.display())),
            None => Ok(std::io::stdout().write_all(text.as_bytes())?),
        }
    }
}
