//! A [`Fault`] as an HTTP answer.

use actix_web::{
    HttpResponse, ResponseError,
    http::{StatusCode, header},
};

use crate::platform::error::{self, Fault};

impl ResponseError for Fault {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.code.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        if self.is_ours() {
            tracing::error!(code = %self.code, cause = ?self.cause, "failed");
        }
        let mut answer = HttpResponse::build(self.status_code());
        if self.code == error::SLOW_DOWN || self.code == error::BUSY {
            answer.insert_header((header::RETRY_AFTER, "5"));
        }
        if self.code.status() == 401 {
            answer.insert_header((header::WWW_AUTHENTICATE, "Bearer"));
        }
        let text = serde_json::to_string(&self.problem()).unwrap_or_default();
        answer.content_type("application/problem+json").body(text)
    }
}
