//! The feed and the live stream. Nothing is written.

use std::{collections::BTreeMap, time::Duration};

use reqwest::Method;
use serde_json::Value;

use super::{
    CaseResult, cases, must,
    probe::{Probe, text},
};

cases! { false:
    "snapshot-whole", "small pages and large ones lead to the same records, each page in the order of revisions", snapshot_whole;
    "each-record-once", "in a page, and in a snapshot during which nobody writes, each record comes once, at its latest state", each_record_once;
    "token-twice", "a token may be used again and is answered the same", token_twice;
    "token-of-nonsense", "410 resync-required for a token that was made up, cut or changed", token_of_nonsense;
    "live-opens", "the stream tells the agency's revision at once", live_opens;
}

/// A copy that takes nothing on trust.
#[derive(Default)]
pub struct Copy {
    pub records: BTreeMap<(String, String), Value>,
    /// `&scope=...`, or nothing for the agency.
    pub scope: String,
    pub token: Option<String>,
    pub revision: i64,
    pub pages: usize,
    /// How many changes came.
    pub told: usize,
}

impl Copy {
    /// Takes one page; answers whether there is more.
    pub async fn step(&mut self, probe: &Probe, limit: usize) -> Result<bool, String> {
        let since = self.token.as_ref().map(|token| format!("&since={token}")).unwrap_or_default();
        let page = probe.get(&format!("/v1/changes?limit={limit}{}{since}", self.scope)).await?.good()?;
        let changes = page["changes"].as_array().ok_or("a page has no `changes`")?;
        must!(changes.len() <= limit, "{} changes came where {limit} were asked for", changes.len());
        let revision = page["revision"].as_i64().ok_or("a page has no `revision`")?;
        let mut last = 0;
        let mut on_page = std::collections::BTreeSet::new();
        for change in changes {
            let key = (text(&change["kind"]).to_owned(), text(&change["id"]).to_owned());
            let rev = change["rev"].as_i64().ok_or_else(|| format!("a change has no `rev`: {change}"))?;
            must!(on_page.insert(key.clone()), "{} {} came twice on one page", key.0, key.1);
            must!(
                rev >= last && rev <= revision,
                "{} {} came out of order: revision {rev} after {last}, the page's is {revision}",
                key.0,
                key.1
            );
            last = rev;
            self.told += 1;
            if change["gone"].is_null() {
                must!(
                    change["record"]["rev"] == rev,
                    "{} {} comes with revision {rev}, its record says {}",
                    key.0,
                    key.1,
                    change["record"]["rev"]
                );
                self.records.insert(key, change["record"].clone());
            } else {
                self.records.remove(&key);
            }
        }
        let next = text(&page["next"]);
        must!(!next.is_empty(), "a page has no `next`");
        let more = page["more"].as_bool().ok_or("a page has no `more`")?;
        must!(
            !more || self.token.as_deref() != Some(next),
            "there is more, and `next` is the token that was sent"
        );
        self.token = Some(next.to_owned());
        self.revision = revision;
        self.pages += 1;
        Ok(more)
    }

    /// Follows to the end: first in small pages, then, so that a large agency ends, in large ones.
    pub async fn follow(&mut self, probe: &Probe, limit: usize) -> CaseResult {
        for n in 0..100_000 {
            if !self.step(probe, if n < 40 { limit } else { 2000 }).await? {
                return Ok(());
            }
        }
        Err("a hundred thousand pages were read and there is still more".into())
    }

    /// Where this copy and another differ, in words.
    pub fn differs(&self, other: &Self) -> Option<String> {
        let lacking = self.records.iter().find(|(key, record)| other.records.get(*key) != Some(record));
        let surplus = other.records.iter().find(|(key, _)| !self.records.contains_key(*key));
        let ((kind, id), _) = lacking.or(surplus)?;
        let rev = |copy: &Self| {
            copy.records
                .get(&(kind.clone(), id.clone()))
                .map_or("none".into(), |record| record["rev"].to_string())
        };
        Some(format!("{kind} {id} has revision {} in the one and {} in the other", rev(self), rev(other)))
    }
}

