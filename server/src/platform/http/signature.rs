//! What a handler's signature says of its endpoint: each argument its parameters, permission or body, the output its answer, and
//! each the refusals that come with it. The document is made from nothing else, so the two cannot differ.

use actix_web::{FromRequest, HttpRequest, HttpResponse, dev::Payload, web};
use utoipa::{IntoParams, ToSchema, openapi::path::ParameterIn};
use uuid::Uuid;

use super::{
    Doc, Query,
    caller::{Access, Caller, RawBody, actor},
};
use crate::platform::{
    error::{self, Fault},
    record::Record,
};

/// An argument of a handler.
pub trait Argument {
    /// Says what it asks for.
    fn describe(doc: &mut Doc);
}

/// All arguments of a handler.
pub trait Arguments {
    /// Says what they ask for.
    fn describe(doc: &mut Doc);
}

/// What a handler answers.
pub trait AnswerType {
    /// Says what it is.
    fn describe(doc: &mut Doc);
}

macro_rules! arguments {
    ($($name:ident)*) => {
        impl<$($name: Argument),*> Arguments for ($($name,)*) {
            #[allow(unused_variables)]
            fn describe(doc: &mut Doc) {
                $($name::describe(doc);)*
            }
        }
    };
}
arguments!();
arguments!(A);
arguments!(A B);
arguments!(A B C);
arguments!(A B C D);
arguments!(A B C D E);
arguments!(A B C D E F);
arguments!(A B C D E F G);

impl<T> Argument for web::Data<T> {
    fn describe(_: &mut Doc) {}
}

impl Argument for HttpRequest {
    fn describe(_: &mut Doc) {}
}

/// What may be missing or wrong asks for nothing; the handler decides.
impl<T> Argument for Result<T, Fault> {
    fn describe(_: &mut Doc) {}
}

impl Argument for Caller {
    fn describe(doc: &mut Doc) {
        doc.access = Some(Access::Member);
    }
}

/// Says aloud that nobody need be signed in.
#[derive(Debug, Clone, Copy)]
pub struct Anyone;

impl FromRequest for Anyone {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(_: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(Ok(Self))
    }
}

impl Argument for Anyone {
    fn describe(doc: &mut Doc) {
        doc.access = Some(Access::Anyone);
    }
}

impl<Q: IntoParams> Argument for Query<Q> {
    fn describe(doc: &mut Doc) {
        doc.parameters::<Q>();
        doc.may_refuse("400", "A query parameter cannot be used");
    }
}

/// The record that the path names by its `{id}`, or the agency's own where it has none. What is no id names no record.
#[derive(Debug)]
pub struct PathId<R> {
    /// The id in the path, or the agency's own where the path has none.
    pub id: Uuid,
    of: std::marker::PhantomData<fn() -> R>,
}

impl<R: Record> PathId<R> {
    /// There is none.
    pub fn missing() -> Fault {
        Fault::new(error::NOT_FOUND, format!("There is no such {} in this agency", R::KIND.replace('_', " ")))
    }
}

impl<R: Record> FromRequest for PathId<R> {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let id = match request.match_info().get("id") {
            Some(id) => id.parse().map_err(|_| Self::missing()),
            None => actor(request).map(|actor| actor.agency.0),
        };
        let of = std::marker::PhantomData;
        std::future::ready(id.map(|id| Self { id, of }))
    }
}

impl<R: Record> Argument for PathId<R> {
    fn describe(doc: &mut Doc) {
        let words = R::KIND.replace('_', " ");
        if doc.path.contains("{id}") {
            doc.parameter(ParameterIn::Path, "id", &format!("The id of the {words}"), uuid());
        }
        doc.may_refuse("404", &format!("No such {words} in this agency"));
    }
}

/// A JSON body. A fault names the field.
#[derive(Debug)]
pub struct Body<T>(pub T);

impl<T: serde::de::DeserializeOwned + 'static> FromRequest for Body<T> {
    type Error = Fault;
    type Future = std::pin::Pin<Box<dyn Future<Output = Result<Self, Fault>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let raw = RawBody::from_request(request, payload);
        Box::pin(async move { super::body::parse(&raw.await?.0, "body").map(Self) })
    }
}

impl<T: ToSchema> Argument for Body<T> {
    fn describe(doc: &mut Doc) {
        doc.takes_json::<T>();
        doc.may_refuse("400", "The body is not JSON");
        doc.may_refuse("422", "A field cannot be used; `field` names it");
        RawBody::describe(doc);
    }
}

/// A JSON body that may be left out.
#[derive(Debug)]
pub struct OptionalBody<T>(pub Option<T>);

impl<T: serde::de::DeserializeOwned + 'static> FromRequest for OptionalBody<T> {
    type Error = Fault;
    type Future = std::pin::Pin<Box<dyn Future<Output = Result<Self, Fault>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let raw = RawBody::from_request(request, payload);
        Box::pin(async move {
            let RawBody(bytes) = raw.await?;
            let body = (!bytes.is_empty()).then(|| super::body::parse(&bytes, "body"));
            body.transpose().map(Self)
        })
    }
}

impl<T: ToSchema> Argument for OptionalBody<T> {
    fn describe(doc: &mut Doc) {
        Body::<T>::describe(doc);
        if let Some(body) = &mut doc.operation.request_body {
            body.required = Some(utoipa::openapi::Required::False);
        }
    }
}

/// Its media type is said by the endpoint.
impl Argument for RawBody {
    fn describe(doc: &mut Doc) {
        doc.may_refuse("408", "The body came too slowly");
        doc.may_refuse("413", "The body is too large");
        doc.may_refuse("415", "The body comes with a Content-Encoding");
    }
}

impl<T: AnswerType> AnswerType for Result<T, Fault> {
    fn describe(doc: &mut Doc) {
        T::describe(doc);
    }
}

/// Bytes, streams and answers without a body are said by the endpoint.
impl AnswerType for HttpResponse {
    fn describe(_: &mut Doc) {}
}

/// The schema of an id.
pub(super) fn uuid() -> utoipa::openapi::schema::Object {
    use utoipa::openapi::{KnownFormat, SchemaFormat, schema::Type};
    let mut schema = utoipa::openapi::schema::Object::with_type(Type::String);
    schema.format = Some(SchemaFormat::KnownFormat(KnownFormat::Uuid));
    schema
}
