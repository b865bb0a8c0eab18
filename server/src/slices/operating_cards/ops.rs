use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    CardDraft, OperatingCard,
    feed::{CardDraftId, CardId, CardSubject, CardText},
    rules::{MOST_DRAFTS, card_text},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, text},
        error::Fault,
        record::Scope,
    },
    slices::{models::Model, rig_classes::RigClass},
};

/// Who may write a draft: whoever handles, repairs or plans. Nobody reads it as a card.
const WRITERS: &[Permission] = &[Permission::Handle, Permission::Repair, Permission::Plan];
const COUNTS_NOWHERE: Reach = Reach::Anywhere("a draft counts for nothing until somebody of the whole agency approves it");

/// Holds what a card is about, and what it says it replaces, to what is in the catalogue.
fn known(write: &mut Write<'_>, subject: CardSubject, text: &CardText) -> Result<(), Fault> {
    let model = match subject {
        CardSubject::Model { model } => write.named::<Model>("subject.model", model)?.record,
        CardSubject::RigClass { rig_class } => return write.named::<RigClass>("subject.rig_class", rig_class).map(drop),
    };
    let Some(replaced) = text.replaces else { return Ok(()) };
    let replaced = write.named::<Model>("text.replaces", replaced)?.record;
    if replaced.kind != model.kind {
        let words = format!("{} is no {}; a model replaces one of its own kind", replaced.name, model.kind.word());
        return Err(Fault::field("body.text.replaces", words));
    }
    Ok(())
}

/// Writes a draft of the operating card of a model or rig class.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddCardDraft {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: CardDraftId,
    /// What the card is about.
    pub subject: CardSubject,
    /// The version of the card that the writer had before himself; 0: there was none.
    pub from_version: u32,
    /// What the card shall say.
    pub text: CardText,
    /// What is new in it: 1 to 4,000 characters.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for AddCardDraft {
    const KIND: &'static str = "card_draft.add";
    const SUMMARY: &'static str = "Write a draft of an operating card";
    const DONE: &'static str = "Draft of an operating card written";
    const NEEDS: &'static [Permission] = WRITERS;
    const REACH: Reach = COUNTS_NOWHERE;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.text = card_text(self.text.clone(), self.subject)?;
        self.note = self.note.as_deref().map(|note| text("body.note", note)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<CardDraft>(self.id)?;
        known(write, self.subject, &self.text)?;
        if write.all::<CardDraft>()?.len() >= MOST_DRAFTS {
            return Err(Fault::rule(format!(
                "{MOST_DRAFTS} drafts wait to be approved, which is the most; approve or discard some first"
            )));
        }
        let draft = CardDraft {
            id: self.id,
            subject: self.subject,
            from_version: self.from_version,
            text: self.text,
            note: self.note,
            written_by: write.actor.person(),
            written_at: write.head.at,
            rev: 0,
        };
        write.save(draft, Scope::default())
    }
}

/// Changes a draft: the text is sent whole.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditCardDraft {
    /// The draft to change; what it is about stays.
    pub id: CardDraftId,
    /// The version of the card that the writer had before himself; 0: there was none.
    pub from_version: u32,
    /// What the card shall say.
    pub text: CardText,
    /// What is new in it: 1 to 4,000 characters.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for EditCardDraft {
    const KIND: &'static str = "card_draft.edit";
    const SUMMARY: &'static str = "Change a draft of an operating card";
    const DONE: &'static str = "Draft of an operating card changed";
    const NEEDS: &'static [Permission] = WRITERS;
    const REACH: Reach = COUNTS_NOWHERE;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("card_draft");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<CardDraft>(self.id)?;
        write.expects(&stored)?;
        let subject = stored.record.subject;
        let said = card_text(self.text, subject)?;
        known(write, subject, &said)?;
        let draft = CardDraft {
            from_version: self.from_version,
            text: said,
            note: self.note.as_deref().map(|note| text("body.note", note)).transpose()?,
            written_by: write.actor.person(),
            written_at: write.head.at,
            ..stored.record
        };
        write.save(draft, Scope::default())
    }
}

/// Throws a draft away. The card that counts stays as it is.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DiscardCardDraft {
    /// The draft to throw away; the card that counts stays.
    pub id: CardDraftId,
}

impl Act for DiscardCardDraft {
    const KIND: &'static str = "card_draft.discard";
    const SUMMARY: &'static str = "Throw a draft of an operating card away";
    const DONE: &'static str = "Draft of an operating card thrown away";
    const NEEDS: &'static [Permission] = WRITERS;
    const REACH: Reach = COUNTS_NOWHERE;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("card_draft");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<CardDraft>(self.id)?;
        write.expects(&stored)?;
        write.remove::<CardDraft>(self.id)
    }
}

/// Approves a draft: it is the card from then on, under the next number. Whoever does answers for it. The version before stays in the
/// card's history as it was.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ApproveCardDraft {
    /// The draft to approve; one written from the version that stands now.
    pub id: CardDraftId,
}

impl Act for ApproveCardDraft {
    const KIND: &'static str = "card_draft.approve";
    const SUMMARY: &'static str = "Approve a draft as the operating card";
    const DONE: &'static str = "Operating card approved";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("card_draft");
    const PERSONAL: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<CardDraft>(self.id)?;
        write.expects(&stored)?;
        let draft = stored.record;
        known(write, draft.subject, &draft.text)?;
        let id = draft.subject.card();
        let before = write.look::<OperatingCard>(id)?.map(|before| before.record);
        if before.as_ref().is_some_and(|before| before.subject != draft.subject) {
            return Err(Fault::rule(
                "A model and a rig class have the same id, and the other one has a card; make one of them anew",
            ));
        }
        let last = before.map_or(0, |before| before.version);
        if draft.from_version != last {
            return Err(Fault::rule(format!(
                "This draft was begun from version {}, and version {last} stands now. Compare the two, then save the draft as one of version {last}",
                draft.from_version
            )));
        }
        let card = OperatingCard {
            id,
            subject: draft.subject,
            version: last.saturating_add(1),
            text: Some(draft.text),
            note: draft.note,
            written_by: draft.written_by,
            written_at: draft.written_at,
            approved_by: write.actor.person(),
            approved_at: write.head.at,
            withdrawn_at: None,
            withdrawn_by: None,
            withdrawn_reason: None,
            rev: 0,
        };
        write.save(card, Scope::default())?;
        write.remove::<CardDraft>(self.id)
    }
}

/// Withdraws a card: from then on there is none, until the next version is approved. Its text stays in the history.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawCard {
    /// The card to withdraw, by the id of its model or rig class; one that counts.
    pub id: CardId,
    /// Why: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for WithdrawCard {
    const KIND: &'static str = "operating_card.withdraw";
    const SUMMARY: &'static str = "Withdraw an operating card";
    const DONE: &'static str = "Operating card withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Plan, Permission::Repair];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("operating_card");

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<OperatingCard>(self.id)?;
        write.expects(&stored)?;
        if stored.record.text.is_none() {
            return Err(Fault::rule("This card was withdrawn before"));
        }
        let card = OperatingCard {
            text: None,
            withdrawn_at: Some(write.head.at),
            withdrawn_by: Some(write.actor.person()),
            withdrawn_reason: Some(text("body.reason", &self.reason)?),
            ..stored.record
        };
        write.save(card, Scope::default())
    }
}
