//! Long work on a colour, in the background: begun by a form, watched on a page of its own, stopped when wanted.
//!
//! It stands in memory alone, a few pieces at a time (`docs/decisions/`): what is worth keeping of it is kept in
//! the record by whoever looks at the result. A page that asks for work which is gone says so.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::car::Car;
use job::colour::{Progress, Watch};
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::validate::FieldError;
use maud::{Markup, html};
use serde::Deserialize;
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;

use super::found::Searched;
use super::learned::Learned;
use super::swatches::near;
use super::{Part, found, learned, parts};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet};
use crate::link;
use crate::state::App;
use crate::typed::Typed;

/// The most pieces that are remembered, under way or done.
const MOST: usize = 8;
/// How many are worked on at the same time; the others wait their turn.
const AT_ONCE: usize = 2;
/// How often the page of work under way looks again in its place, in seconds.
const AGAIN: u32 = 2;
/// How often it is loaded anew where scripts are off, in seconds: long enough to reach the link that holds it still.
const RELOAD: u32 = 5;

/// What a piece of work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Task {
    /// Toners are learned from panels, or read from their file.
    Toners,
    /// Recipes are searched for.
    Recipes,
    /// It is found how near recipes come to parts of a wish.
    Curve,
}

impl Task {
    fn words(self) -> &'static str {
        match self {
            Self::Toners => "Learning the toners",
            Self::Recipes => "Looking for recipes",
            Self::Curve => "Finding how near the toners come",
        }
    }

    fn part(self) -> Part {
        match self {
            Self::Toners => Part::Toners,
            Self::Recipes => Part::Recipes,
            Self::Curve => Part::Brief,
        }
    }

    fn back(self) -> &'static str {
        match self {
            Self::Toners => "Toners",
            Self::Recipes => "Recipes",
            Self::Curve => "Brief",
        }
    }

    fn form(self, car: CarId) -> String {
        match self {
            Self::Toners => link::colour(car, "toners"),
            Self::Recipes => link::colour(car, "recipes"),
            Self::Curve => link::colour(car, "brief"),
        }
    }
}

/// What came of it.
pub(crate) enum Outcome {
    /// A shelf, not kept yet.
    Toners(Box<Learned>),
    /// Recipes, not kept yet.
    Recipes(Box<Searched>),
}

enum Stage {
    Waiting,
    Begun,
    Running(Progress),
    Done(Arc<Outcome>),
    Failed(String),
}

/// One piece of work.
pub(crate) struct Piece {
    pub(crate) id: EntryId,
    pub(crate) car: CarId,
    task: Task,
    /// What it is about.
    name: String,
    /// For work that follows a form as it is changed: what the form asked for. Later work for the same form takes its
    /// place.
    follows: Option<String>,
    begun: Timestamp,
    stop: AtomicBool,
    stage: Mutex<Stage>,
}

impl Piece {
    fn stage(&self) -> MutexGuard<'_, Stage> {
        self.stage.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn runs(&self) -> bool {
        matches!(*self.stage(), Stage::Waiting | Stage::Begun | Stage::Running(_))
    }

