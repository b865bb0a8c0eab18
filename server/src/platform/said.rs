//! Somebody's own words inside a sentence of the service.

/// The words in quotes, so that a reader sees whose they are. What quotes already is the service's own sentence around such words
/// and stays as it is; nothing said stays nothing. A full stop at the end goes: our sentence goes on, or has its own.
pub fn quoted(words: &str) -> String {
    let words = words.trim();
    let words = words.strip_suffix('.').filter(|rest| !rest.is_empty() && !rest.ends_with('.')).unwrap_or(words);
    if words.is_empty() || words.contains('“') {
        return words.to_owned();
    }
    format!("“{words}”")
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn words_are_quoted_once() {
        assert_eq!(quoted(" blade cracked. "), "“blade cracked”");
        assert_eq!(
            quoted("found on 2026-11-25, to be checked: “in the trailer”"),
            "found on 2026-11-25, to be checked: “in the trailer”"
        );
        assert_eq!(quoted(&quoted("bent")), "“bent”");
        assert_eq!(quoted("it drips, then ..."), "“it drips, then ...”");
        assert_eq!(quoted("  "), "");
    }
}
