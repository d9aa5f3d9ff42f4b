//! Who is let in: a browser on this machine that was given the token, and pages of this server alone.
//!
//! The address with the token is exchanged for a cookie. A name of another host is refused, so that no page elsewhere can
//! reach the server through a name that it points here; so is whatever comes from a page of another origin.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, LOCATION, ORIGIN, REFERRER_POLICY,
    SET_COOKIE, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::pages;
use crate::workbench_state::Workbench;

/// What a page may load and do: nothing but what this server gives it.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The report has a policy of its own within it.
const REPORT_POLICY: &str =
    "base-uri 'none'; frame-ancestors 'none'; form-action 'none'; object-src 'none'";

pub(crate) async fn guard(
    State(workbench): State<Arc<Workbench>>,
    request: Request,
    next: Next,
) -> Response {
    let is_report = request.uri().path().starts_with("/report/");
    let mut response = match refusal(&workbench, &request) {
        Some(refused) => refused,
        None => next.run(request).await,
    };
    let headers = response.headers_mut();
    let policy = if is_report { REPORT_POLICY } else { POLICY };
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, policy),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (X_FRAME_OPTIONS, "DENY"),
        (REFERRER_POLICY, "same-origin"),
        (CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

/// The answer to a request that is not let in, or that brings the token.
fn refusal(workbench: &Workbench, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let own = [
        format!("127.0.0.1:{}", workbench.port),
        format!("localhost:{}", workbench.port),
    ];
    let host = text(headers, &HOST).unwrap_or_default();
    if !own.iter().any(|own| own == host) {
        return Some(refused(
            StatusCode::MISDIRECTED_REQUEST,
            "This address is not this program's.",
        ));
    }
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    let foreign = text(headers, &ORIGIN).is_some_and(|origin| origin != format!("http://{host}"))
        || text(headers, &HeaderName::from_static("sec-fetch-site"))
            .is_some_and(|from| changes && !matches!(from, "same-origin" | "none"));
    if foreign {
        return Some(refused(
            StatusCode::FORBIDDEN,
            "The request came from another page.",
        ));
    }
    let name = format!("tapoff-{}", workbench.port);
    if let Some(token) = token_of(request) {
        if !is_same(token, &workbench.token) {
            return Some(refused(
                StatusCode::FORBIDDEN,
                "The address has an old or a wrong token.",
            ));
        }
        let cookie = format!("{name}={token}; HttpOnly; SameSite=Strict; Path=/");
        let there = [
            (LOCATION, request.uri().path().to_owned()),
            (SET_COOKIE, cookie),
        ];
        return Some((StatusCode::SEE_OTHER, there).into_response());
    }
    let cookies = text(headers, &COOKIE).unwrap_or_default().split("; ");
    let known = cookies.filter_map(|cookie| cookie.split_once('='));
    let is_known = known
        .into_iter()
        .any(|(key, value)| key == name && is_same(value, &workbench.token));
    (!is_known).then(|| {
        refused(
            StatusCode::FORBIDDEN,
            "Open the address that the program has printed: it has the token that lets this browser in.",
        )
    })
}

fn refused(status: StatusCode, why: &str) -> Response {
    (status, pages::notice("Not let in", why)).into_response()
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name)?.to_str().ok()
}

/// The token of the address.
fn token_of(request: &Request) -> Option<&str> {
    let query = request.uri().query()?;
    let mut pairs = query.split('&').filter_map(|pair| pair.split_once('='));
    pairs
        .find(|(key, _)| *key == "token")
        .map(|(_, value)| value)
}

/// Compares all of both, however early they differ.
fn is_same(one: &str, other: &str) -> bool {
    let differ = one
        .bytes()
        .zip(other.bytes())
        .fold(0, |differ, (a, b)| differ | (a ^ b));
    one.len() == other.len() && differ == 0
}
