//! What must hold when all phones have had signal at last.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::atomic::Ordering,
};

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;
use uuid::Uuid;

use super::{
    broken::Broken,
    fleet::{Fleet, Key, Told},
    phone::Phone,
};
use crate::{
    sync::{
        known::{self, id},
        model::{Act, Model, Verdict},
        replica::{Records, Replica, difference, lists},
    },
    world::{Agency, process::verify, sql},
};

/// One entry of the journal.
struct Entry {
    rev: i64,
    command: Uuid,
    kind: String,
}

/// Every state that every record has had, from the change log: by kind and id, then by revision.
type States = BTreeMap<(String, String), BTreeMap<i64, Value>>;

fn journal(fleet: &Fleet, agency: &Agency, since: i64) -> Vec<Entry> {
    let own = sql::id(&fleet.location, agency.id);
    let query = format!(
        "SELECT CAST(rev AS TEXT) || ' ' || {} || ' ' || kind AS t FROM journal WHERE agency = {own} AND rev > {since} ORDER BY rev",
        sql::hex(&fleet.location, "command")
    );
    let entry = |row: &String| {
        let mut words = row.split(' ');
        let mut word = || words.next().expect("three words");
        Entry {
            rev: word().parse().expect("a number"),
            command: word().parse().expect("an id"),
            kind: word().to_owned(),
        }
    };
    sql::texts(&fleet.location, &query).iter().map(entry).collect()
}

fn states(fleet: &Fleet, agency: &Agency) -> States {
    let own = sql::id(&fleet.location, agency.id);
    let query = format!(
        "SELECT CAST(rev AS TEXT) || ' ' || kind || ' ' || {} || ' ' || CAST(body AS TEXT) AS t FROM state WHERE agency = {own}",
        sql::hex(&fleet.location, "id")
    );
    let mut states = States::new();
    for row in sql::texts(&fleet.location, &query) {
        let words: Vec<&str> = row.splitn(4, ' ').collect();
        let [rev, kind, id, body] = words[..] else { panic!("four words in {row}") };
        let id: Uuid = id.parse().expect("an id");
        let body = serde_json::from_str(body).expect("JSON");
        states
            .entry((kind.to_owned(), id.to_string()))
            .or_default()
            .insert(rev.parse().expect("a number"), body);
    }
    states
}

/// The commands that the service said it has applied, by revision; each once, and none but those that are in the journal.
fn acknowledged<'a>(told: &'a [Told], journal: &[Entry], faults: &mut Vec<String>) -> BTreeMap<i64, &'a Act> {
    let mut by_id: BTreeMap<Uuid, (i64, usize)> = BTreeMap::new();
    let mut by_rev = BTreeMap::new();
    for told in told.iter().filter(|told| ["applied", "repeated"].contains(&told.outcome.as_str())) {
        let command = id(&told.act.command, "id");
        let Some(revision) = told.revision else {
            faults.push(format!("{} without a revision: {}", told.outcome, told.act.command));
            continue;
        };
        let (first, times) = by_id.entry(command).or_insert((revision, 0));
        *times += usize::from(told.outcome == "applied");
        if *first != revision || *times > 1 {
            faults.push(format!("told to act at {first} and at {revision}, {times} times anew: {}", told.act.command));
        }
        if by_rev
            .insert(revision, &*told.act)
            .is_some_and(|other: &Act| other.command["id"] != told.act.command["id"])
        {
            faults.push(format!("two commands at revision {revision}: {}", told.act.command));
        }
    }
    let mut seen = BTreeSet::new();
    for entry in journal {
        if !seen.insert(entry.command) {
            faults.push(format!("the command {} ({}) acted twice", entry.command, entry.kind));
        }
        match by_id.get(&entry.command) {
            Some((rev, _)) if *rev == entry.rev => {}
            Some((rev, _)) => faults.push(format!("{} acted at {}, told {rev}", entry.kind, entry.rev)),
            None if entry.kind == "clock.settle" => {}
            None => faults.push(format!("{} {} acted at {}, that nobody was told of", entry.kind, entry.command, entry.rev)),
        }
    }
    for (command, (rev, _)) in by_id.iter().filter(|(command, _)| !seen.contains(*command)) {
        faults.push(format!("acknowledged at {rev} and not in the journal: {command}"));
    }
    by_rev
}

