//! How the agency's map server is asked for a picture, and what is kept of its answers.

use std::time::Duration;

use actix_web::web::Bytes;
use moka::{policy::EvictionPolicy, sync::Cache};
use reqwest::{
    Client, StatusCode,
    header::{ACCEPT, CONTENT_TYPE},
};

use super::rules::{Square, is_called_picture, media_of};
use crate::{
    platform::{
        error::{self, Fault},
        ids::AgencyId,
        outward::{self, Outward, checked_address},
        turns::Turns,
    },
    slices::agencies::MapTiles,
};

/// The longest wait for a picture, until its last byte.
const ANSWER: Duration = Duration::from_secs(5);
/// The most bytes of a picture.
const MOST_PICTURE: usize = 1 << 20;
/// The most pictures that are asked for at once, in all and for one agency.
const AT_ONCE: usize = 32;
const AT_ONCE_EACH: usize = 8;
/// The longest wait for a turn to ask.
const TURN: Duration = Duration::from_secs(3);
/// After how many seconds one that got no turn tries again.
const AGAIN: u64 = 5;
/// The most that is kept for all agencies, in bytes.
const MOST_KEPT: u64 = 64 << 20;
/// What a picture takes besides its bytes and its address: about its place in the tables.
const ASIDE: usize = 256;
/// For how long it is kept.
const KEPT: Duration = Duration::from_secs(24 * 60 * 60);

/// A picture as it is passed on.
#[derive(Debug, Clone)]
pub struct Picture {
    /// What it is, by its bytes.
    pub media: &'static str,
    /// Its bytes.
    pub bytes: Bytes,
}

/// What asks map servers for pictures, and keeps them for a while. Those of one agency are not shown to another: how soon one comes would
/// tell where the other looks.
#[allow(missing_debug_implementations)]
pub struct MapPictures {
    /// Or why there is none: a machine without a list of certificate authorities serves all the same.
    client: Result<Client, String>,
    outward: Outward,
    turns: Turns,
    kept: Cache<(AgencyId, String), Picture>,
}

/// The server's failure, in a sentence.
fn failed(why: &str) -> Fault {
    Fault::new(error::MAP_SERVER_FAILED, format!("The agency's map server sent no picture. {why}"))
        .hint("Try again later. Whoever keeps the agency's settings can look whether the address of its map pictures is right")
}

impl MapPictures {
    /// Opens it, by the operator's setting.
    pub fn open(outward: Outward) -> Self {
        let client = outward::client(outward, ANSWER).map_err(|error| format!("This service cannot ask it: {}", outward::why(&error, ANSWER)));
        Self {
            client,
            outward,
            turns: Turns::new(AT_ONCE, AT_ONCE_EACH),
            kept: Cache::builder()
                .max_capacity(MOST_KEPT)
                .weigher(|(_, address): &(AgencyId, String), picture: &Picture| u32::try_from(picture.bytes.len() + address.len() + ASIDE).unwrap_or(u32::MAX))
                .eviction_policy(EvictionPolicy::lru())
                .time_to_live(KEPT)
                .build(),
        }
    }

    /// The picture of a square from an agency's map server.
    pub async fn picture(&self, agency: AgencyId, server: &MapTiles, square: Square) -> Result<Picture, Fault> {
        if self.outward == Outward::Off {
            return Err(Fault::new(
                error::NOT_FOUND,
                "This service asks no other server for map pictures; whoever runs it can change that",
            ));
        }
        let key = (agency, server.address_of(square.zoom, square.x, square.y));
        if let Some(kept) = self.kept.get(&key) {
            return Ok(kept);
        }
        let turn = tokio::time::timeout(TURN, self.turns.take(agency)).await;
        let _turn = turn.map_err(|_| {
            Fault::new(
                error::BUSY,
                "Many map pictures are being asked for just now; ask for this one again in a moment",
            )
            .again_in(AGAIN)
        })??;
        // Somebody else may have asked for it meanwhile.
        if let Some(kept) = self.kept.get(&key) {
            return Ok(kept);
        }
        let picture = self.asked(&key.1).await.map_err(|why| failed(&why))?;
        self.kept.insert(key, picture.clone());
        Ok(picture)
    }

    /// Asks once; or why there is no picture.
    async fn asked(&self, address: &str) -> Result<Picture, String> {
        let client = self.client.as_ref().map_err(Clone::clone)?;
        let url = checked_address(address, self.outward)?;
        let why = |error: reqwest::Error| outward::why(&error, ANSWER);
        let request = client.get(url).header(ACCEPT, "image/png, image/jpeg, image/webp");
        let mut answer = request.send().await.map_err(why)?;
        match answer.status() {
            StatusCode::OK => {}
            status if status.is_redirection() => return Err(format!("It answered {}: it sends elsewhere, which is not followed", status.as_u16())),
            status => return Err(format!("It answered {}", status.as_u16())),
        }
        let called = answer.headers().get(CONTENT_TYPE).and_then(|media| media.to_str().ok());
        if !called.is_some_and(is_called_picture) {
            return Err("It sent something else than a PNG, JPEG or WebP picture".to_owned());
        }
        let too_large = || format!("It sent a picture of more than {} MB", MOST_PICTURE >> 20);
        let mut bytes = Vec::new();
        while let Some(part) = answer.chunk().await.map_err(why)? {
            if bytes.len() + part.len() > MOST_PICTURE {
                return Err(too_large());
            }
            bytes.extend_from_slice(&part);
        }
        let media = media_of(&bytes).ok_or("It sent something else than a PNG, JPEG or WebP picture")?;
        Ok(Picture { media, bytes: bytes.into() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_more_is_kept_than_the_most_and_for_no_other_agency() {
        let pictures = MapPictures::open(Outward::Off);
        let key = |n: usize| (AgencyId(uuid::Uuid::from_u128(1)), format!("https://tiles.example.org/{n}"));
        for n in 0..100 {
            let picture = Picture {
                media: "image/png",
                bytes: vec![0; 1 << 20].into(),
            };
            pictures.kept.insert(key(n), picture);
        }
        pictures.kept.run_pending_tasks();
        assert!(pictures.kept.weighted_size() <= MOST_KEPT, "{}", pictures.kept.weighted_size());
        assert!(pictures.kept.get(&key(99)).is_some() && pictures.kept.get(&key(0)).is_none());
        assert!(pictures.kept.get(&(AgencyId(uuid::Uuid::from_u128(2)), key(99).1)).is_none());
    }
}
