//! Pictures as phones make them, written byte by byte where no encoder would write them so.

use std::io::Cursor;

use image::{DynamicImage, GrayImage, ImageFormat, Luma, Rgb, RgbImage};
use sha2::{Digest as _, Sha256};

/// The words that stand in the hidden parts of a picture; none of them may come back.
pub const HIDDEN: [&[u8]; 6] = [
    b"Exif",
    b"Borrowed Phone 7",
    b"2026:11:25 14:00:00",
    b"http://ns.adobe.com/xap",
    b"secret position",
    b"eXIf",
];

/// A photo's name.
pub fn name_of(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

pub fn written(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture.write_to(&mut Cursor::new(&mut bytes), format).expect("a picture can be written");
    bytes
}

/// A picture that looks like something and does not shrink to nothing; another for each seed.
pub fn picture(width: u32, height: u32, seed: u32) -> DynamicImage {
    RgbImage::from_fn(width, height, |x, y| {
        let part = |n: u32| u8::try_from((x * (n + 3) + y * (n + 7) + seed * 31 + (x * y) % 23) % 256).unwrap();
        Rgb([part(0), part(1), part(2)])
    })
    .into()
}

pub fn jpeg(width: u32, height: u32, seed: u32) -> Vec<u8> {
    written(&picture(width, height, seed), ImageFormat::Jpeg)
}

/// Four grey fields of 16 x 8 pixels: 0 and 80 above, 160 and 240 below.
pub fn fields() -> DynamicImage {
    GrayImage::from_fn(32, 16, |x, y| Luma([u8::try_from(80 * (x / 16) + 160 * (y / 8)).unwrap()])).into()
}

fn entry(tag: u16, kind: u16, count: u32, value: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    bytes.extend(tag.to_le_bytes());
    bytes.extend(kind.to_le_bytes());
    bytes.extend(count.to_le_bytes());
    bytes.extend(value.to_le_bytes());
    bytes
}

/// An EXIF block with an orientation, a model, a date and a position. EXIF 2.32 (CIPA DC-008-2019), section 4.6: tags
/// 0x0112, 0x0110 and 0x0132 of the 0th IFD; the GPS IFD is pointed to by 0x8825. Types: 2 ASCII, 3 SHORT, 4 LONG, 5 RATIONAL.
pub fn exif(orientation: u16) -> Vec<u8> {
    let (model, date) = (b"Borrowed Phone 7\0", b"2026:11:25 14:00:00\0");
    let texts_at = 8 + 2 + 4 * 12 + 4;
    let gps_at = texts_at + u32::try_from(model.len() + date.len() + 1).unwrap();
    let mut tiff = b"II\x2a\0\x08\0\0\0".to_vec();
    tiff.extend(4u16.to_le_bytes());
    tiff.extend(entry(0x0110, 2, 17, texts_at));
    tiff.extend(entry(0x0112, 3, 1, orientation.into()));
    tiff.extend(entry(0x0132, 2, 20, texts_at + 17));
    tiff.extend(entry(0x8825, 4, 1, gps_at));
    tiff.extend([0; 4]);
    tiff.extend(model);
    tiff.extend(date);
    tiff.push(0);
    tiff.extend(2u16.to_le_bytes());
    tiff.extend(entry(0x0001, 2, 2, u32::from(b'N')));
    tiff.extend(entry(0x0002, 5, 3, gps_at + 2 + 2 * 12 + 4));
    tiff.extend([0; 4]);
    for (over, under) in [(39u32, 1u32), (44, 1), (2100, 100)] {
        tiff.extend(over.to_le_bytes());
        tiff.extend(under.to_le_bytes());
    }
    tiff
}

/// A JPEG with hidden parts: an APP1 segment (marker FFE1, ITU-T T.81 table B.1) with EXIF (EXIF 2.32, section 4.5.4), one with
/// XMP, and a comment (FFFE).
pub fn with_exif(jpeg: &[u8], orientation: u16) -> Vec<u8> {
    assert_eq!(jpeg[..2], [0xff, 0xd8], "a JPEG starts with SOI");
    let mut bytes = jpeg[..2].to_vec();
    let xmp = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta xmlns:x='adobe:ns:meta/'>secret position</x:xmpmeta>".to_vec();
    for (marker, content) in [
        (0xe1u8, [b"Exif\0\0".to_vec(), exif(orientation)].concat()),
        (0xe1, xmp),
        (0xfe, b"secret position".to_vec()),
    ] {
        bytes.extend([0xff, marker]);
        bytes.extend(u16::try_from(content.len() + 2).unwrap().to_be_bytes());
        bytes.extend(content);
    }
    bytes.extend(&jpeg[2..]);
    bytes
}

/// CRC-32 as PNG has it (W3C PNG, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 })
    })
}

fn chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let body = [kind.as_slice(), content].concat();
    [&u32::try_from(content.len()).unwrap().to_be_bytes(), body.as_slice(), &crc(&body).to_be_bytes()].concat()
}

/// Where the first chunk of a PNG ends: 8 bytes of signature, then IHDR with 13 bytes of content.
const AFTER_HEAD: usize = 8 + 12 + 13;

/// A PNG with hidden parts: `tEXt` and `eXIf` chunks (W3C PNG, section 11.3).
pub fn with_chunks(png: &[u8], orientation: u16) -> Vec<u8> {
    let text = chunk(b"tEXt", b"Comment\0secret position");
    [&png[..AFTER_HEAD], &text, &chunk(b"eXIf", &exif(orientation)), &png[AFTER_HEAD..]].concat()
}

/// A small PNG that claims to be huge.
pub fn png_that_claims(width: u32, height: u32) -> Vec<u8> {
    let png = written(&picture(1, 1, 0), ImageFormat::Png);
    let mut head = png[16..AFTER_HEAD - 4].to_vec();
    head[..4].copy_from_slice(&width.to_be_bytes());
    head[4..8].copy_from_slice(&height.to_be_bytes());
    [&png[..8], &chunk(b"IHDR", &head), &png[AFTER_HEAD..]].concat()
}

/// A small JPEG that claims to be huge: the frame header (SOF0, FFC0) holds height and width, ITU-T T.81 section B.2.2.
pub fn jpeg_that_claims(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = jpeg(8, 8, 0);
    let frame = bytes.windows(2).position(|pair| pair == [0xff, 0xc0]).expect("a frame header");
    bytes[frame + 5..frame + 7].copy_from_slice(&height.to_be_bytes());
    bytes[frame + 7..frame + 9].copy_from_slice(&width.to_be_bytes());
    bytes
}

pub fn holds(bytes: &[u8], words: &[u8]) -> bool {
    bytes.windows(words.len()).any(|window| window == words)
}
