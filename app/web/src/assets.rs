//! The user interface inside the binary: stylesheet, fonts, islands and the service worker.

use std::borrow::Cow;

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH, X_CONTENT_TYPE_OPTIONS};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};

/// What `build.rs` built from `ui/`.
#[derive(rust_embed::RustEmbed)]
#[folder = "$OUT_DIR/ui"]
struct Built;

/// One file of the user interface.
pub(crate) struct Asset {
    /// The file itself.
    pub(crate) bytes: Cow<'static, [u8]>,
    /// Its media type, by its ending.
    pub(crate) content_type: &'static str,
    /// A weak entity tag over the bytes, quotes included: a compressing layer may stand outside.
    pub(crate) etag: String,
}

/// The file at `path` below `/ui/`, or none by that name.
pub(crate) fn asset(path: &str) -> Option<Asset> {
    let file = Built::get(path)?;
    let digest = file.metadata.sha256_hash();
    Some(Asset {
        bytes: file.data,
        content_type: content_type(path),
        etag: format!("W/\"{}\"", hex::encode(&digest[..12])),
    })
}

/// Answers `/ui/{*path}`.
pub(crate) async fn serve(Path(path): Path<String>, headers: HeaderMap) -> Response {
    answer(&path, &headers)
}

/// Answers `/sw.js`: a service worker must stand at the root to reach every page.
pub(crate) async fn serve_worker(headers: HeaderMap) -> Response {
    answer("sw.js", &headers)
}

fn answer(path: &str, headers: &HeaderMap) -> Response {
    let Some(asset) = asset(path) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let common = [(ETAG, asset.etag.clone()), (CACHE_CONTROL, keep_for(path).to_owned())];
    if already_held(headers, &asset.etag) {
        return (StatusCode::NOT_MODIFIED, common).into_response();
    }
    let typed = [(CONTENT_TYPE, asset.content_type), (X_CONTENT_TYPE_OPTIONS, "nosniff")];
    (common, typed, asset.bytes).into_response()
}

/// Fonts never change under their name within a release; all else is asked for again each time
/// and answered "not modified".
fn keep_for(path: &str) -> &'static str {
    if path.ends_with(".woff2") { "public, max-age=604800" } else { "no-cache" }
}

/// Weak comparison, RFC 9110 section 13.1.2.
fn already_held(headers: &HeaderMap, etag: &str) -> bool {
    let opaque = |tag: &str| tag.trim().trim_start_matches("W/").to_owned();
    headers
        .get_all(IF_NONE_MATCH)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .any(|tag| tag.trim() == "*" || opaque(tag) == opaque(etag))
}

fn content_type(path: &str) -> &'static str {
    match path.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("woff2") => "font/woff2",
        Some("svg") => "image/svg+xml",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    async fn get(path: &str, if_none_match: Option<&str>) -> Response {
        let mut headers = HeaderMap::new();
        if let Some(tag) = if_none_match {
            headers.insert(IF_NONE_MATCH, tag.parse().expect("a header value"));
        }
        serve(Path(path.to_owned()), headers).await
    }

    #[tokio::test]
    async fn the_stylesheet_is_there_with_or_without_node() {
        let response = get("guidecoat.css", None).await;
        assert_eq!(response.status(), StatusCode::OK);
        assert_eq!(response.headers()[CONTENT_TYPE], "text/css; charset=utf-8");
        assert_eq!(response.headers()[X_CONTENT_TYPE_OPTIONS], "nosniff");
        assert!(asset("guidecoat.css").is_some_and(|css| !css.bytes.is_empty()));
    }

    #[test]
    fn the_islands_are_there_where_node_is() {
        let npm = if cfg!(windows) { "npm.cmd" } else { "npm" };
        let node = std::process::Command::new(npm).arg("--version").output().is_ok_and(|o| o.status.success());
        for name in ["guidecoat.js", "sw.js", "fonts/barlow-latin-400-normal.woff2"] {
            assert_eq!(asset(name).is_some(), node, "{name}: see the warning of the build");
        }
    }

    #[tokio::test]
    async fn a_held_copy_is_not_sent_again() {
        let tag = asset("guidecoat.css").expect("the stylesheet").etag;
        let strong = tag.trim_start_matches("W/").to_owned();
        for held in [tag.clone(), strong, format!("\"other\", {tag}"), "*".to_owned()] {
            let response = get("guidecoat.css", Some(&held)).await;
            assert_eq!(response.status(), StatusCode::NOT_MODIFIED, "If-None-Match: {held}");
        }
        let response = get("guidecoat.css", Some("\"other\"")).await;
        assert_eq!(response.status(), StatusCode::OK);
    }

    #[tokio::test]
    async fn nothing_else_is_reachable() {
        for path in ["", "no-such-file.css", "../ui-build/package.json", "/etc/passwd", "fonts"] {
            assert_eq!(get(path, None).await.status(), StatusCode::NOT_FOUND, "{path}");
        }
    }
}
