use chrono::NaiveDate;
use fullset_care::notice::Affected;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Notice, NoticeAction, NoticeId,
    notes::{NoticeReading, NoticeReadingId},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
        record::Scope,
    },
    slices::{
        models::{Model, ModelId},
        photos::{PhotoName, named_photos},
        pieces::{self, NoticeMark, NoticeState, Piece, PieceId},
        stations::{Station, StationId},
    },
};

/// The most notices in force at once.
const MOST_NOTICES: usize = 100;
/// The longest words of a limit, in characters.
const MOST_LIMIT: usize = 500;

/// Puts a safety notice in force. Affected pieces are judged by it at once, and those that are added later from then on.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IssueNotice {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: NoticeId,
    /// The number by which its issuer calls it: 1 to 200 characters.
    pub number: String,
    /// What it is about, in a few words: 1 to 200 characters.
    pub title: String,
    /// What it says: 1 to 4,000 characters.
    pub text: String,
    /// Who issued it: 1 to 200 characters.
    pub issuer: String,
    /// The day on it.
    pub dated: NaiveDate,
    /// What is to be done with each affected piece: not used, used within a limit, or inspected by a day.
    pub action: NoticeAction,
    /// The pieces that it is about.
    pub covers: Affected,
}

impl Act for IssueNotice {
    const KIND: &'static str = "notice.issue";
    const SUMMARY: &'static str = "Put a safety notice in force";
    const DONE: &'static str = "Safety notice put in force";
    const NEEDS: &'static [Permission] = &[Permission::Plan, Permission::Repair];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.number = name("body.number", &self.number)?;
        self.title = name("body.title", &self.title)?;
        self.text = text("body.text", &self.text)?;
        self.issuer = name("body.issuer", &self.issuer)?;
        if let Some(fault) = self.covers.validate().first() {
            return Err(Fault::field(format!("body.covers.{}", fault.path), fault.words.clone()));
        }
        if let NoticeAction::Limit { words } = &mut self.action {
            *words = text("body.action.words", words)?;
            if words.chars().count() > MOST_LIMIT {
                return Err(Fault::field(
                    "body.action.words",
                    format!("Say it in {MOST_LIMIT} characters; the rest goes into the text"),
                ));
            }
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Notice>(self.id)?;
        for (n, model) in self.covers.models.iter().enumerate() {
            write.named::<Model>(&format!("covers.models[{n}]"), ModelId(*model))?;
        }
        let in_force = write.all::<Notice>()?.into_iter().filter(|stored| stored.record.withdrawn_at.is_none());
        if in_force.count() >= MOST_NOTICES {
            return Err(Fault::rule(format!(
                "{MOST_NOTICES} notices are in force, which is the most; withdraw one that is done with"
            )));
        }
        let notice = Notice {
            id: self.id,
            number: self.number,
            title: self.title,
            text: self.text,
            issuer: self.issuer,
            dated: self.dated,
            action: self.action,
            covers: self.covers,
            since: write.head.at,
            issued_by: write.actor.person(),
            withdrawn_at: None,
            withdrawn_by: None,
            withdrawn_reason: None,
            rev: 0,
        };
        write.save(notice, Scope::default())?;
        write.reconsider_all()
    }
}

/// Withdraws a notice. Pieces that it kept from use count again, unless something else speaks against them.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawNotice {
    /// The notice to withdraw; one that is in force.
    pub id: NoticeId,
    /// Why: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for WithdrawNotice {
    const KIND: &'static str = "notice.withdraw";
    const SUMMARY: &'static str = "Withdraw a safety notice";
    const DONE: &'static str = "Safety notice withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("notice");

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Notice>(self.id)?;
        write.expects(&stored)?;
        if stored.record.withdrawn_at.is_some() {
            return Err(Fault::rule("This notice was withdrawn before"));
        }
        let notice = Notice {
            withdrawn_at: Some(write.head.at),
            withdrawn_by: Some(write.actor.person()),
            withdrawn_reason: Some(text("body.reason", &self.reason)?),
            ..stored.record
        };
        write.save(notice, Scope::default())?;
        write.reconsider_all()
    }
}

/// The longest name of a shift, in characters.
const MOST_SHIFT: usize = 40;

/// Says that a shift of a station has read the notice: whoever signs has read it out, or seen everybody read it. Said again, the later counts.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadNotice {
    /// The notice that was read; one that is in force.
    pub id: NoticeId,
    /// The station whose shift has read it; within the sender's reach.
    pub station: StationId,
    /// The shift, as it is called there: 1 to 40 characters.
    #[schema(min_length = 1, max_length = 40)]
    pub shift: String,
}

