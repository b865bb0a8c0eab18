//! Which addresses there are and which methods each takes, from the same list as the document.

use actix_web::{
    dev::ResourceDef,
    http::{Method, header::HeaderValue},
};
use serde_json::Value;

/// The addresses of the API.
#[derive(Debug)]
pub struct Addresses(Vec<(ResourceDef, Vec<Method>)>);

impl Addresses {
    /// Those that a document describes.
    pub fn of(document: &Value) -> Self {
        let paths = document.get("paths").and_then(Value::as_object).into_iter().flatten();
        Self(paths.map(|(path, item)| (ResourceDef::new(path.as_str()), methods(item))).collect())
    }

    /// The methods that an address takes: none where nothing answers at it. What is read can be asked for by HEAD.
    pub fn methods(&self, path: &str) -> Vec<Method> {
        let mut all: Vec<Method> = Vec::new();
        let taken = self.0.iter().filter(|(pattern, _)| pattern.is_match(path)).flat_map(|(_, methods)| methods);
        for method in taken {
            if !all.contains(method) {
                all.push(method.clone());
            }
        }
        if all.contains(&Method::GET) && !all.contains(&Method::HEAD) {
            all.push(Method::HEAD);
        }
        all.sort_by(|one, other| one.as_str().cmp(other.as_str()));
        all
    }

    /// Whether HEAD at an address is answered by its GET.
    pub fn heads_by_get(&self, path: &str) -> bool {
        let mut taken = self.0.iter().filter(|(pattern, _)| pattern.is_match(path)).map(|(_, methods)| methods);
        taken.clone().any(|methods| methods.contains(&Method::GET)) && !taken.any(|methods| methods.contains(&Method::HEAD))
    }
}

/// Methods as the header `Allow` lists them.
pub fn allow(methods: &[Method]) -> HeaderValue {
    let names: Vec<&str> = methods.iter().map(Method::as_str).collect();
    HeaderValue::from_str(&names.join(", ")).unwrap_or(HeaderValue::from_static("GET"))
}

fn methods(item: &Value) -> Vec<Method> {
    [Method::GET, Method::HEAD, Method::POST, Method::PUT, Method::PATCH, Method::DELETE]
        .into_iter()
        .filter(|method| item.get(method.as_str().to_ascii_lowercase()).is_some())
        .collect()
}
