use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Duty, OutAt, Rig, RigId,
    rules::{self, RigAct},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, name, text},
        error::Fault,
        patch,
        record::{Of, Scope},
    },
    slices::{
        rig_classes::{RigClass, RigClassId},
        stations::{Station, StationId},
    },
};

/// Adds a rig.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddRig {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: RigId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// Id of its station.
    pub station: StationId,
    /// The class whose complement it must carry; left out: none, and nothing says what it must carry.
    pub rig_class: Option<RigClassId>,
    /// What it is there for; front line, unless said.
    #[serde(default)]
    pub duty: Duty,
}

/// The scope of a rig at a station.
pub fn scope_of(write: &mut Write<'_>, rig: RigId, station: StationId) -> Result<Scope, Fault> {
    let station = write.named::<Station>("station", station)?;
    Ok(Scope {
        rig: Some(rig.0),
        ..station.scope
    })
}

impl Act for AddRig {
    const KIND: &'static str = "rig.add";
    const SUMMARY: &'static str = "Add a rig";
    const DONE: &'static str = "Rig added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Rig>(self.id)?;
        let scope = scope_of(write, self.id, self.station)?;
        write.reach(scope)?;
        if let Some(class) = self.rig_class {
            write.named::<RigClass>("rig_class", class)?;
        }
        let rig = Rig {
            id: self.id,
            name: name("body.name", &self.name)?,
            station: self.station,
            rig_class: self.rig_class,
            duty: self.duty,
            in_service: true,
            out_at: None,
            out_reason: None,
            out_since: None,
            planned: false,
            allows: Vec::new(),
            rev: 0,
        };
        write.save(rig, scope)?;
        write.reconsider(self.id);
        Ok(())
    }
}

/// Changes a rig. With its station, everything aboard changes station.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditRig {
    /// The rig to change; what is left out stays.
    pub id: RigId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New station, to which everything aboard goes along; left out: it stays.
    pub station: Option<StationId>,
    /// New class; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<RigClassId>)]
    pub rig_class: Option<Option<RigClassId>>,
    /// New duty; off the front line it stands in no count. Left out: it stays.
    pub duty: Option<Duty>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditRig {
    const KIND: &'static str = "rig.edit";
    const SUMMARY: &'static str = "Change a rig's name, station, class or duty";
    const DONE: &'static str = "The rig's name, station, class or duty was changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rig");
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Rig>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        let before = stored.record.clone();
        let mut rig = stored.record;
        if let Some(given) = self.name {
            rig.name = name("body.name", &given)?;
        }
        rig.rig_class = self.rig_class.unwrap_or(rig.rig_class);
        rig.station = self.station.unwrap_or(rig.station);
        rig.duty = self.duty.unwrap_or(rig.duty);
        let mut class_of = |rig: &Rig| -> Result<Option<RigClass>, Fault> {
            let class = rig.rig_class.map(|class| write.named::<RigClass>("rig_class", class)).transpose()?;
            Ok(class.map(|class| class.record))
        };
        let (had, has) = (class_of(&before)?, class_of(&rig)?);
        for words in rules::eased((&before, had.as_ref()), (&rig, has.as_ref())) {
            write.note_eased(words);
        }
        let scope = scope_of(write, rig.id, rig.station)?;
        write.reach(scope).map_err(|fault| fault.at("body.station"))?;
        write.save(rig, scope)?;
        if scope != stored.scope {
            write.rescope(Of::Rig(self.id.0), scope)?;
        }
        write.reconsider(self.id);
        Ok(())
    }
}

/// Takes a rig out of service.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeRigOut {
    /// The rig to take out: any of the agency; one that is out already gets the new reason.
    pub id: RigId,
    /// Why, in the member's own words.
    pub reason: String,
    /// Where it is meanwhile.
    pub at: Option<OutAt>,
    /// Set when it is for planned service, and nothing is wrong with the rig.
    #[serde(default)]
    pub planned: bool,
}

impl Act for TakeRigOut {
    const KIND: &'static str = "rig.take_out";
    const SUMMARY: &'static str = "Take a rig out of service";
    const DONE: &'static str = "Rig taken out of service";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("crews are detailed to other houses");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        // Open to every member for every rig of the agency.
        let stored = write.find::<Rig>(self.id)?;
        rules::may(RigAct::TakeOut, &stored.record)?;
        let mut rig = stored.record;
        rig.out_reason = Some(text("body.reason", &self.reason)?);
        rig.planned = self.planned && (rig.planned || rig.in_service);
        rig.out_at = Some(self.at.or(rig.out_at).unwrap_or(OutAt::Other));
        if rig.in_service {
            rig.in_service = false;
            rig.out_since = Some(write.head.at);
        }
        write.save(rig, stored.scope)?;
        write.reconsider(self.id);
        Ok(())
    }
}

/// Puts a rig back in service.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PutRigBack {
    /// The rig to put back; one that is out of service.
    pub id: RigId,
    /// What was done, up to 4,000 characters; the journal keeps it.
    pub note: Option<String>,
}

impl Act for PutRigBack {
    const KIND: &'static str = "rig.put_back";
    const SUMMARY: &'static str = "Put a rig back in service";
    const DONE: &'static str = "Rig put back in service";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rig");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Rig>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        if let Some(note) = &self.note {
            text("body.note", note)?;
        }
        rules::may(RigAct::PutBack, &stored.record)?;
        let rig = Rig {
            in_service: true,
            out_at: None,
            out_reason: None,
            out_since: None,
            planned: false,
            ..stored.record
        };
        write.save(rig, stored.scope)?;
        write.reconsider(self.id);
        Ok(())
    }
}

/// Puts a rig at a station with a duty; what is aboard goes along. It is judged again.
pub fn put_in_place(write: &mut Write<'_>, stored: Stored<Rig>, station: StationId, duty: Duty) -> Result<(), Fault> {
    let rig = Rig {
        station,
        duty,
        ..stored.record
    };
    let id = rig.id;
    let scope = scope_of(write, id, station)?;
    write.save(rig, scope)?;
    if scope != stored.scope {
        write.rescope(Of::Rig(id.0), scope)?;
    }
    write.reconsider(id);
    Ok(())
}