impl Act for ReadNotice {
    const KIND: &'static str = "notice.read";
    const SUMMARY: &'static str = "Say that a shift has read a safety notice";
    const DONE: &'static str = "Safety notice read by a shift";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.shift = name("body.shift", &self.shift)?;
        if self.shift.chars().count() > MOST_SHIFT {
            return Err(Fault::field("body.shift", format!("Name the shift in {MOST_SHIFT} characters: “A shift”")));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let notice = write.find::<Notice>(self.id)?.record;
        let station = write.named::<Station>("station", self.station)?;
        write.reach(station.scope)?;
        if notice.withdrawn_at.is_some() {
            return Err(Fault::rule("This notice was withdrawn; there is nothing to read"));
        }
        let id = NoticeReadingId::of(self.id, self.station, &self.shift);
        let known = write.look::<NoticeReading>(id)?;
        if known.is_some_and(|known| known.record.at > write.head.at) {
            return Ok(());
        }
        let reading = NoticeReading {
            id,
            notice: self.id,
            station: self.station,
            shift: self.shift,
            at: write.head.at,
            by: write.actor.person(),
            rev: 0,
        };
        write.save(reading, station.scope)
    }
}

/// The notice and the piece, where the one is about the other.
fn affected(write: &mut Write<'_>, notice: NoticeId, piece: PieceId) -> Result<Scope, Fault> {
    let notice = write.find::<Notice>(notice)?.record;
    let stored = write.named::<Piece>("piece", piece)?;
    let piece = stored.record;
    if notice.withdrawn_at.is_some() {
        return Err(Fault::rule("This notice was withdrawn; there is nothing to do for it"));
    }
    if !notice.hit(&piece).counts() {
        return Err(Fault::rule(format!("{} is not affected by notice {}", piece.tag, notice.number)).at("body.piece"));
    }
    Ok(stored.scope)
}

fn names(photos: &[PhotoName]) -> Vec<String> {
    photos.iter().map(|photo| photo.as_str().to_owned()).collect()
}

/// Says whether an affected piece was found. What was not found stays open.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SeekForNotice {
    /// The notice that the piece was looked for by; one that is in force.
    pub id: NoticeId,
    /// The piece that was looked for; one that the notice affects.
    pub piece: PieceId,
    /// Whether it was found.
    pub found: bool,
    /// Where it was looked for, or what was seen: up to 4,000 characters.
    #[serde(default)]
    pub note: Option<String>,
    /// Up to 8 photos of the plate or the place, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
}

impl Act for SeekForNotice {
    const KIND: &'static str = "notice.seek";
    const SUMMARY: &'static str = "Say whether a piece that a notice is about was found";
    const DONE: &'static str = "Looked for by a safety notice";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("a crew looks where it is; a mark of what was found clears nothing");

    fn prepare(&mut self) -> Result<(), Fault> {
        named_photos("body.photos", &self.photos)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        affected(write, self.id, self.piece)?;
        let mark = NoticeMark {
            notice: self.id.0,
            state: if self.found { NoticeState::Found } else { NoticeState::NotFound },
            at: write.head.at,
            by: write.actor.person(),
            words: self.note.as_deref().map(|note| text("body.note", note)).transpose()?,
            photos: names(&self.photos),
        };
        pieces::mark_notice(write, self.piece, mark)
    }
}

/// Says that a piece is done with for a notice: what it asks was done, or the plate shows that the piece is not affected. A named person's
/// word; until then the notice keeps its hold on the piece.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClearOfNotice {
    /// The notice that the piece is done with for; one that is in force.
    pub id: NoticeId,
    /// The piece that is done with; one that the notice affects.
    pub piece: PieceId,
    /// Whether the plate shows that it is not affected; else what the notice asks was done.
    pub not_affected: bool,
    /// What was done or read, and by what paper: 1 to 4,000 characters.
    pub evidence: String,
    /// Up to 8 photos of the plate or the work, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
}

impl Act for ClearOfNotice {
    const KIND: &'static str = "notice.clear";
    const SUMMARY: &'static str = "Say that a piece is done with for a notice, and what was done";
    const DONE: &'static str = "Done with for a safety notice";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        named_photos("body.photos", &self.photos)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let scope = affected(write, self.id, self.piece)?;
        write.reach(scope)?;
        let mark = NoticeMark {
            notice: self.id.0,
            state: if self.not_affected { NoticeState::NotAffected } else { NoticeState::Done },
            at: write.head.at,
            by: write.actor.person(),
            words: Some(text("body.evidence", &self.evidence)?),
            photos: names(&self.photos),
        };
        pieces::mark_notice(write, self.piece, mark)
    }
}
