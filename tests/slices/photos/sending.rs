//! Sending: whole, in parts, again, wrongly, too much.

use std::path::Path;

use chrono::TimeDelta;
use image::ImageFormat;
use serde_json::json;

use super::{
    making::{holds, jpeg, jpeg_that_claims, name_of, picture, png_that_claims, written},
    offset,
};
use crate::world::{Client, Server, World, on_both, photos_of, sql};

/// How many files a folder holds, at any depth.
fn files(folder: &Path) -> usize {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries.map(|entry| if entry.path().is_dir() { files(&entry.path()) } else { 1 }).sum()
}

fn parts(world: &World) -> i64 {
    sql::number(&world.location, "SELECT count(*) AS n FROM photo_part")
}

async fn allow(world: &World, megabytes: i64) {
    let admin = world.admin();
    let path = "/v1/agency".to_owned();
    let agency = admin.find(&path).await;
    let mut policy = agency["policy"].clone();
    policy["photo_quota_mb"] = json!(megabytes);
    let rev = agency["rev"].as_i64().unwrap();
    admin.patch_on("/v1/agency", rev, json!({ "policy": policy })).await.ok();
}

on_both!(a_photo_is_sent_once_and_shown_to_everybody_in_the_agency, async |world: &World| {
    let (crew, shop, photo) = (world.crew(), world.shop(), jpeg(640, 480, 1));
    let name = name_of(&photo);
    let awaited = crew.check_photo(&name).await;
    assert_eq!((awaited.status, offset(&awaited)), (404, 0));
    for ending in ["", "/thumbnail"] {
        crew.get(&format!("/v1/photos/{name}{ending}")).await.refused(404, "photo-awaited");
    }
    let stored = crew.put_photo(&photo).await;
    assert_eq!((stored.status, offset(&stored)), (201, photo.len()));
    let there = crew.check_photo(&name).await;
    assert_eq!((there.status, offset(&there)), (200, photo.len()));
    let shown = shop.shown(&name, "").await;
    assert_eq!(shown.header("content-type"), "image/jpeg");
    assert_eq!(shown.header("content-length"), shown.bytes.len().to_string());
    assert_eq!(shown.header("cache-control"), "private, max-age=31536000, immutable");
    assert_eq!(shown.header("x-content-type-options"), "nosniff");
    assert!(shown.header("content-security-policy").starts_with("default-src 'none'"));
    assert_eq!((shown.picture().width(), shown.picture().height()), (640, 480));
});

on_both!(a_photo_that_is_sent_again_changes_nothing, async |world: &World| {
    let photo = jpeg(64, 48, 2);
    assert_eq!(world.crew().put_photo(&photo).await.status, 201);
    let (first, count) = (world.crew().shown(&name_of(&photo), "").await.bytes, files(&photos_of(&world.location)));
    for _ in 0..2 {
        let again = world.shop().put_photo(&photo).await;
        assert_eq!((again.status, offset(&again)), (200, photo.len()));
    }
    let in_parts = world.crew().put_part(&photo, 10, 20).await;
    assert_eq!((in_parts.status, offset(&in_parts)), (200, photo.len()));
    assert_eq!(count, 2, "the picture and its thumbnail");
    assert_eq!(files(&photos_of(&world.location)), count);
    assert_eq!(world.crew().shown(&name_of(&photo), "").await.bytes, first);
});

on_both!(a_photo_whose_file_is_lost_is_awaited_again, async |world: &World| {
    let (crew, photo) = (world.crew(), jpeg(64, 48, 18));
    let (name, folder) = (name_of(&photo), photos_of(&world.location));
    crew.put_photo(&photo).await.ok();
    std::fs::remove_dir_all(&folder).unwrap();
    std::fs::create_dir(&folder).unwrap();
    crew.get(&format!("/v1/photos/{name}")).await.refused(404, "photo-awaited");
    let standing = crew.check_photo(&name).await;
    assert_eq!((standing.status, offset(&standing)), (404, 0));
    assert_eq!(crew.put_photo(&photo).await.status, 201);
    assert_eq!(crew.shown(&name, "").await.picture().width(), 64);
});

