//! Which servers an agency may take pictures of the map from.

use super::feed::MapTiles;
use crate::platform::{
    error::Fault,
    outward::{Outward, checked_address},
};

/// The nearest zoom that such a server may have.
const NEAREST_ZOOM: u8 = 19;
/// The longest word of whose map it is, in characters.
const MOST_ATTRIBUTION: usize = 200;

/// Holds a server of map pictures to what the service asks, and the map shows; answers it as it is kept.
pub fn checked(given: MapTiles, outward: Outward) -> Result<MapTiles, Fault> {
    let refused = |why: String| Fault::field("body.map_tiles.address", why);
    let attribution = given.attribution.trim().to_owned();
    let is_plain = |sign: char| !sign.is_control() && !['<', '>'].contains(&sign);
    if !(1..=MOST_ATTRIBUTION).contains(&attribution.chars().count()) || !attribution.chars().all(is_plain) {
        return Err(Fault::field(
            "body.map_tiles.attribution",
            format!("Write whose map it is, as its terms ask for it: 1 to {MOST_ATTRIBUTION} characters on one line, without < and >"),
        ));
    }
    if !(1..=NEAREST_ZOOM).contains(&given.nearest_zoom) {
        return Err(Fault::field("body.map_tiles.nearest_zoom", format!("This is from 1 to {NEAREST_ZOOM}")));
    }
    let address = given.address.trim().to_owned();
    if address.chars().any(|sign| sign.is_whitespace() || sign.is_control()) {
        return Err(refused("An address has no spaces".to_owned()));
    }
    for part in ["{z}", "{x}", "{y}"] {
        match address.matches(part).count() {
            1 => {}
            0 => return Err(refused(format!("This address lacks {part}; it reads https://host/path/{{z}}/{{x}}/{{y}}.png"))),
            _ => return Err(refused(format!("{part} stands in this address more than once"))),
        }
    }
    let kept = MapTiles {
        address,
        attribution,
        nearest_zoom: given.nearest_zoom,
    };
    // The first and the last picture that there can be: all others lie between them in length.
    let last = (1 << NEAREST_ZOOM) - 1;
    let [first, last] = [kept.address_of(0, 0, 0), kept.address_of(NEAREST_ZOOM, last, last)];
    if first.contains(['{', '}']) {
        return Err(refused(
            "Only {z}, {x} and {y} stand between curly brackets; write out the rest, such as one letter in the place of {s}".to_owned(),
        ));
    }
    let [first, last] = [checked_address(&first, outward), checked_address(&last, outward)];
    if first.map_err(refused)?.origin() != last.map_err(refused)?.origin() {
        return Err(refused("{z}, {x} and {y} stand after the server's name".to_owned()));
    }
    Ok(kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tiles(address: &str) -> MapTiles {
        MapTiles {
            address: address.to_owned(),
            attribution: " Example Mapping ".to_owned(),
            nearest_zoom: 17,
        }
    }

    #[test]
    fn a_server_of_map_pictures_is_named_by_one_address_for_all_of_them() {
        for good in [
            "https://tiles.example.org/{z}/{x}/{y}.png",
            " https://tiles.example.org:8443/base/{z}/{y}/{x} ",
            "https://tiles.example.org/?z={z}&x={x}&y={y}&key=a",
        ] {
            let kept = checked(tiles(good), Outward::Public).unwrap_or_else(|fault| panic!("{good}: {fault}"));
            assert_eq!((kept.address.as_str(), kept.attribution.as_str()), (good.trim(), "Example Mapping"));
        }
        assert_eq!(
            tiles("https://tiles.example.org/{z}/{y}/{x}.png").address_of(3, 4, 5),
            "https://tiles.example.org/3/5/4.png"
        );
        for (bad, why) in [
            ("", "lacks {z}"),
            ("https://tiles.example.org/{z}/{x}.png", "lacks {y}"),
            ("https://tiles.example.org/{z}/{x}/{-y}.png", "lacks {y}"),
            ("https://tiles.example.org/{z}/{x}/{y}/{y}.png", "more than once"),
            ("https://{s}.tiles.example.org/{z}/{x}/{y}.png", "curly brackets"),
            ("https://tiles{z}.example.org/{x}/{y}.png", "after the server's name"),
            ("https://tiles.example.org:8{z}/{x}/{y}.png", "after the server's name"),
            ("https://8.8.8.{z}/{x}/{y}.png", "after the server's name"),
            ("https://10.0.0.{z}/{x}/{y}.png", "public addresses alone"),
            ("http://tiles.example.org/{z}/{x}/{y}.png", "https alone"),
            ("https://10.0.0.8/{z}/{x}/{y}.png", "public addresses alone"),
            ("https://tiles/{z}/{x}/{y}.png", "public addresses alone"),
            ("https://me:pw@tiles.example.org/{z}/{x}/{y}.png", "no user"),
            ("https://tiles.example.org/{z}/{x}/#{y}.png", "no part after #"),
            ("https://tiles.example.org/{z}/ {x}/{y}.png", "no spaces"),
            ("https://tiles.example.org/{z}/\n{x}/{y}.png", "no spaces"),
            ("{z}/{x}/{y}", "no address"),
        ] {
            let fault = checked(tiles(bad), Outward::Public).expect_err(bad);
            assert_eq!(fault.field.as_deref(), Some("body.map_tiles.address"), "{bad}");
            assert!(fault.detail.contains(why), "{bad}: {}", fault.detail);
        }
        let long = format!("https://tiles.example.org/{}/{{z}}/{{x}}/{{y}}", "a".repeat(1000));
        assert!(checked(tiles(&long), Outward::Any).expect_err("long").detail.contains("longer than 1000"));
        assert!(checked(tiles("http://10.0.0.8/{z}/{x}/{y}.png"), Outward::Any).is_ok());
    }

    #[test]
    fn whose_map_it_is_has_to_be_said_in_plain_text() {
        let said = |attribution: &str, nearest_zoom| MapTiles {
            attribution: attribution.to_owned(),
            nearest_zoom,
            ..tiles("https://tiles.example.org/{z}/{x}/{y}.png")
        };
        let field = |given| checked(given, Outward::Public).expect_err("refused").field;
        for attribution in ["", "  ", "a\nb", "<a href=\"x\">A</a>", &"x".repeat(201)] {
            assert_eq!(field(said(attribution, 17)).as_deref(), Some("body.map_tiles.attribution"), "{attribution}");
        }
        for zoom in [0, 20, 255] {
            assert_eq!(field(said("Example Mapping", zoom)).as_deref(), Some("body.map_tiles.nearest_zoom"));
        }
        for zoom in [1, 19] {
            assert!(checked(said("Example Mapping", zoom), Outward::Public).is_ok());
        }
    }
}
