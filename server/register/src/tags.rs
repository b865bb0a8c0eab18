//! Tags that are easily taken for each other: `HT-1O01` and `HT-1001`, a long dash, `01003` and `1003`.

/// Letters of other alphabets that look like Latin ones in capitals.
const LOOKS: &[(char, char)] = &[
    ('\u{410}', 'A'),
    ('\u{412}', 'B'),
    ('\u{415}', 'E'),
    ('\u{41a}', 'K'),
    ('\u{41c}', 'M'),
    ('\u{41d}', 'H'),
    ('\u{41e}', 'O'),
    ('\u{420}', 'P'),
    ('\u{421}', 'C'),
    ('\u{422}', 'T'),
    ('\u{425}', 'X'),
    ('\u{391}', 'A'),
    ('\u{392}', 'B'),
    ('\u{395}', 'E'),
    ('\u{396}', 'Z'),
    ('\u{397}', 'H'),
    ('\u{399}', 'I'),
    ('\u{39a}', 'K'),
    ('\u{39c}', 'M'),
    ('\u{39d}', 'N'),
    ('\u{39f}', 'O'),
    ('\u{3a1}', 'P'),
    ('\u{3a4}', 'T'),
    ('\u{3a7}', 'X'),
];

/// One sign as the eye takes it.
fn look(c: char) -> char {
    let wide = u32::from(c)
        .checked_sub(0xFEE0)
        .filter(|_| ('\u{ff01}'..='\u{ff5e}').contains(&c))
        .and_then(char::from_u32);
    let c = wide.unwrap_or(c);
    let c = LOOKS.iter().find(|(other, _)| *other == c).map_or(c, |(_, latin)| *latin);
    match c {
        'O' => '0',
        'I' | 'L' | '|' => '1',
        other => other,
    }
}

/// What tags that look alike have in common: capitals, look-alike letters, dashes and blanks make no difference, nor do zeros before a number.
#[must_use]
pub fn alike(tag: &str) -> String {
    let looked: Vec<char> = tag.chars().flat_map(char::to_uppercase).map(look).collect();
    // Runs of digits and runs of letters; whatever parts them is the same.
    let mut runs: Vec<String> = Vec::new();
    let mut last: Option<bool> = None;
    for c in looked {
        let sort = c.is_alphanumeric().then(|| c.is_ascii_digit());
        match (sort, runs.last_mut()) {
            (Some(_), Some(run)) if sort == last => run.push(c),
            (Some(_), _) => runs.push(c.to_string()),
            (None, _) => {}
        }
        last = sort;
    }
    let plain = runs.iter().map(|run| {
        let bare = run.trim_start_matches('0');
        if bare.is_empty() { "0" } else { bare }
    });
    plain.collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_the_eye_confuses_is_alike() {
        for (one, other) in [
            ("HT-1O01", "ht 1001"),
            ("HT\u{2014}7", "HT7"),
            ("A\u{416}-1", "A\u{416}l"),
            ("007", "7"),
            ("0", "000"),
        ] {
            assert_eq!(alike(one), alike(other), "{one} {other}");
        }
        for (one, other) in [
            ("HT-1", "HT-11"),
            ("1-11", "11-1"),
            ("A-1", "B-1"),
            ("10", "1"),
            ("\u{416}", "\u{417}"),
            ("A1B", "A1"),
        ] {
            assert_ne!(alike(one), alike(other), "{one} {other}");
        }
    }
}
