//! A year of a small county by the clock: checks fall due, are done, done late, missed and failed; pieces are mended and come back. What the
//! service answers each noon, and the totals at the end, are held against a count made here, by dates alone: nothing of the service's own
//! reckoning is called for what is expected.
//!
//! `FULLSET_TEST_DAYS` says how many days: two months unless said, a year and a day with `make nightly`.

use std::collections::BTreeMap;

use chrono::{DateTime, Datelike as _, Days, NaiveDate, TimeDelta, TimeZone as _, Utc, Weekday};
use chrono_tz::America::Denver;
use serde_json::{Value, json};
use uuid::Uuid;

use super::checks::in_force;
use crate::world::{Client, Engine, World, acts::tested, command, on};

/// The first Monday on which the weekly plan asks.
fn first_monday() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 30).unwrap()
}

/// A local time in Denver.
fn at(day: NaiveDate, hour: u32) -> DateTime<Utc> {
    Denver.from_local_datetime(&day.and_hms_opt(hour, 0, 0).unwrap()).unwrap().to_utc()
}

/// What the story does to a piece, and when.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Deed {
    Passes,
    Fails,
    ComesBack,
    AnnualService,
}

/// A piece with its story.
struct Told {
    id: Uuid,
    kind: &'static str,
    deeds: Vec<(DateTime<Utc>, Deed)>,
}

/// An instant as the service writes it.
fn written(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Micros, true)
}

impl Told {
    /// What was done to it by an instant.
    fn by(&self, now: DateTime<Utc>, deed: Deed) -> impl DoubleEndedIterator<Item = DateTime<Utc>> + '_ {
        self.deeds
            .iter()
            .filter(move |(when, done)| *when <= now && *done == deed)
            .map(|(when, _)| *when)
    }

    /// Since when it owes its weekly check: the first Monday, 07:00, after its last pass.
    fn owes_since(&self, now: DateTime<Utc>) -> DateTime<Utc> {
        let last = self.by(now, Deed::Passes).max();
        let mut monday = first_monday();
        while last.is_some_and(|last| at(monday, 7) <= last) {
            monday = monday + Days::new(7);
        }
        at(monday, 7)
    }

    fn is_out(&self, now: DateTime<Utc>) -> bool {
        let last = |deed| self.by(now, deed).max();
        last(Deed::Fails) > last(Deed::ComesBack)
    }

    /// It counts: in service, and no check overdue for a week.
    fn counts(&self, now: DateTime<Utc>) -> bool {
        let weekly = self.kind == "hose" || now < self.owes_since(now) + TimeDelta::days(7);
        !self.is_out(now) && weekly
    }

    /// It is confirmed: nothing is overdue. Its annual service of 1 June 2026, at midnight, was on the duty day of 31 May.
    fn is_confirmed(&self, now: DateTime<Utc>) -> bool {
        let weekly = self.kind == "hose" || now < self.owes_since(now);
        let serviced = self.by(now, Deed::AnnualService).max().is_some();
        weekly && (serviced || now < at(NaiveDate::from_ymd_opt(2027, 5, 31).unwrap(), 7))
    }

    /// The Mondays whose week ended without a pass.
    fn missed(&self, now: DateTime<Utc>) -> Vec<NaiveDate> {
        let passes: Vec<DateTime<Utc>> = self.by(now, Deed::Passes).collect();
        let mut found = Vec::new();
        let mut monday = first_monday();
        while at(monday + Days::new(7), 7) <= now {
            let week = at(monday, 7)..at(monday + Days::new(7), 7);
            if !passes.iter().any(|pass| week.contains(pass)) {
                found.push(monday);
            }
            monday = monday + Days::new(7);
        }
        found.reverse();
        found
    }
}

/// The story of a piece: most Mondays at nine, some late, some not at all; a cutter that leaks three times.
fn story(id: Uuid, kind: &'static str, n: u32, days: u64) -> Told {
    let mut deeds = Vec::new();
    for week in 0..u32::try_from(days / 7 + 1).unwrap() {
        let monday = first_monday() + Days::new(u64::from(week) * 7);
        if kind == "hose" {
            break;
        }
        if kind == "cutter" && n == 1 && [1, 14, 33].contains(&week) {
            let wednesday = monday + Days::new(2);
            deeds.extend([
                (at(monday, 9), Deed::Fails),
                (at(wednesday, 10), Deed::ComesBack),
                (at(wednesday, 11), Deed::Passes),
            ]);
            continue;
        }
        match (week * 7 + n * 5 + week * week * 3) % 11 {
            0 => {}
            1 | 2 => deeds.push((at(monday + Days::new(u64::from(1 + (week + n) % 5)), 11), Deed::Passes)),
            _ => deeds.push((at(monday, 9), Deed::Passes)),
        }
    }
    // The annual service in May; of one pump ten days after it was due.
    let day = if kind == "power_unit" && n == 0 { (6, 10) } else { (5, 11) };
    deeds.push((at(NaiveDate::from_ymd_opt(2027, day.0, day.1).unwrap(), 15), Deed::AnnualService));
    deeds.sort_unstable();
    Told { id, kind, deeds }
}

