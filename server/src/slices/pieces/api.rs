use actix_web::{http::Method, web};
use fullset_calc::release::DefectClass;

use super::{
    Piece, PieceId,
    acts::{FindPiece, ReportMissing, ReturnPiece, ServicePiece, TakePieceOut},
    clearing::{Clearance, Subject},
    editing::EditPiece,
    exchange::ExchangeRigs,
    ops::{AddPiece, ArrivePiece, MovePiece},
    refill::RefillPiece,
    remodel::EditModel,
    trying::TryOut,
};
use crate::platform::{
    db::Db,
    error::Fault,
    http::{Api, Caller, Doc, Json, PathId, Shared},
    ids::AgencyId,
    record::{self, Record as _},
};

/// The pieces' addresses, and the ones that change a model and exchange rigs, because pieces decide about them.
pub fn routes(api: &mut Api) {
    api.list::<Piece>("/v1/pieces");
    api.find::<Piece>("/v1/pieces/{id}");
    api.history::<Piece>("/v1/pieces/{id}/history");
    api.act::<AddPiece>(Method::POST, "/v1/pieces");
    api.act::<EditPiece>(Method::PATCH, "/v1/pieces/{id}");
    api.act::<EditModel>(Method::PATCH, "/v1/models/{id}");
    api.act::<TakePieceOut>(Method::POST, "/v1/pieces/{id}/take-out");
    api.act::<ReturnPiece>(Method::POST, "/v1/pieces/{id}/return");
    api.act::<MovePiece>(Method::POST, "/v1/pieces/{id}/move");
    api.act::<ArrivePiece>(Method::POST, "/v1/pieces/{id}/arrive");
    api.act::<TryOut>(Method::POST, "/v1/pieces/try-out");
    api.act::<ExchangeRigs>(Method::POST, "/v1/rigs/{id}/exchange");
    api.act::<ReportMissing>(Method::POST, "/v1/pieces/{id}/report-missing");
    api.act::<FindPiece>(Method::POST, "/v1/pieces/{id}/found");
    api.act::<RefillPiece>(Method::POST, "/v1/pieces/{id}/refill");
    api.act::<ServicePiece>(Method::POST, "/v1/pieces/{id}/serviced");
    api.other(
        Method::GET,
        "/v1/pieces/{id}/release",
        Doc::new(
            "pieces",
            "show_release",
            "What the return of a piece asks for, and its annual service: readings with their limits, and who signs",
            "The readings with their limits, the signature and the papers that `piece.return` and `piece.serviced` will ask for, by \
             the defects that the piece has.",
        )
        .answer("What is asked"),
        clearance,
    );
}

async fn clearance(shared: web::Data<Shared>, caller: Caller, piece: PathId<Piece>) -> Result<Json<Clearance>, Fault> {
    let shared = shared.into_inner();
    let piece = PieceId(piece.id);
    let found = shared
        .read(move |db| asked(db, caller.0.agency, piece)?.ok_or_else(PathId::<Piece>::missing))
        .await?;
    Json::of(&found)
}

fn asked(db: &mut Db, agency: AgencyId, piece: PieceId) -> Result<Option<Clearance>, Fault> {
    let Some(row) = record::find(db, agency, Piece::KIND, piece.0)?.filter(|row| !row.gone) else {
        return Ok(None);
    };
    let piece: Piece = row.read()?;
    let Some(subject) = Subject::read(db, agency, &piece)? else { return Ok(None) };
    let mut classes: Vec<DefectClass> = piece.unanswered.iter().map(|open| open.class).collect();
    classes.sort_unstable();
    classes.dedup();
    Ok(Some(Clearance {
        release: subject.needed(&classes),
        annual: subject.needed_for_annual(),
        classes,
    }))
}
