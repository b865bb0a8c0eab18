//! Models of makers that do not exist. The figures are plausible, not anybody's.

use serde_json::{Map, Value, json};

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    PowerUnit,
    HandPump,
    Cutter,
    Spreader,
    Combi,
    Ram,
    Hose,
    Adapter,
    Battery,
    Charger,
    Accessory,
}

impl Kind {
    /// The name on the wire.
    pub const fn wire(self) -> &'static str {
        match self {
            Self::PowerUnit => "power_unit",
            Self::HandPump => "hand_pump",
            Self::Cutter => "cutter",
            Self::Spreader => "spreader",
            Self::Combi => "combination_tool",
            Self::Ram => "ram",
            Self::Hose => "hose",
            Self::Adapter => "adapter",
            Self::Battery => "battery",
            Self::Charger => "charger",
            Self::Accessory => "accessory",
        }
    }

    /// What its asset tags begin with.
    pub const fn code(self) -> &'static str {
        match self {
            Self::PowerUnit => "PU",
            Self::HandPump => "HP",
            Self::Cutter => "CU",
            Self::Spreader => "SP",
            Self::Combi => "CT",
            Self::Ram => "RM",
            Self::Hose => "HO",
            Self::Adapter => "AD",
            Self::Battery => "BA",
            Self::Charger => "CH",
            Self::Accessory => "AC",
        }
    }

    /// Whether pressure stands in it: what is wrong with it only a gauge shows.
    pub const fn is_under_pressure(self) -> bool {
        !matches!(self, Self::Battery | Self::Charger | Self::Accessory)
    }

    /// Whether it has an annual service.
    pub const fn is_serviced(self) -> bool {
        !matches!(self, Self::Accessory)
    }
}

/// What belongs together: a coupling with its fluid, or a battery system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// One-push coaxial couplings, mineral oil.
    Push,
    /// Bayonet couplings, mineral oil.
    Bayonet,
    /// The old twin lines, mineral oil.
    Twin,
    /// As old, with the same couplings, but filled with phosphate ester.
    Ester,
    /// The newer packs.
    Pack54,
    /// The older packs.
    Pack36,
    /// Small gear.
    None,
}

impl Family {
    /// Coupling, fluid and operating pressure in psi.
    const fn line(self) -> Option<(&'static str, &'static str, u32)> {
        match self {
            Self::Push => Some(("one-push coax", "mineral oil", 10_400)),
            Self::Bayonet => Some(("bayonet single", "mineral oil", 10_150)),
            Self::Twin => Some(("twin screw", "mineral oil", 9_000)),
            Self::Ester => Some(("twin screw", "phosphate ester", 5_000)),
            Self::Pack54 | Self::Pack36 | Self::None => None,
        }
    }

    /// The coupling families, and whether a joint of each may be made under pressure.
    pub fn couplings() -> [(&'static str, &'static str); 3] {
        [("one-push coax", "yes"), ("bayonet single", "no"), ("twin screw", "no")]
    }

    /// The operating pressure of a hose-fed family, in psi.
    pub fn psi(self) -> u32 {
        self.line().map_or(0, |(_, _, psi)| psi)
    }

    const fn pack(self) -> Option<&'static str> {
        match self {
            Self::Pack54 => Some("Sparrowhale 54"),
            Self::Pack36 => Some("Sparrowhale 36"),
            _ => None,
        }
    }
}

/// A catalogue entry.
#[derive(Debug)]
pub struct Model {
    pub name: &'static str,
    pub kind: Kind,
    pub family: Family,
    /// Which accessory it is, by the name on the wire.
    pub gear: Option<&'static str>,
    pub hookup: Value,
    pub ratings: Value,
}

impl Model {
    /// Of a hose, its length in feet.
    pub fn feet(&self) -> Option<f64> {
        let length = self.ratings.get("hose_length")?;
        let feet = if length.get("unit")? == "m" { 1.0 / 0.3048 } else { 1.0 };
        Some(length.get("value")?.as_f64()? * feet)
    }

    /// The family of models that are run alike and take a sign-off of their own: the newer battery tools.
    pub fn signed_off_as(&self) -> Option<&'static str> {
        (self.family == Family::Pack54 && matches!(self.kind, Kind::Combi | Kind::Ram)).then_some("Sparrowhale 54")
    }

    /// The number of a rating.
    pub fn rated(&self, term: &str) -> Option<f64> {
        self.ratings.get(term)?.get("value")?.as_f64()
    }
}

/// Ratings under construction: what is measured, and by which standard and edition.
pub struct Rated {
    pub all: Map<String, Value>,
    by: Option<(&'static str, &'static str)>,
}

pub fn nfpa(edition: &'static str) -> Rated {
    Rated {
        all: Map::new(),
        by: Some(("NFPA 1936", edition)),
    }
}

