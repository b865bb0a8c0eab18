//! A batch as it came, made ready for the writer: bodies read, times set right, slow work done.

use std::fmt::Write as _;

use base64::Engine as _;
use chrono::{DateTime, Utc};
use sha2::{Digest as _, Sha256};

use super::{
    Command, Head, Registry, Signature,
    command::{Ready, Signed},
    expects::Expects,
};
use crate::platform::{
    auth::{Actor, HashingPlace},
    error::Fault,
};

/// Makes the commands of one batch ready. `sent_at` is the sender's clock at sending, for measuring its skew. What is slow waits for
/// its turn at `place`, each command for one of its own.
pub(super) fn ready(
    registry: &Registry,
    actor: &Actor,
    place: Option<&HashingPlace>,
    (received_at, sent_at): (DateTime<Utc>, Option<DateTime<Utc>>),
    commands: Vec<Command>,
) -> Vec<Ready> {
    let sent_at = sent_at.map_or(received_at, to_micros);
    let skew = received_at - sent_at;
    let ready = commands.into_iter().map(|command| {
        let at_raw = command.at.map_or(sent_at, to_micros);
        // A time that the correction cannot hold is a clock gone wild: the server's own time stands in.
        let at = at_raw.checked_add_signed(skew).map_or(received_at, |at| to_micros(at).min(received_at));
        let signature = command.by.as_ref().map(|by| signature(&command, by, actor)).transpose();
        // Nothing is worked out for a sender who may not send it. Who signed a command is found by the writer, and whether that
        // member may send it: until then it may only cost little.
        let may = match &signature {
            Ok(None) => registry.permit(actor, &command.kind),
            Ok(Some(_)) if registry.slow(&command.kind) => Err(Fault::rule(
                "This is done where you are signed in yourself, on your phone or at a desk; on a shared tablet it is not signed",
            )),
            Ok(Some(_)) => Ok(()),
            Err(fault) => Err(fault.again()),
        };
        let read = may.and_then(|()| match place.filter(|_| registry.slow(&command.kind)) {
            Some(place) => place.in_turn(|| registry.read(&command.kind, &command.body)),
            None => registry.read(&command.kind, &command.body),
        });
        let (act, journaled) = match read {
            Ok((act, journaled)) => (Ok(act), journaled),
            Err(fault) => (Err(fault), String::new()),
        };
        let signature = signature.unwrap_or_default();
        Ready {
            head: Head {
                id: command.id,
                at_raw,
                at,
                received_at,
                skew_us: skew.num_microseconds().unwrap_or_default(),
                expects: command.expects.and_then(Expects::revision),
            },
            kind: command.kind,
            after: command.after,
            expects_after: command.expects.and_then(Expects::left_by),
            signature,
            journaled,
            act,
        }
    });
    ready.collect()
}

/// What the member must have signed: this command, with this body, on this device, and no other.
fn signature(command: &Command, by: &Signed, actor: &Actor) -> Result<Signature, Fault> {
    let device = actor
        .device
        .filter(|_| actor.member.is_none())
        .ok_or_else(|| Fault::field("by", "Only a shared tablet's commands are signed; leave `by` out, you are signed in yourself"))?;
    let code = base64::engine::general_purpose::URL_SAFE_NO_PAD
        .decode(&by.signature)
        .map_err(|_| Fault::field("by.signature", "A signature is 32 bytes in base64url without padding"))?;
    let check = u64::from_str_radix(&by.check, 16)
        .ok()
        .filter(|_| by.check.len() == 16 && !by.check.starts_with('+'))
        .map(u64::to_be_bytes);
    let check = check.ok_or_else(|| Fault::field("by.check", "The check of a key is 8 bytes, as 16 hexadecimal digits"))?;
    let mut text = format!("{}\n{}\n{device}\n", command.id, command.kind);
    for byte in Sha256::digest(command.body.get()) {
        // Writing to a String cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    Ok(Signature {
        member: by.member,
        check,
        code,
        text,
    })
}

/// Cut to what both databases keep: microseconds, and four digits of a year after 1970. A clock beyond that says nothing.
fn to_micros(at: DateTime<Utc>) -> DateTime<Utc> {
    const LAST: i64 = 253_402_300_799_000_000;
    DateTime::from_timestamp_micros(at.timestamp_micros().clamp(0, LAST)).unwrap_or(at)
}
