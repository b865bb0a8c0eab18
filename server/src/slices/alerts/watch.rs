//! Finds what a command has changed that receivers are told of, and writes the alerts with it.

use std::collections::{BTreeMap, BTreeSet};

use base64::Engine as _;
use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    capability::{GapIn, Level},
    ratings::Kind,
};
use uuid::Uuid;

use super::{
    Alert, AlertId,
    confirmed::proof,
    feed::{Stands, Telling, TellingState, ToldBy},
    rows,
    rules::{DistrictStands, RigStands, district_change, district_reason, expected_back, rig_change, rig_reason},
};
use crate::{
    platform::{
        door::{Stored, Write, own_id},
        error::Fault,
        record::{Record as _, Scope},
    },
    slices::{
        agencies::day_received,
        capability::RigStanding,
        districts::{District, DistrictId},
        members::Member,
        pieces::{Piece, PieceState},
        receivers::{ChangeKind, Receiver, ReceiverId},
        rigs::{Duty, Rig, RigId},
        subscriptions::{self, Subscription},
        tickets::{Ticket, TicketState},
    },
};

/// The receivers of an agency, kept from one command to the next.
struct Receivers {
    list: Vec<Receiver>,
    /// The revision that they are known to be true at.
    rev: i64,
}

impl Receivers {
    fn current(write: &mut Write<'_>) -> Result<Self, Fault> {
        let rev = write.rev;
        if let Some(mut kept) = write.kept::<Self>()
            && !write.changed_since(&[Receiver::KIND], kept.rev)?
        {
            kept.rev = rev;
            return Ok(kept);
        }
        let all = write.all::<Receiver>()?.into_iter().map(|stored| stored.record);
        let list = all.filter(|receiver| receiver.withdrawn_at.is_none()).collect();
        Ok(Self { list, rev })
    }
}

/// Who may be told of what a command has changed.
struct Listeners<'l> {
    receivers: &'l [Receiver],
    /// Phones, each with its member.
    phones: Vec<(Subscription, Member)>,
}

impl Listeners<'_> {
    fn hear_of_districts(&self) -> bool {
        let of_districts = |change: &ChangeKind| matches!(change, ChangeKind::DistrictShort | ChangeKind::DistrictEnough);
        let mut changes = self
            .receivers
            .iter()
            .flat_map(|receiver| &receiver.changes)
            .chain(self.phones.iter().flat_map(|(phone, _)| &phone.changes));
        changes.any(of_districts)
    }

    fn receivers(&self, change: ChangeKind, scope: Scope) -> impl Iterator<Item = &Receiver> {
        self.receivers
            .iter()
            .filter(move |receiver| receiver.hears(change, scope.district, scope.station))
    }

    fn phones(&self, change: ChangeKind, scope: Scope) -> impl Iterator<Item = &(Subscription, Member)> {
        let hears = move |(phone, member): &&(Subscription, Member)| subscriptions::hears(member, &phone.changes, change, scope.district, scope.station);
        self.phones.iter().filter(hears)
    }
}

/// The phones of an agency that get notices, as their sign-ins and members are at this instant.
fn phones(write: &mut Write<'_>) -> Result<Vec<(Subscription, Member)>, Fault> {
    let (agency, now) = (write.agency, write.now());
    let mut all = Vec::new();
    for phone in subscriptions::live(write.reading_beside(), agency, now)? {
        if let Some(member) = write.look::<Member>(phone.member)? {
            all.push((phone, member.record));
        }
    }
    Ok(all)
}

/// A rig before or after the command.
#[derive(Debug, Clone, Copy)]
struct RigSnapshot {
    district: Option<Uuid>,
    stands: RigStands,
    /// Whether it counts among the full rigs of its district.
    counts: bool,
}

fn seen(rig: Option<&Stored<Rig>>, standing: Option<&Stored<RigStanding>>) -> Option<RigSnapshot> {
    let (rig, standing) = (rig?, standing?);
    let level = standing.record.answer.level;
    let Rig { in_service, duty, .. } = rig.record;
    Some(RigSnapshot {
        district: rig.scope.district,
        stands: RigStands {
            in_service,
            level,
            carries: duty != Duty::StrippedReserve,
        },
        counts: in_service && duty == Duty::FrontLine && level.is_full(),
    })
}

