use chrono::NaiveDate;
use fullset_calc::release::{MakersPaper, Role, Signature};
use serde::{Deserialize, Serialize};

/// Who may sign a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckSigner))]
pub enum Signer {
    /// Any member who is signed off on such gear.
    Member,
    /// An officer, or the shop.
    Officer,
    /// A technician with a certificate that has not run out.
    Technician,
    /// The maker's service, by its paper.
    MakersService,
}

impl Signer {
    /// As said to the person who may not.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Member => "a member who is signed off on it",
            Self::Officer => "an officer",
            Self::Technician => "a technician with a valid certificate",
            Self::MakersService => "the maker's service, with its paper",
        }
    }
}

/// The person who signs, on the day on which the check was done.
#[derive(Debug, Clone, Copy)]
pub struct Hand<'a> {
    /// What the person is in the agency.
    pub role: Role,
    /// Whether the person is signed off on such gear; `None`: nobody knows.
    pub signed_off: Option<bool>,
    /// The last day of the technician's certificate; `None`: none is on file.
    pub certificate_until: Option<NaiveDate>,
    /// The maker's paper that is filed with the check.
    pub paper: Option<&'a MakersPaper>,
    /// The day in the agency's zone.
    pub on: NaiveDate,
}

/// Why a person may not sign.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// A sentence for that person.
    pub words: String,
}

impl Signer {
    /// Whether that person may sign. A technician's word counts for an officer's, never the other way.
    ///
    /// # Errors
    /// What is missing, in words.
    pub fn accept(self, hand: &Hand<'_>) -> Result<(), Refusal> {
        let refuse = |words: String| Err(Refusal { words });
        match self {
            Self::Member => match hand.signed_off {
                // An agency that keeps no sign-offs checks its gear all the same; the check says that nobody knows.
                Some(true) | None => Ok(()),
                Some(false) => refuse("This check is signed by a member who is signed off on such gear: you are not, have one sign".to_owned()),
            },
            Self::Officer if hand.role.is_officer() => Ok(()),
            Self::Officer => refuse("This check is signed by an officer".to_owned()),
            Self::Technician if !hand.role.signs(Signature::Technician) => refuse("This check is signed by a technician of the shop".to_owned()),
            Self::Technician => match hand.certificate_until {
                Some(until) if hand.on <= until => Ok(()),
                Some(until) => refuse(format!("Your certificate ran out on {until}: renew it, or have another technician sign")),
                None => refuse("No certificate of yours is on file: enter it with its last day".to_owned()),
            },
            Self::MakersService if !hand.role.signs(Signature::MakersService) => {
                refuse("The paper of the maker's service is filed by the shop or the coordinator".to_owned())
            }
            Self::MakersService => match hand.paper {
                None => refuse("This check is done by the maker's service: name its company, its report and its date".to_owned()),
                Some(paper) => paper.fault(None, hand.on).map_or(Ok(()), refuse),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_certificate_counts_on_its_last_day_and_not_after() {
        let hand = |role, until: Option<&str>| Hand {
            role,
            signed_off: None,
            certificate_until: until.map(day),
            paper: None,
            on: day("2026-11-28"),
        };
        assert_eq!(Signer::Technician.accept(&hand(Role::Shop, Some("2026-11-28"))), Ok(()));
        assert!(
            Signer::Technician
                .accept(&hand(Role::Shop, Some("2026-11-27")))
                .unwrap_err()
                .words
                .contains("ran out on 2026-11-27")
        );
        assert!(Signer::Technician.accept(&hand(Role::Shop, None)).is_err());
        assert!(Signer::Technician.accept(&hand(Role::Chief, Some("2027-11-28"))).is_err());
        assert_eq!(Signer::Officer.accept(&hand(Role::Shop, None)), Ok(()));
        assert!(Signer::Officer.accept(&hand(Role::Crew, None)).is_err());
    }

    #[test]
    fn who_is_known_not_to_be_signed_off_may_not_sign_and_no_paper_is_no_service() {
        let paper = MakersPaper {
            by: "Northfield Hydraulics".into(),
            reference: "118".into(),
            on: day("2026-11-20"),
        };
        let late = MakersPaper {
            on: day("2026-11-29"),
            ..paper.clone()
        };
        let hand = |signed_off, role, paper| Hand {
            role,
            signed_off,
            certificate_until: None,
            paper,
            on: day("2026-11-28"),
        };
        assert_eq!(Signer::Member.accept(&hand(Some(true), Role::Crew, None)), Ok(()));
        assert!(Signer::Member.accept(&hand(Some(false), Role::Admin, None)).is_err());
        assert_eq!(Signer::Member.accept(&hand(None, Role::Crew, None)), Ok(()));
        assert!(Signer::MakersService.accept(&hand(None, Role::Shop, None)).is_err());
        assert!(Signer::MakersService.accept(&hand(None, Role::Crew, Some(&paper))).is_err());
        assert!(Signer::MakersService.accept(&hand(None, Role::Shop, Some(&late))).is_err());
        assert_eq!(Signer::MakersService.accept(&hand(None, Role::Shop, Some(&paper))), Ok(()));
    }
}
