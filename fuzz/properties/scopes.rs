//! Which part of the agency a feed is asked for: `station:ID,rig:ID`.

use fullset::{platform::error, sync::Scopes};

/// What is read has one spelling, which reads as the same; what is not is refused under its parameter.
pub fn hold(bytes: &[u8]) {
    let Some(text) = super::text(bytes) else { return };
    match Scopes::read(Some(text)) {
        Ok(scopes) => {
            let spelled = scopes.to_string();
            let again = Scopes::read(Some(&spelled)).expect("its own spelling is read");
            assert_eq!(again, scopes);
            assert_eq!(again.to_string(), spelled, "there is one spelling");
            if let Scopes::Places(places) = &scopes {
                let named = places.named().count();
                assert!((1..=Scopes::MOST).contains(&named), "{named} places");
            }
        }
        Err(fault) => {
            assert_eq!(fault.code, error::QUERY_INVALID);
            assert_eq!(fault.field.as_deref(), Some("scope"));
        }
    }
}
