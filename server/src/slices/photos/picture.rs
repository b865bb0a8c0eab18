//! A picture made fit to be kept: checked before it is decoded, turned upright, encoded anew without anything but its
//! pixels, with a thumbnail. It knows bytes and pixels, neither agencies nor stores.

use std::io::Cursor;

use image::{
    DynamicImage, GenericImageView as _, ImageDecoder as _, ImageError, ImageFormat, ImageReader, Limits, Rgb, RgbImage,
    codecs::{
        jpeg::JpegEncoder,
        png::{CompressionType, FilterType, PngEncoder},
    },
};

use crate::platform::error::{self, Fault};

/// The most pixels that a photo has.
const MOST_PIXELS: u64 = 50_000_000;
/// The longest side of a photo, in pixels: a picture of one pixel by fifty million is worked on for minutes.
const MOST_SIDE: u32 = 20_000;
/// The most that one decoded picture may take up in memory: 50 megapixels of four bytes.
const MOST_MEMORY: u64 = 4 * MOST_PIXELS;
/// The longest side of a thumbnail, in pixels.
const THUMBNAIL_SIDE: u32 = 320;
/// Quality of the JPEG that is kept and of the thumbnail, of 100. Damage is still seen in the one; the other is looked at
/// in passing.
const QUALITY: (u8, u8) = (85, 75);

/// The media types that are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Media {
    Jpeg,
    Png,
}

impl Media {
    /// As HTTP says it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }
}

/// A picture as it is kept.
#[allow(missing_debug_implementations)]
pub struct Picture {
    /// The type of `bytes`.
    pub media: Media,
    /// The picture, encoded anew.
    pub bytes: Vec<u8>,
    /// The thumbnail, always a JPEG.
    pub thumbnail: Vec<u8>,
    /// Pixels across, upright.
    pub width: u32,
    /// Pixels down, upright.
    pub height: u32,
}

/// Which type the bytes are of, whatever their sender calls them. The first few bytes are enough.
pub fn sniff(bytes: &[u8]) -> Result<ImageFormat, Fault> {
    match image::guess_format(bytes) {
        Ok(format @ (ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP)) => Ok(format),
        _ => {
            // ISO/IEC 14496-12: the file type box comes first, its brand at the ninth byte.
            let boxed = bytes.get(4..8) == Some(b"ftyp");
            let (what, hint) = match bytes.get(8..12) {
                Some(b"heic" | b"heix" | b"heim" | b"heis" | b"hevc" | b"hevx" | b"mif1" | b"msf1") if boxed => (
                    "This is a HEIC picture, which is not kept here",
                    "Set the phone's camera to its most compatible format, or save the picture as JPEG, and send that",
                ),
                _ => ("These bytes are no JPEG, PNG or WebP picture", "Save the picture as JPEG and send that"),
            };
            Err(Fault::new(error::PHOTO_UNREADABLE, what).hint(hint))
        }
    }
}

fn unreadable(error: &ImageError) -> Fault {
    match error {
        ImageError::Limits(_) => too_large("it takes up too much memory when it is opened"),
        _ => Fault::new(error::PHOTO_UNREADABLE, format!("The picture is damaged or breaks off: {error}")).hint("Take it again, or save it anew as JPEG"),
    }
}

fn too_large(why: &str) -> Fault {
    Fault::new(
        error::PHOTO_TOO_LARGE,
        format!("The picture is too large: {why}; a photo has 50 megapixels at most. Send it smaller"),
    )
}

