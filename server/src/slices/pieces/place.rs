use chrono::NaiveDate;
use fullset_calc::plate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Piece, PieceId,
    condition::{allowed, put},
    rules::PieceAct,
};
use crate::{
    platform::{
        door::{Write, name},
        error::{self, Fault},
        record::Scope,
    },
    slices::{
        agencies::day_received,
        rigs::{Rig, RigId},
        shops::{Shop, ShopId},
        stations::{Station, StationId},
    },
};

/// Where a piece is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "at", rename_all = "snake_case", deny_unknown_fields)]
pub enum Place {
    /// On a rig.
    Rig {
        /// The rig that the piece is on.
        rig: RigId,
    },
    /// On a station's reserve shelf.
    Shelf {
        /// The station on whose shelf the piece lies.
        station: StationId,
    },
    /// In the agency's shop.
    Shop {
        /// The shop that the piece lies in.
        shop: ShopId,
    },
    /// With somebody outside who mends or tests it.
    Vendor {
        /// Who mends or tests it: 1 to 200 characters.
        name: String,
        /// The day on which it is due back; null: none was named.
        #[serde(default)]
        due_on: Option<NaiveDate>,
    },
    /// Lent to somebody outside the agency.
    Loan {
        /// Who has it on loan: 1 to 200 characters.
        name: String,
        /// The day on which it is due back; null: none was named.
        #[serde(default)]
        due_on: Option<NaiveDate>,
    },
    /// On its way; the far end has not confirmed.
    Transit {
        /// Where it goes: a rig, a shelf, a shop, a vendor or a borrower.
        #[schema(value_type = Destination)]
        to: Box<Place>,
    },
    /// Out of the register for good.
    Retired,
}

/// Where a piece in transit can be on its way to. For the API's description alone: a place that holds a place is more than
/// some generators of clients can read.
#[derive(ToSchema)]
#[serde(tag = "at", rename_all = "snake_case")]
#[allow(dead_code, reason = "it is only described")]
enum Destination {
    /// To a rig.
    Rig {
        /// The rig that the piece goes to.
        rig: RigId,
    },
    /// To a station's reserve shelf.
    Shelf {
        /// The station to whose shelf the piece goes.
        station: StationId,
    },
    /// To the agency's shop.
    Shop {
        /// The shop that the piece goes to.
        shop: ShopId,
    },
    /// To somebody outside who mends or tests it.
    Vendor {
        /// Who is to mend or test it: 1 to 200 characters.
        name: String,
        /// The day on which it is due back; null: none was named.
        due_on: Option<NaiveDate>,
    },
    /// To somebody outside the agency, on loan.
    Loan {
        /// Who is to have it on loan: 1 to 200 characters.
        name: String,
        /// The day on which it is due back; null: none was named.
        due_on: Option<NaiveDate>,
    },
}

impl Place {
    /// The rig that it is on.
    pub fn rig(&self) -> Option<RigId> {
        match self {
            Self::Rig { rig } => Some(*rig),
            _ => None,
        }
    }

    /// Where it ends: for a piece on its way, where it goes.
    pub fn end(&self) -> &Self {
        match self {
            Self::Transit { to } => to,
            place => place,
        }
    }
}

/// The scope of a place, which also shows that the place exists. A piece on its way belongs to where it goes, so that
/// those who wait for it see it; it counts there only when it has arrived.
pub fn check_place(write: &mut Write<'_>, field: &str, place: &Place) -> Result<Scope, Fault> {
    Ok(match place {
        Place::Rig { rig } => write.named::<Rig>(&format!("{field}.rig"), *rig)?.scope,
        Place::Shelf { station } => write.named::<Station>(&format!("{field}.station"), *station)?.scope,
        Place::Shop { shop } => {
            write.named::<Shop>(&format!("{field}.shop"), *shop)?;
            in_shop(*shop)
        }
        Place::Vendor { name: who, .. } | Place::Loan { name: who, .. } => {
            name(&format!("body.{field}.name"), who)?;
            Scope::default()
        }
        Place::Transit { to } => {
            if matches!(**to, Place::Transit { .. } | Place::Retired) {
                return Err(Fault::field(
                    format!("body.{field}.to"),
                    "A piece on its way goes to a rig, a shelf, a shop, a vendor or a borrower",
                ));
            }
            check_place(write, &format!("{field}.to"), to)?
        }
        Place::Retired => Scope::default(),
    })
}

