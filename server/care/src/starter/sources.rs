//! Published texts that steps go back to (CHECKS A4).

pub(super) const AFTER_USE: &str = "DGUV Vorschrift 49, section 11: look over after each use";
pub(super) const RHYTHM: &str = "Fire apparatus trade press: start and run power tools daily or weekly to working temperature, cycle each fully";
pub(super) const PUMP: &str = "DGUV Grundsatz 305-002 (2013), 13.2.1";
pub(super) const ELECTRIC: &str = "DGUV Grundsatz 305-002 (2013), 13.2.2 to 13.2.4";
pub(super) const HOSE: &str = "DGUV Grundsatz 305-002 (2013), 13.2.5";
pub(super) const HOSE_REJECT: &str = "DIN 20066:2002-10, reject list; DGUV Grundsatz 305-002 (2013), 13.2.5";
pub(super) const HOSE_LIFE: &str = "DGUV Grundsatz 305-002 (2013), 13.2.5 note: replaced at 10 years from date of make";
pub(super) const SPREADER: &str = "DGUV Grundsatz 305-002 (2013), 13.2.6";
pub(super) const PUMP_LOAD: &str = "DGUV Grundsatz 305-002 (2013), 13.3.1";
pub(super) const SPREADER_LOAD: &str = "DGUV Grundsatz 305-002 (2013), 13.3.3";
pub(super) const CAPS: &str = "Fresno FD 306.001a (2018); FwDV 1: never a dirty cap on a clean coupling";
pub(super) const SCREWS: &str = "Fresno FD 306.001a (2018): screws of the valve block, chains";
