//! Replies, each with headers that keep the page to itself.

use axum::body::Body;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::Response;

use super::guard::Refusal;

/// Nothing from elsewhere is loaded, and nothing is sent elsewhere; no other page may frame it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

fn reply(status: StatusCode, kind: &'static str, text: String) -> Response {
    let mut response = Response::new(Body::from(text));
    *response.status_mut() = status;
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_TYPE, kind),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (header::HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

pub(super) fn html(page: String) -> Response {
    reply(StatusCode::OK, "text/html; charset=utf-8", page)
}

/// A page after which nothing more is said on this connection.
pub(super) fn last_words(page: String) -> Response {
    let mut response = html(page);
    response.headers_mut().insert(header::CONNECTION, HeaderValue::from_static("close"));
    response
}

pub(super) fn style(text: &str) -> Response {
    reply(StatusCode::OK, "text/css; charset=utf-8", text.to_owned())
}

pub(super) fn script(text: &str) -> Response {
    reply(StatusCode::OK, "text/javascript; charset=utf-8", text.to_owned())
}

pub(super) fn json(value: &serde_json::Value) -> Response {
    reply(StatusCode::OK, "application/json", value.to_string())
}

pub(super) fn refused(refusal: Refusal) -> Response {
    let (status, text) = match refusal {
        Refusal::NotFound => (StatusCode::NOT_FOUND, "There is no such page.\n"),
        Refusal::Foreign => (StatusCode::FORBIDDEN, "This page answers only to itself, on this machine.\n"),
        Refusal::Method => (StatusCode::METHOD_NOT_ALLOWED, "Only GET and POST are answered.\n"),
        Refusal::TooLarge => (StatusCode::PAYLOAD_TOO_LARGE, "The form is too large.\n"),
        Refusal::NotTheForm => (StatusCode::BAD_REQUEST, "This is not the form of this page.\n"),
        Refusal::Internal => (StatusCode::INTERNAL_SERVER_ERROR, "A fault of the program; see its terminal.\n"),
    };
    reply(status, "text/plain; charset=utf-8", text.to_owned())
}
