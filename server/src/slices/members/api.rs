use actix_web::http::Method;

use super::{
    AddMember, Member,
    acts::{CertifyMember, PractiseMember, SignOffMember},
    ops::{EditMember, SetPin, UnlockPin},
};
use crate::platform::http::Api;

/// The members' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Member>("/v1/members");
    api.find::<Member>("/v1/members/{id}");
    api.history::<Member>("/v1/members/{id}/history");
    api.act::<AddMember>(Method::POST, "/v1/members");
    api.act::<EditMember>(Method::PATCH, "/v1/members/{id}");
    api.act::<SignOffMember>(Method::POST, "/v1/members/{id}/sign-offs");
    api.act::<PractiseMember>(Method::POST, "/v1/members/{id}/practice");
    api.act::<CertifyMember>(Method::POST, "/v1/members/{id}/certificate");
    api.act::<UnlockPin>(Method::POST, "/v1/members/{id}/unlock-pin");
    api.act::<SetPin>(Method::POST, "/v1/pin");
}