/// The scope of a home: a place that a piece comes back to.
pub fn settled_home(write: &mut Write<'_>, home: &Place) -> Result<Scope, Fault> {
    if matches!(home, Place::Transit { .. }) {
        return Err(Fault::field(
            "body.home.at",
            "A home is a rig, a shelf, a shop, a vendor or a borrower; a piece on its way is at no home",
        ));
    }
    settled(write, "home", home)
}

/// The scope of a place where a piece is put down, or has its home: only for who reaches it.
pub fn settled(write: &mut Write<'_>, field: &str, place: &Place) -> Result<Scope, Fault> {
    if matches!(place, Place::Retired) {
        return Err(Fault::field(
            format!("body.{field}.at"),
            "Nothing is put down there: retiring is an act of its own",
        ));
    }
    let scope = check_place(write, field, place)?;
    write.reach(scope).map_err(|fault| fault.at(format!("body.{field}")))?;
    Ok(scope)
}

/// Looks at where a piece goes from where it is. Sending it takes nothing more; putting it down takes reaching the place.
pub fn destination(write: &mut Write<'_>, field: &str, to: &Place, arrived: bool) -> Result<(), Fault> {
    let looked = if arrived { settled(write, field, to) } else { check_place(write, field, to) };
    looked.map(drop).map_err(|fault| match fault.code == error::OUT_OF_REACH {
        true => fault.hint("send it: it is on its way until somebody there confirms that it has arrived"),
        false => fault,
    })
}

/// The scope of what lies in a shop.
fn in_shop(shop: ShopId) -> Scope {
    Scope {
        shop: Some(shop.0),
        ..Scope::default()
    }
}

/// The scope of a place on record; nowhere, where it is no longer there.
pub(super) fn known_place(write: &mut Write<'_>, place: &Place) -> Result<Scope, Fault> {
    let scope = match place {
        Place::Rig { rig } => write.scope_of::<Rig>(*rig)?,
        Place::Shelf { station } => write.scope_of::<Station>(*station)?,
        Place::Shop { shop } => Some(in_shop(*shop)),
        Place::Transit { to } => Some(known_place(write, to)?),
        Place::Vendor { .. } | Place::Loan { .. } | Place::Retired => None,
    };
    Ok(scope.unwrap_or_default())
}

/// Holds a piece's dates to what can be today.
pub fn check_dates(write: &mut Write<'_>, piece: &Piece) -> Result<(), Fault> {
    let all = plate::Dates {
        made_on: piece.made_on,
        in_service_since: piece.in_service_since,
        last_service_on: piece.last_service_on,
    };
    let today = day_received(write)?;
    plate::dates(all, today).map_err(|fault| Fault::field(format!("body.{}", fault.field), fault.reason).hint(fault.hint))
}

/// Keeps a piece for a rig's changeover: until then it goes aboard no rig, by whatever door. Nothing: it is free again.
pub fn keep_for(write: &mut Write<'_>, piece: PieceId, changeover: Option<Uuid>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let piece = Piece {
        kept_for: changeover,
        ..stored.record
    };
    write.save(piece, stored.scope)
}

/// A piece comes or leaves at a changeover, gets the home that it has from then on, and is kept for none any more. Without a place it stays
/// where it is.
pub fn carry_over(write: &mut Write<'_>, piece: PieceId, place: Option<Place>, home: Option<Place>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = Piece {
        kept_for: None,
        home,
        ..stored.record
    };
    if let Some(place) = place {
        allowed(PieceAct::Move, &piece)?;
        piece.put_at(place, write.head.at);
    }
    put(write, Some(stored.scope), piece)
}
