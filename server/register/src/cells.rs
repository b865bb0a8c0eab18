//! What one cell says: a kind, a state, a fluid, a count. Dates are in [`dates`](super::dates).
//!
//! A cell that does not plainly say one thing is refused with a hint; nothing is guessed.

pub use super::spoilt::{guarded, said, unguarded};
use fullset_calc::{
    hookup::Fluid,
    ratings::{Gear, Kind},
    units::{EXACT, UnitFault},
};

/// Why a cell, a row or a file was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// A code that never changes its meaning.
    pub code: &'static str,
    /// What is wrong.
    pub reason: String,
    /// What to write instead, where that is known.
    pub hint: Option<String>,
}

impl Fault {
    /// A fault from its parts.
    #[must_use]
    pub const fn new(code: &'static str, reason: String, hint: Option<String>) -> Self {
        Self { code, reason, hint }
    }
}

impl From<UnitFault> for Fault {
    fn from(fault: UnitFault) -> Self {
        let open = fault.code == "ambiguous-number";
        let plain = |text: String| text.replace(EXACT, ".");
        let reason = plain(fault.reason);
        Self {
            code: fault.code,
            reason: if open { format!("{reason}: choose the file's number style") } else { reason },
            hint: fault.hint.map(plain),
        }
    }
}

/// Whether a piece may be used, as the file says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowState {
    /// It may be used.
    InService,
    /// It must not be used.
    OutOfService,
    /// It has left the register.
    Retired,
}

impl RowState {
    /// The word in the export.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::InService => "in service",
            Self::OutOfService => "out of service",
            Self::Retired => "retired",
        }
    }
}

