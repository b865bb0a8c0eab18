//! Which squares there are, and what counts as a picture of one.

/// A square of the map: how near, and which one from the west and from the north.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Square {
    /// How near: at 0 one square holds the world, each step cuts a square into four.
    pub zoom: u8,
    /// Which from the west.
    pub x: u32,
    /// Which from the north.
    pub y: u32,
}

impl Square {
    /// Reads the parts of an address; or which part is no number, and why.
    pub fn read(z: &str, x: &str, y: &str) -> Result<Self, (&'static str, String)> {
        fn number<T: std::str::FromStr>(field: &'static str, text: &str) -> Result<T, (&'static str, String)> {
            let digits = !text.is_empty() && text.bytes().all(|sign| sign.is_ascii_digit());
            let read = digits.then(|| text.parse().ok()).flatten();
            read.ok_or_else(|| (field, format!("{field} is a whole number, as in /v1/map-tiles/12/853/1554")))
        }
        Ok(Self {
            zoom: number("z", z)?,
            x: number("x", x)?,
            y: number("y", y)?,
        })
    }

    /// Whether there is such a square, as near as the server goes; or which part is wrong, and why.
    pub fn check(self, nearest_zoom: u8) -> Result<(), (&'static str, String)> {
        if self.zoom > nearest_zoom {
            return Err(("z", format!("z is from 0 to {nearest_zoom}, the nearest that the agency's map server has")));
        }
        let across = 1_u64 << self.zoom;
        for (field, number) in [("x", self.x), ("y", self.y)] {
            if u64::from(number) >= across {
                return Err((field, format!("{field} is from 0 to {} at z {}", across - 1, self.zoom)));
            }
        }
        Ok(())
    }
}

/// What a picture is, by how its bytes begin; none: it is no picture of a kind that is passed on.
pub fn media_of(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1a, b'\n', ..] => Some("image/png"),
        [0xff, 0xd8, 0xff, ..] => Some("image/jpeg"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("image/webp"),
        _ => None,
    }
}

/// Whether a server calls what it sends such a picture.
pub fn is_called_picture(content_type: &str) -> bool {
    let media = content_type.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
    ["image/png", "image/jpeg", "image/webp"].contains(&media.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_is_one_that_there_is() {
        let wrong = |z: &str, x: &str, y: &str| Square::read(z, x, y).and_then(|square| square.check(17)).err().map(|(field, _)| field);
        for (z, x, y) in [("0", "0", "0"), ("1", "1", "1"), ("17", "131071", "0")] {
            assert_eq!(wrong(z, x, y), None, "{z}/{x}/{y}");
        }
        for (z, x, y, field) in [
            ("18", "0", "0", "z"),
            ("-1", "0", "0", "z"),
            ("256", "0", "0", "z"),
            ("{z}", "0", "0", "z"),
            ("0", "1", "0", "x"),
            ("1", "+1", "0", "x"),
            ("1", "", "0", "x"),
            ("2", "0", "4", "y"),
            ("2", "0", "1.png", "y"),
            ("17", "0", "99999999999999999999", "y"),
        ] {
            assert_eq!(wrong(z, x, y), Some(field), "{z}/{x}/{y}");
        }
    }

    #[test]
    fn a_picture_is_told_by_its_bytes() {
        for (bytes, media) in [
            (&b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"[..], Some("image/png")),
            (b"\xff\xd8\xff\xe0\0\x10JFIF", Some("image/jpeg")),
            (b"RIFF\x24\0\0\0WEBPVP8 ", Some("image/webp")),
            (b"RIFF\x24\0\0\0WAVEfmt ", None),
            (b"<!doctype html><title>Blocked</title>", None),
            (b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>", None),
            (b"GIF89a", None),
            (b"", None),
        ] {
            assert_eq!(media_of(bytes), media, "{bytes:?}");
        }
        assert!(is_called_picture("image/png") && is_called_picture("Image/JPEG; q=1") && is_called_picture("image/webp"));
        assert!(!is_called_picture("text/html") && !is_called_picture("image/svg+xml") && !is_called_picture(""));
    }
}
