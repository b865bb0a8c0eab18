//! Which addresses there are and which methods each takes, from the same list as the document.

use actix_web::{
    dev::ResourceDef,
    http::{Method, header::HeaderValue},
};

/// The addresses of the API.
#[derive(Debug)]
pub struct Addresses(Vec<(ResourceDef, Vec<Method>)>);

impl Addresses {
    /// Those of a list of routes.
    pub fn of(routes: impl Iterator<Item = (&'static str, Method)>) -> Self {
        let mut by_path: Vec<(&str, Vec<Method>)> = Vec::new();
        for (path, method) in routes {
            match by_path.iter_mut().find(|(known, _)| *known == path) {
                Some((_, methods)) => methods.push(method),
                None => by_path.push((path, vec![method])),
            }
        }
        Self(by_path.into_iter().map(|(path, methods)| (ResourceDef::new(path), methods)).collect())
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