on_both!(a_photo_in_parts_goes_on_where_it_broke_off_even_after_a_restart, async |world: &World| {
    let (photo, third) = (jpeg(400, 300, 3), 7000);
    let name = name_of(&photo);
    assert!(photo.len() > 2 * third + 1000, "{}", photo.len());
    let server = Server::start(&world.location, &world.clock).await;
    let crew = world.member_at(&server, world.agency(), "crew");
    let first = crew.put_part(&photo, 0, third).await;
    assert_eq!((first.status, offset(&first)), (202, third));
    // The second part is lost on its way; the client does not know and sends the third.
    let gap = crew.put_part(&photo, 2 * third, photo.len()).await;
    assert_eq!(offset(&gap), third);
    gap.refused(409, "upload-offset");
    // An answer is lost: the client sends again what is here.
    let again = crew.put_part(&photo, 0, third).await;
    assert_eq!(offset(&again), third);
    again.refused(409, "upload-offset");
    server.stop().await;

    let server = Server::start(&world.location, &world.clock).await;
    let crew = world.member_at(&server, world.agency(), "crew");
    let standing = crew.check_photo(&name).await;
    assert_eq!((standing.status, offset(&standing)), (404, third));
    assert_eq!(crew.put_part(&photo, third, 2 * third).await.status, 202);
    let whole = crew.put_part(&photo, 2 * third, photo.len()).await;
    assert_eq!((whole.status, offset(&whole)), (201, photo.len()));
    assert_eq!(parts(world), 0);
    assert_eq!(crew.shown(&name, "").await.picture().width(), 400);
    server.stop().await;
});

on_both!(a_part_that_two_servers_are_sent_at_once_is_kept_once, async |world: &World| {
    let second = Server::start(&world.location, &world.clock).await;
    let (here, there) = (world.crew(), world.member_at(&second, world.agency(), "crew"));
    for seed in 0..8 {
        let photo = jpeg(200, 150, 100 + seed);
        for (from, to) in [(0, 1000), (1000, photo.len())] {
            let (one, two) = tokio::join!(here.put_part(&photo, from, to), there.put_part(&photo, from, to));
            let ends = to == photo.len();
            let mut statuses = [one.status, two.status];
            statuses.sort_unstable();
            assert_eq!(statuses, if ends { [200, 201] } else { [202, 409] }, "{} {}", one.text, two.text);
            assert_eq!((offset(&one), offset(&two)), (to, to));
        }
        assert_eq!(there.shown(&name_of(&photo), "").await.picture().width(), 200);
    }
    second.stop().await;
});

on_both!(an_unfinished_photo_is_forgotten_after_a_day, async |world: &World| {
    let (crew, photo) = (world.crew(), jpeg(64, 48, 4));
    crew.put_part(&photo, 0, 100).await.ok();
    world.pass(TimeDelta::hours(23));
    assert_eq!(offset(&crew.check_photo(&name_of(&photo)).await), 100);
    world.pass(TimeDelta::hours(2));
    let other = jpeg(64, 48, 5);
    crew.put_part(&other, 0, 50).await.ok();
    assert_eq!(offset(&crew.check_photo(&name_of(&photo)).await), 0);
    assert_eq!(parts(world), 1, "the other one is still on its way");
});

on_both!(bytes_of_another_name_are_refused_and_their_parts_forgotten, async |world: &World| {
    let (crew, photo, other) = (world.crew(), jpeg(64, 48, 6), jpeg(64, 48, 7));
    let name = name_of(&photo);
    crew.put_at(&name, None, &other).await.refused(422, "photo-mismatch");
    crew.put_part(&photo, 0, 500).await.ok();
    let mut spoilt = photo.clone();
    spoilt[700] ^= 1;
    let range = format!("bytes 500-{}/{}", photo.len() - 1, photo.len());
    crew.put_at(&name, Some(range), &spoilt[500..]).await.refused(422, "photo-mismatch");
    let standing = crew.check_photo(&name).await;
    assert_eq!((standing.status, offset(&standing), parts(world)), (404, 0, 0));
    assert_eq!(crew.put_photo(&photo).await.status, 201, "and may be sent anew");
});

on_both!(what_is_no_picture_is_refused_with_words_that_help, async |world: &World| {
    let crew = world.crew();
    let text = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>".to_vec();
    let problem = crew.put_photo(&text).await.refused(422, "photo-unreadable");
    assert!(problem["hint"].as_str().unwrap().contains("JPEG"), "{problem}");
    let heic = [b"\0\0\0\x18ftypheic".as_slice(), &[0; 400]].concat();
    let problem = crew.put_photo(&heic).await.refused(422, "photo-unreadable");
    assert!(problem["detail"].as_str().unwrap().contains("HEIC"), "{problem}");
    // In parts, the first one is enough to know.
    crew.put_part(&heic, 0, 100).await.refused(422, "photo-unreadable");
    crew.put_photo(b"GIF89a\x01\0\x01\0\0\0\0;").await.refused(422, "photo-unreadable");
    crew.put_photo(b"").await.refused(422, "photo-unreadable");
    let whole = jpeg(64, 48, 8);
    crew.put_photo(&[&whole[..200], &[0x41; 300]].concat()).await.refused(422, "photo-unreadable");
    assert_eq!((parts(world), files(&photos_of(&world.location))), (0, 0));
});