/// Writes an alert for each change of a rig or a district that a receiver is told of.
pub fn watch(write: &mut Write<'_>) -> Result<(), Fault> {
    let mut rigs: BTreeSet<Uuid> = write.turned::<RigStanding>()?.into_iter().collect();
    rigs.extend(write.touched_of::<Rig>());
    let districts = write.touched_of::<District>();
    if rigs.is_empty() && districts.is_empty() {
        return Ok(());
    }
    let receivers = Receivers::current(write)?;
    let listeners = Listeners {
        phones: phones(write)?,
        receivers: &receivers.list,
    };
    let told = if listeners.receivers.is_empty() && listeners.phones.is_empty() {
        Ok(())
    } else {
        tell_all(write, &listeners, &rigs, districts)
    };
    write.keep(receivers);
    told
}

fn tell_all(write: &mut Write<'_>, listeners: &Listeners<'_>, rigs: &BTreeSet<Uuid>, districts: Vec<Uuid>) -> Result<(), Fault> {
    // By district: how many full rigs it has more than before.
    let mut gained: BTreeMap<Uuid, i64> = districts.into_iter().map(|district| (district, 0)).collect();
    for id in rigs {
        let (rig, standing) = (write.change_of::<Rig>(*id)?, write.change_of::<RigStanding>(*id)?);
        let before = seen(rig.before.as_ref(), standing.before.as_ref());
        let after = seen(rig.after.as_ref(), standing.after.as_ref());
        for (seen, by) in [(before, -1), (after, 1)] {
            if let Some(RigSnapshot {
                district: Some(district),
                counts: true,
                ..
            }) = seen
            {
                *gained.entry(district).or_default() += by;
            }
        }
        if let (Some(before), Some(after), Some(rig), Some(standing)) = (before, after, rig.after, standing.after)
            && let Some(told) = rig_change(before.stands, after.stands)
        {
            tell_of_rig(write, listeners, told, &rig, &standing.record)?;
        }
    }
    if !listeners.hear_of_districts() {
        return Ok(());
    }
    for (district, gained) in gained {
        tell_of_district(write, listeners, district, gained)?;
    }
    Ok(())
}

