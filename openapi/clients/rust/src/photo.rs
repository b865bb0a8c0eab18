//! Photos: named by what they hold, sent in parts where the signal is poor.

use std::fmt::Write as _;

use reqwest::{Method, header};
use sha2::{Digest as _, Sha256};

use crate::{Client, Error, Patience};

/// Bytes sent in one request.
const PART: usize = 256 * 1024;

impl Client {
    /// Sends a photo and answers the name that commands call it by: the SHA-256 of its bytes, in lower-case hex. What the
    /// service has already is not sent again; `patience` counts for each part.
    pub async fn put_photo(&self, bytes: &[u8], content_type: &str, patience: Patience) -> Result<String, Error> {
        let mut name = String::with_capacity(64);
        for byte in Sha256::digest(bytes) {
            write!(name, "{byte:02x}").ok();
        }
        let path = format!("/v1/photos/{name}");
        let mut from = patience.until_answered(async || self.photo_offset(&path, bytes.len()).await).await?;
        let (mut lost_place, mut anew) = (0, false);
        while from < bytes.len() {
            let sent = patience.until_answered(async || self.put_part(&path, bytes, from, content_type).await).await;
            from = match sent {
                // Another sender, or a part whose answer was lost: the service says where it stands.
                Err(Error::Refused(problem)) if problem.code == "upload-offset" && lost_place < 3 => {
                    lost_place += 1;
                    patience.until_answered(async || self.photo_offset(&path, bytes.len()).await).await?
                }
                // What was there before is of other bytes, and is forgotten by now.
                Err(Error::Refused(problem)) if problem.code == "photo-mismatch" && from > 0 && !anew => {
                    anew = true;
                    0
                }
                sent => sent?,
            };
        }
        Ok(name)
    }

    /// How many bytes of a photo the service has.
    async fn photo_offset(&self, path: &str, whole: usize) -> Result<usize, Error> {
        let answer = self.head(path).await?;
        Ok(if answer.status().is_success() {
            whole
        } else {
            offset(&answer).unwrap_or(0).min(whole)
        })
    }

    async fn put_part(&self, path: &str, bytes: &[u8], from: usize, content_type: &str) -> Result<usize, Error> {
        let end = bytes.len().min(from.saturating_add(PART));
        let part = bytes.get(from..end).unwrap_or_default();
        let answer = self
            .ask(|| {
                let request = self.request(Method::PUT, path)?.header(header::CONTENT_TYPE, content_type).body(part.to_vec());
                Ok(if part.len() == bytes.len() {
                    request
                } else {
                    request.header(header::CONTENT_RANGE, format!("bytes {from}-{}/{}", end.saturating_sub(1), bytes.len()))
                })
            })
            .await?;
        Ok(if answer.status() == 202 {
            offset(&answer).unwrap_or(end).min(bytes.len())
        } else {
            bytes.len()
        })
    }
}

fn offset(answer: &reqwest::Response) -> Option<usize> {
    answer.headers().get("Upload-Offset")?.to_str().ok()?.trim().parse().ok()
}
