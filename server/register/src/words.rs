//! Words of a register in German, French, Spanish, Dutch and Italian: what kinds, states and fluids are called there. Headings are in
//! [`fields`](super::fields). A word that is not here is refused, never guessed.

use super::cells::RowState;
use fullset_calc::{hookup::Fluid, ratings::Kind};

/// The kind behind a name in small letters, its words parted by single blanks.
pub(super) fn kind(name: &str) -> Option<Kind> {
    Some(match name {
        "aggregat"
        | "hydraulikaggregat"
        | "pumpenaggregat"
        | "motorpumpe"
        | "hydraulikpumpe"
        | "groupe hydraulique"
        | "grupo hidráulico"
        | "aggregaat"
        | "pompaggregaat"
        | "centralina"
        | "centralina idraulica" => Kind::PowerUnit,
        "handpumpe" | "hand pumpe" | "fußpumpe" | "pompe à main" | "bomba manual" | "handpomp" | "pompa a mano" | "pompa manuale" => Kind::HandPump,
        "schneidgerät" | "schneider" | "schere" | "rettungsschere" | "cisaille" | "cizalla" | "schaar" | "knipper" | "cesoia" => Kind::Cutter,
        "spreizer" | "rettungsspreizer" | "écarteur" | "separador" | "divaricatore" => Kind::Spreader,
        "kombigerät" | "kombi" | "kombinationsgerät" | "outil combiné" | "combiné" | "herramienta combinada" | "combigereedschap" | "utensile combinato" => {
            Kind::CombinationTool
        }
        "zylinder" | "rettungszylinder" | "teleskopzylinder" | "vérin" | "cilindro" | "cilinder" => Kind::Ram,
        "schlauch" | "hydraulikschlauch" | "schlauchleitung" | "flexible" | "tuyau" | "manguera" | "slang" | "tubo" => Kind::Hose,
        "akku" | "batería" | "accu" | "batteria" => Kind::Battery,
        "ladegerät" | "chargeur" | "cargador" | "lader" | "caricabatterie" => Kind::Charger,
        "zubehör" | "kettensatz" | "unterbaumaterial" | "accessoire" | "accesorio" | "toebehoren" | "accessorio" => Kind::Accessory,
        _ => return None,
    })
}

/// Whether a piece may be used, by a state in small letters, its words parted by single blanks.
pub(super) fn state(name: &str) -> Option<RowState> {
    Some(match name {
        "einsatzbereit" | "einsatzklar" | "in betrieb" | "in dienst" | "im dienst" | "i o" | "verfügbar" | "en service" | "disponible" | "opérationnel"
        | "opérationnelle" | "en servicio" | "operativo" | "operativa" | "inzetbaar" | "in servizio" | "disponibile" => RowState::InService,
        "außer dienst"
        | "ausser dienst"
        | "außer betrieb"
        | "ausser betrieb"
        | "nicht einsatzbereit"
        | "defekt"
        | "gesperrt"
        | "in reparatur"
        | "n i o"
        | "hors service"
        | "hs"
        | "indisponible"
        | "en réparation"
        | "fuera de servicio"
        | "averiado"
        | "averiada"
        | "en reparación"
        | "buiten dienst"
        | "niet inzetbaar"
        | "fuori servizio"
        | "guasto"
        | "guasta"
        | "in riparazione" => RowState::OutOfService,
        "ausgemustert" | "ausgesondert" | "réformé" | "réformée" | "dado de baja" | "dada de baja" | "afgeschreven" | "dismesso" => RowState::Retired,
        _ => return None,
    })
}

/// The fluid of a name.
pub(super) fn fluid(name: &str) -> Option<Fluid> {
    Some(match name.trim().to_lowercase().as_str() {
        "mineralöl" | "huile minérale" | "aceite mineral" | "minerale olie" | "olio minerale" => Fluid::MineralOil,
        "phosphorsäureester" | "ester phosphorique" => Fluid::PhosphateEster,
        _ => return None,
    })
}