    fn stops(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Whether other work on its car has to wait for it: not for work that was given up for later work.
    fn is_in_the_way(&self) -> bool {
        self.runs() && !(self.follows.is_some() && self.stops())
    }

    /// Notes how far it is, and says whether to go on.
    fn goes_on(&self, progress: Progress) -> bool {
        self.turn(Stage::Running(progress));
        !self.stop.load(Ordering::Relaxed)
    }

    fn turn(&self, stage: Stage) {
        *self.stage() = stage;
    }

    /// How far it is; looked at again after so many seconds.
    fn progress(&self, again: Option<u32>) -> Markup {
        let words = self.task.words();
        let progress = match &*self.stage() {
            Stage::Running(progress) => Ok(*progress),
            Stage::Begun | Stage::Done(_) | Stage::Failed(_) => Err("It has begun; there is nothing to show yet."),
            Stage::Waiting => Err("It waits until other work is done."),
        };
        html! {
            div.stack data-again=[again] {
                @match progress {
                    Ok(progress) => {
                        progress.prog max=(progress.of.max(1)) value=(progress.done.min(progress.of)) aria-label=(words) {}
                        p.says { "Step " (progress.done) " of at most " (progress.of) ", " (seconds(self.begun)) " so far." }
                        @if progress.best.is_finite() && progress.best > 0.0 {
                            p { "Best so far: " (format!("{:.1}", progress.best)) " on average over the angles: " (near(progress.best)) "." }
                        }
                    }
                    Err(say) => {
                        progress.prog max="1" aria-label=(words) {}
                        p.says { (say) }
                    }
                }
            }
        }
    }

    /// Beside the form it follows: how far it is, or what `show` makes of its outcome.
    pub(crate) fn beside(&self, again: u32, show: impl FnOnce(&Outcome) -> Markup) -> Markup {
        if let Some(outcome) = self.outcome() {
            return show(&outcome);
        }
        match &*self.stage() {
            Stage::Failed(say) => return html! { p.note { (sentence(say)) } },
            Stage::Waiting | Stage::Begun | Stage::Running(_) | Stage::Done(_) => {}
        }
        self.progress(Some(again))
    }

    /// What came of it, once it is done.
    fn outcome(&self) -> Option<Arc<Outcome>> {
        match &*self.stage() {
            Stage::Done(outcome) => Some(outcome.clone()),
            _ => None,
        }
    }
}

/// Why nothing was begun.
#[derive(Debug)]
pub(crate) enum Busy {
    /// The same car has work under way.
    ThisCar,
    /// Every place is taken by work under way.
    Full,
}

impl Busy {
    /// As something wrong with a form.
    pub(crate) fn error(&self) -> FieldError {
        let say = match self {
            Self::ThisCar => "other work on this car's colour is still under way",
            Self::Full => "as much work as this computer takes at once is under way",
        };
        FieldError::new("", say, "Wait until it is done, or stop it; then send this again.")
    }
}

/// The pieces of work of this program.
pub(crate) struct Works {
    pieces: Mutex<Vec<Arc<Piece>>>,
    turn: Arc<Semaphore>,
}

impl Default for Works {
    fn default() -> Self {
        Self { pieces: Mutex::default(), turn: Arc::new(Semaphore::new(AT_ONCE)) }
    }
}

impl Drop for Works {
    /// A program that ends does not wait for work that nobody will look at.
    fn drop(&mut self) {
        for piece in self.pieces().iter() {
            piece.stop.store(true, Ordering::Relaxed);
        }
    }
}

impl Works {
    fn pieces(&self) -> MutexGuard<'_, Vec<Arc<Piece>>> {
        self.pieces.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins a piece of work, in place of the oldest that is done when there are too many.
    pub(crate) fn start(
        &self,
        car: CarId,
        task: Task,
        name: String,
        work: impl FnOnce(Watch<'_>) -> Result<Outcome, String> + Send + 'static,
    ) -> Result<EntryId, Busy> {
        self.launch(car, task, name, None, work).map(|piece| piece.id)
    }

    /// The work for what a form asks for as it is changed: what is known or under way for just that, else begun now.
    /// Work for what the form asked for before is given up.
    pub(crate) fn follow(
        &self,
        car: CarId,
        task: Task,
        name: String,
        asks: String,
        work: impl FnOnce(Watch<'_>) -> Result<Outcome, String> + Send + 'static,
    ) -> Result<Arc<Piece>, Busy> {
        let mut pieces = self.pieces();
        let ours = |piece: &Piece| piece.car == car && piece.follows.is_some();
        let same = |piece: &Piece| ours(piece) && piece.follows.as_deref() == Some(&asks) && !piece.stops();
        if let Some(known) = pieces.iter().find(|piece| same(piece)) {
            return Ok(known.clone());
        }
        pieces.iter().filter(|piece| ours(piece)).for_each(|piece| piece.stop.store(true, Ordering::Relaxed));
        // What a form asked for before is of no use to anybody, and would crowd out what others have not kept yet.
        pieces.retain(|piece| !ours(piece) || piece.runs());
        drop(pieces);
        self.launch(car, task, name, Some(asks), work)
    }

    fn launch(
        &self,
        car: CarId,
        task: Task,
        name: String,
        follows: Option<String>,
        work: impl FnOnce(Watch<'_>) -> Result<Outcome, String> + Send + 'static,
    ) -> Result<Arc<Piece>, Busy> {
        let piece = Arc::new(Piece {
            id: EntryId::fresh(),
            car,
            task,
            name,
            follows,
            begun: Timestamp::now(),
            stop: AtomicBool::new(false),
            stage: Mutex::new(Stage::Waiting),
        });
        {
            let mut pieces = self.pieces();
            if pieces.iter().any(|p| p.car == car && p.is_in_the_way()) {
                return Err(Busy::ThisCar);
            }
            if pieces.len() >= MOST {
                let done = pieces.iter().position(|p| !p.runs()).ok_or(Busy::Full)?;
                pieces.remove(done);
            }
            pieces.push(piece.clone());
        }
        let (begun, turn) = (piece.clone(), self.turn.clone());
        tokio::spawn(async move {
            let _turn = turn.acquire_owned().await;
            piece.turn(Stage::Begun);
            let worker = piece.clone();
            let done = spawn_blocking(move || work(&|progress| worker.goes_on(progress))).await;
            piece.turn(match done {
                Ok(Ok(outcome)) => Stage::Done(Arc::new(outcome)),
                Ok(Err(say)) => Stage::Failed(say),
                Err(error) => {
                    tracing::error!(%error, "work on a colour broke off");
                    Stage::Failed("the work broke off by a fault of this program; its log says more".into())
                }
            });
        });
        Ok(begun)
    }

    fn find(&self, car: CarId, id: EntryId) -> Option<Arc<Piece>> {
        self.pieces().iter().find(|p| p.car == car && p.id == id).cloned()
    }

    /// The work of a car that is under way.
    pub(crate) fn under_way(&self, car: CarId) -> Option<EntryId> {
        self.pieces().iter().find(|p| p.car == car && p.is_in_the_way()).map(|p| p.id)
    }
}

/// A piece of work as its page shows it.
pub(crate) struct Shown<'a> {
    pub(crate) app: &'a App,
    pub(crate) access: &'a Access,
    pub(crate) car: &'a Car,
    pub(crate) piece: &'a Piece,
    /// What was typed into the form that keeps the result.
    pub(crate) typed: &'a Typed,
    pub(crate) errors: &'a [FieldError],
}

impl Shown<'_> {
    /// The page of a result, with the form `keep` on it.
    pub(crate) fn page(&self, title: &str, says: &str, body: Markup) -> Markup {
        self.around(title, says, body, Bar::Go("#keep".into(), "Keep"), None)
    }

    fn around(&self, title: &str, says: &str, body: Markup, deed: Bar, again: Option<u32>) -> Markup {
        let task = self.piece.task;
        let page = CarPage {
            app: self.app,
            access: self.access,
            car: self.car,
            ground: Ground::Grey,
            sheet: Sheet::Colour,
            title,
            says,
            legend: false,
            deed,
        };
        page.draw_again(html! { (parts(self.car.id, task.part())) (body) }, again)
    }

    fn draw(&self, still: bool) -> Markup {
        let outcome = self.piece.outcome();
        match outcome.as_deref() {
            Some(Outcome::Toners(learned)) => learned::page(self, learned),
            Some(Outcome::Recipes(searched)) => found::page(self, searched),
            None => self.under_way(still),
        }
    }

    fn under_way(&self, still: bool) -> Markup {
        let (car, piece) = (self.car.id, self.piece);
        let (task, stopping) = (piece.task, piece.stop.load(Ordering::Relaxed));
        let here = |still: bool| format!("{}{}", link::work(car, piece.id), if still { "?still=1" } else { "" });
        let back = || Bar::Go(task.form(car), task.back());
        if let Stage::Failed(say) = &*piece.stage() {
            let body = html! {
                div.note.stop.stack role="alert" {
                    h2 { (sentence(say)) }
                    p { "Nothing was kept. What is in the record is as it was." }
                    p.row { a.btn.main href=(task.form(car)) { "Back to the form" } }
                }
            };
            return self.around(task.words(), &sentence(&piece.name), body, back(), None);
        }
        let body = html! {
            div.stack {
                // Held still on request: WCAG 2.2, 2.2.1 and 2.2.2.
                (piece.progress((!still).then_some(AGAIN)))
                div.row {
                    a.btn href=(here(still)) { "Look again" }
                    @if still { a.btn href=(here(false)) { "Let it look again by itself" } }
                    @else { a.btn href=(here(true)) { "Hold this page still" } }
                    @if stopping { span { "It stops at its next step, with the best so far." } }
                    @else if self.access.role.may(Deed::Write) {
                        form method="post" action={ (link::work(car, piece.id)) "/stop" } enctype="multipart/form-data" {
                            button { "Stop, and show the best so far" }
                        }
                    }
                }
                p.small {
                    @if still { "This page holds still. " } @else { "This page looks again by itself every few seconds. " }
                    "You can leave it and come back; the work goes on."
                }
            }
        };
        self.around(task.words(), &sentence(&piece.name), body, back(), (!still).then_some(RELOAD))
    }
}

fn seconds(since: Timestamp) -> String {
    match since.duration_until(Timestamp::now()).as_secs().max(0) {
        1 => "1 second".into(),
        n if n < 120 => format!("{n} seconds"),
        n => format!("{} minutes", n / 60),
    }
}

#[derive(Deserialize)]
pub(crate) struct Ask {
    /// Set where the page is not to look again by itself.
    still: Option<String>,
}

/// The page of one piece of work: how far it is, or what came of it.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, work)): Path<(CarId, EntryId)>,
    Query(ask): Query<Ask>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let Some(piece) = app.works.find(id, work) else { return Ok(lost(&app, &access, &car)) };
    let shown = Shown { app: &app, access: &access, car: &car, piece: &piece, typed: &Typed::default(), errors: &[] };
    Ok(shown.draw(ask.still.is_some()).into_response())
}

/// Work that is not here any more.
fn lost(app: &App, access: &Access, car: &Car) -> Response {
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Work that is gone",
        says: "This work is not here any more.",
        legend: false,
        deed: Bar::Go(format!("{}/colour", link::shell(car.id)), "Colour"),
    };
    let body = page.draw(html! {
        (parts(car.id, Part::Target))
        div.note.stop.stack {
            p { "Work in the background stands in memory alone: the program was started anew since, or later work took its place. What was kept of it is in the record; the record is as it was." }
            p.row {
                a.btn.main href=(link::colour(car.id, "recipes")) { "Look for recipes again" }
                a.btn href=(link::colour(car.id, "toners")) { "Learn the toners again" }
            }
        }
    });
    (StatusCode::NOT_FOUND, body).into_response()
}

