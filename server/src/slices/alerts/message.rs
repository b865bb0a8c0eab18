//! The message about an alert: a CloudEvent 1.0 in structured mode, signed by Standard Webhooks. The same alert makes the same bytes.

use aws_lc_rs::hmac;
use base64::Engine as _;
use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::capability::Level;
use serde::Serialize;
use uuid::Uuid;

use super::{Alert, feed::Stands};
use crate::platform::{error::Fault, ids::AgencyId};

/// The media type of a CloudEvent in structured mode.
pub const MEDIA: &str = "application/cloudevents+json; charset=utf-8";

/// A CloudEvent (specification 1.0).
#[derive(Debug, Serialize)]
struct Event<'a> {
    specversion: &'static str,
    id: Uuid,
    source: String,
    #[serde(rename = "type")]
    kind: String,
    subject: String,
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    time: DateTime<Utc>,
    datacontenttype: &'static str,
    data: Data<'a>,
}

#[derive(Debug, Serialize)]
struct Data<'a> {
    revision: i64,
    name: &'a str,
    rig: Option<Uuid>,
    station: Option<Uuid>,
    district: Option<Uuid>,
    before: Stands,
    after: Stands,
    confirmed: Option<bool>,
    expected: Option<Level>,
    full: Option<u32>,
    confirmed_full: Option<u32>,
    min_full: Option<u32>,
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    since: DateTime<Utc>,
    reason: &'a str,
    expected_back: Option<NaiveDate>,
    acknowledge: Acknowledge<'a>,
}

/// How the message is acknowledged later than by its answer.
#[derive(Debug, Serialize)]
struct Acknowledge<'a> {
    path: &'static str,
    code: &'a str,
}

/// Where a code is sent.
pub const ACKNOWLEDGE_PATH: &str = "/v1/acknowledgements";
/// The page on which somebody says that a message was read; the code stands behind `#`, which is sent to nobody.
pub const ACKNOWLEDGE_PAGE: &str = "/acknowledge";

/// The body of the message, with the code by which it is acknowledged.
pub fn body(agency: AgencyId, alert: &Alert, code: &str) -> Result<String, Fault> {
    let subject = match (alert.rig, alert.district) {
        (Some(rig), _) => format!("rig/{rig}"),
        (None, Some(district)) => format!("district/{district}"),
        (None, None) => String::from("agency"),
    };
    Ok(serde_json::to_string(&Event {
        specversion: "1.0",
        id: alert.id.0,
        source: format!("urn:fullset:agency:{agency}"),
        kind: format!("fullset.{}", alert.change.word()),
        subject,
        time: alert.at,
        datacontenttype: "application/json",
        data: Data {
            revision: alert.revision,
            name: &alert.name,
            rig: alert.rig.map(|rig| rig.0),
            station: alert.station,
            district: alert.district,
            before: alert.before,
            after: alert.after,
            confirmed: alert.confirmed,
            expected: alert.expected,
            full: alert.full,
            confirmed_full: alert.confirmed_full,
            min_full: alert.min_full,
            since: alert.at,
            reason: &alert.reason,
            expected_back: alert.expected_back,
            acknowledge: Acknowledge { path: ACKNOWLEDGE_PATH, code },
        },
    })?)
}

/// The signature of a message (Standard Webhooks, version 1): over id, seconds since 1970 and body, joined by full stops.
pub fn signature(secret: &[u8], id: &str, timestamp: i64, body: &str) -> String {
    let signed = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, secret), format!("{id}.{timestamp}.{body}").as_bytes());
    format!("v1,{}", base64::engine::general_purpose::STANDARD.encode(signed.as_ref()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// standard-webhooks/standard-webhooks at b2fa7b8, libraries/javascript webhook.test.ts.
    #[test]
    fn the_published_message_has_the_published_signature() {
        let secret = base64::engine::general_purpose::STANDARD
            .decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
            .expect("base64");
        assert_eq!(
            signature(&secret, "msg_p5jXN8AQM9LWM0D4loKWxJek", 1_614_265_330, r#"{"test": 2432232314}"#),
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
        );
    }
}