fn tell_of_rig(
    write: &mut Write<'_>,
    listeners: &Listeners<'_>,
    (change, before, after): (ChangeKind, Stands, Stands),
    rig: &Stored<Rig>,
    standing: &RigStanding,
) -> Result<(), Fault> {
    let scope = rig.scope;
    let needs = standing.answer.gaps.iter().filter(|gap| gap.r#in == GapIn::Need).map(|gap| gap.name.clone());
    let proof = proof(write, standing, after)?;
    let reason = rig_reason(after, &needs.collect::<Vec<_>>(), !standing.answer.also.is_empty(), &proof);
    let at = match after {
        Stands::OutOfService => rig.record.out_since.unwrap_or(write.now()),
        _ if before == Stands::OutOfService => write.now(),
        _ => standing.since,
    };
    let wanted = listeners.receivers(change, scope).next().is_some() || listeners.phones(change, scope).next().is_some();
    let expected_back = if wanted && after != Stands::OutOfService {
        back_on(write, rig.record.id, standing)?
    } else {
        None
    };
    let draft = Draft {
        change,
        subject: rig.record.id.0,
        rig: Some(rig.record.id),
        name: rig.record.name.clone(),
        turn: (before, after),
        confirmed: proof.confirmed(),
        expected: standing.answer.expects,
        counts: None,
        at,
        reason,
        expected_back,
    };
    make(
        write,
        listeners,
        draft,
        Scope {
            home: None,
            shop: None,
            ..scope
        },
    )
}

fn tell_of_district(write: &mut Write<'_>, listeners: &Listeners<'_>, id: Uuid, gained: i64) -> Result<(), Fault> {
    let district = write.change_of::<District>(DistrictId(id))?;
    let (Some(was), Some(is)) = (district.before, district.after) else {
        return Ok(());
    };
    if gained == 0 && was.record.min_full == is.record.min_full {
        return Ok(());
    }
    let agency = write.agency;
    let (full, confirmed) = rows::full_rigs(write.reading()?, agency, id, |rig| rig.duty == Duty::FrontLine)?;
    let before = u32::try_from(i64::from(full) - gained).unwrap_or_default();
    let now = DistrictStands {
        full,
        min_full: is.record.min_full,
    };
    let then = DistrictStands {
        full: before,
        min_full: was.record.min_full,
    };
    let Some((change, before, after)) = district_change(then, now) else {
        return Ok(());
    };
    let draft = Draft {
        change,
        subject: id,
        rig: None,
        name: is.record.name,
        turn: (before, after),
        confirmed: None,
        expected: None,
        counts: Some((now, confirmed)),
        at: write.now(),
        reason: district_reason(now, confirmed),
        expected_back: None,
    };
    let scope = Scope {
        district: Some(id),
        ..Scope::default()
    };
    make(write, listeners, draft, scope)
}

/// When the shops expect what the rig lacks to be back.
fn back_on(write: &mut Write<'_>, rig: RigId, standing: &RigStanding) -> Result<Option<NaiveDate>, Fault> {
    let gaps = standing.answer.gaps.iter().filter(|gap| gap.r#in == GapIn::Need);
    let needs: Vec<&[Kind]> = gaps.map(|gap| gap.kinds.as_slice()).collect();
    if needs.is_empty() || !standing.answer.also.is_empty() {
        return Ok(None);
    }
    let at_home = move |piece: &Piece| {
        piece.state == PieceState::OutOfService
            && [Some(&piece.place), piece.home.as_ref()]
                .into_iter()
                .flatten()
                .any(|place| place.rig() == Some(rig))
    };
    let mut out = Vec::new();
    for piece in write.found::<Piece>(|db, agency| Ok(rows::out_of(db, agency, rig.0)?), (PieceState::OutOfService.word(), at_home))? {
        let tickets = write.of_parent::<Ticket>(piece.record.id)?;
        let open = tickets.into_iter().filter(|ticket| ticket.record.state != TicketState::Closed);
        out.push((piece.record.kind, open.filter_map(|ticket| ticket.record.ready_on()).max()));
    }
    Ok(expected_back(&needs, &out, day_received(write)?))
}

/// An alert that is still without receivers.
struct Draft {
    change: ChangeKind,
    /// The rig or the district.
    subject: Uuid,
    rig: Option<RigId>,
    name: String,
    /// Before and after.
    turn: (Stands, Stands),
    /// Whether the level of the rig is confirmed.
    confirmed: Option<bool>,
    expected: Option<Level>,
    /// Full rigs and how many are needed, and how many of the full ones are confirmed.
    counts: Option<(DistrictStands, u32)>,
    at: DateTime<Utc>,
    reason: String,
    expected_back: Option<NaiveDate>,
}

/// Has a message sent, or says that it is not.
fn enqueue(write: &mut Write<'_>, alert: AlertId, receiver: Uuid, is_due: bool) -> Result<(), Fault> {
    let (key, now) = (
        rows::Key {
            agency: write.agency,
            alert: alert.0,
            receiver,
        },
        write.now(),
    );
    let code = base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(rand::random::<[u8; 32]>());
    rows::add(write.beside(), &rows::Row::new(key, code, now, is_due))
}

/// Writes an alert, and what is to be sent of it; nothing where nobody is told.
fn make(write: &mut Write<'_>, listeners: &Listeners<'_>, draft: Draft, scope: Scope) -> Result<(), Fault> {
    let (agency, rev, now) = (write.agency, write.rev, write.now());
    let id = AlertId(own_id(&format!("alert/{agency}/{rev}/{}", draft.subject)));
    let mut told = Vec::new();
    for receiver in listeners.receivers(draft.change, scope) {
        // One that is switched off is not told, and that is said.
        let off = receiver.switched_off.is_some();
        enqueue(write, id, receiver.id.0, !off)?;
        told.push(Telling {
            receiver: receiver.id,
            name: receiver.name.clone(),
            way: receiver.way.into(),
            member: None,
            state: if off { TellingState::Stopped } else { TellingState::Waiting },
            since: now,
            taken_at: None,
            problem: off.then(|| "The receiver was switched off".to_owned()),
            acknowledged: None,
        });
    }
    for (phone, member) in listeners.phones(draft.change, scope) {
        enqueue(write, id, phone.id.0, true)?;
        told.push(Telling {
            receiver: ReceiverId(phone.id.0),
            name: member.name.clone(),
            way: ToldBy::Phone,
            member: Some(member.id),
            state: TellingState::Waiting,
            since: now,
            taken_at: None,
            problem: None,
            acknowledged: None,
        });
    }
    if told.is_empty() {
        return Ok(());
    }
    let alert = Alert {
        id,
        change: draft.change,
        revision: rev,
        at: draft.at,
        rig: draft.rig,
        station: scope.station,
        district: scope.district,
        name: draft.name,
        before: draft.turn.0,
        after: draft.turn.1,
        confirmed: draft.confirmed,
        expected: draft.expected,
        full: draft.counts.map(|(now, _)| now.full),
        confirmed_full: draft.counts.map(|(_, confirmed)| confirmed),
        min_full: draft.counts.map(|(now, _)| now.min_full),
        reason: draft.reason,
        expected_back: draft.expected_back,
        told,
        rev,
    };
    write.save(alert, scope)
}
