//! What a column can hold, and the names that people give it.

use fullset_calc::ratings::Term;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

macro_rules! fields {
    ($($(#[$doc:meta])* $name:ident, $wire:literal, $export:literal, [$($also:literal),*];)*) => {
        /// What a column holds; on the wire its name in snake case, for a rated term the term's name.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Field {
            $($(#[$doc])* $name,)*
            /// A term that has a column of its own.
            Rated(Term),
        }

        /// Every field but the rated terms, with its wire name and its column names: that of the export first, then from strong to weak.
        pub(super) const FIELDS: &[(Field, &str, &[&str])] = &[$((Field::$name, $wire, &[$export, $($also),*]),)*];
    };
}

fields! {
    /// The agency's own number on the piece.
    Tag, "tag", "Asset tag", ["asset no", "asset number", "asset id", "asset", "tag", "tag no", "tag number", "inventory number", "inventory no",
        "inventory tag", "property tag", "property number", "property no", "equipment number", "equipment no", "equipment id", "barcode", "bar code",
        "tool number", "tool no", "tool id", "piece number", "item number", "item no", "number", "no", "id",
        "inventarnummer", "inventarnr", "inventar nr", "inv nr", "gerätenummer", "gerätenr", "geräte nr", "numéro inventaire", "numéro d'inventaire", "n° d'inventaire", "n° inventaire", "número de inventario", "nº inventario", "inventarisnummer", "numero inventario", "numero di inventario"];
    /// What it is.
    Kind, "kind", "Kind", ["tool kind", "tool type", "equipment type", "asset type", "piece kind", "kind of tool", "type of tool", "type", "tool", "category",
        "class", "equipment", "item", "description",
        "geräteart", "art", "gerät", "nature", "type de matériel", "type d'équipement", "tipo", "tipo de equipo", "soort", "tipo di attrezzo"];
    /// Who made it; put before the model's name.
    Maker, "maker", "Maker", ["manufacturer", "make", "brand", "mfr", "mfg", "manufactured by", "made by",
        "hersteller", "fabrikat", "marke", "fabricant", "fabricante", "fabrikant", "marca", "costruttore"];
    /// The maker's name for it.
    Model, "model", "Model", ["model name", "model number", "model no", "make and model", "make model", "make & model", "product", "tool model",
        "modell", "typ", "typenbezeichnung", "modèle", "modelo", "modello"];
    /// The maker's number on it.
    Serial, "serial", "Serial", ["serial number", "serial no", "serial num", "ser no", "sn", "s/n", "serial id", "manufacturer serial", "mfr serial",
        "seriennummer", "seriennr", "serien nr", "fabriknummer", "fabriknr", "fabrik nr", "numéro de série", "n° de série", "número de serie", "nº de serie", "serienummer", "matricola", "numero di serie"];
    /// The rig, shelf or shop where it is.
    Place, "place", "Assigned to", ["assigned", "assignment", "assigned unit", "assigned rig", "assigned apparatus", "current location", "location", "place",
        "where", "apparatus", "rig", "vehicle", "unit", "on rig", "carried on", "truck", "company", "unit id", "apparatus id",
        "standort", "fahrzeug", "verlastet auf", "lagerort", "affectation", "véhicule", "emplacement", "ubicación", "vehículo", "locatie", "voertuig", "ubicazione", "mezzo"];
    /// The fire house.
    Station, "station", "Station", ["station no", "station number", "station id", "fire station", "firehouse", "fire house", "house", "quarters", "sta", "stn", "hall",
        "wache", "feuerwache", "feuerwehrhaus", "gerätehaus", "caserne", "centre", "estación", "parque", "kazerne", "post", "distaccamento", "sede"];
    /// The group of stations.
    District, "district", "District", ["district no", "district number", "battalion", "battalion no", "batt", "bn", "division", "div", "region",
        "bezirk", "abschnitt", "löschbezirk", "secteur", "distrito", "zona", "distretto"];
    /// Since when it is in service here.
    InServiceSince, "in_service_since", "In service since", ["in service date", "date in service", "in service", "placed in service", "date placed in service",
        "put in service", "service date", "in service from", "start date", "commissioned",
        "in dienst seit", "indienststellung", "in betrieb seit", "im dienst seit", "mise en service", "date de mise en service", "en service depuis", "en servicio desde", "puesta en servicio", "in dienst sinds", "in servizio dal"];
    /// When it was made.
    MadeOn, "made_on", "Date of make", ["made", "made on", "date made", "date of manufacture", "manufacture date", "manufactured", "manufactured on",
        "manufacturing date", "mfg date", "date manufactured", "mfd", "dom", "build date", "production date",
        "baujahr", "herstelldatum", "herstellungsdatum", "herstelljahr", "produktionsdatum", "date de fabrication", "année de fabrication", "fecha de fabricación", "año de fabricación", "bouwjaar", "productiedatum", "data di fabbricazione", "anno di fabbricazione"];
    /// When it was last serviced.
    LastServiceOn, "last_service_on", "Last annual service", ["last annual", "annual service", "last annual test", "last annual check", "last service",
        "last service date", "date of last service", "last serviced", "last serviced on", "serviced", "serviced on", "last annual inspection", "last inspection", "last test", "last tested",
        "letzte prüfung", "letzte wartung", "letzte jahresprüfung", "letzte jährliche prüfung", "dernière révision", "dernier contrôle", "última revisión", "último mantenimiento", "laatste keuring", "laatste onderhoud", "ultima revisione", "ultima manutenzione"];
    /// Who lends it, where it is not the agency's own: `Dorvan dealer (due 2026-12-01)`.
    LentBy, "lent_by", "Lent to us by", ["lent by", "lender", "on loan from", "loaned by", "loaned from", "borrowed from", "loaner from",
        "geliehen von", "leihgeber", "prêté par", "prestado por", "geleend van"];
    /// Whether it may be used.
    State, "state", "Status", ["state", "service status", "condition", "in or out of service", "serviceability",
        "zustand", "état", "statut", "estado", "toestand", "stato"];
    /// Why it is out of service.
    StateReason, "state_reason", "Out of service because", ["out of service reason", "reason out of service", "reason for out of service", "why out of service",
        "oos reason", "reason", "grund", "grund außer dienst", "motif", "motivo", "reden"];
    /// How long a hose is.
    Length, "length", "Length", ["hose length", "len", "hose len",
        "länge", "schlauchlänge", "longueur", "longitud", "lengte", "lunghezza"];
    /// How far it opens: a cutter between its blades, any other tool between its tips.
    Opening, "opening", "Opening/spread", ["opening or spread", "opening", "spread", "spread/opening", "max opening", "max spread", "opening width", "jaw opening",
        "öffnung", "öffnungsweite", "spreizweite", "spreizweg", "ouverture", "écartement", "apertura", "opening", "openingswijdte"];
    /// What it spreads or pushes with: lowest and highest, or stage by stage.
    Force, "force", "Force", ["force range", "spreading or push force", "spread force", "spreading force", "push force", "pushing force", "forces", "stage forces",
        "force per stage", "force by stage",
        "kraft", "spreizkraft", "druckkraft", "effort", "fuerza", "kracht", "forza"];
    /// What it pulls with.
    Pull, "pull", "Pulling force", ["pull force", "pull", "pulling",
        "zugkraft", "effort de traction", "fuerza de tracción", "trekkracht", "forza di trazione"];
    /// What it works at or stands.
    Pressure, "pressure", "Pressure", ["operating pressure", "working pressure", "rated pressure", "max pressure", "maximum pressure", "allowable pressure", "system pressure", "op pressure",
        "druck", "betriebsdruck", "arbeitsdruck", "nenndruck", "pression", "pression de service", "presión", "presión de trabajo", "druk", "werkdruk", "pressione"];
    /// What it is filled with.
    Fluid, "fluid", "Fluid", ["hydraulic fluid", "oil", "fluid type", "hydraulic oil", "oil type",
        "flüssigkeit", "hydraulikflüssigkeit", "hydrauliköl", "öl", "fluide", "huile", "fluido", "aceite", "vloeistof", "olie", "olio"];
    /// The coupling family.
    Coupling, "coupling", "Coupling", ["couplings", "coupler", "couplers", "coupling type", "coupling family", "connector", "connection",
        "kupplung", "kupplungen", "kupplungssystem", "coupleur", "raccord", "acoplamiento", "koppeling", "innesto"];
    /// The coupling family of a hose's tool end, where it differs.
    ToolCoupling, "tool_coupling", "Tool coupling", ["tool end coupling", "tool end", "coupling tool end"];
    /// How many tools a source runs at once.
    Circuits, "circuits", "Circuits", ["outlets", "no of circuits", "number of circuits", "no of outlets", "number of outlets", "ports", "tools at once"];
    /// The battery family.
    Battery, "battery", "Battery", ["battery family", "battery type", "battery system", "battery platform", "batteries",
        "akku", "akkusystem", "akkutyp", "batterie", "batería", "accu"];
    /// The standard that all rated figures of the row are by.
    Standard, "standard", "Standard", ["rating standard", "rated by", "tested to",
        "norm", "norme", "norma"];
    /// The edition of that standard.
    Edition, "edition", "Edition", ["standard edition", "edition of standard"];
    /// Anything else.
    Note, "note", "Note", ["notes", "remark", "remarks", "comment", "comments", "memo",
        "bemerkung", "bemerkungen", "anmerkung", "remarque", "remarques", "observations", "observaciones", "notas", "opmerking", "opmerkingen"];
}

/// Rated terms that people head with another word than the term's own.
pub(super) const TERM_WORDS: &[(Term, &[&str])] = &[
    (
        Term::RetractedLength,
        &[
            "Retracted",
            "closed length",
            "retracted len",
            "min length",
            "minimum length",
            "eingefahren",
            "länge eingefahren",
        ],
    ),
    (
        Term::ExtendedLength,
        &[
            "Extended",
            "open length",
            "extended len",
            "max length",
            "maximum length",
            "ausgefahren",
            "länge ausgefahren",
        ],
    ),
    (
        Term::CuttingLevels,
        &[
            "Cutting levels",
            "cut levels",
            "cutting level",
            "cutting rating",
            "cut rating",
            "cutting performance",
            "nfpa levels",
            "nfpa rating",
        ],
    ),
    (Term::RamStages, &["Stages", "ram stages", "no of stages", "stage count"]),
    (Term::CuttingCapacity, &["cutting class", "cutting capacity letter"]),
    (Term::Mass, &["weight", "tool weight", "wt", "gewicht", "masse", "poids", "peso"]),
    (Term::TankVolume, &["tank", "tank size", "tank capacity", "reservoir"]),
    (Term::RunTime, &["runtime"]),
    (Term::Flow, &["flow rate", "output"]),
    (Term::Power, &["engine power", "motor power"]),
];

impl Field {
    /// The name on the wire.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Rated(term) => term.name(),
            other => FIELDS.iter().find(|(field, ..)| *field == other).map_or("", |(_, name, _)| name),
        }
    }

    /// The field of that name on the wire.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let own = FIELDS.iter().find(|(_, wire, _)| *wire == name).map(|(field, ..)| *field);
        own.or_else(|| Term::from_name(name).map(Self::Rated))
    }

    /// The column name in the export.
    #[must_use]
    pub fn export_name(self) -> String {
        match self {
            Self::Rated(term) => TERM_WORDS
                .iter()
                .find(|(known, words)| *known == term && words.first().is_some_and(|w| w.starts_with(char::is_uppercase)))
                .and_then(|(_, words)| words.first())
                .map_or_else(|| format!("Rated {}", term.label()), |word| (*word).to_owned()),
            other => FIELDS
                .iter()
                .find(|(field, ..)| *field == other)
                .and_then(|(.., words)| words.first())
                .map_or_else(String::new, |w| (*w).to_owned()),
        }
    }

    /// Every field's name on the wire, for a hint.
    #[must_use]
    pub fn names() -> String {
        let own = FIELDS.iter().map(|(_, name, _)| *name);
        own.chain(Term::ALL.iter().map(|term| term.name())).collect::<Vec<_>>().join(", ")
    }
}

impl Serialize for Field {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Field {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        let name = String::deserialize(input)?;
        Self::from_name(&name).ok_or_else(|| D::Error::custom(format!("there is no field \"{name}\"")))
    }
}
