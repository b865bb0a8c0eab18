//! What may stand on the list, and which family a written name means.

use std::collections::BTreeMap;

use fullset_calc::hookup::{CouplingFamily, Couplings, fold};

use super::feed::Coupling;
use crate::platform::{
    door::name,
    error::{self, Fault},
};

/// The most spellings, and the most families that one mates with.
const MOST: usize = 20;

/// So many near names are offered in place of one that is not on the list.
const OFFERED: usize = 5;

/// The list as names are looked up in it. What an entry mates with that is not there any more is passed over.
pub fn list(all: &[Coupling]) -> Couplings {
    let names: BTreeMap<_, _> = all.iter().map(|one| (one.id, &one.name)).collect();
    let families = all.iter().map(|one| CouplingFamily {
        name: one.name.clone(),
        spellings: one.spellings.clone(),
        mates_with: one.mates_with.iter().filter_map(|id| names.get(id)).map(|name| (*name).clone()).collect(),
        under_pressure: one.under_pressure,
    });
    Couplings::new(families.collect())
}

/// The entry as it may be saved beside the others of the list; or the field that it cannot be saved with, and why.
pub fn coupling(mut draft: Coupling, others: &[Coupling]) -> Result<Coupling, Fault> {
    draft.name = name("body.name", &draft.name)?;
    if fold(&draft.name).is_empty() {
        return Err(Fault::field("body.name", "A coupling's name holds a letter or a digit"));
    }
    for (field, count) in [("spellings", draft.spellings.len()), ("mates_with", draft.mates_with.len())] {
        if count > MOST {
            return Err(Fault::field(format!("body.{field}"), format!("These are {count}; {MOST} at most")));
        }
    }
    let others: Vec<&Coupling> = others.iter().filter(|other| other.id != draft.id).collect();
    let mut taken: BTreeMap<String, &str> = BTreeMap::new();
    for other in &others {
        for word in std::iter::once(&other.name).chain(&other.spellings) {
            taken.insert(fold(word), &other.name);
        }
    }
    if let Some(holder) = taken.get(&fold(&draft.name)) {
        return Err(Fault::new(error::ALREADY_THERE, format!("'{}' is '{holder}' on the list already", draft.name)).at("body.name"));
    }
    let mut own = vec![fold(&draft.name)];
    let mut spellings = Vec::new();
    for (at, given) in draft.spellings.iter().enumerate() {
        let field = format!("body.spellings[{at}]");
        let word = name(&field, given)?;
        let key = fold(&word);
        if key.is_empty() {
            return Err(Fault::field(field, "A spelling holds a letter or a digit"));
        }
        if let Some(holder) = taken.get(&key) {
            return Err(Fault::new(error::ALREADY_THERE, format!("'{word}' is '{holder}' on the list already")).at(field));
        }
        // What differs in case, blanks and hyphens only is one spelling.
        if !own.contains(&key) {
            own.push(key);
            spellings.push(word);
        }
    }
    draft.spellings = spellings;
    let mut mates = Vec::new();
    for (at, id) in draft.mates_with.iter().enumerate() {
        let field = format!("body.mates_with[{at}]");
        if *id == draft.id {
            return Err(Fault::field(field, "A family mates with its own anyway; name only others"));
        }
        if !others.iter().any(|other| other.id == *id) {
            return Err(Fault::field(field, format!("There is no coupling with the id {id}")));
        }
        if !mates.contains(id) {
            mates.push(*id);
        }
    }
    draft.mates_with = mates;
    Ok(draft)
}

/// The name on the list that a written one means; or why it is none, with the names nearest to it.
pub fn family(couplings: &Couplings, field: &str, written: &str) -> Result<String, Fault> {
    let written = name(field, written)?;
    if let Some(family) = couplings.find(&written) {
        return Ok(family.name.clone());
    }
    let near = couplings.nearest(&written, OFFERED);
    let offered = if near.is_empty() {
        "the list is empty".to_owned()
    } else {
        format!("the nearest are {}", near.join(", "))
    };
    Err(
        Fault::field(field, format!("'{written}' is not on the agency's list of couplings; {offered}")).hint(format!(
            "choose one of the list, add '{written}' to it as a spelling, or add it as a family of its own (POST /v1/couplings)"
        )),
    )
}

