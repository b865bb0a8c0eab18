//! A [`Fault`] as an HTTP answer.

use actix_web::{
    HttpResponse, HttpResponseBuilder, ResponseError,
    http::{StatusCode, header},
};

use super::request_id;
use crate::platform::error::{self, Fault, Problem};

/// Seconds after which to try again, where nobody knows better.
const USUAL_PAUSE: u64 = 5;

impl ResponseError for Fault {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.code.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        if self.is_ours() {
            tracing::error!(code = %self.code, cause = ?self.cause, "failed");
        }
        let mut answer = HttpResponse::build(self.status_code());
        if let Some(seconds) = self.retry_after {
            answer.insert_header((header::RETRY_AFTER, seconds));
        } else if self.code == error::SLOW_DOWN || self.code == error::BUSY {
            answer.insert_header((header::RETRY_AFTER, USUAL_PAUSE));
        }
        if self.code.status() == 401 {
            answer.insert_header((header::WWW_AUTHENTICATE, "Bearer"));
        }
        if self.code == error::DEVICE_REVOKED {
            // A browser forgets what it may have kept of answers, too.
            answer.insert_header(("Clear-Site-Data", "\"cache\""));
        }
        body(&mut answer, self.problem())
    }
}

/// A problem as a body, with the id of the request that met it.
pub fn body(answer: &mut HttpResponseBuilder, problem: Problem) -> HttpResponse {
    let problem = Problem {
        request_id: request_id::current(),
        ..problem
    };
    answer.extensions_mut().insert(problem.code);
    answer
        .content_type("application/problem+json")
        .body(serde_json::to_string(&problem).unwrap_or_default())
}