/// What a rig can do with the pieces that are fit: the county's own grades (`world/county.rs`).
fn level(pieces: &[Told], two_hoses: bool, fit: impl Fn(&Told) -> bool) -> &'static str {
    let has = |kind: &str| pieces.iter().any(|piece| piece.kind == kind && fit(piece));
    match (has("power_unit") && has("hose"), has("spreader"), has("cutter") && has("ram") && two_hoses) {
        (true, true, true) => "full",
        (true, true, false) => "limited",
        _ => "none",
    }
}

fn plan(name: &str, rhythm: Value, kinds: &[&str], grace: u32, proves: Value) -> Value {
    let step = |id: &str, class: &str| json!({ "id": id, "title": id, "ask": { "kind": "yes_no", "sound": true }, "source": { "kind": "practice" }, "fails_as": class });
    json!({
        "name": name, "version": 1, "covers": { "kinds": kinds }, "rhythm": rhythm, "signer": "member", "grace_days": grace, "proves": proves,
        "steps": [step("dry", "leak")],
    })
}

fn checked(plan: Uuid, piece: Uuid, dry: bool) -> Value {
    let answer = json!({ "step": "dry", "said": { "kind": "yes_no", "yes": dry } });
    command("check.record", json!({ "plan": plan, "version": 1, "piece": piece, "answers": [answer] }))
}

/// A member whose sign-in goes on from day to day, as a phone's does.
struct Phone<'w> {
    world: &'w World,
    refresh: String,
    client: Client,
    signed_in: DateTime<Utc>,
}

impl<'w> Phone<'w> {
    async fn new(world: &'w World) -> Self {
        let client = world.crew();
        let session = client.sign_in().await.ok();
        let refresh = session["refresh_token"].as_str().expect("a token").to_owned();
        Self {
            world,
            refresh,
            client,
            signed_in: world.clock.now(),
        }
    }

    async fn go_on(&mut self) -> &Client {
        // Every sign-in ends some day, however often it was used.
        if self.world.clock.now() - self.signed_in > TimeDelta::days(21) {
            *self = Self::new(self.world).await;
        }
        let url = format!("{}/v1/session/refresh", self.world.server.base);
        let request = self.world.http.post(url).json(&json!({ "refresh_token": self.refresh }));
        let session = crate::world::Reply::of("refresh".into(), request).await.ok();
        self.refresh = session["refresh_token"].as_str().expect("a token").to_owned();
        let mut person = self.client.person.clone();
        person.access = session["access_token"].as_str().expect("a token").to_owned();
        person.issued = self.world.clock.now();
        self.client = Client::new(&self.world.server.base, &self.world.http, &self.world.clock, &person);
        &self.client
    }
}

#[test]
fn a_year_of_checks_agrees_with_a_count_by_dates() {
    on(Engine::Sqlite, async |world: &World| tell(world).await);
}

