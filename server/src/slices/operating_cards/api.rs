use actix_web::http::Method;

use super::{
    CardDraft, OperatingCard,
    ops::{AddCardDraft, ApproveCardDraft, DiscardCardDraft, EditCardDraft, WithdrawCard},
};
use crate::platform::http::Api;

/// The addresses of cards and their drafts.
pub fn routes(api: &mut Api) {
    api.list::<OperatingCard>("/v1/operating-cards");
    api.find::<OperatingCard>("/v1/operating-cards/{id}");
    api.history::<OperatingCard>("/v1/operating-cards/{id}/history");
    api.act::<WithdrawCard>(Method::POST, "/v1/operating-cards/{id}/withdraw");
    api.list::<CardDraft>("/v1/card-drafts");
    api.find::<CardDraft>("/v1/card-drafts/{id}");
    api.history::<CardDraft>("/v1/card-drafts/{id}/history");
    api.act::<AddCardDraft>(Method::POST, "/v1/card-drafts");
    api.act::<EditCardDraft>(Method::PATCH, "/v1/card-drafts/{id}");
    api.act::<DiscardCardDraft>(Method::POST, "/v1/card-drafts/{id}/discard");
    api.act::<ApproveCardDraft>(Method::POST, "/v1/card-drafts/{id}/approve");
}
