//! What the text of a place means: `Engine 2`, `Sta 8 spare`, `Fleet shop`, `On loan: Town FD`.

use super::cells::{is_blank, words};
use chrono::NaiveDate;

/// What the text of a place means, before it is known whether there is such a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spot {
    /// Blank.
    Nothing,
    /// Looks like a rig.
    Rig(String),
    /// Said to be a rig: `Rig: Big Bertha`.
    MeantRig(String),
    /// A station's reserve; without a station it is that of the row.
    Shelf(Option<String>),
    /// A shop.
    Shop(String),
    /// Somebody outside who mends it.
    Vendor(String, Option<NaiveDate>),
    /// Somebody outside who has it on loan.
    Loan(String, Option<NaiveDate>),
    /// On its way to what the text names.
    Transit(String),
    /// Out of the register.
    Retired,
    /// None of these.
    Unclear(String),
}

/// Words for a reserve shelf.
const SHELF: &[&str] = &[
    "reserve", "reserves", "spare", "spares", "shelf", "stock", "storage", "store", "stores", "cache", "loose", "pool", "on", "the", "at", "in", "for",
];
/// Words for a shop.
const SHOP: &[&str] = &["shop", "workshop", "maintenance", "fleet", "garage", "repair", "repairs", "mechanic"];
/// Words for a vehicle.
const RIG: &[&str] = &[
    "engine",
    "eng",
    "truck",
    "trk",
    "ladder",
    "rescue",
    "squad",
    "quint",
    "tower",
    "pumper",
    "tender",
    "tanker",
    "aerial",
    "brush",
    "wagon",
    "hazmat",
    "usar",
    "utility",
    "medic",
    "ambulance",
    "apparatus",
    "rig",
    "car",
    "support",
    "platform",
    "snorkel",
    "salvage",
    "extrication",
];

impl Spot {
    /// Reads the text. `station` says whether a text is the name of a station that the agency has.
    #[must_use]
    pub fn read(text: &str, station: &dyn Fn(&str) -> bool) -> Self {
        if is_blank(text) {
            return Self::Nothing;
        }
        if let Some(spot) = Self::labelled(text) {
            return spot;
        }
        let words = words(text);
        let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
        if has(&["retired", "disposed", "scrapped", "surplus"]) && words.len() <= 2 {
            return Self::Retired;
        }
        let shelved = |word: &&str| SHELF.contains(&word.to_lowercase().trim_matches(|c: char| !c.is_alphanumeric()));
        let rest = text.split_whitespace().filter(|word| !shelved(word)).collect::<Vec<_>>().join(" ");
        let rest = rest.trim_matches(|c: char| !c.is_alphanumeric()).to_owned();
        if station(text) || station_number(text).is_some_and(|_| !text.chars().all(|c| c.is_ascii_digit())) {
            return Self::Shelf(Some(text.to_owned()));
        }
        if rest.is_empty() {
            return Self::Shelf(None);
        }
        if rest.len() < text.len() && (station(&rest) || station_number(&rest).is_some()) {
            return Self::Shelf(Some(rest));
        }
        if has(SHOP) && !words.iter().any(|word| word.chars().all(|c| c.is_ascii_digit())) {
            return Self::Shop(text.to_owned());
        }
        // `E12`, `Medic 3`: a few letters and a number.
        let coded = number_of(text).is_some()
            && text.starts_with(|c: char| c.is_alphabetic())
            && words.len() <= 3
            && !has(&["district", "division", "locker", "box", "room"]);
        if has(RIG) || coded {
            Self::Rig(text.to_owned())
        } else {
            Self::Unclear(text.to_owned())
        }
    }

    /// A place with a label before it, as the export writes it where the bare name would be read as something else.
    fn labelled(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        for lead in ["in transit to ", "in transit: "] {
            if let Some(to) = lower.strip_prefix(lead).and_then(|rest| text.get(text.len().checked_sub(rest.len())?..)) {
                return Some(Self::Transit(to.trim().to_owned()));
            }
        }
        if let Some(name) = lower
            .strip_prefix("on loan to ")
            .or_else(|| lower.strip_prefix("loaned to "))
            .and_then(|rest| text.get(text.len().checked_sub(rest.len())?..))
        {
            let (name, due) = due(name);
            return Some(Self::Loan(name, due));
        }
        let (label, name) = text.split_once(':')?;
        let name = name.trim();
        if name.is_empty() {
            return None;
        }
        Some(match label.trim().to_lowercase().as_str() {
            "rig" => Self::MeantRig(name.to_owned()),
            "shelf" | "reserve" => Self::Shelf(Some(name.to_owned())),
            "shop" => Self::Shop(name.to_owned()),
            "vendor" | "dealer" | "outside" | "outside service" => {
                let (name, due) = due(name);
                Self::Vendor(name, due)
            }
            "loan" | "on loan" | "loaned" => {
                let (name, due) = due(name);
                Self::Loan(name, due)
            }
            _ => return None,
        })
    }

    /// The rig, and whether it is said to be one.
    #[must_use]
    pub fn rig(&self) -> Option<(&str, bool)> {
        match self {
            Self::Rig(name) => Some((name, false)),
            Self::MeantRig(name) => Some((name, true)),
            _ => None,
        }
    }
}