on_both!(a_photo_of_too_many_bytes_is_refused, async |world: &World| {
    let (crew, most) = (world.crew(), 12 * 1024 * 1024);
    let mut photo = jpeg(64, 48, 9);
    crew.put_at(&name_of(&photo), Some(format!("bytes 0-99/{}", most + 1)), &photo[..100])
        .await
        .refused(413, "photo-too-large");
    let length = photo.len();
    // What follows the end of a JPEG is no part of the picture, but of the photo's bytes.
    photo.resize(most, 0);
    assert_eq!(crew.put_photo(&photo).await.status, 201);
    let kept = crew.shown(&name_of(&photo), "").await.bytes.len();
    assert!(kept < 2 * length, "{kept}");
    photo.push(0);
    crew.put_photo(&photo).await.refused(413, "photo-too-large");
});

on_both!(
    a_small_file_that_claims_too_many_pixels_is_refused_before_it_is_opened,
    async |world: &World| {
        for bomb in [
            png_that_claims(60_000, 60_000),
            png_that_claims(u32::MAX >> 1, 1),
            png_that_claims(1, 49_999_999),
            png_that_claims(20_001, 1),
            jpeg_that_claims(65_500, 65_500),
            jpeg_that_claims(8_000, 6_251),
        ] {
            assert!(bomb.len() < 2000);
            let problem = world.crew().put_photo(&bomb).await.refused(413, "photo-too-large");
            assert!(problem["detail"].as_str().unwrap().contains("pixels"), "{problem}");
        }
    }
);

on_both!(a_part_of_another_total_makes_it_begin_anew, async |world: &World| {
    let (crew, photo) = (world.crew(), jpeg(320, 240, 21));
    let name = name_of(&photo);
    crew.put_part(&photo, 0, 400).await;
    let odd = crew.put_at(&name, Some(format!("bytes 400-799/{}", photo.len() + 1)), &photo[400..800]).await;
    odd.refused(422, "photo-mismatch");
    assert_eq!((offset(&crew.check_photo(&name).await), parts(world)), (0, 0));
    assert_eq!(crew.put_part(&photo, 0, 400).await.status, 202);
    assert_eq!(crew.put_part(&photo, 400, photo.len()).await.status, 201);
});

on_both!(a_picture_that_breaks_off_is_refused, async |world: &World| {
    let crew = world.crew();
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
        let whole = written(&picture(400, 300, 31), format);
        for cut in [1, 2, 12, whole.len() / 3, whole.len() / 2] {
            let problem = crew.put_photo(&whole[..whole.len() - cut]).await.refused(422, "photo-unreadable");
            assert!(problem["hint"].is_string(), "{format:?} without its last {cut}: {problem}");
        }
        // What some phones put behind the picture, a film for one, is no part of it.
        let trailed = [whole.as_slice(), b"and a film behind it"].concat();
        assert_eq!(crew.put_photo(&trailed).await.status, 201, "{format:?}");
        assert_eq!(crew.put_photo(&whole).await.status, 201, "{format:?}");
    }
    // The small picture in a camera's notes has an end; the large one has not.
    let small = jpeg(16, 16, 1);
    let mut notes = vec![0xFF, 0xE1];
    notes.extend(u16::try_from(small.len() + 2).unwrap().to_be_bytes());
    notes.extend(&small);
    let large = jpeg(400, 300, 32);
    let noted = [&large[..2], &notes, &large[2..]].concat();
    crew.put_photo(&noted[..noted.len() - 900]).await.refused(422, "photo-unreadable");
    assert_eq!(crew.put_photo(&noted).await.status, 201);
});