#[cfg(test)]
mod tests {
    use fullset_calc::hookup::UnderPressure;
    use uuid::Uuid;

    use fullset_calc::hookup::Mates;

    use super::*;
    use crate::slices::couplings::CouplingId;

    fn one(n: u128, name: &str, spellings: &[&str], mates_with: &[u128]) -> Coupling {
        Coupling {
            id: CouplingId(Uuid::from_u128(n)),
            name: name.into(),
            spellings: spellings.iter().map(|s| (*s).to_owned()).collect(),
            mates_with: mates_with.iter().map(|n| CouplingId(Uuid::from_u128(*n))).collect(),
            under_pressure: UnderPressure::Unknown,
            rev: 1,
        }
    }

    fn held() -> Vec<Coupling> {
        vec![one(1, "One-push coax", &["OP"], &[2]), one(2, "flat-face single", &[], &[])]
    }

    #[test]
    fn what_cannot_stand_on_the_list_is_refused_at_its_field() {
        let many: Vec<String> = (0..21).map(|n| format!("s{n}")).collect();
        let long = "x".repeat(201);
        let texts: Vec<&str> = many.iter().map(String::as_str).collect();
        for (draft, field) in [
            (one(9, "one push coax", &[], &[]), "body.name"),
            (one(9, "op", &[], &[]), "body.name"),
            (one(9, " - ", &[], &[]), "body.name"),
            (one(9, &long, &[], &[]), "body.name"),
            (one(9, "new", &["x", "FLAT FACE SINGLE"], &[]), "body.spellings[1]"),
            (one(9, "new", &["o.p."], &[]), "body.spellings[0]"),
            (one(9, "new", &["?"], &[]), "body.spellings[0]"),
            (one(9, "new", &texts, &[]), "body.spellings"),
            (one(9, "new", &[], &[9]), "body.mates_with[0]"),
            (one(9, "new", &[], &[1, 7]), "body.mates_with[1]"),
            (one(9, "new", &[], &[1; 21]), "body.mates_with"),
        ] {
            let name = draft.name.clone();
            let fault = coupling(draft, &held()).unwrap_err();
            assert_eq!(fault.field.as_deref(), Some(field), "{name}: {}", fault.detail);
        }
    }

    #[test]
    fn an_entry_does_not_stand_in_its_own_way_and_says_each_thing_once() {
        let kept = coupling(one(1, "ONE PUSH COAX ", &["op", "O-P", "one_push coax", "coax"], &[2, 2]), &held()).unwrap();
        assert_eq!(
            (kept.name.as_str(), kept.spellings.as_slice()),
            ("ONE PUSH COAX", &["op".to_owned(), "coax".to_owned()][..])
        );
        assert_eq!(kept.mates_with.len(), 1);
    }

    #[test]
    fn a_written_name_becomes_that_of_the_list_or_is_refused_with_the_nearest() {
        let couplings = list(&held());
        assert_eq!(family(&couplings, "f", " one push  COAX ").unwrap(), "One-push coax");
        assert_eq!(family(&couplings, "f", "o-p").unwrap(), "One-push coax");
        let fault = family(&couplings, "body.hookup.coupling", "flatface singel").unwrap_err();
        assert_eq!(fault.field.as_deref(), Some("body.hookup.coupling"));
        assert!(fault.detail.contains("the nearest are flat-face single, One-push coax"), "{}", fault.detail);
        assert!(fault.hint.unwrap().contains("add"));
        assert!(family(&list(&[]), "f", "x").unwrap_err().detail.contains("the list is empty"));
        assert!(Mates::from(&couplings).mate("flat face single", "one push coax"));
    }
}
