//! One list of routes. actix, the OpenAPI document and the access tests are all made from it.

use std::collections::HashMap;

use actix_web::{guard, http::Method, web};
use utoipa::openapi::{
    ComponentsBuilder, HttpMethod, InfoBuilder, LicenseBuilder, OpenApi, OpenApiBuilder, PathsBuilder,
    path::{ParameterIn, PathItemBuilder},
    security::{ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme},
};

use super::{
    Request, Shared,
    caller::Access,
    doc::{Doc, Schemas, problems, reference},
    prefer,
    reads::{find_in, history_of, list_in},
};
use crate::platform::{
    door::{Act, Answer, HistoryPage, Registry},
    error::{self, Problem},
    listing::Filter,
    past::When,
    record::Record,
};

type Wire = Box<dyn Fn(&mut web::ServiceConfig) + Send + Sync>;

/// The list.
#[allow(missing_debug_implementations)]
pub struct Api {
    /// The command kinds that the routes and the batch endpoint take.
    pub registry: Registry,
    routes: Vec<Wire>,
    paths: PathsBuilder,
    schemas: Schemas,
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
        let mut schemas = Vec::new();
        reference::<Problem>(&mut schemas);
        reference::<Answer>(&mut schemas);
        Self {
            registry,
            routes: Vec::new(),
            paths: PathsBuilder::new(),
            schemas,
        }
    }

    fn describe(&mut self, method: &Method, path: &str, doc: Doc) {
        let mut operation = doc.operation;
        if doc.access == Access::Member {
            operation = problems(operation, &[("401", "Sign in first")]);
            operation = operation
                .security(SecurityRequirement::new::<_, [&str; 0], &str>("bearer", []))
                .security(SecurityRequirement::new::<_, [&str; 0], &str>("browser", []));
        }
        let paths = std::mem::take(&mut self.paths);
        self.paths = paths.path(path, PathItemBuilder::new().operation(http_method(method), operation).build());
        self.schemas.extend(doc.schemas);
    }

    /// A command, with its REST address.
    pub fn act<A: Act>(&mut self, method: Method, path: &'static str) {
        self.registry.add::<A>();
        let tag = tag_of(path);
        let mut doc = Doc::new(&tag, &A::KIND.replace('.', "_"), A::SUMMARY, Access::Member).parameter(
            ParameterIn::Header,
            "Idempotency-Key",
            false,
            "The command's id: a UUIDv7 that the client makes. Sent again, it acts once.",
        );
        doc = doc.parameter(ParameterIn::Header, prefer::HEADER, false, prefer::MEANING);
        if path.contains("{id}") {
            doc = doc.parameter(ParameterIn::Path, "id", true, "The record's id; the body may leave it out");
        }
        if !A::CREATES {
            doc = doc.parameter(
                ParameterIn::Header,
                "If-Match",
                false,
                "The revision of the record that this was decided on, in quotes",
            );
        }
        let status = if A::CREATES { "201" } else { "200" };
        let mut doc = doc.takes::<A>().answers::<Answer>(status, "Applied, or applied before under this id");
        doc.operation = problems(
            doc.operation,
            &[
                ("400", "The body or a header cannot be read"),
                ("403", "The member's role or reach does not allow it"),
                ("404", "No such record in this agency"),
                ("409", "The record changed, is there already, or is not in a state that allows this"),
                ("413", "The body is too large"),
                ("422", "A field cannot be used"),
                ("428", "Name the revision that this was decided on"),
                ("503", "Try again in a moment"),
            ],
        );
        self.describe(&method, path, doc);
        self.routes.push(Box::new(move |config| {
            config.route(
                path,
                web::method(method.clone()).to(|shared: web::Data<Shared>, request: Request<A>| async move { request.send(&shared).await }),
            );
        }));
    }

    /// A list of records.
    pub fn list<R: Record>(&mut self, path: &'static str) {
        self.registry.know::<R>();
        let doc = Doc::new(
            &tag_of(path),
            &format!("list_{}", R::KIND),
            &format!("List: {}", R::KIND.replace('_', " ")),
            Access::Member,
        )
        .query::<Filter>()
        .answers_page::<R>()
        .refuses("400", "A query parameter cannot be used");
        self.describe(&Method::GET, path, doc);
        self.routes.push(Box::new(move |config| {
            config.route(path, web::get().to(list_in::<R>));
        }));
    }

    /// One record.
    pub fn find<R: Record>(&mut self, path: &'static str) {
        self.registry.know::<R>();
        let doc = Doc::new(
            &tag_of(path),
            &format!("find_{}", R::KIND),
            &format!("Find one: {}", R::KIND.replace('_', " ")),
            Access::Member,
        )
        .parameter_in_path(path, "The record's id")
        .query::<When>()
        .answers::<R>("200", "The record, now or as it stood then")
        .refuses("400", "A query parameter cannot be used")
        .refuses("404", "No such record in this agency");
        self.describe(&Method::GET, path, doc);
        self.routes.push(Box::new(move |config| {
            config.route(path, web::get().to(find_in::<R>));
        }));
    }

    /// What happened to a record, newest first, from the journal.
    pub fn history<R: Record>(&mut self, path: &'static str) {
        let doc = Doc::new(
            &tag_of(path),
            &format!("list_{}_history", R::KIND),
            "What happened to it, newest first",
            Access::Member,
        )
        .parameter_in_path(path, "The record's id")
        .parameter(ParameterIn::Query, "limit", false, "Up to this many, 1 to 500; 50 unless said")
        .parameter(ParameterIn::Query, "after", false, "Go on after this key, taken from `next` of the page before")
        .answers::<HistoryPage>("200", "One page")
        .refuses("400", "The query cannot be read")
        .refuses("404", "No such record in this agency");
        self.describe(&Method::GET, path, doc);
        self.routes.push(Box::new(move |config| {
            config.route(path, web::get().to(history_of::<R>));
        }));
    }

    /// Any other endpoint.
    pub fn other<F, Args>(&mut self, method: Method, path: &'static str, doc: Doc, handler: F)
    where
        F: actix_web::Handler<Args> + Send + Sync,
        Args: actix_web::FromRequest + 'static,
        F::Output: actix_web::Responder + 'static,
    {
        self.describe(&method, path, doc);
        self.routes.push(Box::new(move |config| {
            config.route(path, web::method(method.clone()).to(handler.clone()));
        }));
    }

    /// An endpoint that takes a larger body than others.
    pub fn large<F, Args>(&mut self, method: Method, path: &'static str, limit: usize, doc: Doc, handler: F)
    where
        F: actix_web::Handler<Args> + Send + Sync,
        Args: actix_web::FromRequest + 'static,
        F::Output: actix_web::Responder + 'static,
    {
        self.describe(&method, path, doc);
        self.routes.push(Box::new(move |config| {
            // Guarded as a whole, so that other methods at the same address are looked for further on.
            let resource = web::resource(path).guard(guard::Method(method.clone()));
            let resource = resource.app_data(web::PayloadConfig::new(limit));
            config.service(resource.route(web::to(handler.clone())));
        }));
    }

    /// The OpenAPI document, and what wires the routes into an app.
    pub fn finish(self) -> (OpenApi, Registry, impl Fn(&mut web::ServiceConfig) + Send + Sync) {
        let codes: Vec<String> = error::CODES
            .iter()
            .map(|code| format!("| `{}` | {} | {} |", code.code, code.status, code.title))
            .collect();
        let kinds: Vec<String> = self.registry.kinds().map(|(name, kind)| format!("| `{name}` | {} |", kind.summary)).collect();
        let description = format!(
            "Fullset keeps one true picture of every hydraulic rescue tool of a fire agency.\n\n\
             Capability is a planning aid: it is no dispatch order and does not replace the officer's own check. \
             The maker's manual and local orders come before anything answered here.\n\n\
             ## Error codes\n\n| code | status | meaning |\n| --- | --- | --- |\n{}\n\n\
             ## Command kinds\n\n| kind | what it does |\n| --- | --- |\n{}\n",
            codes.join("\n"),
            kinds.join("\n")
        );
        let mut components = ComponentsBuilder::new()
            .security_scheme(
                "bearer",
                SecurityScheme::Http(HttpBuilder::new().scheme(HttpAuthScheme::Bearer).bearer_format("JWT").build()),
            )
            .security_scheme("browser", SecurityScheme::ApiKey(ApiKey::Cookie(ApiKeyValue::new("fullset_access"))));
        let mut named = HashMap::new();
        for (name, schema) in self.schemas {
            let before = named.insert(name.clone(), schema.clone());
            debug_assert!(
                before.is_none_or(|before| before == schema),
                "two types of the document are called {name}: rename one of them"
            );
            components = components.schema(name, schema);
        }
        let document = OpenApiBuilder::new()
            .info(
                InfoBuilder::new()
                    .title("Fullset")
                    .version(env!("CARGO_PKG_VERSION"))
                    .description(Some(description))
                    .license(Some(LicenseBuilder::new().name("Apache-2.0").identifier(Some("Apache-2.0")).build())),
            )
            .paths(self.paths)
            .components(Some(components.build()))
            .build();
        let routes = self.routes;
        (document, self.registry, move |config: &mut web::ServiceConfig| {
            routes.iter().for_each(|wire| wire(config))
        })
    }
}

fn tag_of(path: &str) -> String {
    path.trim_start_matches("/v1/").split('/').next().unwrap_or_default().to_owned()
}