pub fn plain() -> Rated {
    Rated { all: Map::new(), by: None }
}

impl Rated {
    fn put(mut self, term: &str, mut rating: Value) -> Self {
        if let (Some((standard, edition)), Some(fields)) = (self.by, rating.as_object_mut()) {
            fields.insert("standard".into(), standard.into());
            fields.insert("edition".into(), edition.into());
        }
        self.all.insert(term.to_owned(), rating);
        self
    }

    pub fn of(self, term: &str, value: f64, unit: &str) -> Self {
        self.put(term, json!({ "value": value, "unit": unit }))
    }

    pub fn levels(self, levels: &str) -> Self {
        self.put("cutting_levels", json!({ "levels": levels }))
    }

    fn letter(self, letter: &str) -> Self {
        self.put("cutting_capacity", json!({ "letter": letter }))
    }

    /// What follows is rated by another standard.
    fn then_by(mut self, standard: &'static str, edition: &'static str) -> Self {
        self.by = Some((standard, edition));
        self
    }

    /// What follows is measured by no standard: what it weighs, how long it runs.
    pub fn then_plain(mut self) -> Self {
        self.by = None;
        self
    }

    fn lb(self, mass: f64) -> Self {
        self.then_plain().of("mass", mass, "lb")
    }

    /// Least and greatest spreading force, opening.
    fn spreads(self, least: f64, most: f64, distance: f64) -> Self {
        self.of("lowest_spreading_force", least, "lbf")
            .of("highest_spreading_force", most, "lbf")
            .of("spreading_distance", distance, "in")
    }

    fn pulls(self, least: f64, most: f64) -> Self {
        self.of("lowest_pulling_force", least, "lbf").of("highest_pulling_force", most, "lbf")
    }

    fn cuts(self, opening: f64, levels: &str) -> Self {
        self.of("cutter_opening", opening, "in").levels(levels)
    }

    fn pushes(self, first: f64, second: f64, retracted: f64, extended: f64) -> Self {
        self.of("push_force", first, "lbf")
            .of("push_force_2", second, "lbf")
            .of("retracted_length", retracted, "in")
            .of("extended_length", extended, "in")
    }
}

fn model(name: &'static str, kind: Kind, family: Family, rated: Rated) -> Model {
    let mut hookup = Map::new();
    if let Some((coupling, fluid, psi)) = family.line() {
        hookup.insert("coupling".into(), coupling.into());
        hookup.insert("fluid".into(), fluid.into());
        hookup.insert("pressure".into(), json!({ "value": psi, "unit": "psi" }));
    }
    if let Some(pack) = family.pack() {
        hookup.insert("battery".into(), pack.into());
    }
    Model {
        name,
        kind,
        family,
        gear: None,
        hookup: hookup.into(),
        ratings: rated.all.into(),
    }
}

fn source(name: &'static str, family: Family, circuits: u32, minutes: f64, lb: f64) -> Model {
    let mut unit = model(name, Kind::PowerUnit, family, plain().of("run_time", minutes, "min").lb(lb));
    if let Some(hookup) = unit.hookup.as_object_mut() {
        hookup.insert("circuits".into(), circuits.into());
    }
    unit
}

fn hose(name: &'static str, family: Family, length: f64, unit: &str, lb: f64) -> Model {
    model(name, Kind::Hose, family, plain().of("hose_length", length, unit).lb(lb))
}

/// A piece with another coupling at its tool end.
fn adapter(name: &'static str) -> Model {
    let mut adapter = model(name, Kind::Adapter, Family::Push, plain().lb(2.5));
    if let (Some(hookup), Some((coupling, ..))) = (adapter.hookup.as_object_mut(), Family::Bayonet.line()) {
        hookup.insert("tool_coupling".into(), coupling.into());
    }
    adapter
}

fn gear(name: &'static str, gear: &'static str, lb: f64) -> Model {
    Model {
        gear: Some(gear),
        ..model(name, Kind::Accessory, Family::None, plain().lb(lb))
    }
}

