//! Pictures of a car's record.

use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use job::ids::{CarId, Hash};
use job::what::What;

use crate::access::Access;
use crate::fault::Fault;
use crate::state::App;

/// A picture that this car's record names; no other is given out here.
pub(crate) async fn picture(
    State(app): State<App>,
    _access: Access,
    Path((id, hash)): Path<(CarId, Hash)>,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let named =
        car.entries().iter().any(|e| matches!(&e.what, What::Photographed(p) if p.picture == hash || p.thumb == hash));
    if !named {
        return Err(Fault::NotFound("picture of this car"));
    }
    // A picture is known by the hash of its bytes, so what a browser holds can never be out of date.
    let tag = format!("\"{hash}\"");
    let cache = [(header::ETAG, tag.clone()), (header::CACHE_CONTROL, "private, max-age=31536000, immutable".into())];
    if headers.get(header::IF_NONE_MATCH).is_some_and(|v| v.as_bytes() == tag.as_bytes()) {
        return Ok((StatusCode::NOT_MODIFIED, cache).into_response());
    }
    let bytes = app.shop.blob(hash).await?.ok_or(Fault::NotFound(
        "picture any more: its file is gone from the shop, and the check of the record says so",
    ))?;
    Ok((cache, [(header::CONTENT_TYPE, "image/jpeg")], bytes.to_vec()).into_response())
}
