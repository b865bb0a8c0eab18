use actix_web::http::Method;

use super::{
    Ticket,
    acts::{AddLine, AssignTicket, IncludeDefects, NameCause, PromiseTicket},
    ops::{AcceptTicket, DropTicket, OpenTicket, WaitTicket, WorkTicket},
    testing::{ReturnTicket, TestTicket},
};
use crate::platform::http::Api;

/// The tickets' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Ticket>("/v1/tickets");
    api.find::<Ticket>("/v1/tickets/{id}");
    api.history::<Ticket>("/v1/tickets/{id}/history");
    api.act::<OpenTicket>(Method::POST, "/v1/tickets");
    api.act::<AcceptTicket>(Method::POST, "/v1/tickets/{id}/accept");
    api.act::<WorkTicket>(Method::POST, "/v1/tickets/{id}/work");
    api.act::<WaitTicket>(Method::POST, "/v1/tickets/{id}/wait");
    api.act::<AssignTicket>(Method::POST, "/v1/tickets/{id}/assign");
    api.act::<PromiseTicket>(Method::POST, "/v1/tickets/{id}/promise");
    api.act::<IncludeDefects>(Method::POST, "/v1/tickets/{id}/include");
    api.act::<NameCause>(Method::POST, "/v1/tickets/{id}/cause");
    api.act::<AddLine>(Method::POST, "/v1/tickets/{id}/line");
    api.act::<TestTicket>(Method::POST, "/v1/tickets/{id}/test");
    api.act::<ReturnTicket>(Method::POST, "/v1/tickets/{id}/return");
    api.act::<DropTicket>(Method::POST, "/v1/tickets/{id}/drop");
}
