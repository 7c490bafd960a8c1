//! Long computations: a bar at a terminal, and ctrl-c asks for the best so far.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use colour::Watch;

use crate::progress::Progress;
use crate::serve::asked_to_stop;
use crate::stop::Stop;

/// What a program that ctrl-c ended leaves as its exit code, by the custom of shells.
const ENDED: i32 = 130;

/// Does long work under a bar. The first ctrl-c stops it with the best so far; the second ends the program.
///
/// # Errors
/// When the system gives no thread to listen for ctrl-c, or lets no signal be caught.
pub(super) fn watched<T>(what: &'static str, work: impl FnOnce(Watch<'_>) -> T) -> Result<T, Stop> {
    let failed = |e: std::io::Error| Stop::failed(format!("ctrl-c cannot be listened for ({e})"));
    let listener =
        tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().map_err(failed)?;
    let asked = Arc::new(AtomicBool::new(false));
    let heard = asked.clone();
    let first = {
        let _within = listener.enter();
        asked_to_stop().map_err(failed)?
    };
    listener.spawn(async move {
        first.await;
        heard.store(true, Ordering::Relaxed);
        if let Ok(second) = asked_to_stop() {
            second.await;
            std::process::exit(ENDED);
        }
    });
    let bar = Progress::quiet(what, 1);
    let watch = |progress: colour::Progress| {
        bar.at(progress.done, progress.of);
        !asked.load(Ordering::Relaxed)
    };
    let done = work(&watch);
    listener.shutdown_background();
    Ok(done)
}