on_both!(a_part_whose_head_makes_no_sense_is_refused, async |world: &World| {
    let (crew, photo) = (world.crew(), jpeg(64, 48, 10));
    let name = name_of(&photo);
    // RFC 9110, section 14.4: LAST before FIRST, TOTAL not after LAST; and a length that is not the body's.
    for range in [
        "bytes 9-0/100",
        "bytes 0-9/10x",
        "bytes 0-9/9",
        "bytes 0-9/*",
        "bytes 0-8/100",
        "bytes 0-10/100",
        "lines 0-9/100",
        "x",
    ] {
        let problem = crew.put_at(&name, Some(range.into()), &photo[..10]).await.refused(400, "body-unreadable");
        assert_eq!(problem["field"], "Content-Range", "{range}");
    }
    for bad in ["x", &name[1..], &name.to_uppercase(), "%00", &"g".repeat(64)] {
        crew.put_at(bad, None, &photo).await.refused(404, "not-found");
        crew.get(&format!("/v1/photos/{bad}")).await.refused(404, "not-found");
        assert_eq!(crew.check_photo(bad).await.status, 404);
    }
});

on_both!(an_agency_has_as_much_room_as_its_policy_says, async |world: &World| {
    let (crew, small, more) = (world.crew(), jpeg(300, 200, 11), jpeg(300, 200, 12));
    let usual = world.admin().find("/v1/agency").await;
    assert_eq!(usual["policy"]["photo_quota_mb"], 5000);
    allow(world, 0).await;
    crew.put_photo(&small).await.refused(507, "photo-quota");
    crew.put_part(&small, 0, 100).await.refused(507, "photo-quota");
    allow(world, 1).await;
    assert_eq!(crew.put_photo(&small).await.status, 201);
    let kept = sql::number(&world.location, "SELECT kept_bytes AS n FROM photo");
    let (shown, thumbnail) = (crew.shown(&name_of(&small), "").await, crew.shown(&name_of(&small), "/thumbnail").await);
    assert_eq!(kept, i64::try_from(shown.bytes.len() + thumbnail.bytes.len()).unwrap());
    // Another one that would just not fit beside it, and parts on their way count too.
    let mut large = jpeg(300, 200, 13);
    large.resize(1024 * 1024 - usize::try_from(kept).unwrap() + 1, 0);
    crew.put_photo(&large).await.refused(507, "photo-quota");
    large.pop();
    crew.put_part(&large, 0, 500_000).await.ok();
    let mut other = jpeg(300, 200, 14);
    other.resize(600_000, 0);
    crew.put_photo(&other).await.refused(507, "photo-quota");
    assert_eq!(
        crew.put_part(&large, 500_000, large.len()).await.status,
        201,
        "its own parts do not count twice"
    );
    assert_eq!(
        world.member_of(&world.ground.vale, "crew").put_photo(&more).await.status,
        201,
        "another agency has its own"
    );
    let too_much = json!({ "policy": { "photo_quota_mb": -1 } });
    world.admin().edit_agency(too_much).await;
});

impl Client {
    async fn edit_agency(&self, body: serde_json::Value) {
        let rev = self.rev("/v1/agency").await;
        self.patch_on("/v1/agency", rev, body).await.refused(422, "field-invalid");
    }
}

on_both!(another_agencys_photo_is_awaited, async |world: &World| {
    let photo = jpeg(64, 48, 15);
    let (ours, theirs, name) = (world.crew(), world.member_of(&world.ground.vale, "crew"), name_of(&photo));
    ours.put_photo(&photo).await.ok();
    ours.put_part(&jpeg(64, 48, 16), 0, 300).await.ok();
    for ending in ["", "/thumbnail"] {
        theirs.get(&format!("/v1/photos/{name}{ending}")).await.refused(404, "photo-awaited");
    }
    for name in [name, name_of(&jpeg(64, 48, 16))] {
        let standing = theirs.check_photo(&name).await;
        assert_eq!((standing.status, offset(&standing)), (404, 0));
    }
    assert_eq!(theirs.put_photo(&photo).await.status, 201, "it is theirs only when they send it");
});

on_both!(a_photo_is_content_and_leaves_the_journal_alone, async |world: &World| {
    let (crew, photo) = (world.crew(), jpeg(64, 48, 17));
    let before = (crew.revision().await, world.journal_length());
    crew.put_photo(&photo).await.ok();
    assert_eq!((crew.revision().await, world.journal_length()), before);
    let nobody = world
        .http
        .put(format!("{}/v1/photos/{}", world.server.base, name_of(&photo)))
        .body(photo.clone());
    crate::world::Reply::of("nobody PUT".into(), nobody).await.refused(401, "sign-in-needed");
    assert!(!holds(&photo, b"Exif"));
});
