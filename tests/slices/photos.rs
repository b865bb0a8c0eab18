//! Photos: sent whole or in parts, kept once under the hash of what was sent, without anything but their pixels.

mod making;
mod sending;
mod store;
mod stripping;

use reqwest::{Method, header::HeaderMap};

use crate::world::{Client, Reply};
use making::name_of;

/// A picture as it was answered.
struct Shown {
    headers: HeaderMap,
    bytes: Vec<u8>,
}

impl Shown {
    fn header(&self, name: &str) -> &str {
        self.headers.get(name).unwrap_or_else(|| panic!("no {name}")).to_str().expect("text")
    }

    fn picture(&self) -> image::DynamicImage {
        image::load_from_memory(&self.bytes).expect("a picture")
    }
}

/// What `Upload-Offset` says.
#[track_caller]
fn offset(reply: &Reply) -> usize {
    let told = reply
        .headers
        .get("upload-offset")
        .unwrap_or_else(|| panic!("{}: no Upload-Offset: {}", reply.asked, reply.text));
    told.to_str().expect("text").parse().expect("a number")
}

impl Client {
    /// Sends bytes to a photo's address as they are.
    async fn put_at(&self, name: &str, range: Option<String>, bytes: &[u8]) -> Reply {
        let mut request = self
            .request(Method::PUT, &format!("/v1/photos/{name}"))
            .await
            .header("Content-Type", "image/jpeg");
        if let Some(range) = &range {
            request = request.header("Content-Range", range);
        }
        Reply::of(format!("{} PUT {name} {range:?}", self.person.role), request.body(bytes.to_vec())).await
    }

    /// Sends a photo whole.
    async fn put_photo(&self, bytes: &[u8]) -> Reply {
        self.put_at(&name_of(bytes), None, bytes).await
    }

    /// Sends the part of a photo from one byte to before another.
    async fn put_part(&self, bytes: &[u8], from: usize, to: usize) -> Reply {
        let range = format!("bytes {from}-{}/{}", to - 1, bytes.len());
        self.put_at(&name_of(bytes), Some(range), &bytes[from..to]).await
    }

    async fn check_photo(&self, name: &str) -> Reply {
        self.ask(Method::HEAD, &format!("/v1/photos/{name}"), None, &[]).await
    }

    /// A photo that is there; `ending` is `/thumbnail` or nothing.
    async fn shown(&self, name: &str, ending: &str) -> Shown {
        let path = format!("/v1/photos/{name}{ending}");
        let answer = self.request(Method::GET, &path).await.send().await.expect("an answer");
        assert_eq!(answer.status(), 200, "{path}");
        Shown {
            headers: answer.headers().clone(),
            bytes: answer.bytes().await.expect("the whole picture").to_vec(),
        }
    }
}
