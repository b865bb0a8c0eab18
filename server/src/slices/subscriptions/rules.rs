//! Who is told by phone, of what, and what a browser's subscription must be.

use std::str::FromStr;

use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::{DateTime, Utc};
use reqwest::Url;
use uuid::Uuid;

use super::cipher::{AUTH, POINT, SealedFor, is_sound};
use crate::{
    platform::{
        auth::Permission,
        door::at_most,
        error::Fault,
        ids::{AgencyId, MemberId},
    },
    slices::{members::Member, receivers::ChangeKind},
};

crate::id!(
    /// A phone's subscription to notices.
    SubscriptionId
);

/// The most phones of a member.
pub const MOST_OF_MEMBER: usize = 5;
/// The most phones of an agency: each of them is told in a command of its own, and stands on the alert.
pub const MOST_OF_AGENCY: usize = 100;

/// Whom push services may ask about what this service sends (RFC 8292, 2.1): the operator's setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PushContact(pub String);

impl FromStr for PushContact {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let help = || "give whom push services may write to: mailto:fire-it@agency.example, or an https address".to_owned();
        let url = Url::parse(text).map_err(|_| help())?;
        let good = match url.scheme() {
            "mailto" => url.path().parse::<lettre::Address>().is_ok() && url.query().is_none(),
            "https" => url.host_str().is_some_and(|host| host.contains('.')),
            _ => false,
        };
        if good && text.len() <= 300 { Ok(Self(text.to_owned())) } else { Err(help()) }
    }
}

/// A browser that gets notices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subscription {
    /// Whose agency.
    pub agency: AgencyId,
    /// What it is removed by.
    pub id: SubscriptionId,
    /// Whose it is.
    pub member: MemberId,
    /// The sign-in that it belongs to.
    pub sign_in: Uuid,
    /// Its address at its push service; a secret.
    pub endpoint: String,
    /// What notices to it are sealed with.
    pub keys: SealedFor,
    /// What its member calls it.
    pub name: String,
    /// What it is told of.
    pub changes: Vec<ChangeKind>,
    /// Since when.
    pub made_at: DateTime<Utc>,
}

/// Whether a change of something there is told on a phone of a member that asked for such changes: the member decides for rigs and is there,
/// and it is within the reach. A change of a district is nothing for who is bound to one station, as with receivers.
pub fn hears(member: &Member, changes: &[ChangeKind], change: ChangeKind, district: Option<Uuid>, station: Option<Uuid>) -> bool {
    member.active
        && member.role.grants(Permission::Handle)
        && changes.contains(&change)
        && match (member.station, member.district) {
            (Some(own), _) => station == Some(own),
            (None, Some(own)) => district == Some(own),
            (None, None) => true,
        }
}

/// What a browser gave, as bytes that can be sealed for.
pub fn keys(p256dh: &str, auth: &str) -> Result<SealedFor, Fault> {
    let bytes = |field: &str, text: &str, length: usize| {
        let found = URL_SAFE_NO_PAD.decode(text.trim_end_matches('=')).ok().filter(|bytes| bytes.len() == length);
        found.ok_or_else(|| Fault::field(field, format!("This is what the browser gave as base64url: {length} bytes")))
    };
    let keys = SealedFor {
        p256dh: bytes("body.p256dh", p256dh, POINT)?,
        auth: bytes("body.auth", auth, AUTH)?,
    };
    if is_sound(&keys) {
        Ok(keys)
    } else {
        Err(Fault::field("body.p256dh", "This is no public key of P-256; send what the browser gave"))
    }
}

/// Changes, each once and in order.
pub fn told_of(mut changes: Vec<ChangeKind>) -> Result<Vec<ChangeKind>, Fault> {
    at_most("body.changes", &changes, ChangeKind::ALL.len(), "change")?;
    changes.sort_unstable();
    changes.dedup();
    if changes.is_empty() {
        return Err(Fault::field("body.changes", "Say what the phone is told of; to tell it nothing, remove it"));
    }
    Ok(changes)
}

/// Changes as one text.
pub fn joined(changes: &[ChangeKind]) -> String {
    changes.iter().map(|change| change.word()).collect::<Vec<_>>().join(",")
}

/// The changes of such a text.
pub fn parted(text: &str) -> Vec<ChangeKind> {
    let all = ChangeKind::ALL.into_iter();
    all.filter(|change| text.split(',').any(|word| word == change.word())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::auth::Role;

    #[test]
    fn a_contact_is_a_mailbox_or_an_address_over_tls() {
        for good in ["mailto:fire-it@agency.example", "https://agency.example/contact"] {
            assert_eq!(good.parse::<PushContact>().map(|contact| contact.0).as_deref(), Ok(good));
        }
        for bad in [
            "",
            "fire-it@agency.example",
            "mailto:",
            "mailto:x",
            "http://agency.example",
            "https://localhost",
            "mailto:a@b.example?x=1",
        ] {
            let why = bad.parse::<PushContact>().expect_err(bad);
            assert!(why.contains("mailto:fire-it@"), "{bad}: {why}");
        }
    }

    #[test]
    fn changes_are_kept_each_once() {
        let all = joined(&told_of(ChangeKind::ALL.into_iter().rev().collect()).expect("some"));
        let twice = [ChangeKind::RigFalls, ChangeKind::RigFalls];
        assert_eq!(told_of(twice.into()).expect("some"), [ChangeKind::RigFalls]);
        assert!(told_of(ChangeKind::ALL.into_iter().chain(twice).collect()).is_err());
        assert_eq!(all, "rig.falls,rig.rises,district.short,district.enough");
        assert_eq!(parted(&all), ChangeKind::ALL);
        assert_eq!(parted("district.short,nonsense"), [ChangeKind::DistrictShort]);
        assert!(told_of(Vec::new()).is_err());
    }

    #[test]
    fn who_decides_for_rigs_hears_of_the_own_reach() {
        let [here, there, north, south] = [1, 2, 3, 4].map(Uuid::from_u128);
        let member = |role, district, station| Member {
            id: MemberId(Uuid::from_u128(9)),
            name: "Sam Sample".into(),
            email: "sam@agency.example".to_owned().try_into().expect("an email"),
            role,
            district,
            station,
            active: true,
            has_pin: false,
            sign_offs: Vec::new(),
            certificate: None,
            rev: 1,
        };
        let of_rig = |member: &Member, district, station| hears(member, &ChangeKind::ALL, ChangeKind::RigFalls, Some(district), Some(station));
        let of_district = |member: &Member, district| hears(member, &ChangeKind::ALL, ChangeKind::DistrictShort, Some(district), None);
        let officer = member(Role::Officer, Some(north), Some(here));
        assert!(of_rig(&officer, north, here) && !of_rig(&officer, north, there) && !of_district(&officer, north));
        let chief = member(Role::Chief, Some(north), None);
        assert!(of_rig(&chief, north, there) && of_district(&chief, north) && !of_rig(&chief, south, there) && !of_district(&chief, south));
        let admin = member(Role::Admin, None, None);
        assert!(of_rig(&admin, south, there) && of_district(&admin, south));
        for role in [Role::Crew, Role::Shop] {
            assert!(!of_rig(&member(role, None, None), north, here), "{role}");
        }
        let left = Member {
            active: false,
            ..admin.clone()
        };
        assert!(!of_rig(&left, north, here));
        assert!(!hears(&admin, &[ChangeKind::RigRises], ChangeKind::RigFalls, Some(north), Some(here)));
        assert!(!of_rig(&officer, north, there), "an officer of another station");
    }
}
