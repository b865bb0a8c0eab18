//! What a card may say. Whoever shows it may take it for Markdown: here it is held to words, lists and stress, so that no renderer, ours
//! or another client's, makes anything else of it.

use super::feed::{CardSubject, CardText};
use crate::platform::{door::name, error::Fault};

/// The most drafts of an agency.
pub const MOST_DRAFTS: usize = 200;
/// The longest section, in characters.
const MOST_SECTION: usize = 2_000;
/// The longest card, in characters.
const MOST_CARD: usize = 10_000;
/// The most pictures of a card.
const MOST_PICTURES: usize = 6;

const TAKES: &str = "A card takes paragraphs, lists that begin with '- ' or '1. ', **strong** and *stressed* words";

/// What a line holds that a card does not take.
fn foreign(line: &str) -> Option<&'static str> {
    let begin = line.trim_start();
    let hashes = begin.chars().take_while(|sign| *sign == '#').count();
    let after_hashes = begin.get(hashes..).unwrap_or_default();
    let is_tag = |at: usize| {
        let next = line.get(at + 1..).and_then(|rest| rest.chars().next());
        next.is_some_and(|sign| sign.is_ascii_alphabetic() || matches!(sign, '/' | '!' | '?'))
    };
    let rule = |mark: char| begin.trim_end().len() >= 3 && begin.trim_end().chars().all(|sign| sign == mark);
    if line.match_indices('<').any(|(at, _)| is_tag(at)) {
        Some("HTML")
    } else if (1..=6).contains(&hashes) && (after_hashes.is_empty() || after_hashes.starts_with(' ')) {
        Some("a heading; the section is one")
    } else if begin.starts_with('|') {
        Some("a table")
    } else if begin.starts_with('>') {
        Some("a quotation")
    } else if line.contains('`') || begin.starts_with("~~~") {
        Some("code")
    } else if line.contains("](") || line.contains("][") || begin.starts_with('[') && line.contains("]:") {
        Some("a link or a picture of Markdown; pictures go beside the text, and a phone in a basement opens no link")
    } else if ['-', '=', '*', '_'].into_iter().any(rule) {
        Some("a ruled line")
    } else {
        None
    }
}

/// A section as it is kept: lines that end alike, nothing around it, and only what a card takes.
fn section(field: &str, given: &str) -> Result<String, Fault> {
    let text = given.replace("\r\n", "\n").replace('\t', " ").trim().to_owned();
    if text.chars().count() > MOST_SECTION {
        return Err(Fault::field(
            field,
            format!("This is longer than {MOST_SECTION} characters; a card is short, the manual is not"),
        ));
    }
    if text.chars().any(|sign| sign.is_control() && sign != '\n') {
        return Err(Fault::field(field, "The text holds a control character; take it out"));
    }
    match text.lines().find_map(foreign) {
        Some(what) => Err(Fault::field(field, format!("This holds {what}. {TAKES}"))),
        None => Ok(text),
    }
}

