//! How one endpoint reads in the OpenAPI document. What its handler's signature says (parameters, permission, body, answer, and
//! the refusals that follow from them) is added from the types: see [`Argument`](super::Argument) and
//! [`AnswerType`](super::AnswerType).

use actix_web::http::Method;
use serde::Serialize;
use utoipa::{
    IntoParams, PartialSchema as _, ToSchema,
    openapi::{
        Content, Header, Ref, RefOr, Required, Response, ResponseBuilder,
        path::{Operation, OperationBuilder, Parameter, ParameterBuilder, ParameterIn},
        request_body::RequestBodyBuilder,
        schema::{Object, ObjectBuilder, Schema, Type},
        security::SecurityRequirement,
    },
};

use super::caller::Access;
use crate::platform::{error::Problem, record::Record};

/// One page of a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct Page<T> {
    /// The records, in the order of their labels.
    pub items: Vec<T>,
    /// The key to go on after; absent on the last page.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// How an endpoint reads in the document.
#[allow(missing_debug_implementations)]
pub struct Doc {
    pub(super) operation: Operation,
    pub(super) method: Method,
    pub(super) path: &'static str,
    pub(super) access: Option<Access>,
    pub(super) schemas: Schemas,
    success: String,
}

/// Schemas with their names.
pub type Schemas = Vec<(String, RefOr<Schema>)>;

/// Adds a type's schemas, and refers to it by its name.
pub(super) fn reference<T: ToSchema>(schemas: &mut Schemas) -> RefOr<Schema> {
    schemas.push((T::name().into_owned(), T::schema()));
    T::schemas(schemas);
    Ref::from_schema_name(T::name()).into()
}

fn json(schema: RefOr<Schema>) -> Content {
    Content::new(Some(schema))
}

/// A text, with what it holds.
pub(super) fn text(words: &str) -> Object {
    ObjectBuilder::new().schema_type(Type::String).description(Some(words)).build()
}

/// A header of an answer.
fn header(kind: Type, words: &str) -> Header {
    let mut header = Header::new(ObjectBuilder::new().schema_type(kind).build());
    header.description = Some(words.to_owned());
    header
}

fn problem(status: &str, words: &str) -> Response {
    let response = ResponseBuilder::new()
        .description(words)
        .content("application/problem+json", json(Ref::from_schema_name(Problem::name()).into()));
    match status {
        "401" => response.header("WWW-Authenticate", header(Type::String, "`Bearer`")),
        "429" | "503" => response.header("Retry-After", header(Type::Integer, "Seconds to wait before the next try")),
        _ => response,
    }
    .build()
}

impl Doc {
    /// Starts the description of an endpoint: its tag, its operation id, what it does in one line, and in some more words.
    pub fn new(tag: &str, id: &str, summary: &str, about: &str) -> Self {
        let operation = OperationBuilder::new()
            .tag(tag)
            .operation_id(Some(id))
            .summary(Some(summary))
            .description(Some(about))
            .build();
        Self {
            operation,
            method: Method::GET,
            path: "",
            access: None,
            schemas: Vec::new(),
            success: "Done".to_owned(),
        }
    }

    /// What its answer is, in words.
    #[must_use]
    pub fn answer(mut self, words: &str) -> Self {
        words.clone_into(&mut self.success);
        self
    }

    /// A body of another media type than JSON: bytes, a text too, because it may be in any encoding.
    #[must_use]
    pub fn takes_raw(mut self, media: &str, words: &str) -> Self {
        self.takes(media, Schema::from(bytes(words)).into());
        self
    }

    /// An answer that comes line by line, each line a JSON of its own.
    #[must_use]
    pub fn answers_lines<T: ToSchema>(mut self, words: &str) -> Self {
        let schema = reference::<T>(&mut self.schemas);
        let response = ResponseBuilder::new().description(words).content("application/x-ndjson", json(schema));
        self.operation.responses.responses.insert("200".to_owned(), response.build().into());
        self
    }

    /// An answer without JSON; without a media type it has no body.
    #[must_use]
    pub fn answers_raw(mut self, status: &str, media: &str, words: &str) -> Self {
        let mut response = ResponseBuilder::new().description(words);
        if !media.is_empty() {
            let schema = if media.starts_with("text/") { text(words) } else { bytes(words) };
            response = response.content(media, Content::new(Some(RefOr::from(Schema::from(schema)))));
        }
        self.operation.responses.responses.insert(status.to_owned(), response.build().into());
        self
    }

    /// A header of the answers with these statuses.
    #[must_use]
    pub fn tells(mut self, statuses: &[&str], name: &str, kind: Type, words: &str) -> Self {
        for status in statuses {
            self.head(status, name, kind.clone(), words);
        }
        self
    }

