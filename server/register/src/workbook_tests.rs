//! Workbooks made by hand, part by part, for what a library that writes them would not: cells in far corners, repeated blanks, bombs.
//! Workbooks that other programs write are read in tests/outside/workbooks.rs.

use std::io::Write as _;

use zip::{CompressionMethod, ZipWriter, write::SimpleFileOptions};

use super::*;
use crate::{KnownRegister, Options, Reading, RegisterFile, reading_tests::today};

fn packed(files: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in files {
        zip.start_file(*name, SimpleFileOptions::default().compression_method(CompressionMethod::Deflated))
            .unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A workbook of one sheet from the XML of its rows.
fn xlsx(rows: &str) -> Vec<u8> {
    xlsx_of(&[("Register", "", rows)])
}

/// Sheets as name, an attribute of the sheet, and rows.
fn xlsx_of(sheets: &[(&str, &str, &str)]) -> Vec<u8> {
    const MAIN: &str = r#"xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main""#;
    const REL: &str = r#"xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships""#;
    const RELS: &str = r#"xmlns="http://schemas.openxmlformats.org/package/2006/relationships""#;
    const KIND: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let (mut listed, mut related, mut parts) = (String::new(), String::new(), Vec::new());
    for (n, (name, more, rows)) in sheets.iter().enumerate() {
        listed += &format!(r#"<sheet name="{name}" sheetId="{}" {more} r:id="r{n}"/>"#, n + 1);
        related += &format!(r#"<Relationship Id="r{n}" Type="{KIND}/worksheet" Target="worksheets/s{n}.xml"/>"#);
        parts.push((
            format!("xl/worksheets/s{n}.xml"),
            format!("<worksheet {MAIN}><sheetData>{rows}</sheetData></worksheet>"),
        ));
    }
    related += &format!(r#"<Relationship Id="st" Type="{KIND}/styles" Target="styles.xml"/>"#);
    let book = format!("<workbook {MAIN} {REL}><sheets>{listed}</sheets></workbook>");
    let related = format!("<Relationships {RELS}>{related}</Relationships>");
    // Style 1 is a date.
    let styles = format!(r#"<styleSheet {MAIN}><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>"#);
    let first = format!(r#"<Relationships {RELS}><Relationship Id="b" Type="{KIND}/officeDocument" Target="xl/workbook.xml"/></Relationships>"#);
    let mut files = vec![
        ("[Content_Types].xml", "<Types/>"),
        ("_rels/.rels", first.as_str()),
        ("xl/workbook.xml", book.as_str()),
        ("xl/_rels/workbook.xml.rels", related.as_str()),
        ("xl/styles.xml", styles.as_str()),
    ];
    files.extend(parts.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    packed(&files)
}

fn text_cell(at: &str, text: &str) -> String {
    format!(r#"<c r="{at}" t="inlineStr"><is><t>{text}</t></is></c>"#)
}

const COLUMNS: &str = "ABCDEFGHIJ";

/// A row of texts; what begins with `<c` is a cell as it is.
fn row(line: usize, cells: &[&str]) -> String {
    let cell = |(text, column): (&&str, char)| {
        if text.starts_with("<c") {
            (*text).to_owned()
        } else {
            text_cell(&format!("{column}{line}"), text)
        }
    };
    let cells: String = cells.iter().zip(COLUMNS.chars()).map(cell).collect();
    format!(r#"<row r="{line}">{cells}</row>"#)
}

fn ods(tables: &str) -> Vec<u8> {
    let content = format!(
        r#"<office:document-content xmlns:office="o" xmlns:table="t" xmlns:text="x" xmlns:style="s">
        <office:automatic-styles><style:style style:name="gone" style:family="table"><style:table-properties table:display="false"/></style:style></office:automatic-styles>
        <office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"#
    );
    packed(&[("mimetype", "application/vnd.oasis.opendocument.spreadsheet"), ("content.xml", &content)])
}

fn sheet(bytes: &[u8]) -> Result<Sheet, Fault> {
    Book::of(bytes).unwrap().read(bytes, None, |records| {
        records.iter().any(|record| record.cells.iter().any(|cell| cell == "Asset tag"))
    })
}

fn cells(bytes: &[u8]) -> Vec<(usize, Vec<String>)> {
    sheet(bytes).unwrap().records.into_iter().map(|record| (record.line, record.cells)).collect()
}

fn read(bytes: &[u8]) -> Reading {
    RegisterFile::parse(bytes, Options::default())
        .unwrap()
        .against(&KnownRegister::default(), today())
}

const HEADS: &[&str] = &[
    "Asset tag",
    "Kind",
    "Model",
    "Serial",
    "Assigned to",
    "Station",
    "District",
    "Status",
    "In service since",
    "Length",
];

fn exact(text: &str) -> String {
    text.replace('.', &EXACT.to_string())
}

#[test]
fn a_number_is_exact_and_shows_no_style() {
    let length = |value: &str| format!(r#"<c r="J2"><v>{value}</v></c>"#);
    let since = r#"<c r="I2" s="1"><v>43671</v></c>"#;
    for (value, inches) in [("110.5", "110.5"), ("108.09999999999999", "108.1"), ("110.125", "110.125"), ("360", "360")] {
        let heads: Vec<&str> = HEADS[..9].iter().copied().chain(["Length (in)"]).collect();
        let hose = length(value);
        let line = row(2, &["HT-1", "hose", "A", "S1", "Station 1 reserve", "1", "1", "in service", since, &hose]);
        let bytes = xlsx(&(row(1, &heads) + &line));
        assert_eq!(cells(&bytes)[1].1[9], exact(inches));
        let reading = read(&bytes);
        assert_eq!((reading.encoding, reading.delimiter, reading.open_numbers), (Encoding::Xlsx, None, 0));
        let refused: Vec<_> = reading.refused.iter().map(|row| &row.reason).collect();
        assert_eq!((reading.rows.len(), refused), (1, vec![]));
        assert_eq!(
            reading.rows[0].in_service_since.unwrap().to_string(),
            "2019-07-25",
            "43671 days after 1899-12-30"
        );
    }
}

#[test]
fn what_a_spreadsheet_made_of_a_tag_or_serial_is_refused() {
    let serial = |cell: &str| row(2, &["HT-1", "hose", "A", cell, "Station 1 reserve", "1", "1", "in service"]);
    let cases = [
        (r#"<c r="D2"><v>1003</v></c>"#, None),
        (r#"<c r="D2"><v>1.2345678901234501E+17</v></c>"#, Some("eaten-by-spreadsheet")),
        (r#"<c r="D2" s="1"><v>43671</v></c>"#, Some("eaten-by-spreadsheet")),
        (r#"<c r="D2" t="e"><v>#REF!</v></c>"#, Some("eaten-by-spreadsheet")),
    ];
    for (cell, code) in cases {
        let reading = read(&xlsx(&(row(1, &HEADS[..8]) + &serial(cell))));
        assert_eq!(reading.refused.first().map(|row| row.code), code, "{cell}: {:?}", reading.refused);
        if code.is_none() {
            assert_eq!(reading.rows[0].serial.as_deref(), Some("1003"));
        }
    }
}

#[test]
fn a_cell_in_the_last_corner_costs_nothing_and_is_said() {
    let far = row(1, HEADS) + r#"<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>"#;
    assert_eq!(sheet(&xlsx(&far)).unwrap_err().code, "workbook-too-large");
    // One without anything in it is not there.
    let blank = row(1, HEADS) + r#"<row r="1048576"><c r="XFD1048576" s="1"/></row>"#;
    assert_eq!(cells(&xlsx(&blank)).len(), 1);
    let repeated = r#"<table:table table:name="R"><table:table-row><table:table-cell><text:p>Asset tag</text:p></table:table-cell>
        <table:table-cell table:number-columns-repeated="16383"/></table:table-row>
        <table:table-row table:number-rows-repeated="1048574"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>
        <table:table-row><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>"#;
    assert_eq!(cells(&ods(repeated)), [(1, vec!["Asset tag".to_owned()])]);
    for (rows, columns) in [(1_000_000, 1), (1, 16_000), (usize::MAX, usize::MAX)] {
        let table = format!(
            r#"<table:table table:name="R"><table:table-row table:number-rows-repeated="{rows}"><table:table-cell table:number-columns-repeated="{columns}"><text:p>x</text:p></table:table-cell></table:table-row></table:table>"#
        );
        assert_eq!(sheet(&ods(&table)).unwrap_err().code, "workbook-too-large", "{rows} × {columns}");
    }
}

#[test]
fn a_bomb_is_refused_before_it_is_unpacked() {
    let blanks = " ".repeat(70 * 1024 * 1024);
    let bytes = packed(&[("[Content_Types].xml", "<Types/>"), ("xl/sharedStrings.xml", &blanks)]);
    assert!(bytes.len() < 200_000, "{}", bytes.len());
    assert_eq!(sheet(&bytes).unwrap_err().code, "workbook-too-large");
    let deep = format!("<table:table table:name=\"R\">{}", "<a>".repeat(100_000));
    assert_eq!(sheet(&ods(&deep)).unwrap_err().code, "workbook-unreadable");
}

#[test]
fn a_text_that_stands_in_very_many_cells_is_refused_and_never_held() {
    let text = "x".repeat(100_000);
    let line = |rows: usize, columns: usize, text: &str| {
        format!(
            r#"<table:table-row table:number-rows-repeated="{rows}"><table:table-cell table:number-columns-repeated="{columns}"><text:p>{text}</text:p></table:table-cell></table:table-row>"#
        )
    };
    let table = |rows: &str| format!(r#"<table:table table:name="R">{rows}</table:table>"#);
    for rows in [line(50_000, 1, &text), line(1, 390, &text.repeat(10)), line(50_000, 390, "x")] {
        assert_eq!(sheet(&ods(&table(&rows))).unwrap_err().code, "workbook-too-large");
    }
    // Over several sheets, each of which would do.
    let sheets = table(&line(900, 1, &text)).repeat(2);
    assert_eq!(sheet(&ods(&sheets)).unwrap_err().code, "workbook-too-large");
    assert_eq!(cells(&ods(&table(&line(900, 1, &text)))).len(), 900);
    // Blanks before a far cell, and merged cells that cover each other.
    let far: String = (1..=30_000)
        .map(|line| format!(r#"<row r="{line}"><c r="OA{line}"><v>1</v></c></row>"#))
        .collect();
    assert_eq!(sheet(&xlsx(&far)).unwrap_err().code, "workbook-too-large");
    let spanned = r#"<table:table-row><table:table-cell table:number-rows-spanned="3000"><text:p>x</text:p></table:table-cell></table:table-row>"#;
    assert_eq!(sheet(&ods(&table(&spanned.repeat(3_000)))).unwrap_err().code, "workbook-too-large");
}

#[test]
fn what_is_no_workbook_says_what_to_do() {
    let cases: [(&[u8], &str); 4] = [
        (&[0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1], "old-workbook"),
        (b"PK\x03\x04 and nothing else", "no-workbook"),
        (&packed(&[("[Content_Types].xml", "<Types")]), "workbook-unreadable"),
        (&packed(&[("content.xml", "<office:document-content>&unknown;")]), "workbook-unreadable"),
    ];
    for (bytes, code) in cases {
        let fault = RegisterFile::parse(bytes, Options::default()).unwrap_err();
        assert_eq!(fault.code, code, "{}", fault.reason);
        assert!(fault.hint.is_some());
    }
    assert_eq!(Book::of(b"Asset tag,Kind\n"), None);
}

#[test]
fn the_sheet_that_looks_like_a_register_is_read_and_the_others_are_named() {
    let register = |tag: &str| row(1, &HEADS[..8]) + &row(2, &[tag, "hose", "A", "S1", "Station 1 reserve", "1", "1", "in service"]);
    let notes = row(1, &["Ask the shop about the ram"]);
    let (one, two, old) = (register("HT-1"), register("HT-2"), register("HT-9"));
    let bytes = xlsx_of(&[
        ("Notes", "", &notes),
        ("North", "", &one),
        ("Old", r#"state="hidden""#, &old),
        ("South", "", &two),
    ]);
    let reading = read(&bytes);
    assert_eq!((reading.sheet.as_deref(), reading.rows[0].tag.as_str()), (Some("North"), "HT-1"));
    assert_eq!(reading.other_sheets, ["Notes", "South"]);
    let said: Vec<&str> = reading.notes.iter().map(|note| note.words.as_str()).collect();
    assert!(
        said.iter()
            .any(|words| words.contains("only the sheet “North” was read") && words.contains("“South”")),
        "{said:?}"
    );
    let chosen = |name: &str| {
        let options = Options {
            sheet: Some(name.to_owned()),
            ..Options::default()
        };
        RegisterFile::parse(&bytes, options).map(|file| file.against(&KnownRegister::default(), today()))
    };
    assert_eq!(chosen("South").unwrap().rows[0].tag, "HT-2");
    for hidden_or_missing in ["Old", "East"] {
        let fault = chosen(hidden_or_missing).unwrap_err();
        assert_eq!(fault.code, "no-such-sheet");
        assert_eq!(fault.hint.unwrap(), "choose one of: \"Notes\", \"North\", \"South\"");
    }
    let shown = r#"<table:table table:name="Old" table:style-name="gone"><table:table-row><table:table-cell><text:p>Asset tag</text:p></table:table-cell></table:table-row></table:table>
        <table:table table:name="Now"><table:table-row><table:table-cell><text:p>Asset tag</text:p></table:table-cell></table:table-row></table:table>"#;
    let sheet = sheet(&ods(shown)).unwrap();
    assert_eq!((sheet.name.as_deref(), sheet.others.as_slice()), (Some("Now"), &[][..]));
}

#[test]
fn an_ods_cell_says_what_it_is() {
    let cell = |more: &str, inner: &str| format!("<table:table-cell {more}>{inner}</table:table-cell>");
    let cells_of = [
        cell(r#"office:value-type="float" office:value="10.125""#, "<text:p>10,125</text:p>"),
        cell(r#"office:value-type="date" office:date-value="2019-07-25T00:00:00""#, "<text:p>25.07.19</text:p>"),
        cell(r#"office:value-type="boolean" office:boolean-value="true""#, "<text:p>TRUE</text:p>"),
        cell(
            r#"office:value-type="string""#,
            r#"<office:annotation><text:p>lent to Ann</text:p></office:annotation><text:p>two<text:s text:c="2"/>words</text:p><text:p>&amp; a <text:span>line</text:span></text:p>"#,
        ),
        cell("", ""),
        cell(r#"office:value-type="string" table:number-columns-repeated="2""#, "<text:p>x</text:p>"),
    ]
    .concat();
    let table = format!(
        r#"<table:table table:name="R"><table:table-row table:number-rows-repeated="2"><table:table-cell/></table:table-row><table:table-row>{cells_of}</table:table-row></table:table>"#
    );
    let number = exact("10.125");
    let want = [number.as_str(), "2019-07-25 00:00:00", "yes", "two  words\n& a line", "", "x", "x"];
    assert_eq!(cells(&ods(&table)), [(3, want.map(str::to_owned).to_vec())]);
}

#[test]
fn a_cell_merged_downwards_holds_in_each_line_that_it_covers() {
    let table = r#"<table:table table:name="R">
        <table:table-row><table:table-cell><text:p>Asset tag</text:p></table:table-cell><table:table-cell><text:p>Station</text:p></table:table-cell></table:table-row>
        <table:table-row><table:table-cell><text:p>A</text:p></table:table-cell><table:table-cell table:number-rows-spanned="2"><text:p>4</text:p></table:table-cell></table:table-row>
        <table:table-row><table:table-cell><text:p>B</text:p></table:table-cell><table:covered-table-cell/></table:table-row>
        <table:table-row><table:table-cell><text:p>C</text:p></table:table-cell><table:table-cell/></table:table-row></table:table>"#;
    let want = [(1, vec!["Asset tag", "Station"]), (2, vec!["A", "4"]), (3, vec!["B", "4"]), (4, vec!["C"])];
    assert_eq!(
        cells(&ods(table)),
        want.map(|(line, cells)| (line, cells.into_iter().map(str::to_owned).collect()))
    );
}

#[test]
fn numbers_of_a_refused_row_can_be_read_again_from_a_plain_file() {
    let line = row(
        2,
        &[
            "HT-1",
            "no such thing",
            "A",
            "S1",
            "Station 1 reserve",
            "1",
            "1",
            "in service",
            "",
            r#"<c r="J2"><v>10.125</v></c>"#,
        ],
    );
    let file = RegisterFile::parse(&xlsx(&(row(1, HEADS) + &line)), Options::default()).unwrap();
    assert_eq!(file.cells(2).unwrap()[9], "10.1250");
}
