//! Just enough of Rust's grammar to see which paths a file names.

/// A source text without its comments and its quoted text.
pub fn bare(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let skip = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if let Some(raw) = ["r\"", "r#\""].into_iter().find(|raw| rest.starts_with(raw)) {
            let end = if raw == "r\"" { "\"" } else { "\"#" };
            rest[raw.len()..].find(end).map_or(rest.len(), |at| raw.len() + at + end.len())
        } else if first == '"' {
            let mut escaped = false;
            let end = rest.char_indices().skip(1).find(|(_, c)| {
                let ends = *c == '"' && !escaped;
                escaped = *c == '\\' && !escaped;
                ends
            });
            end.map_or(rest.len(), |(at, _)| at + 1)
        } else if rest.starts_with("'\"'") {
            3
        } else {
            0
        };
        if skip == 0 {
            out.push(first);
            rest = &rest[first.len_utf8()..];
        } else {
            out.push(' ');
            rest = &rest[skip..];
        }
    }
    out
}

/// The words of a source, and the signs `::`, `{`, `}`, `,` and `;` between them.
pub fn tokens(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    let mut word = String::new();
    let text = text.replace("::", "\u{2}");
    for c in text.chars() {
        if c.is_alphanumeric() || c == '_' {
            word.push(c);
            continue;
        }
        if !word.is_empty() {
            all.push(std::mem::take(&mut word));
        }
        match c {
            '\u{2}' => all.push("::".into()),
            '{' | '}' | ',' | ';' | '(' | ')' | '<' | '>' | '!' => all.push(c.into()),
            _ => {}
        }
    }
    all.push(word);
    all
}

/// Every path that begins with one of these words, written out: `use crate::{a::{b, c}}` gives `crate a b` and `crate a c`.
pub fn paths(tokens: &[String], roots: &[&str]) -> Vec<Vec<String>> {
    let mut all = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let begins = roots.contains(&tokens[at].as_str()) && tokens.get(at + 1).is_some_and(|next| next == "::") && (at == 0 || tokens[at - 1] != "::");
        if begins {
            at = path(tokens, at, &mut Vec::new(), &mut all);
        } else {
            at += 1;
        }
    }
    all
}

fn path(tokens: &[String], mut at: usize, before: &mut Vec<String>, all: &mut Vec<Vec<String>>) -> usize {
    let length = before.len();
    loop {
        match tokens.get(at).map(String::as_str) {
            Some("{") => {
                at += 1;
                while tokens.get(at).is_some_and(|token| token != "}") {
                    at = if tokens[at] == "," {
                        at + 1
                    } else {
                        path(tokens, at, before, all).max(at + 1)
                    };
                }
                before.truncate(length);
                return at + 1;
            }
            Some(word) if word.chars().next().is_some_and(|c| c.is_alphanumeric() || c == '_') => {
                before.push(word.to_owned());
                at += 1;
                if tokens.get(at).is_none_or(|next| next != "::") {
                    all.push(before.clone());
                    before.truncate(length);
                    return at;
                }
                at += 1;
            }
            _ => {
                all.push(before.clone());
                before.truncate(length);
                return at;
            }
        }
    }
}