/// One line of text without control characters, with single blanks, and with the exact sign of a spreadsheet's number.
#[must_use]
pub fn figure(cell: &str) -> String {
    let plain = cell.replace(|c: char| c.is_control() || c.is_whitespace() || c == '\u{feff}', " ");
    plain.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// A cell as a plain file has it: an exact number shows by its digits that its sign is a decimal one, whoever reads it.
#[must_use]
pub fn plain_number(cell: &str) -> String {
    match cell.split_once(EXACT) {
        // 10.125 might be read as ten thousand; 10.1250 cannot.
        Some((whole, part)) if part.len() == 3 => format!("{whole}.{part}0"),
        Some((whole, part)) => format!("{whole}.{part}"),
        None => cell.to_owned(),
    }
}

/// As [`figure`], for everything but figures: without the sign, and without the apostrophe before a text that needs one.
#[must_use]
pub fn line(cell: &str) -> String {
    unguarded(&figure(cell)).replace(EXACT, ".")
}

/// Text of several lines without other control characters.
#[must_use]
pub fn lines(cell: &str) -> String {
    let plain = cell
        .replace("\r\n", "\n")
        .replace('\r', "\n")
        .replace(|c: char| c.is_control() && c != '\n', " ")
        .replace(EXACT, ".");
    unguarded(plain.trim()).trim().to_owned()
}

/// Whether a cell says that nothing is known: blank, or one of the usual stand-ins.
#[must_use]
pub fn is_blank(text: &str) -> bool {
    matches!(
        text.to_lowercase().as_str(),
        "" | "-" | "--" | "\u{2013}" | "\u{2014}" | "?" | "n/a" | "na" | "n.a." | "none" | "unknown" | "unk" | "tbd" | "not known" | "#n/a"
    )
}

/// Lower-case words of letters and digits.
#[must_use]
pub fn words(text: &str) -> Vec<String> {
    text.to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Words that say how a tool is driven or built, not what it is.
const QUALIFIERS: &[&str] = &[
    "hydraulic",
    "hyd",
    "rescue",
    "extrication",
    "electric",
    "battery",
    "cordless",
    "powered",
    "operated",
    "portable",
    "gas",
    "gasoline",
    "petrol",
    "diesel",
    "engine",
    "heavy",
    "light",
    "duty",
    "mini",
    "small",
    "large",
    "big",
    "long",
    "short",
    "telescopic",
    "telescoping",
    "twin",
    "single",
    "dual",
    "triple",
    "coax",
    "coaxial",
    "line",
    "simo",
    "straight",
    "tandem",
    "extension",
    "spare",
    "reserve",
];

/// Words that stand behind a kind without saying more, unless they are part of its name.
const FILLERS: &[&str] = &["tool", "unit", "assembly", "assy"];

/// The kind behind one or two words that name it, in the singular.
fn kind_named(name: &str) -> Option<Kind> {
    Some(match name {
        "power unit"
        | "power pack"
        | "powerpack"
        | "power plant"
        | "powerplant"
        | "power source"
        | "pump"
        | "pump unit"
        | "hpu"
        | "hydraulic power unit"
        | "pu"
        | "engine pump"
        | "motor pump"
        | "gas pump"
        | "electric pump"
        | "simo pump"
        | "power pump" => Kind::PowerUnit,
        "hand pump" | "handpump" | "manual pump" | "foot pump" => Kind::HandPump,
        "cutter" | "shear" | "cutting tool" | "pedal cutter" => Kind::Cutter,
        "spreader" | "spreading tool" => Kind::Spreader,
        "combination tool" | "combination" | "combi" | "combitool" | "combi tool" | "combo" | "combo tool" | "combined tool" | "spreader cutter"
        | "cutter spreader" => Kind::CombinationTool,
        "ram" | "cylinder" | "push ram" | "pushing ram" | "ram cylinder" => Kind::Ram,
        "adapter" | "adaptor" | "coupling adapter" => Kind::Adapter,
        "hose" | "hose line" | "hoseline" | "hose reel" | "hose set" | "hose pair" => Kind::Hose,
        "battery" | "batterie" | "battery pack" | "batt" | "power cell" | "pack" => Kind::Battery,
        "charger" | "battery charger" | "charging station" | "charger unit" => Kind::Charger,
        "accessory" | "accessorie" | "chain" | "chain set" | "chain kit" | "tip" | "tip set" | "spreader tip" | "ram support" | "ram base" | "support"
        | "cribbing" | "crib" | "block" | "step chock" | "chock" | "wedge" | "glass tool" | "glass saw" | "edge cover" | "sharp edge cover" | "cover"
        | "adapter plate" | "attachment" | "strap" | "ram attachment" | "spreader chain" | "ram extension" | "extension pipe" | "cribbing set" => {
            Kind::Accessory
        }
        other => return super::words::kind(other),
    })
}

/// What a piece is, by any usual spelling.
///
/// # Errors
/// `unknown-kind`, with the kinds that there are.
pub fn kind(text: &str) -> Result<Kind, Fault> {
    let words = words(text);
    let singular: Vec<&str> = words
        .iter()
        .map(|w| w.strip_suffix('s').filter(|s| s.len() > 2 && !s.ends_with('s')).unwrap_or(w))
        .collect();
    let plain: Vec<&str> = singular.iter().copied().filter(|w| !QUALIFIERS.contains(w)).collect();
    let bare: Vec<&str> = plain.iter().copied().filter(|w| !FILLERS.contains(w)).collect();
    // The whole name first: "battery" is a kind, and a qualifier in "battery cutter"; "unit" belongs to "power unit".
    let found = [singular, plain, bare].iter().find_map(|words| kind_named(&words.join(" ")));
    found.ok_or_else(|| {
        let all = Kind::ALL.iter().map(|kind| kind.word()).collect::<Vec<_>>().join(", ");
        let reason = if text.is_empty() {
            "the kind is blank".to_owned()
        } else {
            format!("\"{text}\" is not a kind of piece that is known")
        };
        Fault::new("unknown-kind", reason, Some(format!("write one of: {all}")))
    })
}

/// Whether the piece may be used, by any usual spelling.
///
/// # Errors
/// `unknown-state`, also for a blank: unknown is not in service.
pub fn state(text: &str) -> Result<RowState, Fault> {
    Ok(match words(text).join(" ").as_str() {
        "in service" | "in svc" | "is" | "ins" | "ok" | "okay" | "good" | "fine" | "active" | "available" | "ready" | "serviceable" | "front line"
        | "frontline" | "in use" | "pass" | "passed" | "operational" | "yes" | "up" | "new" | "fair" | "excellent" | "working" | "reserve" | "spare"
        | "in service spare" | "in service on rig" => RowState::InService,
        "out of service" | "out of svc" | "oos" | "o o s" | "tagged" | "tagged out" | "red tag" | "red tagged" | "down" | "defect" | "defective" | "broken"
        | "failed" | "fail" | "unserviceable" | "in repair" | "repair" | "in shop" | "at shop" | "shop" | "waiting for parts" | "out" | "no" | "bad"
        | "poor" | "quarantined" | "quarantine" | "not in service" | "inactive" | "damaged" | "needs repair" | "do not use" | "lost" | "missing" => {
            RowState::OutOfService
        }
        "retired" | "disposed" | "disposed of" | "scrapped" | "scrap" | "surplus" | "surplused" | "sold" | "condemned" | "decommissioned" => RowState::Retired,
        other => {
            if let Some(state) = super::words::state(other) {
                return Ok(state);
            }
            let reason = if is_blank(text) {
                "the state is not given, and unknown is not in service".to_owned()
            } else {
                format!("\"{text}\" is not a state that is known")
            };
            return Err(Fault::new("unknown-state", reason, Some("write in service, out of service or retired".into())));
        }
    })
}

/// The fluid.
///
/// # Errors
/// `unknown-fluid`, with the fluids that there are.
pub fn fluid(text: &str) -> Result<Option<Fluid>, Fault> {
    if is_blank(text) {
        return Ok(None);
    }
    Fluid::from_name(text).or_else(|| super::words::fluid(text)).map(Some).ok_or_else(|| {
        let all = Fluid::ALL.iter().map(|fluid| fluid.name()).collect::<Vec<_>>().join(", ");
        Fault::new(
            "unknown-fluid",
            format!("\"{text}\" is not a fluid that is known"),
            Some(format!("write one of: {all}")),
        )
    })
}

/// The most circuits that a source is believed to have.
const MOST_CIRCUITS: u32 = 16;

/// How many circuits a source has; a count, so no unit.
///
/// # Errors
/// `unreadable-number`, `negative-quantity` or `not-positive`.
pub fn circuits(text: &str) -> Result<Option<u32>, Fault> {
    if is_blank(text) {
        return Ok(None);
    }
    if text.starts_with(['-', '\u{2212}']) {
        return Err(Fault::new(
            "negative-quantity",
            format!("\"{text}\" is below zero"),
            Some("leave the sign away if it was a slip".into()),
        ));
    }
    let digits = text
        .split_once(' ')
        .filter(|(_, word)| matches!(*word, "outlets" | "outlet" | "circuits" | "circuit" | "tools" | "tool"))
        .map_or(text, |(number, _)| number);
    let digits = digits.strip_suffix(".0").unwrap_or(digits);
    match digits.parse::<u32>() {
        Ok(0) => Err(Fault::new(
            "not-positive",
            "a source has at least one circuit".into(),
            Some("leave the cell blank if it is not known".into()),
        )),
        Ok(count @ 1..=MOST_CIRCUITS) => Ok(Some(count)),
        _ => Err(Fault::new(
            "unreadable-number",
            format!("\"{text}\" is not a number of circuits"),
            Some("write how many tools it runs at once, for example 2".into()),
        )),
    }
}

#[cfg(test)]
#[path = "cells_tests.rs"]
mod tests;

/// Which accessory a model's name means, where it says so plainly.
pub fn gear_named(name: &str) -> Option<Gear> {
    let words = words(name);
    let has = |part: &str| words.iter().any(|word| word.starts_with(part));
    let named = [
        (has("chain"), Gear::Chains),
        (has("ram") && (has("support") || has("base")), Gear::RamSupport),
        (has("ram") && has("extension"), Gear::RamExtension),
        (has("tip"), Gear::Tips),
        (has("crib") || has("chock") || has("wedge"), Gear::Cribbing),
        (has("strut"), Gear::Struts),
        (has("lift") && has("bag"), Gear::LiftingBag),
        (has("edge") || (has("sharp") && has("cover")), Gear::EdgeCovers),
        (has("glass"), Gear::GlassTools),
        (has("airbag"), Gear::AirbagRestraint),
        (has("strap") || has("sling"), Gear::Straps),
        (has("mains") && has("adapter"), Gear::MainsAdapter),
    ];
    let mut meant = named.into_iter().filter_map(|(says, gear)| says.then_some(gear));
    // A name that says two things says neither.
    meant.next().filter(|_| meant.next().is_none())
}