/// A copy that is read in small pages must be what one is that is read in large ones. Where others write meanwhile, both are
/// brought to the same revision.
pub async fn must_equal_a_fresh_one(copy: &mut Copy, probe: &Probe) -> CaseResult {
    for _ in 0..20 {
        let mut fresh = Copy::default();
        fresh.follow(probe, 2000).await?;
        copy.follow(probe, 7).await?;
        fresh.follow(probe, 2000).await?;
        if copy.revision == fresh.revision {
            return copy
                .differs(&fresh)
                .map_or(Ok(()), |words| Err(format!("at revision {}: {words}", fresh.revision)));
        }
    }
    Err("others write so much that no two copies came to the same revision: take an agency made for this".into())
}

async fn snapshot_whole(probe: &Probe) -> CaseResult {
    let mut copy = Copy::default();
    copy.follow(probe, 7).await?;
    must!(!copy.records.is_empty(), "the snapshot is empty: not even the agency is in it");
    must_equal_a_fresh_one(&mut copy, probe).await
}

async fn each_record_once(probe: &Probe) -> CaseResult {
    let (before, mut copy) = (probe.revision().await?, Copy::default());
    copy.follow(probe, 7).await?;
    if copy.revision == before {
        must!(
            copy.told == copy.records.len(),
            "{} changes told of {} records, and nobody wrote",
            copy.told,
            copy.records.len()
        );
    }
    Ok(())
}

async fn token_twice(probe: &Probe) -> CaseResult {
    let first = probe.get("/v1/changes?limit=3").await?.good()?;
    let path = format!("/v1/changes?limit=3&since={}", text(&first["next"]));
    let (once, twice) = (probe.get(&path).await?.good()?, probe.get(&path).await?.good()?);
    if once["revision"] == twice["revision"] {
        must!(once["changes"] == twice["changes"], "the second answer differs from the first");
    }
    Ok(())
}

async fn token_of_nonsense(probe: &Probe) -> CaseResult {
    let own = probe.get("/v1/changes?limit=1").await?.good()?;
    let own = text(&own["next"]);
    let cut = own.get(1..).unwrap_or_default();
    for token in ["nonsense", "", "a.b", cut, &format!("{own}x"), "%00"] {
        let reply = probe.get(&format!("/v1/changes?since={token}")).await?;
        reply.problem(410, "resync-required").map_err(|found| format!("the token '{token}': {found}"))?;
    }
    Ok(())
}

/// Reads an open stream until it tells a revision of at least this.
pub async fn hear(stream: &mut reqwest::Response, least: i64) -> CaseResult {
    let mut heard = String::new();
    let until = async {
        while let Ok(Some(bytes)) = stream.chunk().await {
            heard += &String::from_utf8_lossy(&bytes);
            let told = heard
                .lines()
                .filter_map(|line| line.strip_prefix("data:"))
                .filter_map(|data| serde_json::from_str::<Value>(data).ok());
            if told.filter_map(|told| told["revision"].as_i64()).any(|told| told >= least) {
                return true;
            }
        }
        false
    };
    match tokio::time::timeout(Duration::from_secs(5), until).await {
        Ok(true) => Ok(()),
        Ok(false) => Err(format!("the stream ended before it told revision {least}")),
        Err(_) => Err(format!("the stream did not tell revision {least} within five seconds")),
    }
}

pub async fn open(probe: &Probe) -> Result<reqwest::Response, String> {
    let stream = probe
        .request(Method::GET, "/v1/changes/live")
        .send()
        .await
        .map_err(|error| format!("the stream did not open: {error}"))?;
    let media = stream
        .headers()
        .get("content-type")
        .and_then(|value| value.to_str().ok())
        .unwrap_or_default()
        .to_owned();
    must!(
        stream.status() == 200 && media.starts_with("text/event-stream"),
        "the stream was answered {} {media}",
        stream.status()
    );
    Ok(stream)
}

async fn live_opens(probe: &Probe) -> CaseResult {
    let revision = probe.revision().await?;
    hear(&mut open(probe).await?, revision).await
}