/// Stops a piece of work; what it found so far is its result.
pub(crate) async fn stop(
    State(app): State<App>,
    access: Access,
    Path((id, work)): Path<(CarId, EntryId)>,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let car = app.shop.car(id).await?;
    let Some(piece) = app.works.find(id, work) else { return Ok(lost(&app, &access, &car)) };
    piece.stop.store(true, Ordering::Relaxed);
    Ok(Redirect::to(&link::work(id, work)).into_response())
}

/// Keeps what came of a piece of work.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path((id, work)): Path<(CarId, EntryId)>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let Some(piece) = app.works.find(id, work) else { return Ok(lost(&app, &access, &car)) };
    let outcome = piece.outcome();
    let kept = match outcome.as_deref() {
        Some(Outcome::Toners(learned)) => learned::keep(&app, id, &typed, learned).await?,
        Some(Outcome::Recipes(searched)) => found::keep(&app, id, &typed, searched).await?,
        None => return Ok(Redirect::to(&link::work(id, work)).into_response()),
    };
    match kept {
        Ok(response) => Ok(response),
        Err(errors) => {
            let shown = Shown { app: &app, access: &access, car: &car, piece: &piece, typed: &typed, errors: &errors };
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown.draw(false)).into_response())
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc;
    use std::time::Duration;

    use super::*;

    const STEP: Progress = Progress { done: 1, of: 2, best: 1.5 };

    /// Work that goes on until it is told to stop, and says so on its way.
    fn endless(works: &Works, car: CarId, begun: &mpsc::Sender<()>) -> Result<EntryId, Busy> {
        let begun = begun.clone();
        works.start(car, Task::Recipes, "for a test".into(), move |watch| {
            let mut told = false;
            while watch(STEP) {
                if !std::mem::replace(&mut told, true) {
                    begun.send(()).map_err(|e| e.to_string())?;
                }
                std::thread::sleep(Duration::from_millis(1));
            }
            Err("stopped".into())
        })
    }

    async fn ended(piece: &Piece) {
        for _ in 0..2_000 {
            if !piece.runs() {
                return;
            }
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        panic!("it goes on");
    }

    #[tokio::test]
    async fn one_car_has_one_piece_under_way_and_the_program_no_more_than_its_places() {
        let works = Works::default();
        let (begun, _keep) = mpsc::channel();
        let cars: Vec<CarId> = (0..=MOST).map(|_| CarId::fresh()).collect();
        let first = endless(&works, cars[0], &begun).unwrap();
        assert!(matches!(endless(&works, cars[0], &begun), Err(Busy::ThisCar)));
        assert_eq!(works.under_way(cars[0]), Some(first));
        for car in &cars[1..MOST] {
            endless(&works, *car, &begun).unwrap();
        }
        assert!(matches!(endless(&works, cars[MOST], &begun), Err(Busy::Full)));
        // One that ended makes room, and is forgotten for it.
        let piece = works.find(cars[0], first).unwrap();
        piece.stop.store(true, Ordering::Relaxed);
        ended(&piece).await;
        assert_eq!(works.under_way(cars[0]), None);
        endless(&works, cars[MOST], &begun).unwrap();
        assert!(works.find(cars[0], first).is_none());
        assert_eq!(works.pieces().len(), MOST);
    }

    #[tokio::test]
    async fn only_two_are_worked_on_at_once_and_all_stop_when_the_program_ends() {
        let works = Works::default();
        let (begun, told) = mpsc::channel();
        let cars: Vec<CarId> = (0..4).map(|_| CarId::fresh()).collect();
        let pieces: Vec<Arc<Piece>> =
            cars.iter().map(|car| works.find(*car, endless(&works, *car, &begun).unwrap()).unwrap()).collect();
        for _ in 0..500 {
            tokio::time::sleep(Duration::from_millis(1)).await;
            if pieces.iter().filter(|p| matches!(*p.stage(), Stage::Running(_))).count() == AT_ONCE {
                break;
            }
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
        assert_eq!(told.try_iter().count(), AT_ONCE);
        assert_eq!(pieces.iter().filter(|p| matches!(*p.stage(), Stage::Waiting)).count(), 2);
        drop(works);
        for piece in &pieces {
            ended(piece).await;
        }
    }

    #[tokio::test]
    async fn work_that_breaks_off_says_so_and_is_no_longer_under_way() {
        let works = Works::default();
        let car = CarId::fresh();
        let id = works.start(car, Task::Toners, "for a test".into(), |_| panic!("as a test wants it")).unwrap();
        let piece = works.find(car, id).unwrap();
        ended(&piece).await;
        assert!(matches!(&*piece.stage(), Stage::Failed(say) if say.contains("broke off")));
        assert!(piece.outcome().is_none());
    }
}
