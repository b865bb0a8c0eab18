//! A picture, as any member sends it. libFuzzer's bounds of memory and time are the others: see the Makefile.

use std::time::{Duration, Instant};

use fullset::slices::photos::{Media, made};
use image::{GenericImageView as _, ImageFormat};

/// The longest that a picture may be worked on, many times what the largest takes: a build that counts branches is slow.
const LONGEST: Duration = Duration::from_secs(40);

/// What is kept is a picture of that size within the bounds, without notes, whose thumbnail is small; all else is the sender's fault.
pub fn hold(bytes: &[u8]) {
    let began = Instant::now();
    let made = made(bytes);
    assert!(began.elapsed() < LONGEST, "worked on for {:?}", began.elapsed());
    let picture = match made {
        Ok(picture) => picture,
        Err(fault) => return assert!(!fault.is_ours(), "{fault:?}"),
    };
    let (width, height) = (picture.width, picture.height);
    assert!(
        width.max(height) <= 20_000 && u64::from(width) * u64::from(height) <= 50_000_000,
        "{width} x {height}"
    );
    let format = match picture.media {
        Media::Jpeg => ImageFormat::Jpeg,
        Media::Png => ImageFormat::Png,
    };
    if u64::from(width) * u64::from(height) <= 4_000_000 {
        let kept = image::load_from_memory_with_format(&picture.bytes, format).expect("what is kept can be opened");
        assert_eq!(kept.dimensions(), (width, height));
    }
    let thumbnail = image::load_from_memory_with_format(&picture.thumbnail, ImageFormat::Jpeg).expect("so can the thumbnail");
    assert!(thumbnail.width().max(thumbnail.height()) <= 320);
    for notes in [&b"Exif\0"[..], b"http://ns.adobe.com", b"tEXt", b"iTXt", b"eXIf"] {
        let headed = &picture.bytes[..picture.bytes.len().min(200)];
        assert!(!headed.windows(notes.len()).any(|window| window == notes), "notes were kept");
    }
}
