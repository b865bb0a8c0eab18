//! The drill: a backup while several write, restored into the same kind of database and into the other.

use std::{
    collections::BTreeSet,
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, Ordering},
    },
};

use reqwest::Method;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{Empty, back_up, done, fullset, restore, shelf};
use crate::world::{Client, Engine, Reply, World, command, on, photos_of, process::verify, soon, sql};

/// A small picture, and its name.
pub fn picture() -> (Vec<u8>, String) {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let picture = image::RgbImage::from_fn(64, 48, |x, y| image::Rgb([(x * 3) as u8, (y * 5) as u8, 90]));
    image::DynamicImage::from(picture)
        .write_to(&mut bytes, image::ImageFormat::Jpeg)
        .expect("a picture can be written");
    let bytes = bytes.into_inner();
    let name = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    (bytes, name)
}

/// Sends a picture; answers its name.
pub async fn send_photo(client: &Client) -> String {
    let (bytes, name) = picture();
    let request = client.request(Method::PUT, &format!("/v1/photos/{name}")).await;
    let sent = Reply::of("a photo".into(), request.header("Content-Type", "image/jpeg").body(bytes)).await;
    assert_eq!(sent.status, 201, "{}", sent.text);
    name
}

/// Takes a piece out again and again until it is told to stop, and notes each command that was acknowledged.
async fn keep_taking_out(crew: Client, piece: Uuid, acknowledged: Arc<Mutex<Vec<Uuid>>>, stop: Arc<AtomicBool>) {
    while !stop.load(Ordering::Relaxed) {
        let acts: Vec<Value> = (0..3)
            .map(|n| command("piece.take_out", json!({ "id": piece, "reason": format!("bent {n}") })))
            .collect();
        let batch = crew.send(acts).await.ok();
        let answers = batch["answers"].as_array().expect("answers");
        let mut acknowledged = acknowledged.lock().expect("nobody panicked with it");
        for answer in answers.iter().filter(|answer| answer["outcome"] == "applied") {
            acknowledged.push(answer["id"].as_str().and_then(|id| id.parse().ok()).expect("an id"));
        }
    }
}

/// The commands of the journal, by their ids.
fn commands_of(location: &fullset::platform::db::Location) -> Vec<String> {
    sql::texts(location, &format!("SELECT {} AS t FROM journal", sql::hex(location, "command")))
}

fn drill(from: Engine, to: Engine) {
    on(from, async |world: &World| {
        let (crew, county) = (world.crew(), world.county());
        let photo = send_photo(&crew).await;
        let acknowledged = Arc::new(Mutex::new(Vec::new()));
        let stop = Arc::new(AtomicBool::new(false));
        crew.access().await;
        let writers: Vec<_> = [county.set_1.ram, county.set_1.pump, county.set_2.ram, county.set_2.pump]
            .into_iter()
            .map(|piece| tokio::spawn(keep_taking_out(crew.clone(), piece, Arc::clone(&acknowledged), Arc::clone(&stop))))
            .collect();
        soon("many are acknowledged", async || (acknowledged.lock().unwrap().len() > 60).then_some(())).await;
        let before: Vec<Uuid> = acknowledged.lock().unwrap().clone();
        let (_folder, place) = shelf();
        tokio::task::block_in_place(|| back_up(world, &place));
        let during = acknowledged.lock().unwrap().len() - before.len();
        assert!(during > 0, "nobody wrote meanwhile: the drill shows nothing");
        stop.store(true, Ordering::Relaxed);
        for writer in writers {
            writer.await.expect("it did not panic");
        }
        let restored = Empty::on(to);
        let said = restore(&restored.0, &place);
        assert!(said.contains("Restored 3 agencies") && said.contains("all as they must be"), "{said}");
        // Again by itself: what restore said is what anybody finds.
        let (holds, said) = verify(&restored.0);
        assert!(holds, "{said}");
        let kept = commands_of(&restored.0);
        let each: BTreeSet<&String> = kept.iter().collect();
        assert_eq!(each.len(), kept.len(), "none is there twice");
        for id in &before {
            assert!(each.contains(&id.simple().to_string()), "{id} was acknowledged before the backup began");
        }
        // The tables are those of one instant: every command is one that the service has, in its order.
        let all: BTreeSet<String> = commands_of(&world.location).into_iter().collect();
        assert_eq!(
            kept.iter().filter(|id| !all.contains(*id)).count(),
            3,
            "only the new life's mark of each agency"
        );
        let pictures = photos_of(&restored.0).join(world.agency().id.to_string()).join(&photo[..2]);
        for ending in ["", ".thumbnail"] {
            let own = photos_of(&world.location)
                .join(world.agency().id.to_string())
                .join(&photo[..2])
                .join(format!("{photo}{ending}"));
            assert_eq!(
                std::fs::read(pictures.join(format!("{photo}{ending}"))).expect("restored"),
                std::fs::read(own).expect("kept")
            );
        }
        // What was restored can be backed up and restored again.
        let (_folder, again) = shelf();
        done(&fullset(&restored.0, "backup", &[&again.display().to_string()]));
        let third = Empty::on(from);
        restore(&third.0, &again);
        assert_eq!(commands_of(&third.0).len(), kept.len() + 3);
    });
}

#[test]
fn from_sqlite_into_sqlite() {
    drill(Engine::Sqlite, Engine::Sqlite);
}

#[test]
fn from_sqlite_into_postgres() {
    drill(Engine::Sqlite, Engine::Postgres);
}

#[test]
fn from_postgres_into_sqlite() {
    drill(Engine::Postgres, Engine::Sqlite);
}

#[test]
fn from_postgres_into_postgres() {
    drill(Engine::Postgres, Engine::Postgres);
}
