//! Members of the county, and how far each reaches.

use crate::{
    Person,
    places::{HIGH_COUNTRY, NORTH_BENCH, OLD_TOWN, RIVER_FLATS, SALLOW_CREEK, station_of},
};

/// How far a member reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    Agency,
    District(&'static str),
    Station(u8),
}

/// A member.
#[derive(Debug)]
pub struct Member {
    pub person: &'static Person,
    pub reach: Reach,
}

const fn person(role: &'static str, email: &'static str, name: &'static str) -> Person {
    Person { role, email, name }
}

pub static ADMIN: Person = person("admin", "admin@tamarrow.example", "Odalys Pembrick");
pub static COORDINATOR: Person = person("coordinator", "tools@tamarrow.example", "Maren Tolliver");
pub static SHOP: Person = person("shop", "shop@tamarrow.example", "Gus Aldecott");
pub static CHIEF: Person = person("chief", "chief@tamarrow.example", "Ingrid Vasquell");
pub static OFFICER: Person = person("officer", "officer@tamarrow.example", "Desmond Harkaway");
pub static CREW: Person = person("crew", "crew@tamarrow.example", "Pia Lindqvort");

/// The mechanic of the north shop.
pub static NORTH_MECHANIC: Person = person("shop", "l.skarsvold@tamarrow.example", "Lena Skarsvold");
/// The fleet shop's second mechanic.
pub static SECOND_MECHANIC: Person = person("shop", "b.oyelarin@tamarrow.example", "Bayo Oyelarin");

macro_rules! members {
    ($($role:literal $reach:expr, $email:literal, $name:literal;)*) => {
        &[$(Member { person: &person($role, concat!($email, "@tamarrow.example"), $name), reach: $reach }),*]
    };
}

/// Who has a sign-in of the demo.
pub static KNOWN: &[Member] = &[
    Member {
        person: &COORDINATOR,
        reach: Reach::Agency,
    },
    Member {
        person: &SHOP,
        reach: Reach::Agency,
    },
    Member {
        person: &SECOND_MECHANIC,
        reach: Reach::Agency,
    },
    Member {
        person: &NORTH_MECHANIC,
        reach: Reach::Agency,
    },
    Member {
        person: &CHIEF,
        reach: Reach::District(SALLOW_CREEK),
    },
    Member {
        person: &OFFICER,
        reach: Reach::Station(25),
    },
    Member {
        person: &CREW,
        reach: Reach::Station(3),
    },
];

/// Everybody else.
pub static OTHERS: &[Member] = members! {
    "chief" Reach::District(OLD_TOWN), "r.candlemas", "Rosalind Candlemas";
    "chief" Reach::District(RIVER_FLATS), "t.abernook", "Teo Abernook";
    "chief" Reach::District(NORTH_BENCH), "w.ferreday", "Winifred Ferreday";
    "chief" Reach::District(HIGH_COUNTRY), "j.starlingworth", "Jonah Starlingworth";
    "officer" Reach::Station(1), "k.oakestrand", "Kit Oakestrand";
    "officer" Reach::Station(3), "m.quillfeather", "Mabel Quillfeather";
    "officer" Reach::Station(8), "a.dunnockby", "Arlo Dunnockby";
    "officer" Reach::Station(9), "s.maribone", "Saskia Maribone";
    "officer" Reach::Station(13), "h.grunewalt", "Hale Grunewalt";
    "officer" Reach::Station(15), "p.tamsinger", "Pernilla Tamsinger";
    "officer" Reach::Station(16), "c.rookwell", "Cyrus Rookwell";
    "officer" Reach::Station(21), "n.bastable", "Nadia Bastable";
    "crew" Reach::Station(1), "crew01", "Wes Calderbrook";
    "crew" Reach::Station(2), "crew02", "Tomasz Werrick";
    "crew" Reach::Station(4), "crew04", "Jolene Ashmarsh";
    "crew" Reach::Station(5), "crew05", "Rafe Montclove";
    "crew" Reach::Station(6), "crew06", "Ida Sorrelby";
    "crew" Reach::Station(7), "crew07", "Emeka Dunsford-Okoro";
    "crew" Reach::Station(8), "crew08", "Hollis Tarn";
    "crew" Reach::Station(9), "crew09", "Yusra Kettlewick";
    "crew" Reach::Station(10), "crew10", "Ben Larkhurst";
    "crew" Reach::Station(11), "crew11", "Dag Emberlane";
    "crew" Reach::Station(12), "crew12", "Corrie Fennimoor";
    "crew" Reach::Station(13), "crew13", "Luis Parradine";
    "crew" Reach::Station(14), "crew14", "Nell Gorsedge";
    "crew" Reach::Station(15), "crew15", "Otis Vanderhale";
    "crew" Reach::Station(16), "crew16", "Freya Islemunt";
    "crew" Reach::Station(17), "crew17", "Sam Truscombe";
    "crew" Reach::Station(18), "crew18", "Anouk Bellweather";
    "crew" Reach::Station(19), "crew19", "Cal Hobbinson";
    "crew" Reach::Station(20), "crew20", "Mina Drostby";
    "crew" Reach::Station(21), "crew21", "Aksel Thornbury-Lund";
    "crew" Reach::Station(22), "crew22", "Ruth Penhallick";
    "crew" Reach::Station(23), "crew23", "Gil Sandoveer";
    "crew" Reach::Station(24), "crew24", "Tess Marlowick";
    "crew" Reach::Station(25), "crew25", "Moss Everingdale";
    "crew" Reach::Station(26), "crew26", "Kaia Brunholm";
};

/// All members but the admin, who founds the agency.
pub fn members() -> impl Iterator<Item = &'static Member> {
    KNOWN.iter().chain(OTHERS)
}

fn one(role: &str, reach: Reach) -> Option<&'static Person> {
    members()
        .find(|member| member.person.role == role && member.reach == reach)
        .map(|member| member.person)
}

/// Whether somebody's reach holds a station.
pub fn reaches(person: &Person, station: u8) -> bool {
    let reach = members().find(|member| member.person.email == person.email).map(|member| member.reach);
    match reach {
        Some(Reach::Station(own)) => own == station,
        Some(Reach::District(district)) => station_of(station).is_some_and(|station| station.district == district),
        _ => true,
    }
}

/// Who is on the crew of a station.
pub fn crew_of(station: u8) -> &'static Person {
    one("crew", Reach::Station(station)).unwrap_or(&COORDINATOR)
}

/// The chief of a station's district.
pub fn chief_of(station: u8) -> &'static Person {
    station_of(station)
        .and_then(|station| one("chief", Reach::District(station.district)))
        .unwrap_or(&COORDINATOR)
}

/// Who decides at a station: its officer, or the chief where it has none.
pub fn officer_of(station: u8) -> &'static Person {
    one("officer", Reach::Station(station)).unwrap_or_else(|| chief_of(station))
}
