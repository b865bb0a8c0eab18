//! A file of bytes as records of text cells, each with the line of the file that it starts on.
//!
//! Encoding and delimiter are found, not asked for. This module knows nothing of tools, columns or dates: whether a
//! cell is a known heading is asked of the caller.

use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

use super::workbook::OtherSheet;

/// What the file's bytes were: text in an encoding, or a workbook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Encoding {
    /// Without a mark at its start.
    #[serde(rename = "UTF-8")]
    Utf8,
    /// With a byte order mark.
    #[serde(rename = "UTF-8 with mark")]
    Utf8Marked,
    /// Low byte first.
    #[serde(rename = "UTF-16 LE")]
    Utf16Le,
    /// High byte first.
    #[serde(rename = "UTF-16 BE")]
    Utf16Be,
    /// Whatever is none of the others.
    #[serde(rename = "Windows-1252")]
    Windows1252,
    /// A workbook of Office Open XML (ISO/IEC 29500).
    #[serde(rename = "xlsx")]
    Xlsx,
    /// A workbook of OpenDocument (ISO/IEC 26300).
    #[serde(rename = "ods")]
    Ods,
}

/// The sign between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab stop.
    Tab,
    /// `|`
    Pipe,
}

impl Delimiter {
    /// Every delimiter, the likeliest first.
    pub const ALL: &'static [Self] = &[Self::Comma, Self::Semicolon, Self::Tab, Self::Pipe];

    /// The sign itself.
    #[must_use]
    pub const fn sign(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Pipe => b'|',
        }
    }
}

/// One record of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// The line of the file that it starts on; the first is 1.
    pub line: usize,
    /// Its cells as they stand there, without the quotes around them.
    pub cells: Vec<String>,
}

impl Record {
    /// Whether no cell holds anything.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// A whole file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// How its bytes were read.
    pub encoding: Encoding,
    /// The sign between its cells; none in a workbook.
    pub delimiter: Option<Delimiter>,
    /// Whether its first line names the delimiter (`sep=;`); that line is no record.
    pub declared: bool,
    /// Its records in order, blank ones too.
    pub records: Vec<Record>,
    /// Lines on which a quote is opened and never closed; it was taken for a plain sign.
    pub stray_quotes: Vec<usize>,
    /// Which sheet of a workbook it is.
    pub name: Option<String>,
    /// The workbook's other sheets that hold anything.
    pub others: Vec<OtherSheet>,
}

/// So many records are looked at to find the delimiter.
const PROBE: usize = 60;

/// A quoted cell may hold so many line breaks; beyond, its opening quote is taken for a plain sign.
const LONGEST_CELL: usize = 100;

/// After so many stray quotes no quote is heeded any more, which keeps the work in proportion to the file.
const STRAYS: usize = 64;

impl Sheet {
    /// Reads a file. `heading` says whether a cell is a column heading that is known.
    #[must_use]
    pub fn read(bytes: &[u8], heading: impl Fn(&str) -> bool) -> Self {
        let (text, encoding) = decode(bytes);
        let declared = declared(&text);
        let delimiter = declared.unwrap_or_else(|| find_delimiter(&text, heading));
        let mut scan = Scan::new(&text, delimiter);
        if declared.is_some() {
            scan.record();
        }
        let records = std::iter::from_fn(|| scan.record()).collect();
        Self {
            encoding,
            delimiter: Some(delimiter),
            declared: declared.is_some(),
            records,
            stray_quotes: scan.strays,
            name: None,
            others: Vec::new(),
        }
    }
}

/// The text behind the bytes. Never fails: what is neither UTF-8 nor UTF-16 is read as Windows-1252, which knows every byte.
fn decode(bytes: &[u8]) -> (String, Encoding) {
    if let Some(text) = bytes.strip_prefix(b"\xEF\xBB\xBF").and_then(|rest| std::str::from_utf8(rest).ok()) {
        return (text.to_owned(), Encoding::Utf8Marked);
    }
    match utf16(bytes) {
        Some(Encoding::Utf16Le) => (UTF_16LE.decode_with_bom_removal(bytes).0.into_owned(), Encoding::Utf16Le),
        Some(_) => (UTF_16BE.decode_with_bom_removal(bytes).0.into_owned(), Encoding::Utf16Be),
        None => match std::str::from_utf8(bytes) {
            Ok(text) => (text.to_owned(), Encoding::Utf8),
            Err(_) => (WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(), Encoding::Windows1252),
        },
    }
}