/// Every model.
pub fn models() -> Vec<Model> {
    use Family::{Bayonet, Ester, Pack36, Pack54, Push, Twin};
    use Kind::{Battery, Charger, Combi, Cutter, HandPump, Ram, Spreader};
    vec![
        source("Ferrowick Duet", Push, 2, 95.0, 51.0),
        source("Ferrowick Solo", Push, 1, 110.0, 38.0),
        source("Ferrowick Trio", Push, 3, 80.0, 74.0),
        model("Ferrowick C-62", Cutter, Push, nfpa("2020").cuts(7.9, "A8/B8/C7/D9/E8").lb(36.5)),
        model("Ferrowick C-80", Cutter, Push, nfpa("2020").cuts(8.4, "A8/B9/C9/D9/E9/F5").lb(47.0)),
        model(
            "Ferrowick S-45",
            Spreader,
            Push,
            nfpa("2020").spreads(9_400.0, 17_800.0, 28.5).pulls(7_100.0, 11_900.0).lb(39.0),
        ),
        model(
            "Ferrowick S-70",
            Spreader,
            Push,
            nfpa("2020").spreads(13_300.0, 24_600.0, 32.2).pulls(9_600.0, 15_200.0).lb(56.0),
        ),
        model("Ferrowick R-2", Ram, Push, nfpa("2020").pushes(30_200.0, 14_700.0, 17.8, 39.6).lb(31.0)),
        model(
            "Ferrowick R-3 Long",
            Ram,
            Push,
            nfpa("2020").pushes(47_100.0, 23_300.0, 23.9, 62.4).of("push_force_3", 12_200.0, "lbf").lb(46.0),
        ),
        hose("Ferrowick Coax 30", Push, 30.0, "ft", 21.0),
        hose("Ferrowick Coax 50", Push, 50.0, "ft", 34.0),
        adapter("Ferrowick adapter, coax to bayonet"),
        source("Korvath P2", Bayonet, 2, 100.0, 49.0),
        model("Korvath hand pump", HandPump, Bayonet, plain().lb(24.0)),
        model(
            "Korvath K-55",
            Cutter,
            Bayonet,
            nfpa("2015").cuts(7.5, "A7/B8/C7/D8/E8").then_by("EN 13204", "2016").letter("H").lb(34.0),
        ),
        model(
            "Korvath S-40",
            Spreader,
            Bayonet,
            nfpa("2015")
                .spreads(8_600.0, 16_400.0, 27.6)
                .then_by("EN 13204", "2016")
                .of("rated_spreading_force", 40.0, "kN")
                .lb(38.0),
        ),
        model(
            "Korvath S-38 export",
            Spreader,
            Bayonet,
            plain()
                .then_by("EN 13204", "2016")
                .of("rated_spreading_force", 38.0, "kN")
                .of("spreading_distance", 710.0, "mm")
                .lb(37.0),
        ),
        model("Korvath R-90", Ram, Bayonet, nfpa("2015").pushes(29_400.0, 13_900.0, 18.5, 40.2).lb(33.0)),
        hose("Korvath Line 10 m", Bayonet, 10.0, "m", 22.0),
        source("Marrable 20", Twin, 1, 70.0, 63.0),
        model("Marrable M-7", Cutter, Twin, nfpa("2010").cuts(6.6, "A6/B7/C6/D7/E7").lb(33.0)),
        model("Marrable M-26", Spreader, Twin, nfpa("2010").spreads(7_200.0, 13_900.0, 26.0).lb(45.0)),
        model("Marrable M-R2", Ram, Twin, nfpa("2010").pushes(27_000.0, 12_600.0, 20.1, 37.5).lb(34.0)),
        hose("Marrable twin line 32", Twin, 32.0, "ft", 28.0),
        source("Quillane Q5", Ester, 1, 65.0, 66.0),
        model("Quillane QC", Cutter, Ester, nfpa("2010").cuts(6.4, "A6/B6/C6/D7/E6").lb(37.0)),
        model("Quillane QS 28", Spreader, Ester, nfpa("2010").spreads(6_900.0, 12_800.0, 28.0).lb(52.0)),
        model("Quillane QR", Ram, Ester, nfpa("2010").pushes(24_800.0, 12_100.0, 20.5, 36.5).lb(36.0)),
        hose("Quillane ester line 32", Ester, 32.0, "ft", 27.0),
        model(
            "Sparrowhale VC-54",
            Combi,
            Pack54,
            nfpa("2020").spreads(7_900.0, 21_500.0, 14.6).cuts(10.1, "A7/B8/C6/D8/E7").lb(42.0),
        ),
        model("Sparrowhale VR-54", Ram, Pack54, nfpa("2020").pushes(28_800.0, 13_800.0, 19.0, 41.0).lb(38.0)),
        model("Sparrowhale Pack 54", Battery, Pack54, plain().of("run_time", 42.0, "min").lb(6.2)),
        model("Sparrowhale Charger 54", Charger, Pack54, plain().lb(9.0)),
        model(
            "Sparrowhale VC-36",
            Combi,
            Pack36,
            nfpa("2015").spreads(6_400.0, 17_200.0, 13.4).cuts(9.2, "A6/B7/C6/D6/E6").lb(41.0),
        ),
        model("Sparrowhale Pack 36", Battery, Pack36, plain().of("run_time", 28.0, "min").lb(5.1)),
        model("Sparrowhale Charger 36", Charger, Pack36, plain().lb(8.0)),
        gear("Hasp & Dray chain set", "chains", 22.0),
        gear("Hasp & Dray ram support", "ram_support", 17.0),
        gear("Hasp & Dray sharp-edge covers", "edge_covers", 7.0),
    ]
}