/// Makes a picture fit to be kept. Nothing is decoded before its head has said that it is small enough.
pub fn made(bytes: &[u8]) -> Result<Picture, Fault> {
    let format = sniff(bytes)?;
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|error| unreadable(&error))?;
    let (width, height) = decoder.dimensions();
    if width.max(height) > MOST_SIDE {
        return Err(too_large(&format!("it is {width} x {height} pixels, and no side may be longer than 20,000")));
    }
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(too_large(&format!("it is {width} x {height} pixels")));
    }
    if decoder.total_bytes() > MOST_MEMORY {
        return Err(too_large("its pixels are of more than four bytes each"));
    }
    if !has_end(format, bytes) {
        return Err(Fault::new(error::PHOTO_UNREADABLE, "The picture breaks off: its end is missing").hint("Take it again, or send the whole file"));
    }
    // A camera that wrote its notes wrongly still took the picture.
    let orientation = decoder.orientation().ok();
    let mut pixels = DynamicImage::from_decoder(decoder).map_err(|error| unreadable(&error))?;
    if let Some(orientation) = orientation {
        pixels.apply_orientation(orientation);
    }
    let (width, height) = pixels.dimensions();
    let thumbnail = if width.max(height) > THUMBNAIL_SIDE {
        on_white(&pixels.thumbnail(THUMBNAIL_SIDE, THUMBNAIL_SIDE))
    } else {
        on_white(&pixels)
    };
    let thumbnail = jpeg(&DynamicImage::ImageRgb8(thumbnail), QUALITY.1)?;
    // WebP can only be written without loss here, which makes a photo many times larger: it goes on as JPEG.
    let media = if format == ImageFormat::Png || pixels.color().has_alpha() {
        Media::Png
    } else {
        Media::Jpeg
    };
    let bytes = match (media, pixels) {
        (Media::Png, pixels) => {
            let mut bytes = Vec::new();
            let encoder = PngEncoder::new_with_quality(&mut bytes, CompressionType::Default, FilterType::Adaptive);
            pixels.write_with_encoder(encoder).map_err(anyhow::Error::from)?;
            bytes
        }
        (Media::Jpeg, pixels @ (DynamicImage::ImageLuma8(_) | DynamicImage::ImageRgb8(_))) => jpeg(&pixels, QUALITY.0)?,
        (Media::Jpeg, pixels) => jpeg(&DynamicImage::ImageRgb8(pixels.into_rgb8()), QUALITY.0)?,
    };
    Ok(Picture {
        media,
        bytes,
        thumbnail,
        width,
        height,
    })
}

/// Whether a picture's file is there to its end. A decoder fills in what is missing with grey, and nobody would see that the damage
/// was in the part that broke off. JPEG: ISO/IEC 10918-1, B.1.1.3 (EOI). PNG: W3C PNG, 11.2.5 (IEND). WebP: RFC 9649, 2.4.
fn has_end(format: ImageFormat, bytes: &[u8]) -> bool {
    match format {
        ImageFormat::Jpeg => jpeg_has_end(bytes),
        ImageFormat::Png => png_has_end(bytes),
        _ => bytes
            .get(4..8)
            .and_then(|size| size.try_into().ok())
            .and_then(|size| usize::try_from(u32::from_le_bytes(size)).ok()?.checked_add(8))
            .is_some_and(|end| end <= bytes.len()),
    }
}

/// Walks the segments, and what is between them, to the end of the image: a smaller picture in the notes has an end of its own.
fn jpeg_has_end(bytes: &[u8]) -> bool {
    let mut at = 2;
    while let Some(found) = bytes.get(at..).and_then(|rest| rest.iter().position(|byte| *byte == 0xFF)) {
        at += found;
        match bytes.get(at + 1) {
            Some(0xD9) => return true,
            // Fill bytes; stuffed ones, restarts and TEM stand alone.
            Some(0xFF) => at += 1,
            Some(0x00 | 0x01 | 0xD0..=0xD8) => at += 2,
            Some(_) => {
                let length = bytes.get(at + 2..at + 4).and_then(|two| two.try_into().ok()).map(u16::from_be_bytes);
                match length {
                    Some(length) if length >= 2 => at += 2 + usize::from(length),
                    _ => return false,
                }
            }
            None => return false,
        }
    }
    false
}

fn png_has_end(bytes: &[u8]) -> bool {
    let mut at = 8;
    while let Some(head) = bytes.get(at..at + 8) {
        let (length, kind) = head.split_at(4);
        let length = length.try_into().ok().map(u32::from_be_bytes).and_then(|length| usize::try_from(length).ok());
        let Some(end) = length.and_then(|length| at.checked_add(length)?.checked_add(12)) else {
            return false;
        };
        if kind == b"IEND" {
            return end <= bytes.len();
        }
        at = end;
    }
    false
}

fn jpeg(pixels: &DynamicImage, quality: u8) -> Result<Vec<u8>, Fault> {
    let mut bytes = Vec::new();
    pixels
        .write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, quality))
        .map_err(anyhow::Error::from)?;
    Ok(bytes)
}

/// The picture on a white ground: JPEG cannot be seen through.
fn on_white(pixels: &DynamicImage) -> RgbImage {
    if !pixels.color().has_alpha() {
        return pixels.to_rgb8();
    }
    let pixels = pixels.to_rgba8();
    RgbImage::from_fn(pixels.width(), pixels.height(), |x, y| {
        let [red, green, blue, alpha] = pixels.get_pixel(x, y).0.map(u16::from);
        Rgb([red, green, blue].map(|part| u8::try_from((part * alpha + 255 * (255 - alpha)) / 255).unwrap_or(u8::MAX)))
    })
}