async fn tell(world: &World) {
    let county = world.county();
    let days = std::env::var("FULLSET_TEST_DAYS").ok().and_then(|days| days.parse::<u64>().ok()).unwrap_or(61);
    let weekly_kinds = ["power_unit", "cutter", "spreader", "ram"];
    let rule = json!({ "every": "calendar", "rule": "FREQ=WEEKLY;BYDAY=MO", "start": "2026-01-05T07:00:00" });
    let weekly = in_force(world, plan("Weekly", rule, &weekly_kinds, 7, json!(["checked"]))).await;
    let kinds = ["power_unit", "cutter", "spreader", "ram", "hose"];
    let yearly = json!({ "every": "months", "months": 12 });
    let annual = in_force(world, plan("Annual", yearly, &kinds, 30, json!(["checked", "serviced"]))).await;
    let mut rigs: Vec<(Uuid, Vec<Told>)> = Vec::new();
    for (n, rig, set) in [(0, county.engine_1, county.set_1), (1, county.engine_2, county.set_2)] {
        let of = [
            (set.pump, "power_unit"),
            (set.cutter, "cutter"),
            (set.spreader, "spreader"),
            (set.ram, "ram"),
            (set.hose, "hose"),
            (set.second_hose, "hose"),
        ];
        let pieces = of.into_iter().zip(0..).map(|((id, kind), k)| story(id, kind, n * 6 + k, days));
        rigs.push((rig, pieces.collect()));
    }
    let mut phone = Phone::new(world).await;
    let mut unconfirmed: BTreeMap<Uuid, (u32, u32)> = BTreeMap::new();
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    let first = first_monday().pred_opt().unwrap();
    for n in 0..days {
        let day = first + Days::new(n);
        for hour in [9, 10, 11, 12, 15] {
            let now = at(day, hour);
            let mut commands = Vec::new();
            let mut back = Vec::new();
            for told in rigs.iter().flat_map(|(_, pieces)| pieces) {
                for (_, deed) in told.deeds.iter().filter(|(when, _)| *when == now) {
                    match deed {
                        Deed::Passes => commands.push(checked(weekly, told.id, true)),
                        Deed::Fails => commands.push(checked(weekly, told.id, false)),
                        Deed::AnnualService => commands.push(checked(annual, told.id, true)),
                        Deed::ComesBack => back.push(told.id),
                    }
                }
            }
            if hour != 12 && commands.is_empty() && back.is_empty() {
                continue;
            }
            world.clock.set(now);
            for piece in back {
                mend(world, piece).await;
            }
            let client = phone.go_on().await;
            if !commands.is_empty() {
                client.apply(commands).await;
            }
            if hour != 12 {
                continue;
            }
            for (rig, pieces) in &rigs {
                // The second hose of the second engine is too old from 1 December 2026 on.
                let two_hoses = *rig == county.engine_1 || day < NaiveDate::from_ymd_opt(2026, 12, 1).unwrap();
                let can = level(pieces, two_hoses, |piece| piece.counts(now));
                let sure = can != "none" && can == level(pieces, two_hoses, |piece| piece.counts(now) && piece.is_confirmed(now));
                let standing = client.capability(*rig).await;
                assert_eq!(
                    (standing["level"].as_str().unwrap(), standing["confirmed"].as_bool().unwrap()),
                    (can, sure),
                    "{day} {}: {} {}",
                    standing["rig_name"],
                    standing["doubts"],
                    standing["gaps"]
                );
                *seen.entry(format!("{can} {sure}")).or_default() += 1;
                let counted = unconfirmed.entry(*rig).or_default();
                counted.0 += u32::from(!sure);
                counted.1 += u32::from(standing["confirmed"] == false);
            }
        }
    }
    let now = world.clock.now();
    let client = phone.go_on().await;
    let (mut done, mut lost) = (0, 0);
    for (rig, pieces) in &rigs {
        let page = client.find(&format!("/v1/checks/due?rig={rig}&plan={weekly}&missed_from=2026-11-25")).await;
        let items = page["items"].as_array().unwrap();
        assert_eq!(items.len(), 4, "{page}");
        for told in pieces.iter().filter(|told| told.kind != "hose") {
            let item = items.iter().find(|item| item["piece"] == json!(told.id)).unwrap();
            let check = &item["checks"][0];
            let missed: Vec<String> = told.missed(now).iter().map(NaiveDate::to_string).collect();
            let said: Vec<&str> = check["missed"].as_array().unwrap().iter().map(|one| one["day"].as_str().unwrap()).collect();
            assert_eq!(said, missed, "{}", item["tag"]);
            assert_eq!(check["missed_count"], missed.len());
            let last = told.by(now, Deed::Passes).max();
            assert_eq!(check["last_passed_at"], json!(last.map(written)), "{}", item["tag"]);
            assert_eq!(check["due_at"], json!(written(told.owes_since(now))), "{}", item["tag"]);
            let kept = client.list(&format!("/v1/checks?parent={}", told.id)).await;
            let kept = kept.iter().find(|one| one["plan"] == json!(weekly)).unwrap();
            let path = format!("/v1/checks/{}/history?limit=500", kept["id"].as_str().unwrap());
            let history = client.find(&path).await["items"].as_array().unwrap().len();
            assert_eq!(
                history,
                told.by(now, Deed::Passes).count() + told.by(now, Deed::Fails).count(),
                "{}",
                item["tag"]
            );
            done += history;
            lost += missed.len();
        }
    }
    for (rig, (expected, found)) in &unconfirmed {
        assert_eq!(expected, found, "{rig}");
    }
    // The story is one: things went wrong in it, and more went well.
    assert!(done > 0 && seen.len() >= 3, "{seen:?}");
    if days >= 365 {
        assert_eq!(first.weekday(), Weekday::Sun);
        assert!(
            done > 300 && lost > 20 && unconfirmed.values().all(|(days, _)| *days > 20),
            "{done} {lost} {unconfirmed:?} {seen:?}"
        );
    }
}

/// The shop closes what the piece is out for, and returns it.
async fn mend(world: &World, piece: Uuid) {
    let shop = world.shop();
    for defect in shop.list(&format!("/v1/defects?parent={piece}&state=open")).await {
        let id = crate::world::acts::id_of(&defect);
        shop.close_on(id, "resealed", tested()).await.ok();
    }
    let rev = crate::world::acts::rev_of(&shop.piece(piece).await);
    shop.put_back_on(piece, rev, "resealed, tried", tested()).await.ok();
}