/// Runs the sequential model over the acknowledged commands; every refusal and every conflict must be what the model says
/// in a state in which it may have been decided.
fn replay(mut model: Model, told: &[Told], journal: &[Entry], acts: &BTreeMap<i64, &Act>, states: &States, base: i64, faults: &mut Vec<String>) -> Model {
    let mut waiting: Vec<&Told> = told.iter().filter(|told| ["refused", "conflict"].contains(&told.outcome.as_str())).collect();
    for told in told
        .iter()
        .filter(|told| !["applied", "repeated", "refused", "conflict"].contains(&told.outcome.as_str()))
    {
        faults.push(format!("an outcome that is none: {told:?}"));
    }
    let mut explain = |model: &Model, at: i64| {
        waiting.retain(|told| {
            let right = || match model.judge(&told.act) {
                Verdict::Conflict => told.outcome == "conflict" && model.shows(&told.act, &told.current),
                Verdict::Refused(code) => told.outcome == "refused" && told.code == code,
                Verdict::AsItFits => told.outcome == "refused" && told.code == "rule-broken",
                Verdict::Applies => false,
            };
            told.low > at || told.high.is_some_and(|high| high < at) || !right()
        });
    };
    let by_tag: BTreeMap<&str, Uuid> = states
        .range(("piece".to_owned(), String::new())..)
        .take_while(|((kind, _), _)| kind == "piece")
        .filter_map(|(_, revs)| revs.values().next())
        .map(|piece| (piece["tag"].as_str().expect("a tag"), id(piece, "id")))
        .collect();
    explain(&model, base);
    for entry in journal {
        match acts.get(&entry.rev) {
            Some(act) if entry.kind == "import.add" => {
                let made = act.brings.iter().filter_map(|(tag, place)| Some((*by_tag.get(tag.as_str())?, place.clone())));
                model.bring_in(entry.rev, act, made.collect());
            }
            Some(act) => {
                if let Err(fault) = model.apply(entry.rev, act) {
                    faults.push(fault);
                }
            }
            None => {}
        }
        explain(&model, entry.rev);
    }
    for told in waiting {
        faults.push(format!("in no state would the model say so: {told:?}"));
    }
    model
}

/// No return to service has beaten an *out of service* that its author had not seen: said again, without the model.
fn out_of_service_won(acts: &BTreeMap<i64, &Act>, faults: &mut Vec<String>) {
    let mut last_out: BTreeMap<Uuid, i64> = BTreeMap::new();
    for (rev, act) in acts {
        let body = &act.command["body"];
        match act.command["kind"].as_str() {
            Some("piece.take_out") => drop(last_out.insert(id(body, "id"), *rev)),
            Some("defect.report") if body["severity"] == "out_of_service" => drop(last_out.insert(id(body, "piece"), *rev)),
            Some("piece.return") => {
                let out = last_out.get(&id(body, "id")).copied().unwrap_or_default();
                if act.command["expects"].as_i64() < Some(out) {
                    faults.push(format!("out of service at {out} lost against {}", act.command));
                }
            }
            _ => {}
        }
    }
}

fn same<T: PartialEq + std::fmt::Debug>(kind: &str, model: &BTreeMap<Uuid, T>, lists: &Records, read: impl Fn(&Value) -> T, faults: &mut Vec<String>) {
    let listed: BTreeMap<Uuid, T> = lists
        .iter()
        .filter(|((of, _), _)| of == kind)
        .map(|(_, record)| (id(record, "id"), read(record)))
        .collect();
    for own in listed.keys().chain(model.keys()).collect::<BTreeSet<_>>() {
        if listed.get(own) != model.get(own) {
            faults.push(format!("{kind} {own} is {:?}, the model says {:?}", listed.get(own), model.get(own)));
        }
    }
}

/// Every page was a state that existed: it told each record as it was, and as nobody had changed it up to the page's revision.
fn pages_existed(fleet: &Fleet, states: &States, faults: &mut Vec<String>) {
    let pages = fleet.pages.lock().expect("nobody panicked with it");
    let forgets = fleet.forgets_states.load(Ordering::SeqCst);
    let of = |(kind, id, _): &Key| states.get(&(kind.clone(), id.clone()));
    for (key, record) in &pages.told {
        let state = of(key).and_then(|revs| revs.get(&key.2));
        if state != Some(record) && !(state.is_none() && forgets) {
            faults.push(format!("told, but it never was: {key:?} {record}"));
        }
    }
    for (revision, keys) in &pages.seen {
        for key in keys {
            let newer = of(key).and_then(|revs| revs.range(key.2 + 1..revision + 1).next());
            if let Some((newer, _)) = newer {
                faults.push(format!("a page at {revision} told {key:?}, which had changed at {newer}"));
            }
        }
    }
}

