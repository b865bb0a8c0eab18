use chrono::{DateTime, Utc};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Mishap, MishapDuring, MishapId, MishapSort, MishapState,
    rules::{MishapAct, may},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
        record::Scope,
        said::quoted,
    },
    slices::{
        pieces::{Outage, Piece, PieceId, Unanswered, put_out},
        rigs::{Rig, RigId},
        stations::{Station, StationId},
    },
};

/// The most pieces of one mishap.
const MOST_PIECES: usize = 12;
/// So much of what happened stands in the reason for which a piece is out, in characters.
const MOST_REASON: usize = 3_900;

/// Tells of a near miss or an injury with a tool. Write what happened, and nobody's name and nothing of anybody's health: that stands elsewhere.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReportMishap {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: MishapId,
    /// How bad it was.
    pub sort: MishapSort,
    /// What was being done.
    pub during: MishapDuring,
    /// What happened: 1 to 4,000 characters.
    pub what: String,
    /// When it happened; the time of the act, unless said.
    #[serde(default)]
    pub happened_at: Option<DateTime<Utc>>,
    /// With the gear of which rig.
    #[serde(default)]
    pub rig: Option<RigId>,
    /// The station that it happened at; where a rig is named too, the rig decides who sees it.
    #[serde(default)]
    pub station: Option<StationId>,
    /// Where else: up to 200 characters.
    #[serde(default)]
    pub place: Option<String>,
    /// With which pieces, each once; 12 at most.
    #[serde(default)]
    #[schema(max_items = 12)]
    pub pieces: Vec<PieceId>,
    /// Whether the pieces are taken out of service with it, until a person returns them.
    #[serde(default)]
    pub take_out: bool,
}

impl Act for ReportMishap {
    const KIND: &'static str = "mishap.report";
    const SUMMARY: &'static str = "Tell of a near miss or an injury with a tool";
    const DONE: &'static str = "Near miss or injury told";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("whoever sees what nearly went wrong tells it, wherever it was");
    const PERSONAL: bool = true;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.what = text("body.what", &self.what)?;
        let place = self.place.take().filter(|place| !place.trim().is_empty());
        self.place = place.map(|place| name("body.place", &place)).transpose()?;
        if self.pieces.len() > MOST_PIECES {
            return Err(Fault::field(
                "body.pieces",
                format!("{MOST_PIECES} pieces are the most; name those that it was about"),
            ));
        }
        for (n, piece) in self.pieces.iter().enumerate() {
            if self.pieces.iter().take(n).any(|before| before == piece) {
                return Err(Fault::field(format!("body.pieces[{n}]"), "This piece stands there twice"));
            }
        }
        if self.take_out && self.pieces.is_empty() {
            return Err(Fault::field("body.pieces", "Name the pieces that are taken out of service"));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Mishap>(self.id)?;
        let at = write.head.at;
        let happened_at = self.happened_at.unwrap_or(at);
        if happened_at > at {
            return Err(Fault::field("body.happened_at", "This has not happened yet; correct the time"));
        }
        let mut scope = Scope::default();
        if let Some(station) = self.station {
            scope = write.named::<Station>("station", station)?.scope;
        }
        if let Some(rig) = self.rig {
            scope = write.named::<Rig>("rig", rig)?.scope;
        }
        for (n, id) in self.pieces.iter().enumerate() {
            write.named::<Piece>(&format!("pieces[{n}]"), *id)?;
        }
        let words: String = self.what.chars().take(MOST_REASON).collect();
        let reason = format!("{}: {}", self.sort.word(), quoted(&words));
        let out = if self.take_out { self.pieces.clone() } else { Vec::new() };
        let mishap = Mishap {
            id: self.id,
            sort: self.sort,
            during: self.during,
            what: self.what,
            happened_at,
            rig: self.rig,
            station: self.station,
            place: self.place,
            pieces: self.pieces,
            taken_out: self.take_out,
            reported_at: at,
            reported_by: write.actor.person(),
            state: MishapState::Open,
            closed_at: None,
            closed_by: None,
            finding: None,
            allows: Vec::new(),
            rev: 0,
        };
        // The answer is about what is saved first.
        write.save(mishap, scope)?;
        for (n, id) in out.into_iter().enumerate() {
            let out = Outage {
                reason: reason.clone(),
                planned: false,
                hold: None,
                unanswered: vec![Unanswered::unnamed()],
            };
            put_out(write, id, out).map_err(|fault| fault.at(format!("body.pieces[{n}]")))?;
        }
        Ok(())
    }
}

/// Closes a mishap, with what was found and done.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseMishap {
    /// The mishap that was looked into; one that is open.
    pub id: MishapId,
    /// What was found and done: 1 to 4,000 characters.
    pub finding: String,
}

impl Act for CloseMishap {
    const KIND: &'static str = "mishap.close";
    const SUMMARY: &'static str = "Close a near miss or injury, with what was found and done";
    const DONE: &'static str = "Near miss or injury looked into";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("mishap");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Mishap>(self.id)?;
        write.expects(&stored)?;
        may(MishapAct::Close, stored.record.state).map_err(Fault::rule)?;
        let mishap = Mishap {
            state: MishapState::Closed,
            closed_at: Some(write.head.at),
            closed_by: Some(write.actor.person()),
            finding: Some(text("body.finding", &self.finding)?),
            ..stored.record
        };
        write.save(mishap, stored.scope)
    }
}