/// The text as it is kept, or the field of it that cannot be so.
pub fn card_text(mut text: CardText, subject: CardSubject) -> Result<CardText, Fault> {
    let mut signs = 0;
    for (part, written) in [
        ("stowed", &mut text.stowed),
        ("start", &mut text.start),
        ("levers", &mut text.levers),
        ("controls", &mut text.controls),
        ("differs", &mut text.differs),
        ("shut_down", &mut text.shut_down),
        ("restow", &mut text.restow),
        ("care", &mut text.care),
        ("cautions", &mut text.cautions),
    ] {
        *written = section(&format!("body.text.{part}"), written)?;
        signs += written.chars().count();
    }
    if signs == 0 {
        return Err(Fault::field("body.text", "Say something in one section at least; an empty card is none"));
    }
    if signs > MOST_CARD {
        return Err(Fault::field(
            "body.text",
            format!("All sections together are longer than {MOST_CARD} characters; leave to the manual what nobody needs at the rig"),
        ));
    }
    if text.pictures.len() > MOST_PICTURES {
        return Err(Fault::field("body.text.pictures", format!("{MOST_PICTURES} pictures are the most on a card")));
    }
    let mut seen = Vec::with_capacity(text.pictures.len());
    for (n, picture) in text.pictures.iter_mut().enumerate() {
        picture.words = name(&format!("body.text.pictures[{n}].words"), &picture.words)?;
        if seen.contains(&picture.photo) {
            return Err(Fault::field(format!("body.text.pictures[{n}].photo"), "This picture is on the card already"));
        }
        seen.push(picture.photo.clone());
    }
    match (text.replaces, subject) {
        (Some(_), CardSubject::RigClass { .. }) => Err(Fault::field("body.text.replaces", "Only a model replaces a model; leave it out")),
        (Some(replaced), CardSubject::Model { model }) if replaced == model => {
            Err(Fault::field("body.text.replaces", "A model does not replace itself; name the one before it"))
        }
        _ => Ok(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slices::models::ModelId;
    use serde_json::{Value, json};
    use uuid::Uuid;

    fn made(part: &str, words: &str) -> Result<CardText, Fault> {
        let mut text = json!({
            "stowed": "", "start": "", "levers": "", "controls": "", "differs": "", "shut_down": "", "restow": "", "care": "", "cautions": "",
            "replaces": null, "pictures": [],
        });
        text[part] = Value::from(words);
        let model = ModelId(Uuid::from_u128(1));
        card_text(serde_json::from_value(text).unwrap(), CardSubject::Model { model })
    }

    #[test]
    fn words_lists_and_stress_are_taken_as_they_are() {
        for words in [
            "Left side, **second** compartment.\nBehind the *pump*.",
            "1. Fuel on\n2. Choke\n\n- pull\n- pull again",
            "At 5 < 7 bar, #2 hose, a-b, 20 > 10, [left] and [right]",
            "* stars list too\n*",
        ] {
            assert_eq!(made("start", words).map(|text| text.start).unwrap(), words);
        }
        assert_eq!(made("care", "  Wipe\tit.\r\nDry it.\n\n").unwrap().care, "Wipe it.\nDry it.");
    }

    #[test]
    fn what_a_renderer_could_make_more_of_is_refused_with_its_section() {
        for words in [
            "<script>alert(1)</script>",
            "Pull <b>hard</b>",
            "<!-- hidden -->",
            "a </p> b",
            "[manual](https://maker.example)",
            "![lever](x.png)",
            "[a]: https://maker.example",
            "[manual][1]",
            "# Start",
            "## ",
            "| a | b |",
            "> said",
            "`code`",
            "~~~",
            "Title\n=====",
            "above\n---\nbelow",
            "bell \u{7}",
        ] {
            let fault = made("levers", words).unwrap_err();
            assert_eq!(fault.field.as_deref(), Some("body.text.levers"), "{words}: {}", fault.detail);
        }
    }

    #[test]
    fn a_card_is_not_empty_and_not_endless() {
        assert_eq!(made("start", " \n ").unwrap_err().field.as_deref(), Some("body.text"));
        assert!(made("start", &"ä".repeat(2_000)).is_ok());
        assert_eq!(made("start", &"ä".repeat(2_001)).unwrap_err().field.as_deref(), Some("body.text.start"));
        let mut long = made("start", &"a".repeat(2_000)).unwrap();
        let model = ModelId(Uuid::from_u128(1));
        for part in [&mut long.stowed, &mut long.levers, &mut long.controls, &mut long.care] {
            *part = "a".repeat(2_000);
        }
        let of = CardSubject::Model { model };
        assert!(card_text(long.clone(), of).is_ok());
        long.cautions = "a".into();
        assert_eq!(card_text(long, of).unwrap_err().field.as_deref(), Some("body.text"));
    }
}
