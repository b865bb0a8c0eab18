//! The database goes away under the service: what was lost while it rested is replaced, and nobody is told of a failure of ours.

use serde_json::json;

use fullset::platform::db::Location;

use crate::world::{Engine, World, cluster, on};

fn cut(world: &World) {
    let Location::Postgres(url) = &world.location else { panic!("PostgreSQL") };
    let name = url.split('?').next().and_then(|url| url.rsplit('/').next()).expect("a database's name");
    cluster::command(&format!(
        "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = '{name}'"
    ));
}

#[test]
fn connections_that_were_lost_are_replaced() {
    on(Engine::Postgres, async |world: &World| {
        let (crew, ram) = (world.crew(), world.county().set_1.ram);
        crew.get("/v1/pieces").await.ok();
        for n in 0..3 {
            cut(world);
            crew.get("/v1/pieces").await.ok();
            cut(world);
            crew.take_out(ram, &format!("bent {n}")).await.ok();
            cut(world);
            crew.sign_in().await.ok();
            cut(world);
            crew.get("/v1/changes").await.ok();
        }
        // Cut in the middle of many requests: some are told to come again, none that the service failed.
        let asks = futures_util::future::join_all((0..60).map(async |n| match n % 3 {
            0 => crew.post("/v1/defects", json!({})).await,
            1 => crew.get("/v1/board").await,
            _ => crew.take_out(ram, &format!("bent again {n}")).await,
        }));
        let cuts = async {
            for _ in 0..4 {
                tokio::task::block_in_place(|| cut(world));
                tokio::time::sleep(std::time::Duration::from_millis(20)).await;
            }
        };
        let (answers, ()) = futures_util::future::join(asks, cuts).await;
        for answer in answers {
            assert!([200, 422, 503].contains(&answer.status), "{}: {} {}", answer.asked, answer.status, answer.text);
            assert!(answer.status != 503 || answer.headers.contains_key("retry-after"), "{}", answer.asked);
        }
    });
}