/// A name with `(due 2026-12-01)` behind it.
pub(super) fn due(text: &str) -> (String, Option<NaiveDate>) {
    let found = text
        .trim()
        .strip_suffix(')')
        .and_then(|t| t.rsplit_once("(due "))
        .and_then(|(name, date)| Some((name.trim().to_owned(), date.trim().parse().ok()?)));
    found.map_or_else(|| (text.trim().to_owned(), None), |(name, date)| (name, Some(date)))
}

/// A rig's name by its letters and digits only, without leading zeros: `ENGINE 02` is `engine-2`.
#[must_use]
pub fn rig_key(name: &str) -> String {
    let parts = words(name).into_iter().map(|word| {
        if word.chars().all(|c| c.is_ascii_digit()) {
            word.trim_start_matches('0').to_owned()
        } else {
            word
        }
    });
    parts.collect()
}

/// The last number in a name, without leading zeros.
#[must_use]
pub fn number_of(name: &str) -> Option<String> {
    let end = name.rfind(|c: char| c.is_ascii_digit())? + 1;
    let digits = name.get(..end)?;
    let start = digits
        .rfind(|c: char| !c.is_ascii_digit())
        .map_or(0, |at| at + digits.get(at..).and_then(|t| t.chars().next()).map_or(1, char::len_utf8));
    let number = digits.get(start..)?.trim_start_matches('0');
    Some(if number.is_empty() { "0".to_owned() } else { number.to_owned() })
}

/// The number of a text that is a station's number, with or without a word for station before it: `8`, `Sta. 8`, `FS 08`, `Station 8A`.
#[must_use]
pub fn station_number(text: &str) -> Option<String> {
    let words = words(text);
    let number = match words.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        [number] => (*number).to_owned(),
        ["station" | "sta" | "stn" | "fs" | "house" | "firehouse" | "hall", number] => (*number).to_owned(),
        ["station" | "sta" | "stn" | "fs" | "house" | "firehouse" | "hall", "no" | "number", number]
        | ["fire", "station" | "house" | "hall" | "sta" | "stn", number] => (*number).to_owned(),
        _ => return None,
    };
    let digits = number.chars().take_while(char::is_ascii_digit).count();
    let tail = number.chars().skip(digits).count();
    // `12` and `12A`, not `E12` or `2nd`.
    let plain = digits > 0 && (tail == 0 || (tail == 1 && number.ends_with(|c: char| c.is_ascii_lowercase())));
    let number = number.trim_start_matches('0').to_uppercase();
    (plain && !number.is_empty()).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_as_people_write_them() {
        let known = |name: &str| name.eq_ignore_ascii_case("Headquarters");
        let read = |text: &str| Spot::read(text, &known);
        for text in ["Truck 1", "ENGINE 2", "Rescue 9", "E-12", "Heavy Rescue", "Medic 3", "Reserve Engine 3", "Sq41"] {
            assert_eq!(read(text), Spot::Rig(text.into()));
        }
        for (text, station) in [
            ("Station 8 reserve", "Station 8"),
            ("Sta. 8 spare", "Sta. 8"),
            ("reserve - Station 8", "Station 8"),
            ("Stn 8 shelf", "Stn 8"),
            ("Headquarters reserve", "Headquarters"),
            ("Station 8", "Station 8"),
            ("Headquarters", "Headquarters"),
        ] {
            assert_eq!(read(text), Spot::Shelf(Some(station.into())), "{text}");
        }
        assert_eq!(read("Reserve"), Spot::Shelf(None));
        for text in ["Shop", "Fleet shop", "Fleet maintenance"] {
            assert_eq!(read(text), Spot::Shop(text.into()));
        }
        assert_eq!(read("Rig: Big Bertha"), Spot::MeantRig("Big Bertha".into()));
        assert_eq!(
            read("Vendor: Acme (due 2026-12-01)"),
            Spot::Vendor("Acme".into(), NaiveDate::from_ymd_opt(2026, 12, 1))
        );
        assert_eq!(read("On loan to Town FD"), Spot::Loan("Town FD".into(), None));
        assert_eq!(read("In transit to Truck 1"), Spot::Transit("Truck 1".into()));
        assert_eq!(read("Retired"), Spot::Retired);
        assert_eq!(read("n/a"), Spot::Nothing);
        for text in ["Big Bertha", "District 2", "7"] {
            assert_eq!(read(text), Spot::Unclear(text.into()));
        }
    }

    #[test]
    fn numbers_are_taken_from_names() {
        assert_eq!(number_of("Truck 09"), Some("9".into()));
        assert_eq!(number_of("É7é"), Some("7".into()));
        assert_eq!(number_of("Heavy Rescue"), None);
        for text in ["8", "08", "Sta. 8", "FIRE STATION 8", "Station #8", "station no. 8"] {
            assert_eq!(station_number(text), Some("8".into()), "{text}");
        }
        assert_eq!(station_number("Station 12a"), Some("12A".into()));
        for text in ["E8", "Headquarters", "Engine 8", "", "0"] {
            assert_eq!(station_number(text), None, "{text}");
        }
        assert_eq!(rig_key("ENGINE-02"), rig_key("Engine 2"));
    }
}
