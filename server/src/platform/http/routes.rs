//! One list of routes. actix, the OpenAPI document and the access tests are all made from it.

use actix_web::{guard, http::Method, web};
use serde_json::Value;
use utoipa::openapi::{HttpMethod, PathsBuilder, path::PathItemBuilder, schema::Type};

use super::{
    Addresses, AnswerType, Argument as _, Arguments, Request, Shared,
    caller::roles,
    doc::{Doc, Schemas, reference},
    document::{self, Preface},
    reads::{find_in, history_of, list_in},
};
use crate::platform::{
    door::{Act, Answer, Registry},
    error::{Fault, Problem},
    record::Record,
};

/// Adds a route at a path.
type Wire = Box<dyn Fn(&mut web::ServiceConfig, &str) + Send + Sync>;

/// What a handler's types say of an operation.
type OfTypes = Box<dyn FnOnce(&mut Doc)>;

/// The list.
#[allow(missing_debug_implementations)]
pub struct Api {
    /// The command kinds that the routes and the batch endpoint take.
    pub registry: Registry,
    /// The routes by noun, `/v1/pieces`. An address is looked for among those of its noun alone: a path with an id is a pattern, and to
    /// try all of them took longer than most answers.
    nouns: Vec<(&'static str, Vec<(&'static str, Wire)>)>,
    /// What the document says of each route. It is written only when somebody asks for the document: a service starts without it.
    operations: Vec<(Doc, OfTypes)>,
}

fn http_method(method: &Method) -> HttpMethod {
    match *method {
        Method::POST => HttpMethod::Post,
        Method::PATCH => HttpMethod::Patch,
        Method::PUT => HttpMethod::Put,
        Method::DELETE => HttpMethod::Delete,
        Method::HEAD => HttpMethod::Head,
        _ => HttpMethod::Get,
    }
}

impl Api {
    /// A list without routes.
    pub fn new(registry: Registry) -> Self {
        Self {
            registry,
            nouns: Vec::new(),
            operations: Vec::new(),
        }
    }

    fn describe(&mut self, method: &Method, path: &'static str, mut doc: Doc, of_types: impl FnOnce(&mut Doc) + 'static) {
        (doc.method, doc.path) = (method.clone(), path);
        self.operations.push((doc, Box::new(of_types)));
    }

    /// A command, with its REST address.
    pub fn act<A: Act>(&mut self, method: Method, path: &'static str) {
        self.registry.add::<A>();
        let about = format!(
            "{}. Sends the command `{}`, which may go to `POST /v1/commands` as well. Open to {}{}.",
            A::SUMMARY,
            A::KIND,
            roles(A::NEEDS),
            A::REACH.words()
        );
        let doc = Doc::new(&tag_of(path), &A::KIND.replace('.', "_"), A::SUMMARY, &about).answer("Applied, or applied before under this key");
        self.describe(&method, path, doc, |doc| {
            Request::<A>::describe(doc);
            let status = if A::CREATES { "201" } else { "200" };
            doc.answers_json::<Answer>(status);
            doc.head(status, "ETag", Type::String, "The revision of the main record, in quotes");
            if A::CREATES && !doc.path.contains("{id}") {
                doc.head(status, "Location", Type::String, "Where the record that was made is read");
            }
        });
        self.wire(path, move |config, rest| {
            config.route(
                rest,
                web::method(method.clone()).to(|shared: web::Data<Shared>, request: Request<A>| async move { request.send(&shared).await }),
            );
        });
    }

    /// A list of records.
    pub fn list<R: Record>(&mut self, path: &'static str) {
        self.registry.know::<R>();
        let words = R::KIND.replace('_', " ");
        let about = format!(
            "The agency's records of the kind `{}` in the order of their labels, page by page: go on with `next` as `after` until a page has none.",
            R::KIND
        );
        let doc = Doc::new(&tag_of(path), &format!("list_{}", R::KIND), &format!("List: {words}"), &about).answer("One page");
        self.other(Method::GET, path, doc, list_in::<R>);
    }

    /// One record.
    pub fn find<R: Record>(&mut self, path: &'static str) {
        self.registry.know::<R>();
        let words = R::KIND.replace('_', " ");
        let about = format!(
            "One record of the kind `{}`, now, or with `at` or `revision` as it stood then. Its revision is in `rev` and in `ETag`.",
            R::KIND
        );
        let doc = Doc::new(&tag_of(path), &format!("find_{}", R::KIND), &format!("Find one: {words}"), &about).answer("The record, now or as it stood then");
        self.other(Method::GET, path, doc, find_in::<R>);
    }

