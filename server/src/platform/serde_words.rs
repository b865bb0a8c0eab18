//! What the readers of JSON and of addresses say of a value that does not fit, as a person says it. They name types of Rust and of their
//! own; whoever sends the value knows neither.

/// An instant and a day as they are written.
const INSTANT: &str = "an instant, such as 2026-11-25T14:00:00Z";
const DAY: &str = "a day, such as 2026-11-25";
const UUID: &str = "an id, such as 0193632a-5c80-7000-8000-5eaf00d5c0de";

/// The reader's words, in ours: what must stand there, or what to do.
#[must_use]
pub fn plain(said: &str) -> String {
    let said = said.split(" at line ").next().unwrap_or(said).trim();
    wrong_kind(said)
        .or_else(|| wrong_length(said))
        .or_else(|| wrong_name(said))
        .or_else(|| unreadable(said))
        .unwrap_or_else(|| said.to_owned())
}

/// A value of another kind, or beyond what its kind holds.
fn wrong_kind(said: &str) -> Option<String> {
    let rest = said.strip_prefix("invalid type: ").or_else(|| said.strip_prefix("invalid value: "))?;
    let (got, due) = rest.rsplit_once(", expected ")?;
    let got = match got.split_once(' ').unwrap_or((got, "")) {
        ("string", text) => format!("the text {text}"),
        ("floating", number) => quoted(number)?.to_owned(),
        ("integer" | "boolean" | "character" | "number", value) => quoted(value)?.to_owned(),
        ("null", _) | ("unit", "value") => "null".to_owned(),
        ("map", _) => "an object".to_owned(),
        ("sequence", _) => "a list".to_owned(),
        ("unit", "variant") | ("newtype", _) | ("struct", _) | ("tuple", _) => "something else".to_owned(),
        _ => got.to_owned(),
    };
    Some(format!("This must be {}, not {got}", due_words(due)))
}

fn wrong_length(said: &str) -> Option<String> {
    let (count, due) = said.strip_prefix("invalid length ")?.split_once(", expected ")?;
    let count = if count == "1" { "1 entry".to_owned() } else { format!("{count} entries") };
    let due = due.split(' ').next_back().filter(|last| last.parse::<u32>().is_ok());
    Some(match due {
        Some(many) => format!("This list has {count}; it must have {many}"),
        None => format!("This list has {count}; that is not how many it must have"),
    })
}

/// A field or a word that is not known, left out or given twice.
fn wrong_name(said: &str) -> Option<String> {
    if let Some(rest) = said.strip_prefix("missing field ") {
        return Some(format!("{} is missing; give it", rest.trim()));
    }
    if let Some(rest) = said.strip_prefix("duplicate field ") {
        return Some(format!("{} is given twice; give it once", rest.trim()));
    }
    if let Some(rest) = said.strip_prefix("unknown field ") {
        let (name, there) = rest.split_once(", ")?;
        return Some(match names(there) {
            Some(names) => format!("There is no field {name} here; there is {names}"),
            None => format!("There is no field {name} here; leave it out"),
        });
    }
    let (name, there) = said.strip_prefix("unknown variant ")?.split_once(", ")?;
    let names = names(there)?;
    let choose = if names.contains(", ") || names.contains(" or ") {
        "give one of"
    } else {
        "give"
    };
    Some(format!("{name} is not known here; {choose} {names}"))
}

/// The names after "expected", if there are any.
fn names(said: &str) -> Option<&str> {
    let names = said.strip_prefix("expected ")?;
    Some(names.strip_prefix("one of ").unwrap_or(names))
}

/// What a reader of numbers, instants or ids said of a text.
fn unreadable(said: &str) -> Option<String> {
    let due = match said {
        "invalid digit found in string" | "number too large to fit in target type" | "number too small to fit in target type" => {
            "a whole number within its bounds"
        }
        "invalid float literal" => "a number",
        "cannot parse integer from empty string" | "cannot parse float from empty string" => "a number; leave it out where there is none",
        "provided string was not `true` or `false`" => "true or false",
        "premature end of input" | "input contains invalid characters" | "input is out of range" | "trailing input" => {
            return Some(format!("This must be {DAY}, or where a time is asked for {INSTANT}"));
        }
        // Of sound JSON: a number stands where a word is due.
        "expected value" => "one of the words that the description names",
        _ if said.starts_with("UUID parsing failed") => UUID,
        _ if said.starts_with("number out of range") => "a number that a computer holds",
        _ if said.starts_with("data did not match any variant") => return Some("This is none of what may stand here; see the description".to_owned()),
        _ => return None,
    };
    Some(format!("This must be {due}"))
}

