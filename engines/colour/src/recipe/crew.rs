//! Many small tasks over the machine's cores, with one answer whatever their number.
//!
//! Each task is worked on alone and its result stands at the task's own place, so neither the number of
//! threads nor their haste shows in what comes out. Only a stop from outside does.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};

use super::solve::Solver;
use crate::toner::{Progress, Watch};

/// The watched workers of one search.
pub(crate) struct Crew<'a> {
    watch: Watch<'a>,
    threads: usize,
    stop: AtomicBool,
    best: Mutex<f64>,
    evaluations: AtomicU64,
}

/// Tasks between two questions to the watch.
const ASK_EVERY: usize = 16;
/// Most threads.
const MOST_THREADS: usize = 16;

impl<'a> Crew<'a> {
    pub(crate) fn new(watch: Watch<'a>) -> Self {
        let threads = std::thread::available_parallelism().map_or(1, |n| n.get().min(MOST_THREADS));
        Self::of(watch, threads)
    }

    pub(crate) fn of(watch: Watch<'a>, threads: usize) -> Self {
        Self {
            watch,
            threads,
            stop: AtomicBool::new(false),
            best: Mutex::new(f64::INFINITY),
            evaluations: AtomicU64::new(0),
        }
    }

    pub(crate) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    pub(crate) fn evaluations(&self) -> u64 {
        self.evaluations.load(Ordering::Relaxed)
    }

    /// Tells of the smallest difference so far.
    pub(crate) fn best(&self, best: f64) {
        if let Ok(mut slot) = self.best.lock() {
            *slot = slot.min(best);
        }
    }

    /// The results in the order of the tasks; none for tasks that a stop came before. `span` is the part
    /// of the whole search that this is, in hundredths.
    pub(crate) fn share<T: Sync, R: Send>(
        &self,
        span: (u32, u32),
        tasks: &[T],
        work: impl Fn(&mut Solver, &T) -> R + Sync,
    ) -> Vec<R> {
        let next = AtomicUsize::new(0);
        let one = || {
            let mut solver = Solver::default();
            let mut results = Vec::new();
            while !self.stopped() {
                let i = next.fetch_add(1, Ordering::Relaxed);
                let Some(task) = tasks.get(i) else { break };
                if i.is_multiple_of(ASK_EVERY) {
                    self.ask(span, i, tasks.len());
                }
                results.push((i, work(&mut solver, task)));
            }
            self.evaluations.fetch_add(solver.evaluations, Ordering::Relaxed);
            results
        };
        let threads = self.threads.min(tasks.len());
        let mut results = if threads <= 1 {
            one()
        } else {
            std::thread::scope(|scope| {
                let workers: Vec<_> = (0..threads).map(|_| scope.spawn(one)).collect();
                let mut all = Vec::with_capacity(tasks.len());
                for worker in workers {
                    match worker.join() {
                        Ok(results) => all.extend(results),
                        Err(panic) => std::panic::resume_unwind(panic),
                    }
                }
                all
            })
        };
        results.sort_by_key(|(i, _)| *i);
        results.into_iter().map(|(_, result)| result).collect()
    }

    fn ask(&self, (from, to): (u32, u32), i: usize, of: usize) {
        let done = from + ((to - from) as usize * i / of.max(1)) as u32;
        let best = self.best.lock().map_or(f64::INFINITY, |best| *best);
        if !(self.watch)(Progress { done, of: 100, best }) {
            self.stop.store(true, Ordering::Relaxed);
        }
    }
}