/// UTF-16 by its mark, or by the zeros in every other byte of Latin text.
fn utf16(bytes: &[u8]) -> Option<Encoding> {
    match bytes {
        [0xFF, 0xFE, ..] => return Some(Encoding::Utf16Le),
        [0xFE, 0xFF, ..] => return Some(Encoding::Utf16Be),
        _ => {}
    }
    let zeros = |at: usize| bytes.iter().take(2048).skip(at).step_by(2).filter(|byte| **byte == 0).count();
    let (even, odd, pairs) = (zeros(0), zeros(1), bytes.len().min(2048) / 2);
    if pairs >= 2 && odd * 10 >= pairs * 7 && even * 10 < pairs {
        Some(Encoding::Utf16Le)
    } else if pairs >= 2 && even * 10 >= pairs * 7 && odd * 10 < pairs {
        Some(Encoding::Utf16Be)
    } else {
        None
    }
}

/// The delimiter of a first line `sep=;`.
fn declared(text: &str) -> Option<Delimiter> {
    let first = text.lines().next()?.trim_end_matches('\r').trim_matches('"');
    let (word, sign) = first.split_at_checked(4)?;
    let known = |d: &&Delimiter| sign.as_bytes() == [d.sign()];
    if word.eq_ignore_ascii_case("sep=") {
        Delimiter::ALL.iter().find(known).copied()
    } else {
        None
    }
}

/// The delimiter that shows the most known headings in one record; then the one that gives the most records of one width.
fn find_delimiter(text: &str, heading: impl Fn(&str) -> bool) -> Delimiter {
    let score = |delimiter: Delimiter| {
        let mut scan = Scan::new(text, delimiter);
        let mut widths: BTreeMap<usize, usize> = BTreeMap::new();
        let mut headings = 0;
        for record in std::iter::from_fn(|| scan.record()).take(PROBE) {
            headings = headings.max(record.cells.iter().filter(|cell| heading(cell)).count());
            if record.cells.len() > 1 {
                *widths.entry(record.cells.len()).or_default() += 1;
            }
        }
        (headings, widths.into_values().max().unwrap_or(0))
    };
    // The first of equals stays, so a file of one column is read with commas.
    let best = |best: Option<(Delimiter, (usize, usize))>, delimiter: &Delimiter| {
        let new = (*delimiter, score(*delimiter));
        Some(best.filter(|old| old.1 >= new.1).unwrap_or(new))
    };
    Delimiter::ALL.iter().fold(None, best).map_or(Delimiter::Comma, |found| found.0)
}

/// Goes through the text once. Delimiters, quotes and line ends are ASCII, so bytes may be looked at.
struct Scan<'a> {
    text: &'a str,
    sign: u8,
    at: usize,
    line: usize,
    strays: Vec<usize>,
}

impl<'a> Scan<'a> {
    fn new(text: &'a str, delimiter: Delimiter) -> Self {
        Self {
            text,
            sign: delimiter.sign(),
            at: 0,
            line: 1,
            strays: Vec::new(),
        }
    }

    fn byte(&self, at: usize) -> Option<u8> {
        self.text.as_bytes().get(at).copied()
    }

