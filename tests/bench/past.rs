//! The past: the board as of an instant over five years of history, beside the board now, and what is counted over all of it.

use std::path::Path;

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use diesel::{Connection as _, SqliteConnection, connection::SimpleConnection as _};
use fullset::platform::{clock::Clock, db::Location};

use super::{fleet, running::start};

const RIGS: usize = 1000;
/// Changes of each rig: one a month.
const CHANGES: usize = 60;
const DAYS: i64 = 5 * 365;

/// Turn by turn each rig loses a piece and gets it back, all rigs in turn, evenly over the years. Written straight into the
/// tables: through the service it would take hours. The journal's chain is not kept up, which no reading looks at.
fn history(begins: DateTime<Utc>) -> String {
    let (start, step) = (begins.timestamp(), DAYS * 86_400 / (RIGS * CHANGES) as i64);
    let at = |turn: &str| format!("({start} + {step} * ({turn})) * 1000000");
    let (now, next) = (at("i * n + k"), at("(i + 1) * n + k"));
    format!(
        "BEGIN;
         CREATE TEMP TABLE turn AS
            WITH RECURSIVE t (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM t WHERE i < {CHANGES} - 1),
                 r AS (SELECT agency, id AS rig, row_number() OVER (ORDER BY id) - 1 AS k, count(*) OVER () AS n FROM record WHERE kind = 'rig')
            SELECT r.agency, rig, i, (SELECT rev FROM agency) + i * n + k + 1 AS rev, {now} AS at, CASE WHEN i < {CHANGES} - 1 THEN {next} END AS until
            FROM t, r ORDER BY rev;
         CREATE TEMP TABLE aboard AS SELECT rig, id, row_number() OVER (PARTITION BY rig ORDER BY id) - 1 AS k FROM record WHERE kind = 'piece' AND rig IS NOT NULL;
         CREATE INDEX temp.aboard_by_rig ON aboard (rig, k);
         DELETE FROM standing;
         INSERT INTO standing (agency, rig, from_rev, from_at, until_at, level, planned, rule)
            SELECT agency, rig, rev, at, until, CASE i % 2 WHEN 0 THEN 'limited' ELSE 'full' END, 0, 2 FROM turn;
         INSERT INTO replaced (agency, rev, kind, id, gone, district, station, rig, body)
            SELECT t.agency, t.rev, 'rig_standing', t.rig, 0, r.district, r.station, r.rig,
                   json_set(r.body, '$.level', CASE i % 2 WHEN 0 THEN 'limited' ELSE 'full' END, '$.since', strftime('%Y-%m-%dT%H:%M:%f000Z', t.at / 1000000, 'unixepoch'))
            FROM turn t JOIN record r ON r.agency = t.agency AND r.kind = 'rig_standing' AND r.id = t.rig;
         INSERT INTO replaced (agency, rev, kind, id, gone, district, station, rig, body)
            SELECT t.agency, t.rev, 'piece', r.id, 0, r.district, r.station, r.rig,
                   json_set(r.body, '$.state', CASE i % 2 WHEN 0 THEN 'out_of_service' ELSE 'in_service' END, '$.state_since', strftime('%Y-%m-%dT%H:%M:%f000Z', t.at / 1000000, 'unixepoch'))
            FROM turn t JOIN aboard a ON a.rig = t.rig AND a.k = (t.i / 2) % 10 JOIN record r ON r.agency = t.agency AND r.kind = 'piece' AND r.id = a.id;
         INSERT INTO journal SELECT agency, rev, randomblob(16), CASE i % 2 WHEN 0 THEN 'piece.take_out' ELSE 'piece.return' END, NULL, 'Crew', 'crew', at, at, at, 0,
                                    '{{\"reason\":\"seeps\"}}', NULL, NULL, NULL, x'00' FROM turn;
         UPDATE record SET rev = (SELECT max(rev) FROM turn) WHERE kind IN ('rig_standing', 'piece') AND rig IS NOT NULL;
         UPDATE agency SET rev = (SELECT max(rev) FROM turn);
         COMMIT;"
    )
}

pub fn measure(folder: &Path) {
    let path = folder.join("past.sqlite");
    let location = Location::Sqlite(path.clone());
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        let now = Utc::now();
        let begins = now - TimeDelta::days(DAYS);
        fleet::found(&location).await;
        let mut service = start(&location, Clock::manual(begins)).await;
        fleet::build(&mut service.client, &service.token, RIGS).await;
        service.stop().await;
        let mut conn = SqliteConnection::establish(&path.to_string_lossy()).expect("the database");
        conn.batch_execute(&history(begins)).expect("a history");
        drop(conn);

        let mut service = start(&location, Clock::manual(now)).await;
        let instants: Vec<DateTime<Utc>> = (1..200).map(|n| begins + TimeDelta::hours(n * DAYS * 24 / 200)).collect();
        let as_of = |path: &str| -> Vec<String> {
            let shown = instants.iter().map(|at| at.to_rfc3339_opts(SecondsFormat::Secs, true));
            shown.map(|at| format!("{path}?at={at}")).collect()
        };
        service
            .say(&format!("board of {RIGS} rigs now"), &vec!["/v1/board".to_owned(); 200], None)
            .await;
        let what = format!("board of {RIGS} rigs as of an instant in 5 years");
        service.say(&what, &as_of("/v1/board"), Some("<= 50 ms")).await;
        let months = format!("from={}", begins.format("%Y-%m"));
        for (what, path) in [
            ("availability by rig, 5 years by month", format!("/v1/availability?by=rig&{months}")),
            ("availability of the agency, 5 years by month", format!("/v1/availability?{months}")),
            ("availability of the agency, 12 months", "/v1/availability".to_owned()),
            ("reliability by model, 5 years", "/v1/reliability?by=model".to_owned()),
            ("reserves, 5 years", "/v1/reserves".to_owned()),
        ] {
            service.say(what, &vec![path; 20], None).await;
        }
        service.stop().await;
    });
}
