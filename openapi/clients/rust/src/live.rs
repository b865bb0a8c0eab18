//! The live stream: a hint that there is something to pull.

use std::time::Duration;

use reqwest::Response;
use serde::Deserialize;

use crate::{Client, Error, Patience};

/// A stream on which nothing has come for this long is dead: the service says that it is there every fifteen seconds.
const SILENCE: Duration = Duration::from_secs(45);
/// An event is a few bytes; what is larger is none.
const LARGEST: usize = 64 * 1024;

/// Tells of new revisions, and connects again by itself when the stream ends, as it does every quarter of an hour.
///
/// It is a hint: revisions may be left out, none is told that has not been reached. Pull once after each.
#[derive(Debug)]
pub struct Live {
    client: Client,
    path: String,
    patience: Patience,
    stream: Option<Response>,
    heard: Vec<u8>,
    failed: u32,
    told: Option<i64>,
}

#[derive(Deserialize)]
struct Announcement {
    revision: i64,
}

impl Live {
    pub(crate) fn new(client: Client, scope: &str, patience: Patience) -> Self {
        let path = if scope.is_empty() {
            "/v1/changes/live".to_owned()
        } else {
            format!("/v1/changes/live?scope={scope}")
        };
        Self {
            client,
            path,
            patience,
            stream: None,
            heard: Vec::new(),
            failed: 0,
            told: None,
        }
    }

    /// Waits for the next revision that has not been told yet. The first comes at once: where the agency is now.
    ///
    /// An error is one that waiting does not mend, or the patience is used up: so many connections in a row on which nothing
    /// came.
    pub async fn next(&mut self) -> Result<i64, Error> {
        loop {
            while let Some(event) = self.event() {
                if let Some(revision) = event.filter(|revision| self.told.is_none_or(|told| told < *revision)) {
                    self.told = Some(revision);
                    return Ok(revision);
                }
            }
            if let Err(error) = self.hear().await {
                self.stream = None;
                self.heard.clear();
                self.failed += 1;
                if !error.passes() || self.failed >= self.patience.tries {
                    return Err(error);
                }
                tokio::time::sleep(self.patience.pause(self.failed)).await;
            }
        }
    }

    /// Reads on; connects first where there is no stream.
    async fn hear(&mut self) -> Result<(), Error> {
        let stream = match &mut self.stream {
            Some(stream) => stream,
            None => self.stream.insert(self.client.stream(&self.path).await?),
        };
        match tokio::time::timeout(SILENCE, stream.chunk()).await {
            Ok(Ok(Some(bytes))) if self.heard.len() + bytes.len() <= LARGEST => {
                self.heard.extend_from_slice(&bytes);
                self.failed = 0;
            }
            Ok(Ok(Some(_))) => {
                return Err(Error::NotUnderstood {
                    status: 200,
                    said: "an event without an end".into(),
                });
            }
            Ok(Err(error)) => return Err(Error::NoAnswer(error)),
            // It ended as it should, or died: a new one.
            Ok(Ok(None)) | Err(_) => {
                self.stream = None;
                self.heard.clear();
                tokio::time::sleep(self.patience.pause(1)).await;
            }
        }
        Ok(())
    }

    /// Takes the next whole event that was heard; its revision, where it tells one.
    fn event(&mut self) -> Option<Option<i64>> {
        let text = String::from_utf8_lossy(&self.heard).replace("\r\n", "\n");
        let (event, rest) = text.split_once("\n\n")?;
        let tells = event.lines().any(|line| matches!(line, "event: revision" | "event:revision"));
        let data: String = event.lines().filter_map(|line| line.strip_prefix("data:")).collect();
        let told = if tells { serde_json::from_str::<Announcement>(&data).ok() } else { None };
        self.heard = rest.as_bytes().to_vec();
        Some(told.map(|told| told.revision))
    }
}