    /// A refusal, in words of its own. Those that follow from the handler's types need not be said.
    #[must_use]
    pub fn refuses(mut self, status: &str, words: &str) -> Self {
        self.operation.responses.responses.insert(status.to_owned(), problem(status, words).into());
        self
    }

    /// A header of one answer.
    pub(super) fn head(&mut self, status: &str, name: &str, kind: Type, words: &str) {
        if let Some(RefOr::T(response)) = self.operation.responses.responses.get_mut(status) {
            response.headers.insert(name.to_owned(), header(kind, words));
        }
    }

    /// The answer without a body to a caller who has it already.
    pub(super) fn not_modified(&mut self, words: &str) {
        let response = ResponseBuilder::new().description(words).build();
        self.operation.responses.responses.insert("304".to_owned(), response.into());
    }

    /// A refusal that follows from a type; where the endpoint has said it in its own words, those stay.
    pub fn may_refuse(&mut self, status: &str, words: &str) {
        let responses = &mut self.operation.responses.responses;
        responses.entry(status.to_owned()).or_insert_with(|| problem(status, words).into());
    }

    /// A parameter.
    pub fn parameter(&mut self, place: ParameterIn, name: &str, words: &str, schema: impl Into<Schema>) {
        let required = if place == ParameterIn::Path { Required::True } else { Required::False };
        let schema: Schema = schema.into();
        self.add(
            ParameterBuilder::new()
                .name(name)
                .parameter_in(place)
                .required(required)
                .description(Some(words))
                .schema(Some(schema))
                .build(),
        );
    }

    /// Says that a parameter may not be left out.
    pub(super) fn requires(&mut self, name: &str) {
        let mut named = self.operation.parameters.iter_mut().flatten();
        if let Some(parameter) = named.find(|parameter| parameter.name == name) {
            parameter.required = Required::True;
        }
    }

    /// All parameters of a type.
    pub(super) fn parameters<P: IntoParams>(&mut self) {
        for parameter in P::into_params(|| Some(ParameterIn::Query)) {
            self.add(parameter);
        }
    }

    fn add(&mut self, parameter: Parameter) {
        self.operation.parameters.get_or_insert_default().push(parameter);
    }

    /// Its JSON body.
    pub(super) fn takes_json<T: ToSchema>(&mut self) {
        let schema = reference::<T>(&mut self.schemas);
        self.takes("application/json", schema);
    }

    fn takes(&mut self, media: &str, schema: RefOr<Schema>) {
        let body = RequestBodyBuilder::new()
            .content(media, Content::new(Some(schema)))
            .required(Some(Required::True));
        self.operation.request_body = Some(body.build());
    }

    /// A JSON answer, in the words of the endpoint.
    pub(super) fn answers_json<T: ToSchema>(&mut self, status: &str) {
        let schema = reference::<T>(&mut self.schemas);
        self.answers(status, schema);
    }

    /// One page of a list of records.
    pub(super) fn answers_page<R: Record>(&mut self) {
        reference::<R>(&mut self.schemas);
        let name = format!("{}Page", R::name());
        self.schemas.push((name.clone(), Page::<R>::schema()));
        self.answers("200", Ref::from_schema_name(name).into());
    }

    fn answers(&mut self, status: &str, schema: RefOr<Schema>) {
        let responses = &mut self.operation.responses.responses;
        // Where an endpoint has two such answers it says each in its own words.
        let said = match responses.get(status) {
            Some(RefOr::T(said)) => said.description.clone(),
            _ => self.success.clone(),
        };
        let response = ResponseBuilder::new().description(said).content("application/json", json(schema));
        responses.insert(status.to_owned(), response.build().into());
    }

    /// What follows from who may ask.
    pub(super) fn secure(&mut self) {
        if self.access != Some(Access::Member) {
            // Said aloud: nothing is asked for.
            self.operation.security = Some(Vec::new());
            return;
        }
        self.may_refuse("401", "Sign in first");
        self.may_refuse(
            "429",
            "Too much that this sender has asked for is still on its way; ask again after `Retry-After`",
        );
        if !matches!(self.method, Method::GET | Method::HEAD) {
            self.may_refuse(
                "403",
                "The member's role or reach does not allow it, or a browser sends it from elsewhere than the service's own pages",
            );
        }
        self.operation.security = Some(
            ["bearer", "browser"]
                .map(|name| SecurityRequirement::new::<_, [&str; 0], &str>(name, []))
                .into(),
        );
    }
}

/// Bytes as they are.
fn bytes(words: &str) -> Object {
    let mut schema = text(words);
    schema.content_encoding.clear();
    schema.format = Some(utoipa::openapi::SchemaFormat::KnownFormat(utoipa::openapi::KnownFormat::Binary));
    schema
}
