//! What is kept: pixels, upright, and nothing else.

use image::{DynamicImage, GenericImageView as _, ImageFormat, Luma, Rgba, RgbaImage};

use super::making::{HIDDEN, fields, holds, name_of, picture, with_chunks, with_exif, written};
use crate::world::{World, on_both};

on_both!(what_a_camera_writes_beside_the_pixels_is_gone, async |world: &World| {
    let crew = world.crew();
    let photo = with_exif(&written(&picture(640, 480, 1), ImageFormat::Jpeg), 1);
    let drawing = with_chunks(&written(&picture(64, 48, 1), ImageFormat::Png), 1);
    for (sent, media) in [(photo, "image/jpeg"), (drawing, "image/png")] {
        let hidden = HIDDEN.iter().filter(|words| holds(&sent, words)).count();
        assert!(hidden >= 4, "the picture that is sent holds what must not come back: {hidden}");
        assert_eq!(crew.put_photo(&sent).await.status, 201);
        let name = name_of(&sent);
        for (ending, media) in [("", media), ("/thumbnail", "image/jpeg")] {
            let shown = crew.shown(&name, ending).await;
            assert_eq!(shown.header("content-type"), media);
            for words in HIDDEN {
                assert!(!holds(&shown.bytes, words), "{name}{ending} still holds {}", String::from_utf8_lossy(words));
            }
            if media == "image/jpeg" {
                // APP1 (FFE1) holds EXIF and XMP, APP13 (FFED) IPTC, COM (FFFE) comments: ITU-T T.81, table B.1.
                for marker in segments(&shown.bytes) {
                    assert!(![0xe1, 0xe2, 0xed, 0xfe].contains(&marker), "{name}{ending} has a segment FF{marker:02X}");
                }
            } else {
                for kind in [b"tEXt", b"iTXt", b"zTXt", b"eXIf", b"tIME"] {
                    assert!(!holds(&shown.bytes, kind));
                }
            }
        }
    }
});

/// The markers of a JPEG's segments up to its first scan (ITU-T T.81, section B.1.1).
fn segments(jpeg: &[u8]) -> Vec<u8> {
    let (mut at, mut found) = (2, Vec::new());
    while jpeg[at] == 0xff && jpeg[at + 1] != 0xda {
        found.push(jpeg[at + 1]);
        at += 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
    }
    assert!(found.contains(&0xc0), "a frame header is among them: {found:x?}");
    found
}

/// The grey of the four fields of an upright picture: above left and right, below left and right.
fn greys(picture: &DynamicImage) -> [u8; 4] {
    let (width, height) = picture.dimensions();
    let grey = picture.to_luma8();
    [(1, 1), (3, 1), (1, 3), (3, 3)].map(|(x, y)| {
        let Luma([level]) = grey.get_pixel(width * x / 4, height * y / 4);
        // The four levels are 80 apart; JPEG moves them a little.
        u8::try_from((u16::from(*level) + 40) / 80).unwrap()
    })
}

/// EXIF 2.32 (CIPA DC-008-2019), section 4.6.4, tag 0x0112: which side of the scene the 0th row and the 0th column are.
/// The fields as sent are 0 1 above and 2 3 below.
const UPRIGHT: [(u16, &str, [u8; 4]); 8] = [
    (1, "row top, column left", [0, 1, 2, 3]),
    (2, "row top, column right", [1, 0, 3, 2]),
    (3, "row bottom, column right", [3, 2, 1, 0]),
    (4, "row bottom, column left", [2, 3, 0, 1]),
    (5, "row left, column top", [0, 2, 1, 3]),
    (6, "row right, column top", [2, 0, 3, 1]),
    (7, "row right, column bottom", [3, 1, 2, 0]),
    (8, "row left, column bottom", [1, 3, 0, 2]),
];

on_both!(a_picture_comes_back_upright, async |world: &World| {
    let crew = world.crew();
    for (orientation, words, expected) in UPRIGHT {
        for (sent, lossless) in [
            (with_exif(&written(&fields(), ImageFormat::Jpeg), orientation), false),
            (with_chunks(&written(&fields(), ImageFormat::Png), orientation), true),
        ] {
            crew.put_photo(&sent).await.ok();
            for ending in ["", "/thumbnail"] {
                let shown = crew.shown(&name_of(&sent), ending).await.picture();
                let size = if orientation < 5 { (32, 16) } else { (16, 32) };
                assert_eq!(shown.dimensions(), size, "{orientation}: {words}");
                assert_eq!(greys(&shown), expected, "{orientation}: {words}, lossless {lossless}{ending}");
            }
        }
    }
});

on_both!(two_pixels_side_by_side_stand_one_above_the_other, async |world: &World| {
    let pixels = image::GrayImage::from_vec(2, 1, vec![255, 0]).unwrap();
    let sent = with_exif(&written(&pixels.into(), ImageFormat::Jpeg), 6);
    world.crew().put_photo(&sent).await.ok();
    let shown = world.crew().shown(&name_of(&sent), "").await.picture();
    assert_eq!(shown.dimensions(), (1, 2));
    // Orientation 6: the 0th column, which is the white one, is the top of the scene.
    let grey = shown.to_luma8();
    assert!(grey.get_pixel(0, 0).0[0] > 200 && grey.get_pixel(0, 1).0[0] < 55, "{grey:?}");
});

on_both!(a_thumbnail_is_320_pixels_on_its_longest_side, async |world: &World| {
    let crew = world.crew();
    for (width, height, thumbnail) in [
        (1000, 500, (320, 160)),
        (500, 1000, (160, 320)),
        (320, 320, (320, 320)),
        (100, 50, (100, 50)),
        (2000, 1, (320, 1)),
    ] {
        let sent = written(&picture(width, height, 1), ImageFormat::Jpeg);
        crew.put_photo(&sent).await.ok();
        let shown = crew.shown(&name_of(&sent), "/thumbnail").await;
        assert_eq!(shown.picture().dimensions(), thumbnail, "{width} x {height}");
        assert_eq!(image::guess_format(&shown.bytes).unwrap(), ImageFormat::Jpeg);
    }
});

on_both!(a_type_is_told_from_the_bytes_and_webp_goes_on_as_jpeg_or_png, async |world: &World| {
    let crew = world.crew();
    let glass: DynamicImage = RgbaImage::from_pixel(20, 10, Rgba([200, 0, 0, 0])).into();
    for (sent, media) in [
        (written(&picture(20, 10, 1), ImageFormat::WebP), "image/jpeg"),
        (written(&glass, ImageFormat::WebP), "image/png"),
        (written(&glass, ImageFormat::Png), "image/png"),
        (written(&fields(), ImageFormat::Jpeg), "image/jpeg"),
    ] {
        // Every one of them is called a JPEG by its sender.
        crew.put_photo(&sent).await.ok();
        let shown = crew.shown(&name_of(&sent), "").await;
        assert_eq!(shown.header("content-type"), media);
        let format = if media == "image/png" { ImageFormat::Png } else { ImageFormat::Jpeg };
        assert_eq!(image::guess_format(&shown.bytes).unwrap(), format);
    }
    let seen_through = crew.shown(&name_of(&written(&glass, ImageFormat::Png)), "/thumbnail").await.picture().to_rgb8();
    assert!(
        seen_through.get_pixel(5, 5).0.iter().all(|part| *part > 250),
        "glass stands on white: {:?}",
        seen_through.get_pixel(5, 5)
    );
});
