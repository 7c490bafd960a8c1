//! What is true of every answer below an owner's link: nothing is kept, followed or logged, and a refusal
//! leads nowhere into the shop.

use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::colour::Turns;
use super::frame;
use crate::fault::Said;

/// What an owner's page may load: stylesheet, fonts and pictures of its own. No script at all but where panels turn.
const POLICY: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'",
);
/// What the page of the turning panels may load besides: the program's own script, and from it the panel and the
/// paints on it. No worker: nothing of an owner's page is kept on a device.
const TURNING: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; script-src 'self'; connect-src 'self'; worker-src 'none'; style-src 'self'; img-src 'self'; \
     font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
);
const ROBOTS: HeaderName = HeaderName::from_static("x-robots-tag");

/// Whether a path lies below an owner's link.
fn is_owners(path: &str) -> bool {
    path == "/o" || path.starts_with("/o/")
}

/// A path as it may stand in a log: a token opens a car to whoever reads it. What follows `/o/` is left out, and
/// so is whatever is as long as a token, wherever it was mistyped.
pub(crate) fn path_for_the_log(path: &str) -> String {
    let long = |part: &str| part.len() >= 32 && part.bytes().all(|b| b.is_ascii_alphanumeric());
    let mut after_o = false;
    let part = |part: &str| {
        let secret = (after_o && !part.is_empty()) || long(part);
        after_o = part == "o" || (after_o && part.is_empty());
        if secret { "-".to_string() } else { part.to_string() }
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}

/// Puts the fences around every answer below an owner's link.
pub(crate) async fn fences(request: Request, next: Next) -> Response {
    if !is_owners(request.uri().path()) {
        return next.run(request).await;
    }
    let sends = *request.method() == Method::POST;
    let mut response = next.run(request).await;
    if let Some(Said(say)) = response.extensions_mut().remove::<Said>() {
        let more = match (sends, response.status()) {
            (true, StatusCode::GONE | StatusCode::NOT_FOUND | StatusCode::TOO_MANY_REQUESTS) => {
                "Nothing you typed has been kept. Please ring the shop and say it there."
            }
            (true, _) => {
                "Nothing was kept. Open your link again and answer once more; if it happens again, please ring the shop."
            }
            _ => "If you expected something here, please ring the shop.",
        };
        let mut page = frame::said(&say, more).into_response();
        *page.status_mut() = response.status();
        for name in [header::RETRY_AFTER, header::ALLOW] {
            if let Some(value) = response.headers().get(&name) {
                page.headers_mut().insert(name, value.clone());
            }
        }
        response = page;
    }
    let turns = response.extensions_mut().remove::<Turns>().is_some();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, if turns { TURNING } else { POLICY });
    // Not "no-referrer": over plain http a browser then posts the form with no origin at all, and the owner's
    // answer could not be told from one sent by another site. The address still goes to nobody else.
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(ROBOTS, HeaderValue::from_static("noindex, nofollow"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_never_stands_in_the_log() {
        let token = "0f".repeat(32);
        assert_eq!(path_for_the_log(&format!("/o/{token}")), "/o/-");
        assert_eq!(path_for_the_log(&format!("/o/{token}/dossier.pdf")), "/o/-/dossier.pdf");
        for mistyped in [
            format!("/o//{token}"),
            format!("//o/{token}"),
            format!("/{token}"),
            format!("/O/{token}"),
            "/o/0f0f".into(),
        ] {
            let logged = path_for_the_log(&mistyped);
            assert!(!logged.contains("0f0f") && logged.ends_with("/-"), "{mistyped}: {logged}");
        }
        let car = "/cars/01890000-0000-7000-8000-000000000000/zones/Z01.L";
        assert_eq!(path_for_the_log(car), car);
    }
}