/// What must stand there.
fn due_words(due: &str) -> String {
    match due {
        "u8" => whole(0, u8::MAX.into()),
        "u16" => whole(0, u16::MAX.into()),
        "u32" => whole(0, u32::MAX.into()),
        "u64" | "usize" | "u128" => "a whole number from 0 up".to_owned(),
        "i8" => whole(i8::MIN.into(), i8::MAX.into()),
        "i16" => whole(i16::MIN.into(), i16::MAX.into()),
        "i32" => whole(i32::MIN.into(), i32::MAX.into()),
        "i64" | "isize" | "i128" => "a whole number".to_owned(),
        "f32" | "f64" => "a number".to_owned(),
        "a boolean" => "true or false".to_owned(),
        "a string" | "a borrowed string" | "a character" | "str" | "string" => "a text".to_owned(),
        "unit" => "null".to_owned(),
        _ if due.contains("UUID") => UUID.to_owned(),
        _ if due.contains("date and time") => INSTANT.to_owned(),
        _ if due.contains("date") => DAY.to_owned(),
        _ if due.contains("nonzero") || due.contains("NonZero") => "a whole number from 1 up".to_owned(),
        _ if due.contains("map") || due.starts_with("struct ") || due.contains("tagged enum") || due.contains("struct variant") => "an object".to_owned(),
        _ if due.contains("sequence") || due.contains("array") || due.contains("tuple") => "a list".to_owned(),
        _ if due.starts_with("enum ") || due.contains("variant identifier") || due.starts_with("variant index") => {
            "one of the words that the description names".to_owned()
        }
        _ => due.to_owned(),
    }
}

fn whole(least: i64, most: i64) -> String {
    format!("a whole number from {least} to {most}")
}

/// What stands between the quotes.
fn quoted(said: &str) -> Option<&str> {
    let (_, rest) = said.split_once('`')?;
    Some(rest.split_once('`')?.0)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use serde::{Deserialize, de::DeserializeOwned};

    use super::plain;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code, reason = "only whether it can be read is asked")]
    struct Crew {
        count: u32,
        #[serde(default)]
        shift: Option<Shift>,
        #[serde(default)]
        share: f64,
        #[serde(default)]
        at: Vec<chrono::DateTime<chrono::Utc>>,
        #[serde(default)]
        on: Option<chrono::NaiveDate>,
        #[serde(default)]
        id: Option<uuid::Uuid>,
        #[serde(default)]
        pair: Option<(i32, i32)>,
        #[serde(default)]
        named: BTreeMap<String, bool>,
    }

    #[derive(Debug, Deserialize)]
    #[serde(rename_all = "snake_case")]
    enum Shift {
        Day,
        Night,
    }

    fn said<T: DeserializeOwned + std::fmt::Debug>(json: &str) -> String {
        plain(&serde_json::from_str::<T>(json).unwrap_err().to_string())
    }

    #[test]
    fn what_does_not_fit_is_told_as_a_person_says_it() {
        for (json, words) in [
            (r#"{"count":1.5}"#, "This must be a whole number from 0 to 4294967295, not 1.5"),
            (r#"{"count":-1}"#, "This must be a whole number from 0 to 4294967295, not -1"),
            (r#"{"count":"4"}"#, "This must be a whole number from 0 to 4294967295, not the text \"4\""),
            (r#"{"count":null}"#, "This must be a whole number from 0 to 4294967295, not null"),
            (r#"{"count":{}}"#, "This must be a whole number from 0 to 4294967295, not an object"),
            (r#"{"count":[1]}"#, "This must be a whole number from 0 to 4294967295, not a list"),
            (r#"{}"#, "`count` is missing; give it"),
            (r#"{"count":1,"count":2}"#, "`count` is given twice; give it once"),
            (
                r#"{"count":1,"cuont":2}"#,
                "There is no field `cuont` here; there is `count`, `shift`, `share`, `at`, `on`, `id`, `pair`, `named`",
            ),
            (r#"{"count":1,"shift":"noon"}"#, "`noon` is not known here; give one of `day` or `night`"),
            (r#"{"count":1,"shift":7}"#, "This must be one of the words that the description names"),
            (r#"{"count":1,"share":"half"}"#, "This must be a number, not the text \"half\""),
            (
                r#"{"count":1,"at":["today"]}"#,
                "This must be a day, such as 2026-11-25, or where a time is asked for an instant, such as 2026-11-25T14:00:00Z",
            ),
            (r#"{"count":1,"at":true}"#, "This must be a list, not true"),
            (r#"{"count":1,"on":20261125}"#, "This must be a day, such as 2026-11-25, not 20261125"),
            (r#"{"count":1,"id":"7"}"#, "This must be an id, such as 0193632a-5c80-7000-8000-5eaf00d5c0de"),
            (r#"{"count":1,"pair":[1]}"#, "This list has 1 entry; it must have 2"),
            (r#"{"count":1,"named":{"a":"yes"}}"#, "This must be true or false, not the text \"yes\""),
            (r#"[]"#, "This list has 0 entries; that is not how many it must have"),
            (r#""crew""#, "This must be an object, not the text \"crew\""),
        ] {
            assert_eq!(said::<Crew>(json), words, "{json}");
        }
        assert_eq!(said::<[u8; 3]>("[1]"), "This list has 1 entry; it must have 3");
        assert_eq!(said::<std::num::NonZeroU32>("0"), "This must be a whole number from 1 up, not 0");
    }

    #[test]
    fn words_of_ours_stay_as_they_are() {
        for words in ["expects is a revision, or {\"after\": ID}", "'12 stone' is no force; write it as 40 kN"] {
            assert_eq!(plain(words), words);
        }
    }
}
