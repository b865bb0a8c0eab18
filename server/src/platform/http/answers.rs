//! JSON answers by the type that their text is of.

use std::marker::PhantomData;

use actix_web::{HttpRequest, HttpResponse, Responder, body::BoxBody, cookie::Cookie, http::header};
use serde::Serialize;
use utoipa::{ToSchema, openapi::schema::Type};

use super::{
    Doc, Page,
    signature::AnswerType,
    tags::{at_revision, tagged, tagged_by},
};
use crate::platform::{error::Fault, record::Record};

/// The JSON of a `T`, which nobody keeps.
#[derive(Debug)]
pub struct Json<T> {
    text: String,
    cookies: Vec<Cookie<'static>>,
    of: PhantomData<fn() -> T>,
}

impl<T> Json<T> {
    /// A value.
    pub fn of(value: &T) -> Result<Self, Fault>
    where
        T: Serialize,
    {
        Ok(Self::from_text(serde_json::to_string(value)?))
    }

    /// A text that is the JSON of such a value.
    pub const fn from_text(text: String) -> Self {
        Self {
            text,
            cookies: Vec::new(),
            of: PhantomData,
        }
    }

    /// The same, with cookies for a browser.
    #[must_use]
    pub fn with_cookies(self, cookies: impl Into<Vec<Cookie<'static>>>) -> Self {
        Self {
            cookies: cookies.into(),
            ..self
        }
    }
}

fn respond(mut response: actix_web::HttpResponseBuilder, text: String) -> HttpResponse {
    response
        .content_type("application/json")
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .body(text)
}

impl<T> Responder for Json<T> {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse {
        let mut response = HttpResponse::Ok();
        for cookie in self.cookies {
            response.cookie(cookie);
        }
        respond(response, self.text)
    }
}

impl<T: ToSchema> AnswerType for Json<T> {
    fn describe(doc: &mut Doc) {
        doc.answers_json::<T>("200");
    }
}

/// What the answers under a tag have in common: 304 where the caller has it already.
fn describe_tag(doc: &mut Doc, words: &str) {
    doc.head("200", "ETag", Type::String, words);
    doc.not_modified("As `If-None-Match` names it: it has not changed");
}

/// The JSON of a `T` under a tag of its own text.
#[derive(Debug)]
pub struct Tagged<T> {
    text: String,
    of: PhantomData<fn() -> T>,
}

impl<T> Tagged<T> {
    /// A value.
    pub fn of(value: &T) -> Result<Self, Fault>
    where
        T: Serialize,
    {
        Ok(Self::from_text(serde_json::to_string(value)?))
    }

    /// A text that is the JSON of such a value.
    pub const fn from_text(text: String) -> Self {
        Self { text, of: PhantomData }
    }
}

impl<T> Responder for Tagged<T> {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        tagged(request, self.text)
    }
}

impl<T: ToSchema> AnswerType for Tagged<T> {
    fn describe(doc: &mut Doc) {
        doc.answers_json::<T>("200");
        describe_tag(doc, "Of this text, for `If-None-Match`");
    }
}

/// The JSON of a `T` under a tag of what lasts of it: it leaves out when it was read.
#[derive(Debug)]
pub struct TaggedBy<T> {
    lasting: String,
    text: String,
    of: PhantomData<fn() -> T>,
}

impl<T> TaggedBy<T> {
    /// What lasts, and the whole text.
    pub const fn from_texts(lasting: String, text: String) -> Self {
        Self {
            lasting,
            text,
            of: PhantomData,
        }
    }
}

impl<T> Responder for TaggedBy<T> {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        tagged_by(request, &self.lasting, self.text)
    }
}

impl<T: ToSchema> AnswerType for TaggedBy<T> {
    fn describe(doc: &mut Doc) {
        doc.answers_json::<T>("200");
        describe_tag(doc, "Of what it says, without when it was read; for `If-None-Match`");
    }
}

/// One page of a list of records, under a tag of its own text.
#[derive(Debug)]
pub struct Listed<R>(Tagged<Page<R>>);

impl<R> Listed<R> {
    /// A text that is the JSON of a page.
    pub const fn from_text(text: String) -> Self {
        Self(Tagged::from_text(text))
    }
}

impl<R> Responder for Listed<R> {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        self.0.respond_to(request)
    }
}

impl<R: Record> AnswerType for Listed<R> {
    fn describe(doc: &mut Doc) {
        doc.answers_page::<R>();
        describe_tag(doc, "Of this text, for `If-None-Match`");
    }
}

/// The JSON of a record, with its revision as `ETag`; one of the past, or one that is marked as not settled, has a tag of its text.
#[derive(Debug)]
pub struct Versioned<T> {
    text: String,
    rev: Option<i64>,
    of: PhantomData<fn() -> T>,
}

impl<T> Versioned<T> {
    /// A text that is the JSON of such a record, at its revision if it is the latest as it is kept.
    pub const fn from_text(text: String, rev: Option<i64>) -> Self {
        Self { text, rev, of: PhantomData }
    }
}

impl<T> Responder for Versioned<T> {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        match self.rev {
            Some(rev) => at_revision(request, rev, self.text),
            None => tagged(request, self.text),
        }
    }
}

impl<T: ToSchema> AnswerType for Versioned<T> {
    fn describe(doc: &mut Doc) {
        doc.answers_json::<T>("200");
        describe_tag(
            doc,
            "The record's revision in quotes, for `If-Match` and `If-None-Match`; a weak tag of the text with a record of the past or one that is not settled",
        );
    }
}

/// The JSON of a `T` that was made: answered with 201.
#[derive(Debug)]
pub struct Created<T>(Json<T>);

impl<T: Serialize> Created<T> {
    /// A value.
    pub fn of(value: &T) -> Result<Self, Fault> {
        Json::of(value).map(Self)
    }
}

impl<T> Responder for Created<T> {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse {
        respond(HttpResponse::Created(), self.0.text)
    }
}

impl<T: ToSchema> AnswerType for Created<T> {
    fn describe(doc: &mut Doc) {
        doc.answers_json::<T>("201");
    }
}

/// One of two answers.
impl<A: AnswerType, B: AnswerType> AnswerType for actix_web::Either<A, B> {
    fn describe(doc: &mut Doc) {
        A::describe(doc);
        B::describe(doc);
    }
}

/// The JSON of a `T` that is not the end of it: answered with 202.
#[derive(Debug)]
pub struct Accepted<T>(Json<T>);

impl<T: Serialize> Accepted<T> {
    /// A value.
    pub fn of(value: &T) -> Result<Self, Fault> {
        Json::of(value).map(Self)
    }
}

impl<T> Responder for Accepted<T> {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse {
        respond(HttpResponse::Accepted(), self.0.text)
    }
}

impl<T: ToSchema> AnswerType for Accepted<T> {
    fn describe(doc: &mut Doc) {
        doc.answers_json::<T>("202");
    }
}
