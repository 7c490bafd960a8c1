//! The panel as bytes: the picture for whoever has no scripts, and what an island draws it from.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use job::car::Car;
use job::colour::preview::{Appearance, Panel, Picture, View};
use job::ids::{CarId, Hash};
use job::paintwork::preview::{self, Painted};
use job::shop::Shop;
use tokio::runtime::Handle;
use tokio::task::spawn_blocking;

use super::asked::{Look, Paint};
use crate::access::Access;
use crate::colour::brief;
use crate::fault::Fault;
use crate::state::App;
use crate::typed::Typed;

/// The picture's size when none is asked for, and the largest.
pub(crate) const WIDTH: usize = 960;
pub(crate) const HEIGHT: usize = 540;
const LARGEST: [usize; 2] = [1920, 1200];
/// The smallest, each way.
const SMALLEST: usize = 16;

/// The fields of an address; the rest of a very long one is left out.
pub(crate) fn fields(pairs: &[(String, String)]) -> Typed {
    Typed::from_pairs(pairs.iter().take(200).map(|(name, value)| (name.as_str(), value.clone())))
}

/// Where paints are worked out: a thread beside the pages.
pub(crate) struct Easel {
    pub(crate) shop: Arc<Shop>,
    pub(crate) car: Arc<Car>,
    runtime: Handle,
}

impl Easel {
    /// Does work beside the pages, with no more of its kind at once than the computer bears.
    pub(crate) async fn with<T: Send + 'static>(
        app: &App,
        car: &Arc<Car>,
        work: impl FnOnce(&Self) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        let broken = |e: String| Fault::Internal(e);
        // It goes along: whoever asked may leave, and the work goes on all the same.
        let permit = app.heavy.clone().acquire_owned().await.map_err(|e| broken(e.to_string()))?;
        let easel = Self { shop: app.shop.clone(), car: car.clone(), runtime: Handle::current() };
        let work = move || {
            let _permit = permit;
            work(&easel)
        };
        spawn_blocking(work).await.map_err(|e| broken(e.to_string()))?
    }

    /// A paint in a light; `typed` holds the brief that a wish is of.
    pub(crate) fn paint(&self, paint: &Paint, look: &Look, typed: &Typed) -> Result<Arc<Painted>, Fault> {
        match paint {
            Paint::Entry(subject) => {
                let wanted = look.wanted(*subject);
                Ok(self.runtime.block_on(self.shop.painted(&self.car, &wanted, look.scene))?)
            }
            Paint::Wish => {
                let telling = brief::tell(&self.car, typed)?;
                let appearance = Appearance::of_measurement(&telling.wish.wish.target);
                Ok(Arc::new(preview::painted(&(appearance, telling.briefed.name), look.scene)))
            }
        }
    }
}

/// The paint that a field names.
fn named(typed: &Typed, field: &str) -> Result<Option<Paint>, Fault> {
    match typed.get(field) {
        "" => Ok(None),
        text => Paint::read(text).map(Some),
    }
}

fn the_paint(typed: &Typed) -> Result<Paint, Fault> {
    let nothing = || Fault::Bad("The address does not say which paint is to be shown, such as what=r20.".into());
    named(typed, "what")?.ok_or_else(nothing)
}

fn size(typed: &Typed, field: &str, usual: usize, most: usize) -> Result<usize, Fault> {
    let text = typed.get(field);
    let wrong = || {
        let short: String = text.chars().take(20).collect();
        Fault::Bad(format!(
            "The picture's size {field} was given as \"{short}\": it must be {SMALLEST} to {most} pixels."
        ))
    };
    match text {
        "" => Ok(usual),
        text => text.parse().ok().filter(|size| (SMALLEST..=most).contains(size)).ok_or_else(wrong),
    }
}

/// What an answer is known by. It hangs on the record up to now, on the address, and on the program.
fn tag(car: &Car, address: &[(String, String)]) -> String {
    let hash = Hash::of(format!("{} {} {address:?}", env!("CARGO_PKG_VERSION"), car.head).as_bytes());
    format!("\"{hash}\"")
}

fn known(headers: &HeaderMap, tag: &str) -> bool {
    headers.get(header::IF_NONE_MATCH).is_some_and(|value| value.as_bytes() == tag.as_bytes())
}

/// The picture.
pub(crate) async fn png(
    State(app): State<App>,
    _access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let typed = fields(&pairs);
    let (left, right, look) = (the_paint(&typed)?, named(&typed, "with")?, Look::read(&typed)?);
    let (width, height) = (size(&typed, "w", WIDTH, LARGEST[0])?, size(&typed, "h", HEIGHT, LARGEST[1])?);
    let tag = [(header::ETAG, tag(&car, &pairs))];
    if known(&headers, &tag[0].1) {
        return Ok((StatusCode::NOT_MODIFIED, tag).into_response());
    }
    let bytes = Easel::with(&app, &car, move |easel| {
        let left = easel.paint(&left, &look, &typed)?;
        let right = right.map(|right| easel.paint(&right, &look, &typed)).transpose()?;
        let view = View { turn_deg: look.turn, tilt_deg: look.tilt, width, height, mark: look.mark };
        let picture = Picture::draw(Panel::usual(), &left.sphere, right.as_ref().map(|right| &right.sphere), view);
        preview::png(&picture).map_err(|e| Fault::Internal(format!("the picture could not be written: {e}")))
    });
    Ok((tag, [(header::CONTENT_TYPE, "image/png")], bytes.await?).into_response())
}

/// A paint in a light, as an island reads it.
pub(crate) async fn sphere(
    State(app): State<App>,
    _access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let typed = fields(&pairs);
    let (paint, look) = (the_paint(&typed)?, Look::read(&typed)?);
    let tag = [(header::ETAG, tag(&car, &pairs))];
    if known(&headers, &tag[0].1) {
        return Ok((StatusCode::NOT_MODIFIED, tag).into_response());
    }
    let bytes =
        Easel::with(&app, &car, move |easel| Ok(preview::sphere_bytes(&easel.paint(&paint, &look, &typed)?.sphere)));
    Ok((tag, [(header::CONTENT_TYPE, "application/octet-stream")], bytes.await?).into_response())
}

/// The panel's shape, the same for every car.
pub(crate) async fn mesh(State(app): State<App>, _access: Access, Path(id): Path<CarId>) -> Result<Response, Fault> {
    app.shop.car(id).await?;
    let head = [(header::CONTENT_TYPE, "application/octet-stream"), (header::CACHE_CONTROL, "private, max-age=3600")];
    Ok((head, preview::mesh_bytes(Panel::usual())).into_response())
}
