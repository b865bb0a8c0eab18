//! What bare actix and bare SQLite do, so that the service's figures can be read as ratios.

use std::{net::TcpListener, path::Path, time::Duration};

use actix_web::{App, HttpResponse, HttpServer, web};
use diesel::{Connection as _, RunQueryDsl as _, SqliteConnection, connection::SimpleConnection as _, sql_query, sql_types::Binary};

use super::{Line, load};

pub struct Bare {
    pub actix_1: f64,
    pub actix_32: f64,
    pub commits: f64,
    pub grouped: f64,
}

const TIME: Duration = Duration::from_secs(3);

pub fn measure(folder: &Path) -> Bare {
    let (actix_1, actix_32) = actix();
    let (commits, grouped) = sqlite(folder);
    let bare = Bare {
        actix_1,
        actix_32,
        commits,
        grouped,
    };
    for (what, per_second) in [
        ("bare actix, echo of a JSON body, 1 client", bare.actix_1),
        ("bare actix, echo of a JSON body, 32 clients", bare.actix_32),
        ("bare SQLite, one row a commit (WAL, synchronous FULL)", bare.commits),
        ("bare SQLite, 32 rows a commit (WAL, synchronous FULL)", bare.grouped),
    ] {
        Line::new(what.into(), per_second).say();
    }
    bare
}

fn actix() -> (f64, f64) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("an address");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        let server = HttpServer::new(|| {
            App::new().route(
                "/",
                web::post().to(|body: web::Json<serde_json::Value>| async move { HttpResponse::Ok().json(body.into_inner()) }),
            )
        })
        .workers(std::thread::available_parallelism().map_or(2, std::num::NonZero::get))
        .tcp_nodelay(true)
        .listen(listener)
        .expect("a listener")
        .run();
        let handle = server.handle();
        tokio::spawn(server);
        let body = r#"{"id":"0190","piece":"0190","what":"seeps at the swivel","severity":"usable"}"#;
        let request = load::request("POST", "/", "", body);
        let again = request.clone();
        let one = load::run(address, 1, TIME, move |_, _| request.clone()).await;
        let many = load::run(address, 32, TIME, move |_, _| again.clone()).await;
        handle.stop(false).await;
        (one, many)
    })
}

fn sqlite(folder: &Path) -> (f64, f64) {
    let path = folder.join("bare.sqlite");
    let mut conn = SqliteConnection::establish(&path.to_string_lossy()).expect("a database");
    conn.batch_execute("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE row (id BLOB PRIMARY KEY, body TEXT NOT NULL) WITHOUT ROWID;")
        .expect("a table");
    let mut run = |rows: usize| {
        let start = std::time::Instant::now();
        let mut count = 0_u64;
        while start.elapsed() < TIME {
            conn.immediate_transaction(|conn| {
                for _ in 0..rows {
                    let id = uuid::Uuid::now_v7();
                    sql_query("INSERT INTO row (id, body) VALUES (?, '{\"what\":\"seeps at the swivel\",\"severity\":\"usable\"}')")
                        .bind::<Binary, _>(id.as_bytes().as_slice())
                        .execute(conn)?;
                }
                diesel::QueryResult::Ok(())
            })
            .expect("a commit");
            count += rows as u64;
        }
        count as f64 / start.elapsed().as_secs_f64()
    };
    (run(1), run(32))
}