    fn slice(&self, from: usize, to: usize) -> &'a str {
        self.text.get(from..to).unwrap_or_default()
    }

    /// Whether a line ends with the byte here; `\r\n` ends it once.
    fn ends_line(&self, at: usize) -> bool {
        match self.byte(at) {
            Some(b'\n') => true,
            Some(b'\r') => self.byte(at + 1) != Some(b'\n'),
            _ => false,
        }
    }

    fn record(&mut self) -> Option<Record> {
        self.byte(self.at)?;
        let line = self.line;
        let mut cells = vec![self.cell()];
        while self.byte(self.at) == Some(self.sign) {
            self.at += 1;
            cells.push(self.cell());
        }
        if self.byte(self.at).is_some() {
            self.at += if self.ends_line(self.at) { 1 } else { 2 };
            self.line += 1;
        }
        Some(Record { line, cells })
    }

    fn cell(&mut self) -> String {
        let mut open = self.at;
        while self.byte(open) == Some(b' ') {
            open += 1;
        }
        if self.byte(open) == Some(b'"') && self.strays.len() < STRAYS {
            if let Some(cell) = self.quoted(open + 1) {
                return cell;
            }
            self.strays.push(self.line);
        }
        self.bare().to_owned()
    }

    /// Up to the next delimiter or line end.
    fn bare(&mut self) -> &'a str {
        let from = self.at;
        while self.byte(self.at).is_some_and(|byte| byte != self.sign && byte != b'\n' && byte != b'\r') {
            self.at += 1;
        }
        self.slice(from, self.at)
    }

    /// Up to the closing quote, and what stands behind it as it is. `None` leaves everything as it was.
    fn quoted(&mut self, start: usize) -> Option<String> {
        let (mut out, mut from, mut at, mut lines) = (String::new(), start, start, 0);
        loop {
            let byte = self.byte(at)?;
            if byte == b'"' {
                let double = self.byte(at + 1) == Some(b'"');
                out.push_str(self.slice(from, if double { at + 1 } else { at }));
                at += if double { 2 } else { 1 };
                from = at;
                if !double {
                    break;
                }
                continue;
            }
            if self.ends_line(at) {
                lines += 1;
                if lines > LONGEST_CELL {
                    return None;
                }
            }
            at += 1;
        }
        self.line += lines;
        self.at = at;
        let rest = self.bare();
        out.push_str(rest.trim_end());
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heading(cell: &str) -> bool {
        matches!(cell, "Tag" | "Kind" | "Length")
    }

    fn rows(bytes: &[u8]) -> Vec<(usize, Vec<String>)> {
        Sheet::read(bytes, heading).records.into_iter().map(|r| (r.line, r.cells)).collect()
    }

    #[test]
    fn lines_are_those_of_the_file_whatever_stands_in_quotes() {
        let text = b"Tag,Kind\r\n\r\n\"a\nb\",\"c\"\"d\"\r\nlast,\"e\"";
        let want = [(1, vec!["Tag", "Kind"]), (2, vec![""]), (3, vec!["a\nb", "c\"d"]), (5, vec!["last", "e"])];
        assert_eq!(rows(text), want.map(|(line, cells)| (line, cells.into_iter().map(str::to_owned).collect())));
        assert_eq!(rows(b"Tag\rx\r\ry").iter().map(|r| r.0).collect::<Vec<_>>(), [1, 2, 3, 4]);
    }

    #[test]
    fn an_inch_sign_is_no_opening_quote_and_a_stray_quote_swallows_nothing() {
        let sheet = Sheet::read(b"Tag;Length\nA;28.9\"\nB;\"8.1\nC;9 in\n", heading);
        assert_eq!(sheet.records.len(), 4);
        assert_eq!(sheet.records[1].cells[1], "28.9\"");
        assert_eq!(sheet.records[2].cells[1], "\"8.1");
        assert_eq!(sheet.stray_quotes, [3]);
    }

    #[test]
    fn the_delimiter_is_the_one_that_shows_the_headings() {
        for (sign, want) in [
            (",", Delimiter::Comma),
            (";", Delimiter::Semicolon),
            ("\t", Delimiter::Tab),
            ("|", Delimiter::Pipe),
        ] {
            let text = format!("A title, with; signs|\nTag{sign}Kind{sign}Length\nA{sign}hose{sign}\"1,000;5\"\n");
            assert_eq!(Sheet::read(text.as_bytes(), heading).delimiter, Some(want));
        }
        let told = Sheet::read(b"sep=;\nTag;Kind,Length\n", heading);
        assert_eq!((told.delimiter, told.declared, told.records[0].line), (Some(Delimiter::Semicolon), true, 2));
    }

    #[test]
    fn the_encoding_is_found() {
        let text = "Tag,Kind\nA–É1,hose\n";
        let utf16 = |bytes: fn(u16) -> [u8; 2], mark: bool| {
            let mark = if mark { Some(0xFEFF) } else { None };
            mark.into_iter().chain(text.encode_utf16()).flat_map(bytes).collect::<Vec<u8>>()
        };
        let cases: [(Vec<u8>, Encoding); 7] = [
            (text.into(), Encoding::Utf8),
            (["\u{feff}", text].concat().into(), Encoding::Utf8Marked),
            (utf16(u16::to_le_bytes, true), Encoding::Utf16Le),
            (utf16(u16::to_be_bytes, true), Encoding::Utf16Be),
            (utf16(u16::to_le_bytes, false), Encoding::Utf16Le),
            (utf16(u16::to_be_bytes, false), Encoding::Utf16Be),
            (b"Tag,Kind\nA\x96\xC91,hose\n".to_vec(), Encoding::Windows1252),
        ];
        for (bytes, want) in cases {
            let sheet = Sheet::read(&bytes, heading);
            assert_eq!(sheet.encoding, want);
            assert_eq!(sheet.records[0].cells, ["Tag", "Kind"]);
            assert_eq!(sheet.records[1].cells[0], "A–É1");
        }
    }
}