    /// What happened to a record, newest first, from the journal.
    pub fn history<R: Record>(&mut self, path: &'static str) {
        let about = format!(
            "Every command that touched one record of the kind `{}`, newest first, each with the record as the command left it: go on with \
             `next` as `after` until a page has none.",
            R::KIND
        );
        let doc = Doc::new(&tag_of(path), &format!("list_{}_history", R::KIND), "What happened to it, newest first", &about).answer("One page");
        self.other(Method::GET, path, doc, history_of::<R>);
    }

    /// Any other endpoint. Parameters, permission, body and answer are those of the handler's signature.
    pub fn other<F, Args>(&mut self, method: Method, path: &'static str, doc: Doc, handler: F)
    where
        F: actix_web::Handler<Args> + Send + Sync,
        Args: actix_web::FromRequest + Arguments + 'static,
        F::Output: actix_web::Responder + AnswerType + 'static,
    {
        self.describe(&method, path, doc, |doc| {
            Args::describe(doc);
            F::Output::describe(doc);
        });
        self.wire(path, move |config, rest| {
            config.route(rest, web::method(method.clone()).to(handler.clone()));
        });
    }

    /// An endpoint that takes a larger body than others.
    pub fn large<F, Args>(&mut self, method: Method, path: &'static str, limit: usize, doc: Doc, handler: F)
    where
        F: actix_web::Handler<Args> + Send + Sync,
        Args: actix_web::FromRequest + Arguments + 'static,
        F::Output: actix_web::Responder + AnswerType + 'static,
    {
        self.describe(&method, path, doc, |doc| {
            Args::describe(doc);
            F::Output::describe(doc);
        });
        self.wire(path, move |config, rest| {
            // Guarded as a whole, so that other methods at the same address are looked for further on.
            let resource = web::resource(rest).guard(guard::Method(method.clone()));
            let resource = resource.app_data(web::PayloadConfig::new(limit));
            config.service(resource.route(web::to(handler.clone())));
        });
    }

    /// The OpenAPI document.
    pub fn document(self, preface: Preface) -> Result<Value, Fault> {
        let (mut paths, mut schemas) = (PathsBuilder::new(), Schemas::new());
        reference::<Problem>(&mut schemas);
        reference::<Answer>(&mut schemas);
        for (mut doc, of_types) in self.operations {
            of_types(&mut doc);
            debug_assert!(doc.access.is_some(), "{}: the handler takes neither a Caller, a Member nor Anyone", doc.path);
            doc.secure();
            paths = paths.path(doc.path, PathItemBuilder::new().operation(http_method(&doc.method), doc.operation).build());
            schemas.extend(doc.schemas);
        }
        document::write(preface, paths.build(), schemas, &self.registry)
    }

    /// The command kinds, the addresses with their methods, and what wires the routes into an app.
    pub fn service(self) -> (Registry, Addresses, impl Fn(&mut web::ServiceConfig) + Send + Sync) {
        let addresses = Addresses::of(self.operations.iter().map(|(doc, _)| (doc.path, doc.method.clone())));
        let nouns = self.nouns;
        (self.registry, addresses, move |config: &mut web::ServiceConfig| {
            for (noun, wires) in &nouns {
                if wires.iter().all(|(rest, _)| rest.is_empty()) {
                    // A scope would take what is below it as well.
                    wires.iter().for_each(|(_, wire)| wire(config, noun));
                } else {
                    config.service(web::scope(noun).configure(|config| wires.iter().for_each(|(rest, wire)| wire(config, rest))));
                }
            }
        })
    }

    fn wire(&mut self, path: &'static str, add: impl Fn(&mut web::ServiceConfig, &str) + Send + Sync + 'static) {
        let (noun, rest) = path.split_at(noun_of(path).len());
        let wire: (&str, Wire) = (rest, Box::new(add));
        match self.nouns.iter_mut().find(|(known, _)| *known == noun) {
            Some((_, wires)) => wires.push(wire),
            None => self.nouns.push((noun, vec![wire])),
        }
    }
}

/// `/v1/pieces` of `/v1/pieces/{id}/history`, and `/livez` of itself.
fn noun_of(path: &str) -> &str {
    let before = if path.starts_with("/v1/") { 2 } else { 1 };
    let end = path.match_indices('/').map(|(at, _)| at).nth(before);
    end.and_then(|end| path.get(..end)).unwrap_or(path)
}

fn tag_of(path: &str) -> String {
    path.trim_start_matches("/v1/").split('/').next().unwrap_or_default().to_owned()
}
