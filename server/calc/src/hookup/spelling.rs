//! When two written names are one: "one push coax" and "One-push coax" are the same coupling family.

/// The key of a name: its letters and digits, in lower case. A sign between two digits stays, as a point, so that
/// "Series 1.5" is not "Series 15".
#[must_use]
pub fn fold(name: &str) -> String {
    let mut key = String::with_capacity(name.len());
    let mut gap = false;
    for c in name.chars() {
        if !c.is_alphanumeric() {
            gap = true;
            continue;
        }
        if gap && c.is_numeric() && key.ends_with(char::is_numeric) {
            key.push('.');
        }
        gap = false;
        if c.is_ascii() {
            key.push(c.to_ascii_lowercase());
        } else {
            key.extend(c.to_lowercase());
        }
    }
    key
}

/// Whether a name holds a letter or digit: else it is no name.
pub(crate) fn is_name(name: &str) -> bool {
    name.chars().any(char::is_alphanumeric)
}

/// Whether two names are one. A name without a letter or digit is no name, and the same as none.
#[must_use]
pub fn same_name(a: &str, b: &str) -> bool {
    if a == b {
        return is_name(a);
    }
    let key = fold(a);
    !key.is_empty() && key == fold(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_of_one_name_are_one() {
        for (a, b) in [
            ("one push coax", "One-push coax"),
            ("ONE_PUSH_COAX", "one-push  coax "),
            ("28V family", "28 v Family"),
            ("twin line", "twin-line"),
            ("Twinline", "twin-line"),
            ("Größe 2", "GRÖßE-2"),
        ] {
            assert!(same_name(a, b), "{a} and {b}");
        }
        for (a, b) in [
            ("twin-line", "twin-line 2"),
            ("Series 1.5", "Series 15"),
            ("Series 1-5", "Series 15"),
            ("", ""),
            ("-", "?"),
            ("28V", "36V"),
        ] {
            assert!(!same_name(a, b), "{a} and {b}");
        }
        assert_eq!(fold(" A-1 "), "a1");
        for name in ["a", "-7", "-", " ", "", "ß", "½", "_"] {
            assert_eq!(is_name(name), !fold(name).is_empty(), "{name}");
        }
    }
}
