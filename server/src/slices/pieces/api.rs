use actix_web::http::Method;

use super::{
    Piece,
    exchange::ExchangeRigs,
    ops::{AddPiece, ArrivePiece, EditPiece, MovePiece, RetirePiece, ReturnPiece, TakePieceOut},
};
use crate::platform::http::Api;

/// The pieces' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Piece>("/v1/pieces");
    api.find::<Piece>("/v1/pieces/{id}");
    api.history::<Piece>("/v1/pieces/{id}/history");
    api.act::<AddPiece>(Method::POST, "/v1/pieces");
    api.act::<EditPiece>(Method::PATCH, "/v1/pieces/{id}");
    api.act::<TakePieceOut>(Method::POST, "/v1/pieces/{id}/take-out");
    api.act::<ReturnPiece>(Method::POST, "/v1/pieces/{id}/return");
    api.act::<MovePiece>(Method::POST, "/v1/pieces/{id}/move");
    api.act::<ArrivePiece>(Method::POST, "/v1/pieces/{id}/arrive");
    api.act::<ExchangeRigs>(Method::POST, "/v1/rigs/{id}/exchange");
    api.act::<RetirePiece>(Method::POST, "/v1/pieces/{id}/retire");
}
