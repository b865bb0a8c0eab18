//! What an address asks for after its question mark.

use std::ops::Deref;

use actix_web::{FromRequest, HttpRequest, dev::Payload};
use serde::de::DeserializeOwned;

use crate::platform::{
    error::{self, Fault},
    serde_words::plain,
};

/// The parameters of a request. A fault names the one that cannot be used.
#[derive(Debug, Clone)]
pub struct Query<Q>(pub Q);

impl<Q> Query<Q> {
    /// The parameters alone.
    pub fn into_inner(self) -> Q {
        self.0
    }
}

impl<Q> Deref for Query<Q> {
    type Target = Q;

    fn deref(&self) -> &Q {
        &self.0
    }
}

impl<Q: DeserializeOwned> FromRequest for Query<Q> {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(read(request.query_string()).map(Self))
    }
}

fn read<Q: DeserializeOwned>(text: &str) -> Result<Q, Fault> {
    let reader = serde_urlencoded::Deserializer::new(form_urlencoded::parse(text.as_bytes()));
    serde_path_to_error::deserialize(reader).map_err(|fault| {
        let path = fault.path().to_string();
        let words = Fault::new(error::QUERY_INVALID, plain(&fault.into_inner().to_string()));
        match path.as_str() {
            "." | "" => words,
            parameter => words.at(parameter),
        }
    })
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code, reason = "only whether it can be read is asked")]
    struct Asked {
        limit: Option<u32>,
        planned: Option<bool>,
        since: String,
    }

    #[test]
    fn a_parameter_that_cannot_be_used_is_named() {
        for (text, field, words) in [
            ("since=a&limit=many", Some("limit"), "This must be a whole number within its bounds"),
            ("since=a&limit=", Some("limit"), "This must be a number; leave it out where there is none"),
            ("since=a&planned=yes", Some("planned"), "This must be true or false"),
            ("limit=4", None, "`since` is missing; give it"),
            (
                "since=a&until=b",
                Some("until"),
                "There is no field `until` here; there is `limit`, `planned`, `since`",
            ),
        ] {
            let fault = read::<Asked>(text).unwrap_err();
            assert_eq!((fault.field.as_deref(), fault.detail.as_str()), (field, words), "{text}");
        }
        assert_eq!(read::<Asked>("since=7%20days&limit=4").unwrap().since, "7 days");
    }
}