/// What was done at an instant is dated there or a little later, whatever the phone's clock said.
fn times_hold(acts: &BTreeMap<i64, &Act>, lists: &Records, faults: &mut Vec<String>) {
    for act in acts.values().filter(|act| act.command["kind"] == "defect.report") {
        let key = ("defect".to_owned(), act.command["body"]["id"].as_str().expect("an id").to_owned());
        let seen = lists
            .get(&key)
            .and_then(|defect| defect["seen_at"].as_str())
            .and_then(|at| at.parse::<DateTime<Utc>>().ok());
        if seen.is_none_or(|seen| seen < act.said - TimeDelta::microseconds(5) || seen > Utc::now()) {
            faults.push(format!("done at {}, dated {seen:?}: {}", act.said, act.command));
        }
    }
}

/// Every phone holds what a fresh phone of its scope would, and that is what the lists hold for it.
async fn replicas_are_equal(fleet: &Fleet, agency: &Agency, phones: &[Phone], lists: &Records, model: &Model, faults: &mut Vec<String>) {
    let client = fleet.client(agency, "officer");
    for scope in phones.iter().map(Phone::scope).collect::<BTreeSet<_>>() {
        let mut fresh = Replica::default();
        fresh.follow_in(&client, &scope.query(), 2000).await;
        let should: Records = lists
            .iter()
            .filter(|((kind, _), record)| scope.holds(kind, model.places.of(kind, id(record, "id"))))
            .map(|(key, record)| (key.clone(), record.clone()))
            .collect();
        if let Some(difference) = difference(&fresh.records, &should) {
            faults.push(format!("a snapshot of {} is not what the lists hold for it: {difference}", scope.query()));
        }
        let closed = |who: &str, replica: &Replica, faults: &mut Vec<String>| {
            for unnamed in replica.unnamed(lists) {
                faults.push(format!("{who} of {}: {unnamed}", scope.query()));
            }
        };
        closed("a snapshot", &fresh, faults);
        fleet.count("scopes without an unknown name");
        for _ in &fresh.stubs {
            fleet.count("stubs");
        }
        for phone in phones.iter().filter(|phone| phone.scope() == scope) {
            closed(&format!("phone {}", phone.number), phone.replica(), faults);
            if let Some(difference) = difference(&phone.replica().records, &fresh.records) {
                faults.push(format!(
                    "phone {} is not equal to the service for {}: {difference}",
                    phone.number,
                    scope.query()
                ));
            }
        }
    }
}

/// All of it; what is wrong, in words.
pub async fn all(fleet: &Fleet, agency: &Agency, phones: &[Phone], before: &Records, base: i64) -> Vec<String> {
    let mut faults = fleet.faults();
    let now = lists(&fleet.client(agency, "officer")).await;
    let (journal, states) = (journal(fleet, agency, base), states(fleet, agency));
    let told = std::mem::take(&mut *fleet.told.lock().expect("nobody panicked with it"));
    for told in &told {
        fleet.count(match told.outcome.as_str() {
            "applied" => "applied",
            "repeated" => "repeated",
            "conflict" => "conflicts",
            _ if told.code == "after-refused" => "refused with the one before",
            _ => "refused",
        });
    }
    let mut model = Model::of(before.iter().map(|((kind, _), record)| (kind.as_str(), record)));
    model.out_may_lose = fleet.broken == Some(Broken::OutMayLose);
    let acts = acknowledged(&told, &journal, &mut faults);
    let model = replay(model, &told, &journal, &acts, &states, base, &mut faults);
    same("piece", &model.pieces, &now, known::piece, &mut faults);
    same("defect", &model.defects, &now, known::defect, &mut faults);
    same("defect_note", &model.notes, &now, known::note, &mut faults);
    same("swap", &model.swaps, &now, known::swap, &mut faults);
    same("rig", &model.rigs, &now, known::rig, &mut faults);
    same("station", &model.stations, &now, known::station, &mut faults);
    same("use", &model.uses, &now, known::used, &mut faults);
    same("import", &model.imports, &now, known::import, &mut faults);
    out_of_service_won(&acts, &mut faults);
    times_hold(&acts, &now, &mut faults);
    pages_existed(fleet, &states, &mut faults);
    replicas_are_equal(fleet, agency, phones, &now, &model, &mut faults).await;
    let (holds, said) = verify(&fleet.location);
    if !holds {
        faults.push(said);
    }
    faults
}
