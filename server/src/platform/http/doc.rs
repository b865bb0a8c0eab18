//! How one endpoint reads in the OpenAPI document.

use serde::Serialize;
use utoipa::{
    IntoParams, PartialSchema as _, ToSchema,
    openapi::{
        Content, Ref, RefOr, Required, ResponseBuilder,
        path::{OperationBuilder, ParameterBuilder, ParameterIn},
        request_body::RequestBodyBuilder,
        schema::{ObjectBuilder, Schema, Type},
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

/// How an endpoint that is neither a command nor a list reads in the document.
#[allow(missing_debug_implementations)]
pub struct Doc {
    pub(super) operation: OperationBuilder,
    pub(super) access: Access,
    pub(super) schemas: Schemas,
}

pub(super) type Schemas = Vec<(String, RefOr<Schema>)>;

pub(super) fn reference<T: ToSchema>(schemas: &mut Schemas) -> RefOr<Schema> {
    schemas.push((T::name().into_owned(), T::schema()));
    T::schemas(schemas);
    Ref::from_schema_name(T::name()).into()
}

fn json(schema: RefOr<Schema>) -> Content {
    Content::new(Some(schema))
}

pub(super) fn problems(mut operation: OperationBuilder, statuses: &[(&str, &str)]) -> OperationBuilder {
    for (status, words) in statuses {
        operation = operation.response(
            *status,
            ResponseBuilder::new()
                .description(*words)
                .content("application/problem+json", json(Ref::from_schema_name(Problem::name()).into())),
        );
    }
    operation
}

impl Doc {
    /// Starts the description of an endpoint.
    pub fn new(tag: &str, id: &str, summary: &str, access: Access) -> Self {
        let operation = OperationBuilder::new().tag(tag).operation_id(Some(id)).summary(Some(summary));
        Self {
            operation,
            access,
            schemas: Vec::new(),
        }
    }

    /// Its JSON body.
    #[must_use]
    pub fn takes<T: ToSchema>(mut self) -> Self {
        let schema = reference::<T>(&mut self.schemas);
        self.operation = self.operation.request_body(Some(
            RequestBodyBuilder::new()
                .content("application/json", json(schema))
                .required(Some(Required::True))
                .build(),
        ));
        self
    }

    /// A body of another media type.
    #[must_use]
    pub fn takes_raw(mut self, media: &str, words: &str) -> Self {
        let schema = ObjectBuilder::new().schema_type(Type::String).description(Some(words));
        self.operation = self.operation.request_body(Some(
            RequestBodyBuilder::new()
                .content(media, Content::new(Some(RefOr::from(Schema::from(schema)))))
                .required(Some(Required::True))
                .build(),
        ));
        self
    }

    /// A query, path or header parameter of type string.
    #[must_use]
    pub fn parameter(mut self, place: ParameterIn, name: &str, required: bool, words: &str) -> Self {
        let schema = ObjectBuilder::new().schema_type(Type::String);
        self.operation = self.operation.parameter(
            ParameterBuilder::new()
                .name(name)
                .parameter_in(place)
                .required(if required { Required::True } else { Required::False })
                .description(Some(words))
                .schema(Some(Schema::from(schema))),
        );
        self
    }

    /// The id in the path, where the path has one.
    pub fn parameter_in_path(self, path: &str, meaning: &str) -> Self {
        if path.contains("{id}") {
            self.parameter(ParameterIn::Path, "id", true, meaning)
        } else {
            self
        }
    }

    /// All query parameters of a type.
    #[must_use]
    pub fn query<P: IntoParams>(mut self) -> Self {
        for parameter in P::into_params(|| Some(ParameterIn::Query)) {
            self.operation = self.operation.parameter(parameter);
        }
        self
    }

    /// A JSON answer.
    #[must_use]
    pub fn answers<T: ToSchema>(mut self, status: &str, words: &str) -> Self {
        let schema = reference::<T>(&mut self.schemas);
        self.operation = self
            .operation
            .response(status, ResponseBuilder::new().description(words).content("application/json", json(schema)));
        self
    }

    /// An answer that comes line by line, each line a JSON of its own.
    #[must_use]
    pub fn answers_lines<T: ToSchema>(mut self, status: &str, words: &str) -> Self {
        let schema = reference::<T>(&mut self.schemas);
        let response = ResponseBuilder::new().description(words).content("application/x-ndjson", json(schema));
        self.operation = self.operation.response(status, response);
        self
    }

    /// One page of a list of records.
    #[must_use]
    pub(super) fn answers_page<R: Record>(mut self) -> Self {
        reference::<R>(&mut self.schemas);
        let name = format!("{}Page", R::name());
        self.schemas.push((name.clone(), Page::<R>::schema()));
        let content = json(Ref::from_schema_name(name).into());
        self.operation = self
            .operation
            .response("200", ResponseBuilder::new().description("One page").content("application/json", content));
        self
    }

    /// An answer without JSON.
    #[must_use]
    pub fn answers_raw(mut self, status: &str, media: &str, words: &str) -> Self {
        let schema = ObjectBuilder::new().schema_type(Type::String);
        let mut response = ResponseBuilder::new().description(words);
        if !media.is_empty() {
            response = response.content(media, Content::new(Some(RefOr::from(Schema::from(schema)))));
        }
        self.operation = self.operation.response(status, response);
        self
    }

    /// A refusal.
    #[must_use]
    pub fn refuses(mut self, status: &str, words: &str) -> Self {
        self.operation = problems(self.operation, &[(status, words)]);
        self
    }
}
